"""YAML text: the traps of YAML 1.1 closed, hostile text refused, places kept."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.problems import BadInput
from oldcoat.engine.reading.yamltext import parse, read


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: no", {"a": "no"}),
        ("a: NO", {"a": "NO"}),
        ("on: 1", {"on": 1}),
        ("a: 012", {"a": "012"}),
        ("a: 1:30", {"a": "1:30"}),
        ("a: 1e3", {"a": "1e3"}),
        ("a: 2020-01-01", {"a": "2020-01-01"}),
        ("a: .nan", {"a": ".nan"}),
        ("a: true", {"a": True}),
        ("a: 0.7", {"a": 0.7}),
        ("a: '1'", {"a": "1"}),
        ("a:", {"a": None}),
        ("", None),
    ],
)
def test_yaml_1_1_traps(text: str, value: object) -> None:
    """Each trap of the YAML 1.1 schema (yaml.org, 2005) reads as written, not as a bool, octal or base 60."""
    assert parse(text, "x").value == value


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("a: 1\nb: 2\na: 3", "twice", 3),
        ("a: &x 1\nb: *x", "alias", 2),
        ("a: [1", "not-yaml", 2),
        ("a: 1\n---\nb: 2", "two-documents", 2),
        ("[" * 60 + "]" * 60, "too-deep", 1),
        ("- " * 5000 + "x", "too-deep", 1),
        ("? [a]\n: 1", "odd-key", 1),
        ("a: \x00", "not-yaml", 1),
        ("\tb: 1", "not-yaml", 1),
    ],
)
def test_refused_with_place(text: str, code: str, line: int) -> None:
    """What is refused names its kind and line."""
    with pytest.raises(BadInput) as caught:
        parse(text, "x.yaml")
    assert caught.value.problems[0].code == code
    assert caught.value.problems[0].line == line


def test_alias_bomb_is_cheap() -> None:
    """Nine levels of nine aliases would unfold to 400 million values; it is refused at the first alias."""
    lines = ["a0: &a0 [x,x,x,x,x,x,x,x,x]"]
    lines += [f"a{i}: &a{i} [{','.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    with pytest.raises(BadInput, match="aliases"):
        parse("\n".join(lines), "bomb")


def test_files_that_are_none(tmp_path: Path) -> None:
    """Folder, missing file, binary and oversized file each get a message, not a traceback."""
    binary = tmp_path / "b.yaml"
    binary.write_bytes(b"\xff\xfe\x00\x01")
    large = tmp_path / "l.yaml"
    large.write_text("note: " + "x" * 5_000_000, encoding="utf-8")
    for path, code in (
        (tmp_path, "is-a-folder"),
        (tmp_path / "no.yaml", "no-such-file"),
        (binary, "not-text"),
        (large, "too-large"),
    ):
        with pytest.raises(BadInput) as caught:
            read(path)
        assert caught.value.problems[0].code == code


def test_nearest_file_is_offered(tmp_path: Path) -> None:
    """A misspelt file name is answered with the file that is there."""
    (tmp_path / "table.yaml").write_text("a: 1", encoding="utf-8")
    with pytest.raises(BadInput, match=r"table\.yaml"):
        read(tmp_path / "tabel.yaml")


def test_place_of_a_value() -> None:
    """A problem deep in the file is told at its own line and column."""
    document = parse("a:\n  - b: 1\n  - b: 2\n", "x")
    problem = document.problem(("a", 1, "b"), "c", "m")
    assert (problem.line, problem.column) == (3, 5)


@given(st.text(max_size=300))
def test_any_text_parses_or_is_refused(text: str) -> None:
    """No text at all makes the parser fail in any other way than by a told problem."""
    with contextlib.suppress(BadInput):
        parse(text, "fuzz")
