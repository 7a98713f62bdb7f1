"""explain by common names, and what the user's own cases did to a chance, as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from oldcoat.cases import __file__ as cases_file
from oldcoat.engine.words import percent
from oldcoat.shell.cli import run

DEMO = str(Path(cases_file).parent / "demo" / "walnut-sideboard.yaml")
TABLE = """
piece: invented table
made: 1930-1945
region: north-america
kind: table
surfaces:
  - {name: top, wood: walnut, tests: {alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}}
"""
Capture = pytest.CaptureFixture[str]


@pytest.mark.parametrize(
    ("asked", "code", "told"),
    [
        ("French polish", 0, "shellac"),
        ("Caustic Soda", 0, "caustic soda on top"),
        ("polyurethane", 5, "two-component-polyurethane"),
        ("shelac", 5, "did you mean shellac"),
        ("xyzzy", 5, "there is no finish, remover or test"),
        ("white-bloom", 5, "there is no finish, remover or test"),
    ],
)
def test_explain_by_common_name(asked: str, code: int, told: str, capsys: Capture, tmp_path: Path) -> None:
    """One meaning is explained, several are offered, none is exit 5 with the nearest; a stain is not explained here."""
    assert run(["--home", str(tmp_path), "explain", DEMO, "top", asked]) == code
    out = capsys.readouterr()
    assert told in " ".join((out.out + out.err).split())


def test_moved_by_cases(capsys: Capture, tmp_path: Path) -> None:
    """Confirmed cases that move the first chance are named with the chance without them; without the casebook nothing."""
    home, path = ["--home", str(tmp_path / "home")], tmp_path / "table.yaml"
    path.write_text(TABLE, encoding="utf-8")

    def said(*words: str) -> str:
        capsys.readouterr()
        assert run([*home, *words]) == 0
        return capsys.readouterr().out

    assert "moved this" not in said("assess", str(path))
    for _ in range(3):
        said("case", "add", "--another", str(path))
    for case in json.loads(said("case", "list", "--json")):
        said("case", "confirm", case["id"], "top", "cab-acrylic-lacquer", "--how", "laboratory")
    alone = json.loads(said("--without-casebook", "assess", str(path), "--json"))
    assert alone["moved_by_cases"] == []
    moved = json.loads(said("assess", str(path), "--json"))["moved_by_cases"][0]
    book = {row["finish"]: row["p"] for row in alone["surfaces"][0]["ranking"]}
    assert moved["without"] == pytest.approx(book[moved["finish"]])
    assert abs(moved["p"] - moved["without"]) >= 0.05
    assert moved["cases"] == 3
    assert f"3 of your cases moved this: {percent(moved['without'])} without them" in " ".join(
        said("assess", str(path)).split()
    )
    assert "moved this" not in said("--without-casebook", "assess", str(path))


def test_a_test_is_explained_with_a_casebook_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A test is no finish: what the cases moved is told of the first finishes (invented piece)."""
    file = tmp_path / "t.yaml"
    file.write_text("piece: invented\nsurfaces: [{name: top, tests: {alcohol-drop: no-effect}}]\n", "utf-8")
    home = ["--home", str(tmp_path / "home")]
    assert run([*home, "case", "add", str(file)]) == 0
    capsys.readouterr()
    assert run([*home, "explain", str(file), "top", "alcohol-drop"]) == 0
    assert "alcohol drop was done on top" in capsys.readouterr().out
