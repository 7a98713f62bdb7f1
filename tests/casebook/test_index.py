"""The index: always what the files say, however they changed and whatever happened to it."""

from __future__ import annotations

import os
import random
import stat
from contextlib import suppress
from pathlib import Path

import msgspec
import pytest
from invented import case, piece

from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.index import Index
from oldcoat.engine.casebook.learn import Teacher, counts_of
from oldcoat.engine.casebook.store import Casebook, NothingToDo
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Confirmed


@pytest.fixture
def index(book: Casebook, knowledge: Knowledge, tmp_path: Path) -> Index:
    """The index of the empty casebook."""
    return Index(book, Tables(knowledge), tmp_path / "cache")


def from_files(index: Index) -> object:
    """What the files teach, read one by one without an index."""
    teacher = Teacher(index.tables)
    return counts_of(lesson for name in index.casebook.ids() for lesson in teacher.lessons(index.casebook.get(name)))


def test_any_order_of_changes_gives_the_same_sum(index: Index) -> None:
    """After adding, confirming, correcting, withdrawing and deleting at random the sums equal those of the files, to the last bit."""
    book, rng = index.casebook, random.Random(1)
    for _ in range(40):
        ids = book.ids()
        act = rng.choice(["add", "confirm", "withdraw", "back", "delete"]) if ids else "add"
        if act == "add":
            book.add(piece(f"invented {rng.random()}"))
        elif act == "delete":
            book.path(rng.choice(ids)).unlink()
        elif act == "confirm":
            finish = rng.choice(["shellac", "wax", "waterborne"])
            book.confirm(rng.choice(ids), "top", Confirmed(finish=finish, how="opinion"))
        else:
            with suppress(NothingToDo):
                book.withdraw(rng.choice(ids), back=act == "back")
        assert index.counts() == from_files(index)


def test_an_edit_in_place_is_seen(index: Index) -> None:
    """A file changed by hand, at the same size and with its old time put back, is read again."""
    index.casebook.take(case("invented-one", "shellac"))
    assert index.counts().cases == {"shellac": 1}
    path = index.casebook.path("invented-one")
    old = path.stat()
    with path.open("r+") as file:
        text = file.read().replace("finish: shellac", "finish: wax    ")
        file.seek(0)
        file.write(text)
    os.utime(path, ns=(old.st_atime_ns, old.st_mtime_ns))
    assert path.stat().st_size == old.st_size
    assert index.counts().cases == {"wax": 1}


@pytest.mark.parametrize("damage", ["garbage", "cut", "empty", "blobs", "middle"])
def test_a_damaged_index_is_built_again(index: Index, damage: str) -> None:
    """Whatever is done to the index file, the answer is that of the files, and no error."""
    for number in range(30):
        index.casebook.take(case(f"invented-{number}"))
    wanted = index.counts()
    data = index.path.read_bytes()
    if damage == "blobs":
        import sqlite3

        with sqlite3.connect(index.path) as db:
            db.execute("update meta set value = x'00ff' where key like 'counts%'")
            db.execute("update files set body = x'00'")
        db.close()
    else:
        middle = data[:4096] + b"\xff" * (len(data) - 8192) + data[-4096:]
        index.path.write_bytes(
            {"garbage": b"?" * 9000, "cut": data[: len(data) // 2], "empty": b"", "middle": middle}[damage]
        )
    assert index.counts() == wanted
    assert len(index.cases()) == 30
    assert sum(lesson.finish == "shellac" for lesson in index.lessons()) == 30


def test_other_knowledge_teaches_other_lessons(index: Index, knowledge: Knowledge, tmp_path: Path) -> None:
    """Two states of the knowledge share an index without taking each other's sums."""
    index.casebook.take(case("invented-one"))
    mine = index.counts()
    tests = {t: entry for t, entry in knowledge.tests.items() if t != "alcohol-drop"}
    less = msgspec.structs.replace(knowledge, version="other", tests=tests)
    other = Index(index.casebook, Tables(less), tmp_path / "cache")
    assert "alcohol-drop" not in other.counts().seen["shellac"]
    assert index.counts() == mine
    index.casebook.take(case("invented-two"))
    assert other.counts().cases == index.counts().cases == {"shellac": 2}


def test_what_cannot_be_read_is_named_and_the_rest_counts(index: Index) -> None:
    """A broken file, a wrong name and a folder among the cases stop nothing."""
    index.casebook.take(case("invented-one"))
    folder = index.casebook.folder
    (folder / "broken.yaml").write_bytes(b"\xff\xfe")
    (folder / "My Table.yaml").write_text("format: 1\n")
    (folder / "a-folder.yaml").mkdir()
    (folder / "gone.yaml").symlink_to(folder / "nowhere")
    (Path(os.fsdecode(os.fsencode(folder) + b"/\xff.yaml"))).write_text("x")
    problems = index.refresh()
    assert {"not-text", "bad-id", "is-a-folder"} <= {p.code for p in problems}
    assert index.counts().cases == {"shellac": 1}


def test_the_index_is_private_and_never_needed(index: Index, tmp_path: Path) -> None:
    """0600; and where it cannot be written at all, everything is worked out in memory."""
    index.casebook.take(case("invented-one"))
    wanted = index.counts()
    assert all(stat.S_IMODE(path.stat().st_mode) & 0o077 == 0 for path in index.path.parent.glob("casebook-*"))
    (tmp_path / "file").write_text("")
    nowhere = Index(index.casebook, index.tables, tmp_path / "file" / "cache")
    assert nowhere.counts() == wanted
    assert len(nowhere.faces()) == 1


def test_no_casebook_at_all(knowledge: Knowledge, tmp_path: Path) -> None:
    """Without a folder of cases nothing is written and nothing counts."""
    index = Index(Casebook(tmp_path / "none"), Tables(knowledge), tmp_path / "cache")
    assert index.counts().cases == {}
    assert index.cases() == []
    assert list(tmp_path.iterdir()) == []
