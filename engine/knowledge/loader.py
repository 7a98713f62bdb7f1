"""Folders of YAML to one Knowledge: shipped layer first, then the user's layers over it.

A later layer replaces an entry by its id; of rules, which stand many in a file, each by its
own id, whatever file it stands in. A mistake in the shipped layer is fatal. A mistake in a user's layer costs only that
entry: it is left out, named in `Knowledge.left_out`, what it would have replaced stays
in force, and the rest works.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from hashlib import blake2b
from pathlib import Path
from typing import Any, NamedTuple

from msgspec import Struct, structs

from ..problems import BadInput, Problem
from ..reading.shape import shaped
from ..reading.yamltext import Document, read
from .base import Knowledge, Origin
from .layout import FOLDERS, TABLES, TOPICS
from .references import Reference, references_of
from .rounds import with_rounds

SHIPPED = Path(__file__).resolve().parents[2] / "knowledge"
SHIPPED_NAME = "shipped"
_STEM = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class Layer(Struct, frozen=True):
    """One folder of knowledge and the name it goes by."""

    name: str
    folder: Path


class Version(NamedTuple):
    """One layer's version of an entry."""

    entry: Any
    origin: Origin
    document: Document


class Loaded(Struct):
    """What was read so far: entries by kind and id, their places, what was refused.

    `beneath` keeps, by kind/id, the versions that a later layer replaced, oldest first;
    `layers` the names of the layers, the lowest first.
    """

    entries: dict[str, dict[str, Any]]
    origins: dict[str, Origin]
    documents: dict[str, Document]
    problems: list[Problem]
    refused: list[Problem]
    beneath: dict[str, list[Version]] = {}
    layers: list[str] = []

    def put(self, kind: str, name: str, version: Version) -> None:
        """Lay an entry over what goes by its name so far."""
        key = f"{kind}/{name}"
        if name in self.entries[kind]:
            old = Version(self.entries[kind][name], self.origins[key], self.documents[key])
            self.beneath.setdefault(key, []).append(old)
        self._set(kind, name, version)

    def leave_out(self, kind: str, name: str) -> Version:
        """Take the uppermost version of an entry away; the one beneath is in force again."""
        key = f"{kind}/{name}"
        gone = Version(self.entries[kind].pop(name), self.origins.pop(key), self.documents.pop(key))
        if self.beneath.get(key):
            self._set(kind, name, self.beneath[key].pop())
        return gone

    def own(self) -> list[tuple[str, str]]:
        """(kind, name) of every entry in force that is not shipped."""
        keys = [key for key, origin in self.origins.items() if origin.layer != SHIPPED_NAME]
        return [(kind, name) for kind, _, name in (key.partition("/") for key in keys)]

    def replaced_rules(self) -> set[tuple[str, str]]:
        """(file, id) of every rule in the place of which a later layer has one of the same id."""
        level = {name: number for number, name in enumerate(self.layers)}
        rules = [
            (level[self.origins[f"rules/{file}"].layer], file, rule.id)
            for file, entry in self.entries["rules"].items()
            for rule in entry.rules
        ]
        top = {name: number for number, _, name in sorted(rules)}
        return {(file, name) for number, file, name in rules if number < top[name]}

    def _set(self, kind: str, name: str, version: Version) -> None:
        key = f"{kind}/{name}"
        self.entries[kind][name], self.origins[key], self.documents[key] = version


def layers_for(extra: Sequence[Path]) -> list[Layer]:
    """The shipped layer and the user's, in the order in which they overlay."""
    return [Layer(SHIPPED_NAME, SHIPPED), *(Layer(str(folder), folder) for folder in extra)]


def content_hash(layers: Sequence[Layer], salt: str) -> str:
    """A digest of every YAML file in the layers; equal digests mean equal knowledge."""
    digest = blake2b(salt.encode(), digest_size=16)
    for layer in layers:
        digest.update(b"\0layer\0" + layer.name.encode())
        for path in _files(layer.folder):
            digest.update(os.fsencode(path.relative_to(layer.folder)) + b"\0")
            try:
                digest.update(path.read_bytes() if path.is_file() else b"\0not a file")
            except OSError as error:
                digest.update(repr(error.errno).encode())
    return digest.hexdigest()


def folders_hash(layers: Sequence[Layer]) -> str:
    """A digest of where the layers stand: equal knowledge in another folder names other files."""
    folders = (os.fsencode(layer.folder.absolute()) for layer in layers)
    return blake2b(b"\0".join(folders), digest_size=8).hexdigest()


def joined(loaded: Loaded, layers: Sequence[Layer], version: str) -> Knowledge:
    """What was read as one value."""
    fields: dict[str, Any] = {name: value for name, value in loaded.entries.items() if name not in TOPICS}
    topics: dict[str, Any] = {name: loaded.entries[name]["all"] for name in TOPICS}
    gone = loaded.replaced_rules()
    fields["rules"] = {
        file: structs.replace(entry, rules=[rule for rule in entry.rules if (file, rule.id) not in gone])
        for file, entry in loaded.entries["rules"].items()
    }
    topics["work"] = with_rounds(topics["work"], loaded.entries["treatments"])
    return Knowledge(
        version=version,
        layers=[layer.name for layer in layers],
        origins=loaded.origins,
        left_out=loaded.refused,
        **fields,
        **topics,
    )


def read_layers(layers: Sequence[Layer]) -> Loaded:
    """Every entry of every layer, with all problems collected and none raised."""
    loaded = Loaded({name: {} for name in (*FOLDERS, *TABLES, *TOPICS)}, {}, {}, [], [], {})
    loaded.layers = [layer.name for layer in layers]
    for layer in layers:
        _read_layer(layer, loaded)
    _drop_dangling(loaded)
    missing = [name for name in TOPICS if "all" not in loaded.entries[name]]
    loaded.problems += [
        Problem(path=str(layers[0].folder), code="no-topic", message=f"the file {name}.yaml is missing or faulty")
        for name in missing
    ]
    return loaded


def _files(folder: Path) -> list[Path]:
    tops = [folder / f"{name}.yaml" for name in (*TABLES, *TOPICS)]
    inner = [path for name in FOLDERS for path in sorted((folder / name).glob("*.yaml"))]
    return [path for path in (*tops, *inner) if os.path.lexists(path) and not path.name.startswith(".")]


def _read_layer(layer: Layer, loaded: Loaded) -> None:
    shipped = layer.name == SHIPPED_NAME
    problems = loaded.problems if shipped else loaded.refused
    if not os.path.isdir(layer.folder):  # noqa: PTH112 - Path.is_dir raises where it may not look
        problems.append(
            Problem(path=str(layer.folder), code="no-such-folder", message="there is no such knowledge folder")
        )
        return
    for path in _files(layer.folder):
        try:
            for kind, name, entry, document, place in _entries(path):
                line = document.problem(place, "", "").line
                loaded.put(kind, name, Version(entry, Origin(layer.name, str(path), line), document))
        except BadInput as error:
            problems.extend(error.problems)
    if not shipped:
        _drop_doubled_rules(layer, loaded)
    problems.extend(_strays(layer.folder))


def _drop_doubled_rules(layer: Layer, loaded: Loaded) -> None:
    """Leave out a file of a layer with a rule that stands in the layer twice: which one is meant cannot be known."""
    seen: dict[str, str] = {}
    for file, entry in sorted(loaded.entries["rules"].items()):
        if loaded.origins[f"rules/{file}"].layer != layer.name:
            continue
        ids = [rule.id for rule in entry.rules]
        for index, name in enumerate(ids):
            if name in seen or name in ids[:index]:
                message = f"the rule id {name} is used in {seen.get(name, file)}.yaml too"
                document = loaded.documents[f"rules/{file}"]
                loaded.refused.append(document.problem(("rules", index, "id"), "twice", message))
                loaded.leave_out("rules", file)
                break
        else:
            seen |= dict.fromkeys(ids, file)


def _entries(path: Path) -> Iterator[tuple[str, str, Any, Document, tuple[str, ...]]]:
    document = read(path)
    folder, stem = path.parent.name, path.stem
    if folder in FOLDERS:
        if not _STEM.match(stem):
            message = "a file's name is its id: lower-case words joined by hyphens"
            raise BadInput([Problem(path=str(path), code="bad-id", message=message)])
        yield folder, stem, shaped(document, FOLDERS[folder][0]), document, ()
    elif stem in TABLES:
        for name, row in shaped(document, TABLES[stem]).items():
            yield stem, name, row, document, (name,)
    else:
        yield stem, "all", shaped(document, TOPICS[stem]), document, ()


def _strays(folder: Path) -> list[Problem]:
    """Files that look like knowledge but would never be read."""
    read_ones, hint = set(_files(folder)), "folders: " + ", ".join(sorted({*FOLDERS, "schema"}))
    found = [path for path in folder.rglob("*.y*ml") if path not in read_ones and not path.name.startswith(".")]
    return [
        Problem(path=str(path), code="stray", message="this file is not read", hint=hint)
        for path in sorted(found)
        if path.suffix in (".yaml", ".yml")
    ]


def _drop_dangling(loaded: Loaded) -> None:
    """Find ids that nothing defines; leave out the user's entries that use or undo them.

    Leaving one out may leave another without what it names, so this goes on until all is well.
    """
    while own := [key for key in dangling(loaded) if loaded.origins["/".join(key)].layer != SHIPPED_NAME]:
        for kind, name in own:
            loaded.refused += _dangling_of(kind, name, loaded)
            loaded.leave_out(kind, name)
    for key in reversed([key for key in loaded.own() if loaded.beneath.get("/".join(key))]):
        before = dangling(loaded)
        if not before:
            return
        gone = loaded.leave_out(*key)
        if len(dangling(loaded)) < len(before):
            kind, name = before[0]
            message = f"what this replaces is needed as it was, by {kind}/{name} and others"
            loaded.refused.append(gone.document.problem((), "undoes", message, "keep every id of the shipped file"))
        else:
            loaded.put(*key, gone)
    for kind, name in dangling(loaded):
        loaded.problems += _dangling_of(kind, name, loaded)


def dangling(loaded: Loaded) -> list[tuple[str, str]]:
    """Every entry that names something that is not there."""
    keys = [(kind, name) for kind, entries in loaded.entries.items() for name in entries]
    return [(kind, name) for kind, name in keys if _dangling_of(kind, name, loaded)]


def _dangling_of(kind: str, name: str, loaded: Loaded) -> list[Problem]:
    document, prefix = loaded.documents[f"{kind}/{name}"], (name,) if kind in TABLES else ()
    references = references_of(kind, loaded.entries[kind][name], loaded.entries)
    return [_told(document, prefix, ref) for ref in references if not ref.found()]


def _told(document: Document, prefix: tuple[str, ...], ref: Reference) -> Problem:
    return document.problem((*prefix, *ref.place), "unknown-id", ref.message(), ref.hint())
