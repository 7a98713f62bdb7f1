"""Knowledge ready for use: from the compiled cache if it still fits, else built and kept.

The cache holds the typed knowledge and the derived table of removals as JSON, under
the digest of every YAML file that went in and of the folders that they stand in, since
it names them. A stale or damaged cache is rebuilt without a word; a cache that cannot
be written costs time, nothing else.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import msgspec

from .knowledge.base import Knowledge
from .knowledge.loader import (
    Layer,
    Loaded,
    Version,
    content_hash,
    dangling,
    folders_hash,
    joined,
    layers_for,
    read_layers,
)
from .knowledge.yours import with_own
from .problems import BadKnowledge
from .storage import write_whole
from .version import VERSION

FORMAT = "2"
KEPT = 4  # compiled states that are kept, those used last


def open_knowledge(extra: Sequence[Path] = (), cache: Path | None = None) -> Knowledge:
    """The shipped knowledge with the folders of `extra` laid over it.

    cache: folder for the compiled form, or None for no cache.
    Raises BadKnowledge if the shipped layer is faulty; what is wrong in another is left out and named in `left_out`.
    """
    layers = layers_for(extra)
    digest = content_hash(layers, f"{VERSION}/{FORMAT}")
    kept = cache / f"knowledge-{digest}-{folders_hash(layers)}.json" if cache else None
    found = _read(kept) if kept else None
    if found is not None:
        return found
    knowledge = _built(extra, digest)
    if kept is not None:
        _write(kept, knowledge)
    return knowledge


def _built(extra: Sequence[Path], digest: str) -> Knowledge:
    layers, version = layers_for(extra), f"{VERSION}+{digest[:8]}"
    loaded = read_layers(layers)
    if loaded.problems:
        raise BadKnowledge(loaded.problems)
    own = loaded.own()
    if not own:
        return _ready(loaded, layers, version)
    try:
        return _tried(loaded, layers, version)
    except Exception:  # whatever the user's entries break, the bench must not stop
        return _without_breakers(loaded, layers, version)


def _without_breakers(loaded: Loaded, layers: Sequence[Layer], version: str) -> Knowledge:
    """Take the user's entries off and lay them on again one by one, leaving out those that break the work."""
    off: list[tuple[str, str, Version]] = []
    while own := loaded.own():
        off += [(*key, loaded.leave_out(*key)) for key in reversed(own)]
    waiting, progress, why = off[::-1], True, dict[str, str]()
    knowledge = _ready(loaded, layers, version)
    while waiting and progress:
        progress = False
        for item in list(waiting):
            kind, name, entry = item
            loaded.put(kind, name, entry)
            try:
                knowledge = _tried(loaded, layers, version)
            except Exception as error:  # as above: any way of failing counts
                loaded.leave_out(kind, name)
                why[f"{kind}/{name}"] = f"{type(error).__name__}: {error}"[:200]
            else:
                waiting.remove(item)
                progress = True
    for kind, name, entry in waiting:
        message = f"an examination fails with this entry ({why[f'{kind}/{name}']})"
        loaded.refused.append(entry.document.problem((), "breaks", message))
    return msgspec.structs.replace(knowledge, left_out=loaded.refused)


def _ready(loaded: Loaded, layers: Sequence[Layer], version: str) -> Knowledge:
    from .removal.pairs import derive_pairs

    knowledge = with_own(joined(loaded, layers, version), loaded)
    return msgspec.structs.replace(knowledge, pairs=derive_pairs(knowledge))


def _tried(loaded: Loaded, layers: Sequence[Layer], version: str) -> Knowledge:
    """The knowledge, after everything in it was used once. Raises whatever goes wrong."""
    from .checking.trial import try_out

    if any(dangling(loaded)):
        raise LookupError("it names something that is not there")
    knowledge = _ready(loaded, layers, version)
    try_out(knowledge)
    return knowledge


def _read(path: Path) -> Knowledge | None:
    try:
        found = msgspec.json.decode(path.read_bytes(), type=Knowledge)
    except (OSError, msgspec.DecodeError):
        return None
    with suppress(OSError):
        os.utime(path)
    return found


def _write(path: Path, knowledge: Knowledge) -> None:
    """Put the cache in place in one step and remove older ones; failures are not the user's business."""
    try:
        write_whole(path, msgspec.json.encode(knowledge))
        others = [old for old in path.parent.glob("knowledge-*.json") if old != path]
        for old in sorted(others, key=lambda old: old.stat().st_mtime, reverse=True)[KEPT - 1 :]:
            old.unlink(missing_ok=True)
    except OSError:
        return
