"""Mutants of small snippets, as one would write them by hand."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from kinds import mutants

ENGINE = Path(__file__).resolve().parents[2] / "engine"


@pytest.mark.parametrize(
    ("source", "wrong"),
    [
        ("a < b", {"(a <= b)", "(a >= b)"}),
        ("a in b", {"(a not in b)"}),
        ("a and b", {"(a or b)", "(a)", "(b)"}),
        ("not a", {"(a)"}),
        ("a + b", {"(a - b)"}),
        ("b = min(a)", {"b = (max)(a)"}),
        ("True", {"(False)"}),
        ("0", {"(1)", "(2)"}),
        ("f(x=3)", {"f(x=(4))", "f(x=(2))", "pass"}),
        ("a if b else c", {"(a)", "(c)"}),
        ("[a for a in b if c]", {"[a for a in b if (True)]"}),
        ("if a:\n    b += c", {"if (not a):\n    b += c", "if a:\n    pass"}),
        ("a: int | None = b", set()),
        ("f'{a + b}'", set()),
        ("zip(a, b, strict=True)\n", {"pass\n"}),
        ("'ü' + a", {"('ü' - a)"}),
    ],
)
def test_each_kind(source: str, wrong: set[str]) -> None:
    """All that is made of a snippet, and nothing else."""
    assert {one.code for one in mutants(source)} == wrong


@pytest.mark.parametrize("path", sorted(ENGINE.rglob("*.py"))[::7], ids=lambda path: path.name)
def test_mutants_are_python(path: Path) -> None:
    """Each mutant of the engine can be read and does something else."""
    source = path.read_text("utf-8")
    meant = ast.dump(ast.parse(source))
    assert all(ast.dump(ast.parse(one.code)) != meant for one in mutants(source))
