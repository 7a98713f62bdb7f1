"""Slips in cases: told once by every command, at their line, and never in the way; names taken as a person means them."""

from __future__ import annotations

import io
import json
import shlex
from pathlib import Path

import pytest
from invented import Say, case, piece

from oldcoat.engine.storage import to_yaml


def keep(tmp_path: Path, name: str, finish: str | None = "shellac", **top: object) -> Path:
    """A case file put into the casebook by hand."""
    path = tmp_path / "home" / "cases" / f"{name}.yaml"
    path.write_text(to_yaml(case(name, finish, **top)))
    return path


def line_of(path: Path, text: str) -> int:
    """The line that a text stands in."""
    return next(n for n, line in enumerate(path.read_text().splitlines(), 1) if text in line)


@pytest.mark.parametrize("command", ["assess {} --json", "explain {} top --json", "score --json", "sheet {}"])
def test_every_command_names_a_slip_once_and_goes_on(say: Say, tmp_path: Path, command: str) -> None:
    """No YAML, no such finish, no such outcome, no such test: each with line and nearest name, exit code 0; the rest counts."""
    keep(tmp_path, "good")
    (tmp_path / "home" / "cases" / "broken.yaml").write_text("format: [\n")
    finish = keep(tmp_path, "finish", "shelac")
    tests = keep(tmp_path, "tests", tests={"alcohol-drop": "disolves-fast", "coin-scrap": "powder"})
    code, out, err = say(*command.format(tmp_path / "table.yaml").split())
    assert code == 0
    assert out
    lines = err.splitlines()
    assert [line.split(":")[0] for line in lines] == [
        "left out of your casebook",
        *["does not count in your casebook"] * 2,
        "... and 1 more",
    ]
    assert "broken.yaml:2:1" in lines[0]
    assert f"finish.yaml:{line_of(finish, 'shelac')}:" in lines[1]
    assert "did you mean shellac?" in lines[1]
    assert f"tests.yaml:{line_of(tests, 'disolves-fast')}:" in lines[2]
    assert "did you mean dissolves-fast?" in lines[2]
    assert lines[3].endswith(f"oldcoat --home {tmp_path}/home case list")
    if command.startswith("score"):
        assert json.loads(out)["score"]["casebook"]["n"] == 2


def test_the_list_names_them_all_and_a_withdrawn_case_is_left_alone(say: Say, tmp_path: Path) -> None:
    """Exit code 3 only for what cannot be read; a withdrawn case does not count, so its slips are not told."""
    keep(tmp_path, "finish", "shelac")
    code, _, err = say("case", "list")
    assert (code, err.count("does not count")) == (0, 1)
    assert say("case", "withdraw", "finish")[0] == 0
    assert say("case", "list")[::2] == (0, "")
    (tmp_path / "home" / "cases" / "broken.yaml").write_text("format: [\n")
    code, _, err = say("case", "list")
    assert (code, err.count("left out")) == (3, 1)


def test_a_finish_of_ones_own_without_its_knowledge(say: Say, tmp_path: Path) -> None:
    """The score says which finish is missing and how to give it, and not that nothing was confirmed."""
    keep(tmp_path, "own", "invented-gum")
    code, _, err = say("score")
    assert code == 5
    assert "confirmed are invented-gum" in err
    assert "--knowledge DIR" in err
    keep(tmp_path, "own", None)
    assert "no case that counts is confirmed yet" in say("score")[2]


def test_words_are_taken_as_they_are_meant(say: Say, tmp_path: Path) -> None:
    """Common names of finishes and removers, and the beginning of an id; another kind is told as such, never as itself."""
    keep(tmp_path, "invented-hall-table-20260101-abcdef", None)
    keep(tmp_path, "invented-hall-table-20260101-fedcba", None)
    code, out, _ = say("case", "confirm", "invented-hall-table-20260101-a", "top", "French polish", "--how", "opinion")
    assert (code, "confirmed as shellac" in " ".join(out.split())) == (0, True)
    words = ("case", "removed", "invented-hall-table-20260101-a", "top", "methylated spirits", "works", "--json")
    assert json.loads(say(*words)[1])["removed"] == 1
    shown = json.loads(say("case", "show", "invented-hall-table-20260101-ab", "--json")[1])["case"]["piece"]
    assert shown["surfaces"][0]["removed"][0]["remover"] == "denatured-alcohol"
    for name in ("invented-hall-table", "invented-hall-table-20260101-abcdee", "zz"):
        code, _, err = say("case", "confirm", name, "top", "shellac", "--how", "opinion")
        assert code == 5
        assert "did you mean" not in err
    assert "oak is a wood" in say("case", "removed", "invented-hall-table-20260101-a", "top", "oak", "works")[2]
    assert "oak is a wood" in say("explain", str(tmp_path / "table.yaml"), "top", "oak")[2]


@pytest.mark.parametrize(
    "when", ["yesterday", "2024-13", "2024-5-1", "2024-W01-1", "9999", "99999999999", "2024-02-30"]
)
def test_no_nonsense_for_a_date(say: Say, tmp_path: Path, when: str) -> None:
    """What is no date, or has not come yet, is refused; a year, a month and a day are taken."""
    keep(tmp_path, "one", None)
    words = ("case", "confirm", "one", "top", "shellac", "--how", "opinion", "--when")
    assert say(*words, when)[0] == 2
    assert all(say(*words, good)[0] == 0 for good in ("2024", "2024-05", "2024-05-17"))


def test_a_hint_is_a_command_that_works(say: Say, tmp_path: Path) -> None:
    """What is proposed after adding keeps the home folder, and does what it says when it is pasted."""
    (tmp_path / "table.yaml").write_text(to_yaml(piece(name="top of it")))
    hint = next(line for line in say("case", "add", str(tmp_path / "table.yaml"))[1].splitlines() if "confirm" in line)
    words = shlex.split(hint.replace("FINISH", "shellac"))
    assert words[:3] == ["oldcoat", "--home", str(tmp_path / "home")]
    assert say(*words[1:])[0] == 0


def test_a_case_is_no_piece(say: Say, tmp_path: Path) -> None:
    """A case file given to add is refused with the command that takes it in; the same piece under any name is refused."""
    path = tmp_path / "elsewhere.yaml"
    path.write_text(to_yaml(case("elsewhere")))
    code, _, err = say("case", "add", str(path))
    assert code == 3
    assert f"case import {path}" in err
    assert say("case", "import", str(path))[0] == 0
    code, _, err = say("case", "add", str(tmp_path / "table.yaml"))
    assert (code, "as elsewhere" in err) == (3, True)
    assert say("case", "import", str(tmp_path / "home" / "cases"))[0] == 0


def test_the_bench_says_at_its_start_what_is_left_out(
    say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line for a broken case and a broken entry of one's own together, and none of it again on leaving."""
    keep(tmp_path, "finish", "shelac")
    own = tmp_path / "home" / "knowledge" / "finishes" / "mine.yaml"
    own.parent.mkdir(parents=True)
    own.write_text("name: mine\n")
    monkeypatch.setattr("sys.stdin", io.StringIO("whatever\nleave\n"))
    code, out, err = say("--plain", "bench", str(tmp_path / "table.yaml"))
    assert (code, err) == (0, "")
    assert [line for line in out.splitlines() if "mine.yaml:1, finish.yaml:" in line] == [
        line for line in out.splitlines() if "Left out" in line
    ]
    assert out.count("Left out") == 1
