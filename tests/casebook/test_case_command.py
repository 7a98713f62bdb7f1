"""The casebook from the command line: contract, exit codes, what is shown with and without it."""

from __future__ import annotations

import json
from pathlib import Path

from invented import Say, piece

from oldcoat.engine.storage import to_yaml


def add(say: Say, tmp_path: Path) -> str:
    """A case of the invented table; its id."""
    code, out, _ = say("case", "add", str(tmp_path / "table.yaml"), "--another", "--json")
    assert code == 0
    return str(json.loads(out)["id"])


def test_the_life_of_a_case(say: Say, tmp_path: Path) -> None:
    """Add, confirm, remove, list, show: each step is there for the next, and the list is one object a case."""
    name = add(say, tmp_path)
    assert say("case", "confirm", name, "top", "shellac", "--how", "laboratory")[0] == 0
    assert say("case", "removed", name, "top", "denatured-alcohol", "works", "--coats", "2", "--hours", "3.5")[0] == 0
    rows = json.loads(say("case", "list", "--json")[1])
    assert [(row["id"], row["confirmed"]) for row in rows] == [(name, {"top": "shellac"})]
    shown = json.loads(say("case", "show", name, "--json")[1])
    assert shown["case"]["piece"]["surfaces"][0]["removed"][0]["hours"] == 3.5
    assert any("your one case says" in row["text"] for row in shown["changed"])
    assert say("case", "withdraw", name, "--why", "wrong piece")[0] == 0
    assert json.loads(say("case", "show", name, "--json")[1])["changed"] == []


def test_an_opinion_does_not_replace_what_a_removal_showed(say: Say, tmp_path: Path) -> None:
    """Refused with the way to do it all the same; done so, the truth before stands in the history; a surer way just replaces."""
    name = add(say, tmp_path)
    assert say("case", "confirm", name, "top", "shellac", "--how", "removal")[0] == 0
    code, _, error = say("case", "confirm", name, "top", "nitrocellulose-lacquer", "--how", "opinion")
    assert (code, "shellac by removal" in error, "--anyway" in error) == (3, True, True)
    assert json.loads(say("case", "list", "--json")[1])[0]["confirmed"] == {"top": "shellac"}
    assert say("case", "confirm", name, "top", "nitrocellulose-lacquer", "--how", "opinion", "--anyway")[0] == 0
    case = json.loads(say("case", "show", name, "--json")[1])["case"]
    assert case["piece"]["surfaces"][0]["confirmed"]["finish"] == "nitrocellulose-lacquer"
    assert "before that shellac (removal)" in case["history"][-1]["what"]
    assert say("case", "confirm", name, "top", "shellac", "--how", "laboratory")[0] == 0


def test_exit_codes(say: Say, tmp_path: Path) -> None:
    """5 for what is not there, 3 for a bad file, 2 for a wrong word; each with a message and nothing on stdout."""
    name = add(say, tmp_path)
    (tmp_path / "bad.yaml").write_text("piece: x\nsurfaces: [{name: top, wood: walnutt}]\n")
    for code, words in (
        (5, ("case", "show", "no-such-case")),
        (5, ("case", "confirm", name, "tip", "shellac", "--how", "removal")),
        (5, ("case", "confirm", name, "top", "shelac", "--how", "removal")),
        (5, ("case", "confirm", "../../etc/passwd", "top", "shellac", "--how", "removal")),
        (5, ("case", "removed", name, "top", "acetonne", "works")),
        (5, ("score",)),
        (3, ("case", "add", str(tmp_path / "bad.yaml"))),
        (3, ("case", "add", str(tmp_path / "none.yaml"))),
        (3, ("case", "import", str(tmp_path / "none.zip"))),
        (2, ("case", "confirm", name, "top", "shellac", "--how", "hearsay")),
        (2, ("case", "removed", name, "top", "acetone", "works", "--hours", "-1")),
    ):
        got, out, err = say(*words)
        assert (got, out) == (code, "")
        assert err


def test_without_the_casebook(say: Say, tmp_path: Path) -> None:
    """With cases the chances move; --without-casebook, before or after the command, gives the book's, and shows the difference."""
    before = json.loads(say("assess", str(tmp_path / "table.yaml"), "--json")[1])
    for _ in range(4):
        say("case", "confirm", add(say, tmp_path), "top", "shellac", "--how", "laboratory")
    after = json.loads(say("assess", str(tmp_path / "table.yaml"), "--json")[1])
    alone = json.loads(say("--without-casebook", "assess", str(tmp_path / "table.yaml"), "--json")[1])
    told = json.loads(say("assess", str(tmp_path / "table.yaml"), "--without-casebook", "--json")[1])
    chances = [{r["finish"]: r["p"] for r in a["surfaces"][0]["ranking"]} for a in (before, after, alone, told)]
    assert chances[0] == chances[2] == chances[3]
    assert chances[1]["shellac"] > chances[0]["shellac"]
    row = next(r for r in told["casebook"] if r["finish"] == "shellac")
    assert row["with_casebook"] > row["book_alone"]
    explained = say("explain", str(tmp_path / "table.yaml"), "top", "shellac")[1]
    assert "of your 4 cases say" in " ".join(explained.split())
    assert "most similar surfaces turned out: 4 shellac" in " ".join(explained.split())
    assert "with your cases" in say("explain", str(tmp_path / "table.yaml"), "top", "--without-casebook")[1]


def test_score_of_few_cases_says_so(say: Say, tmp_path: Path) -> None:
    """Three cases are too few to tell, in words and in JSON; the reference cases can be scored with an empty casebook."""
    for _ in range(3):
        say("case", "confirm", add(say, tmp_path), "top", "shellac", "--how", "laboratory")
    assert "Too few cases to tell" in say("score")[1]
    told = json.loads(say("score", "--json")[1])
    assert told["enough_cases"] is False
    assert told["score"]["casebook"]["n"] == 3
    assert json.loads(say("score", "--reference", "--json")[1])["score"]["cases"] >= 20


def test_there_and_back_by_archive(say: Say, tmp_path: Path) -> None:
    """Export and import by command; a damaged case among them is named, with exit code 3, and the rest goes out."""
    name = add(say, tmp_path)
    assert say("case", "export", str(tmp_path / "out.zip"))[0] == 0
    assert "1 were here already" in say("case", "import", str(tmp_path / "out.zip"))[1]
    (tmp_path / "home" / "cases" / "broken.yaml").write_text("format: [")
    code, out, err = say("case", "export", str(tmp_path / "all.tar.gz"))
    assert code == 3
    assert "1 case written" in out
    assert "broken.yaml" in err
    assert [row["id"] for row in json.loads(say("case", "list", "--json")[1])] == [name]


def test_hostile_text_reaches_no_terminal(say: Say, tmp_path: Path) -> None:
    """Control characters of a piece's name are shown as such, never sent."""
    (tmp_path / "table.yaml").write_text(to_yaml(piece("evil \x1b[2J\x07 ‮ table")))
    name = add(say, tmp_path)
    for words in (("case", "list"), ("case", "show", name)):
        assert not set(say(*words)[1]) & set("\x1b\x07‮")


def test_the_same_piece_is_not_counted_twice(say: Say, tmp_path: Path) -> None:
    """The same file again is refused with the id it has, also once it is confirmed; told anew it is pointed to amend; --another keeps it."""
    file = str(tmp_path / "table.yaml")
    name = add(say, tmp_path)
    say("case", "confirm", name, "top", "shellac", "--how", "removal")
    code, out, err = say("case", "add", file)
    assert (code, out) == (3, "")
    assert name in err
    assert "--another" in err
    Path(file).write_text(to_yaml(piece(tests={"alcohol-drop": "dissolves-fast", "film-build": "thick-filled"})))
    code, _, err = say("case", "add", file)
    assert code == 3
    assert f"case amend {name} {file}" in err
    assert say("case", "amend", name, file, "--why", "looked again")[0] == 0
    assert say("case", "add", file, "--another")[0] == 0
    assert len(json.loads(say("case", "list", "--json")[1])) == 2


def test_amending_and_withdrawing_with_care(say: Say, tmp_path: Path) -> None:
    """Another piece, nothing new, and a second withdrawal are refused with 3 and change nothing; --whatever goes on."""
    name = add(say, tmp_path)
    other = tmp_path / "other.yaml"
    other.write_text("piece: invented bed\nmade: 1990\nsurfaces: [{name: headboard, wood: pine}]\n")
    before = (tmp_path / "home" / "cases" / f"{name}.yaml").read_bytes()
    for words in (
        ("amend", name, str(other)),
        ("amend", name, str(tmp_path / "table.yaml")),
        ("withdraw", name, "--back"),
    ):
        code, out, err = say("case", *words)
        assert (code, out) == (3, "")
        assert "nothing was changed" in err
    assert (tmp_path / "home" / "cases" / f"{name}.yaml").read_bytes() == before
    assert say("case", "withdraw", name, "--why", "sold")[0] == 0
    code, _, err = say("case", "withdraw", name)
    assert code == 3
    assert "sold" in err
    say("case", "confirm", name, "top", "shellac", "--how", "removal")
    code, out, _ = say("case", "amend", name, str(other), "--whatever")
    assert code == 0
    assert "no longer counted: top" in out
    history = json.loads(say("case", "show", name, "--json")[1])["case"]["history"]
    assert [row["what"].split(":")[0] for row in history] == ["added", "withdrawn", "top", "amended"]
