"""A piece file that somebody edited by hand: never written over without being asked, never without a copy."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_helpers import Bench

from oldcoat.engine import Examiner
from oldcoat.shell.bench.dialogue import Dialogue
from oldcoat.shell.bench.opening import first_question, open_file

FACES = ("alcohol-drop", "1")


class Files:
    """Benches over one piece file, one after the other."""

    def __init__(self, folder: Path, examiner: Examiner) -> None:
        self.file = folder / "t.yaml"
        self._folder, self._examiner = folder / "sessions", examiner
        self._open: list[Bench] = []

    def bench(self, *, by_list: bool = False) -> Bench:
        """A bench with the file on it, named or picked from the list."""
        for old in self._open:
            if old.desk.session is not None:
                old.desk.session.close()
        bench = Bench(self._folder, self._examiner)
        if by_list:
            bench.say("1")
        else:
            open_file(bench.desk, self.file)
            bench.dialogue = Dialogue(bench.desk, bench.dialogue._act, first_question(bench.desk))
        self._open.append(bench)
        return bench

    @property
    def beside(self) -> list[str]:
        """What stands in the files that keep what was there before."""
        return [path.read_text() for path in sorted(self.file.parent.glob("*.before*"))]


@pytest.fixture
def edited(tmp_path: Path, examiner: Examiner) -> Files:
    """A file as the bench wrote it, then one answer changed by hand and nothing else."""
    files = Files(tmp_path, examiner)
    files.file.write_text("piece: t\nsurfaces: [{name: top}, {name: legs}]\n")
    files.bench().say(*FACES, "leave")
    for copy in tmp_path.glob("*.before*"):
        copy.unlink()
    files.file.write_text(files.file.read_text().replace("dissolves-fast", "no-effect"))
    assert "no-effect" in files.file.read_text()
    return files


@pytest.mark.parametrize("by_list", [False, True], ids=["named", "from the list"])
@pytest.mark.parametrize("lines", [(), ("",), ("surface 2",), ("back",), ("note it rains",), ("uv-a",), ("done",)])
def test_without_a_choice_nothing_is_touched(edited: Files, lines: tuple[str, ...], by_list: bool) -> None:
    """Whatever was typed but a choice: the question stands, and file and kept answers are as they were."""
    by_hand = edited.file.read_text()
    bench = edited.bench(by_list=by_list)
    whole = bench.desk.whole
    bench.say(*lines)
    bench.dialogue.cancel()
    assert "Which counts?" in bench.asked
    assert "stays as it is" in bench.say("leave")
    assert (edited.file.read_text(), edited.beside, bench.desk.whole) == (by_hand, [], whole)
    assert "Which counts?" in edited.bench().asked


@pytest.mark.parametrize("by_list", [False, True], ids=["named", "from the list"])
@pytest.mark.parametrize("choice", ["1", "2"], ids=["kept", "file"])
def test_what_was_written_by_hand_is_kept_beside(edited: Files, choice: str, by_list: bool) -> None:
    """Either choice, then an answer: the file is written anew and the hand-written one stands beside it."""
    by_hand = edited.file.read_text()
    bench = edited.bench(by_list=by_list)
    bench.say(choice, "uv-a", "1", "leave")
    assert edited.beside == [by_hand]
    now = edited.file.read_text()
    assert ("dissolves-fast" in now, "no-effect" in now, "orange" in now) == (choice == "1", choice == "2", True)


def test_our_own_writing_is_replaced_without_litter(edited: Files) -> None:
    """Once it is ours again, leaving writes it over with no copy; so does saving elsewhere twice, but not over a copy."""
    edited.bench().say("1", "leave")
    copies = edited.beside
    edited.bench(by_list=True).say("uv-a", "1", "leave")
    assert "orange" in edited.file.read_text()
    assert edited.beside == copies
    backup = edited.file.with_name("mine.yaml")
    backup.write_bytes(edited.file.read_bytes())
    edited.bench().say("note a", f"save {backup}", "note b", f"save {backup}")
    assert len(edited.beside) == len(copies) + 1


def test_a_file_that_was_broken_by_hand_is_named(edited: Files) -> None:
    """From the list: the line is told and the list stands; nothing is written."""
    edited.file.write_text("piece: t\nsurfaces: 7\n")
    bench = Bench(edited._folder, edited._examiner)
    assert "line 2" in bench.say("1")
    assert "Go on with a piece" in bench.asked
    bench.say("leave")
    assert edited.file.read_text() == "piece: t\nsurfaces: 7\n"
