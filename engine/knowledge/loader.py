"""Folders of YAML to one Knowledge: shipped layer first, then the user's layers over it.

A mistake in the shipped layer is fatal. A mistake in a user's layer costs only that
entry: it is left out, named in `Knowledge.left_out`, and the rest works.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from hashlib import blake2b
from pathlib import Path
from typing import Any

from msgspec import Struct, structs

from ..problems import BadInput, BadKnowledge, Problem
from ..reading.shape import shaped
from ..reading.yamltext import Document, read
from .base import Knowledge, Origin
from .layout import FOLDERS, TABLES, TOPICS
from .references import Reference, references_of

SHIPPED = Path(__file__).resolve().parents[2] / "knowledge"
SHIPPED_NAME = "shipped"
_STEM = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class Layer(Struct, frozen=True):
    """One folder of knowledge and the name it goes by."""

    name: str
    folder: Path


class Loaded(Struct):
    """What was read so far: entries by kind and id, their places, what was refused."""

    entries: dict[str, dict[str, Any]]
    origins: dict[str, Origin]
    documents: dict[str, Document]
    problems: list[Problem]
    refused: list[Problem]


def layers_for(extra: Sequence[Path]) -> list[Layer]:
    """The shipped layer and the user's, in the order in which they overlay."""
    return [Layer(SHIPPED_NAME, SHIPPED), *(Layer(str(folder), folder) for folder in extra)]


def content_hash(layers: Sequence[Layer], salt: str) -> str:
    """A digest of every YAML file in the layers; equal digests mean equal knowledge."""
    digest = blake2b(salt.encode(), digest_size=16)
    for layer in layers:
        digest.update(b"\0layer\0" + layer.name.encode())
        for path in _files(layer.folder):
            digest.update(str(path.relative_to(layer.folder)).encode() + b"\0")
            try:
                digest.update(path.read_bytes())
            except OSError as error:
                digest.update(repr(error.errno).encode())
    return digest.hexdigest()


def load(layers: Sequence[Layer], version: str) -> Knowledge:
    """Read and join all layers; no cache, no derived tables.

    Raises BadKnowledge if the shipped layer has any mistake.
    """
    loaded = read_layers(layers)
    if loaded.problems:
        raise BadKnowledge(loaded.problems)
    fields: dict[str, Any] = {name: value for name, value in loaded.entries.items() if name not in TOPICS}
    topics: dict[str, Any] = {name: loaded.entries[name]["all"] for name in TOPICS}
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
    loaded = Loaded({name: {} for name in (*FOLDERS, *TABLES, *TOPICS)}, {}, {}, [], [])
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
    return [path for path in (*tops, *inner) if path.is_file()]


def _read_layer(layer: Layer, loaded: Loaded) -> None:
    shipped = layer.name == SHIPPED_NAME
    problems = loaded.problems if shipped else loaded.refused
    if not layer.folder.is_dir():
        problems.append(
            Problem(path=str(layer.folder), code="no-such-folder", message="there is no such knowledge folder")
        )
        return
    for path in _files(layer.folder):
        try:
            for kind, name, entry, document, place in _entries(path):
                loaded.entries[kind][name] = entry
                loaded.origins[f"{kind}/{name}"] = Origin(layer.name, str(path), document.problem(place, "", "").line)
                loaded.documents[f"{kind}/{name}"] = document
        except BadInput as error:
            problems.extend(error.problems)
    problems.extend(_strays(layer.folder))


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
    known = {*FOLDERS, "schema"}
    strays = [path for path in folder.rglob("*.y*ml") if path.suffix != ".yaml" or path not in _files(folder)]
    return [
        Problem(
            path=str(path), code="stray", message="this file is not read", hint="folders: " + ", ".join(sorted(known))
        )
        for path in sorted(strays)
    ]


def _drop_dangling(loaded: Loaded) -> None:
    """Find ids that nothing defines; drop the user's entries that use them."""
    for key, document in loaded.documents.items():
        kind, name = key.split("/", 1)
        entry = loaded.entries[kind].get(name)
        if entry is None:
            continue
        prefix = (name,) if kind in TABLES else ()
        dangling = [
            _told(document, prefix, ref) for ref in references_of(kind, entry, loaded.entries) if not ref.found()
        ]
        if not dangling:
            continue
        if loaded.origins[key].layer == SHIPPED_NAME:
            loaded.problems += dangling
        else:
            loaded.refused += dangling
            if name != "all":
                del loaded.entries[kind][name]


def _told(document: Document, prefix: tuple[str, ...], ref: Reference) -> Problem:
    return document.problem((*prefix, *ref.place), "unknown-id", ref.message(), ref.hint())


def with_pairs(knowledge: Knowledge, pairs: dict[str, Any]) -> Knowledge:
    """The same knowledge with the derived table of removals filled in."""
    return structs.replace(knowledge, pairs=pairs)
