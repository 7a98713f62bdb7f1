"""Knowledge ready for use: from the compiled cache if it still fits, else built and kept.

The cache holds the typed knowledge and the derived table of removals as JSON, under
the digest of every YAML file that went in. A stale or damaged cache is rebuilt without
a word; a cache that cannot be written costs time, nothing else.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

import msgspec

from ..storage import make_private
from ..version import VERSION
from .base import Knowledge
from .loader import content_hash, layers_for, load, with_pairs

FORMAT = "1"


def open_knowledge(extra: Sequence[Path] = (), cache: Path | None = None) -> Knowledge:
    """The shipped knowledge with the folders of `extra` laid over it.

    cache: folder for the compiled form, or None for no cache.
    Raises BadKnowledge if the shipped layer is faulty.
    """
    layers = layers_for(extra)
    digest = content_hash(layers, f"{VERSION}/{FORMAT}")
    kept = cache / f"knowledge-{digest}.json" if cache else None
    found = _read(kept) if kept else None
    if found is not None:
        return found
    knowledge = _built(extra, digest)
    if kept is not None:
        _write(kept, knowledge)
    return knowledge


def _built(extra: Sequence[Path], digest: str) -> Knowledge:
    from ..removal.pairs import derive_pairs

    knowledge = load(layers_for(extra), f"{VERSION}+{digest[:8]}")
    return with_pairs(knowledge, derive_pairs(knowledge))


def _read(path: Path) -> Knowledge | None:
    try:
        return msgspec.json.decode(path.read_bytes(), type=Knowledge)
    except (OSError, msgspec.DecodeError):
        return None


def _write(path: Path, knowledge: Knowledge) -> None:
    """Put the cache in place in one step and remove older ones; failures are not the user's business."""
    try:
        make_private(path.parent)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".knowledge-")
        with os.fdopen(handle, "wb") as file:
            file.write(msgspec.json.encode(knowledge))
        Path(name).replace(path)
        for old in path.parent.glob("knowledge-*.json"):
            if old != path and old.stat().st_mtime < path.stat().st_mtime - 7 * 86400:
                old.unlink()
    except OSError:
        return
