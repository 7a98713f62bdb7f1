"""YAML text to plain values, with the place of every value.

PyYAML's C parser does the grammar. Construction is ours because three things that
the stock loader does are wrong here: it reads `no` as False, `012` as 10 and `1:30`
as 90; it keeps the last of two equal keys without a word; and it forgets where a
value stood. Aliases are refused, so a small file cannot unfold into a large one.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import yaml

from ..problems import BadInput, Problem

MOST_BYTES = 2_000_000
MOST_DEPTH = 40
Place = tuple[str | int, ...]

_INT = re.compile(r"-?(0|[1-9][0-9]{0,17})\Z")
_FLOAT = re.compile(r"-?(0|[1-9][0-9]{0,17})\.[0-9]{1,18}\Z")
_WORDS = {"true": True, "false": False, "null": None, "~": None, "": None}


class Document:
    """A parsed file: its value and the line and column of every place in it."""

    def __init__(self, path: str, value: Any, places: dict[Place, tuple[int, int]]) -> None:
        self.path = path
        self.value = value
        self._places = places

    def within(self, key: str) -> Document:
        """What stands under `key` as a document of its own, at the same lines. Raises KeyError if nothing does."""
        places = {place[1:]: at for place, at in self._places.items() if place[:1] == (key,)}
        return Document(self.path, self.value[key], places)

    def problem(self, place: Place, code: str, message: str, hint: str = "") -> Problem:
        """A problem at `place`, or at the nearest enclosing place that the file has."""
        while place and place not in self._places:
            place = place[:-1]
        line, column = self._places.get(place, (1, 1))
        return Problem(path=self.path, line=line, column=column, code=code, message=message, hint=hint)


def read(path: Path, most_bytes: int = MOST_BYTES) -> Document:
    """Parse the file at `path`.

    Raises BadInput for a missing, unreadable, oversized or malformed file.
    """
    return parse(read_text(path, most_bytes), str(path))


def read_text(path: Path, most_bytes: int = MOST_BYTES) -> str:
    """The text of a regular file of at most `most_bytes`; raises BadInput."""

    def fail(code: str, message: str, hint: str = "") -> BadInput:
        return BadInput([Problem(path=str(path), code=code, message=message, hint=hint)])

    try:
        if path.is_dir():
            raise fail("is-a-folder", "this is a folder, a YAML file is needed")
        if not path.exists():
            raise fail("no-such-file", "there is no such file", _neighbour(path))
        if not path.is_file():
            raise fail("not-a-file", "this is not a regular file")
        size = path.stat().st_size
        if size > most_bytes:
            raise fail("too-large", f"the file has {size:,} bytes, at most {most_bytes:,} are read")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise fail("not-text", f"byte {error.start} is not UTF-8: this is not a text file") from None
    except (OSError, ValueError) as error:
        raise fail("unreadable", f"it cannot be read: {getattr(error, 'strerror', None) or error}") from None


def parse(text: str, path: str) -> Document:
    """Parse YAML text; `path` names it in messages. Raises BadInput."""
    try:
        refused = _too_deep_or_aliased(text, path)
        if refused:
            raise BadInput([refused])
        node = yaml.compose(text, Loader=yaml.CSafeLoader)
    except yaml.MarkedYAMLError as error:
        line, column = _position(error.problem_mark or error.context_mark)
        what = error.problem or error.context or "it cannot be parsed"
        told = _at(path, line, column, "not-yaml", f"this is not valid YAML: {what}", _remedy(what, text, line, column))
        raise BadInput([told]) from None
    except yaml.YAMLError as error:
        raise BadInput([_at(path, 1, 1, "not-yaml", f"this is not valid YAML: {str(error).splitlines()[0]}")]) from None
    builder = _Builder(path)
    value = builder.build(node, ()) if node is not None else None
    if builder.problems:
        raise BadInput(builder.problems)
    return Document(path, value, builder.places)


def _remedy(what: str, text: str, line: int, column: int) -> str:
    """What to do about the parser's commonest complaints (libyaml's wording)."""
    if "cannot start any token" in what:
        row = [*text.splitlines(), *[""] * line][line - 1]
        is_tab = row[column - 1 : column] == "\t"
        return "this is a tab: use spaces" if is_tab else "a text that begins with a special sign must stand in quotes"
    if "mapping values are not allowed" in what:
        return "a text with a colon and a blank in it must stand in quotes, or the line is indented too far"
    return ""


def _at(path: str, line: int, column: int, code: str, message: str, hint: str = "") -> Problem:
    return Problem(path=path, line=line, column=column, code=code, message=message, hint=hint)


def _position(mark: Any) -> tuple[int, int]:
    return (mark.line + 1, mark.column + 1) if mark else (1, 1)


def _too_deep_or_aliased(text: str, path: str) -> Problem | None:
    """The event stream needs no recursion, so it is safe to look for what would need much."""
    depth = documents = 0
    for event in yaml.parse(text, Loader=yaml.CSafeLoader):
        line, column = _position(event.start_mark)
        if isinstance(event, yaml.AliasEvent):
            return _at(path, line, column, "alias", "YAML aliases (*name) are not read here", "write the value out")
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                return _at(path, line, column, "two-documents", "a second document begins here, one is read per file")
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        if depth > MOST_DEPTH:
            return _at(path, line, column, "too-deep", f"more than {MOST_DEPTH} levels inside each other")
    return None


class _Builder:
    """Turns a node tree into values, noting places and collecting problems."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.places: dict[Place, tuple[int, int]] = {}
        self.problems: list[Problem] = []

    def build(self, node: yaml.Node, place: Place) -> Any:
        self.places.setdefault(place, _position(node.start_mark))
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, place)
        if isinstance(node, yaml.SequenceNode):
            return [self.build(child, (*place, index)) for index, child in enumerate(node.value)]
        return _scalar(node)

    def _mapping(self, node: yaml.MappingNode, place: Place) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key_node, value_node in node.value:
            line, column = _position(key_node.start_mark)
            if not isinstance(key_node, yaml.ScalarNode):
                self.problems.append(_at(self.path, line, column, "odd-key", "a key must be a plain word"))
                continue
            key = str(key_node.value)
            if key in found:
                self.problems.append(_at(self.path, line, column, "twice", f"the key {key!r} stands here twice"))
                continue
            self.places[(*place, key)] = (line, column)
            found[key] = self.build(value_node, (*place, key))
        return found


def _scalar(node: Any) -> str | int | float | bool | None:
    text = str(node.value)
    if node.style in ("'", '"', "|", ">"):
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.match(text):
        return int(text)
    if _FLOAT.match(text):
        return float(text)
    return text


def _neighbour(path: Path) -> str:
    from ..problems import nearest

    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.name != path.name]
    except OSError:
        return f"there is no folder {path.parent}"
    hint = nearest(path.name, names, most=0)
    return hint if hint.startswith("did") else ""
