"""Cases on disk: nothing lost, nothing outside the folder, nothing of another format guessed at."""

from __future__ import annotations

import os
import stat
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import REMOVED, piece

from oldcoat.engine.casebook import record, store
from oldcoat.engine.casebook.record import is_id, slug
from oldcoat.engine.casebook.store import BACKUP, Casebook, NoSuchCase
from oldcoat.engine.piece.form import Confirmed, Surface
from oldcoat.engine.problems import BadInput
from oldcoat.engine.reading.yamltext import parse
from oldcoat.engine.storage import to_yaml

LAB = Confirmed(finish="shellac", how="laboratory")


def test_what_is_written_is_read_back(book: Casebook) -> None:
    """Truth and removal stand on the surface, and every step in the history, in order."""
    name = book.add(piece()).id
    book.confirm(name, "top", Confirmed(finish="waterborne", how="opinion"))
    book.confirm(name, "top", LAB)
    kept = book.removed(name, "top", REMOVED)
    assert book.get(name) == kept
    assert kept.piece.surfaces[0].confirmed == LAB
    assert kept.piece.surfaces[0].removed == [REMOVED]
    said = [change.what for change in kept.history]
    assert said[0] == "added"
    assert "before that waterborne (opinion)" in said[2]


def test_amending_keeps_the_old_piece_and_the_truth(book: Casebook) -> None:
    """The piece before is in the history word for word; confirmations survive a correction of the answers."""
    name = book.add(piece()).id
    before = book.confirm(name, "top", LAB).piece
    after = book.amend(name, piece(tests={"alcohol-drop": "no-effect"}), "misread the swab")
    assert book.get(name).history[-1].before == before
    assert after.piece.surfaces[0].tests == {"alcohol-drop": "no-effect"}
    assert after.piece.surfaces[0].confirmed == LAB


def test_withdrawing_and_back(book: Casebook) -> None:
    """A withdrawn case keeps its file and its history, and may come back."""
    name = book.add(piece()).id
    assert book.withdraw(name, "wrong piece").withdrawn
    kept = book.withdraw(name, back=True)
    assert not kept.withdrawn
    assert len(kept.history) == 3


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "/etc/passwd", "a/b", "", ".", "a\0b", "A", "a--b", "x" * 81, "nul\n"]
)
def test_hostile_names_reach_no_path(book: Casebook, name: str) -> None:
    """Only an id is ever joined to the folder; every reading and writing method refuses the rest."""
    book.add(piece())
    for call in (
        lambda: book.get(name),
        lambda: book.confirm(name, "top", LAB),
        lambda: book.removed(name, "top", REMOVED),
        lambda: book.amend(name, piece()),
        lambda: book.withdraw(name),
    ):
        with pytest.raises(NoSuchCase):
            call()


@given(st.text(max_size=200))
def test_any_name_of_a_piece_gives_an_id(name: str) -> None:
    """Whatever a piece is called, its case id is plain words, so never a path or an option."""
    assert is_id(f"{slug(name)}-20260101-abcdef")


@given(
    st.recursive(
        st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cs"]))
        | st.floats(0, 1e9)
        | st.booleans()
        | st.integers(0, 10**9),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.text(alphabet="abn01:- ~#'", min_size=1), inner, max_size=3)
        ),
        max_leaves=8,
    )
)
def test_yaml_that_is_written_is_read_back(value: object) -> None:
    """No text turns into a number or a key, no small number into text, on the way to disk and back."""
    found = parse(to_yaml({"value": value}), "x").value["value"]
    assert _rounded(found) == _rounded(value)


def _rounded(value: object) -> object:
    """Numbers are written to 18 decimals."""
    if isinstance(value, float):
        return round(value, 15)
    if isinstance(value, list):
        return [_rounded(v) for v in value]
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return value


def test_files_and_folders_are_private(book: Casebook) -> None:
    """0600 and 0700, the folders above that we made included, whatever the umask."""
    old = os.umask(0)
    try:
        name = book.add(piece()).id
    finally:
        os.umask(old)
    for path in (book.folder, book.folder.parent):
        assert stat.S_IMODE(path.stat().st_mode) == 0o700
    for path in (book.path(name), book.folder / ".lock"):
        assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0


def test_clock_going_backwards(book: Casebook, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cases of the same name added at times that run backwards get ids of their own and keep their history in order."""

    class Clock(datetime):
        now_is = datetime(2026, 6, 1, tzinfo=UTC)

        @classmethod
        def now(cls, _tz: object = None) -> datetime:  # type: ignore[override]
            cls.now_is = cls.now_is.replace(year=cls.now_is.year - 1)
            return cls.now_is

    monkeypatch.setattr(record, "datetime", Clock)
    monkeypatch.setattr(store, "datetime", Clock)
    names = {book.add(piece()).id for _ in range(20)}
    assert names == set(book.ids())
    kept = book.confirm(min(names), "top", LAB)
    assert kept.history[0].what == "added"
    assert kept.history[0].when > kept.history[1].when


def test_newer_format_is_refused_with_advice(book: Casebook) -> None:
    """What a later program wrote is neither read nor overwritten."""
    name = book.add(piece()).id
    path = book.path(name)
    path.write_text(path.read_text().replace("format: 1", "format: 99", 1))
    with pytest.raises(BadInput) as caught:
        book.confirm(name, "top", LAB)
    assert caught.value.problems[0].code == "newer-format"
    assert "update" in caught.value.problems[0].hint
    assert "format: 99" in path.read_text()


def test_older_format_is_migrated_with_a_backup(book: Casebook) -> None:
    """A plain piece file is read as a case; the first change keeps the file as it was, word for word."""
    book.folder.mkdir(parents=True)
    text = to_yaml(piece()) + "# mine\n"
    book.path("by-hand").write_text(text)
    assert book.get("by-hand").piece == piece()
    assert book.path("by-hand").read_text() == text
    book.confirm("by-hand", "top", LAB)
    assert (book.folder / BACKUP / "by-hand.format-0.yaml").read_text() == text
    assert book.get("by-hand").piece.surfaces[0].confirmed == LAB
    assert book.ids() == ["by-hand"]


def test_a_file_under_another_name_is_refused(book: Casebook) -> None:
    """The id inside and the name of the file must agree, so that no case counts twice."""
    name = book.add(piece()).id
    book.path("copy-of-it").write_text(book.path(name).read_text())
    with pytest.raises(BadInput) as caught:
        book.get("copy-of-it")
    assert caught.value.problems[0].code == "other-id"


def _write(folder: str, count: int) -> list[str]:
    book, kept = Casebook(Path(folder)), []
    for number in range(count):
        name = book.add(piece(f"invented {number}")).id
        book.confirm(name, "top", LAB)
        kept.append(name)
    return kept


def test_eight_writers_at_once(book: Casebook) -> None:
    """Eight processes add and confirm in one folder: nothing lost, no id twice, no half file (2,000 cases: tests/bench)."""
    with get_context("fork").Pool(8) as pool:
        told = [name for row in pool.starmap(_write, [(str(book.folder), 10)] * 8) for name in row]
    assert sorted(told) == book.ids()
    assert all(book.get(name).piece.surfaces[0].confirmed == LAB for name in told)


def test_two_confirmations_of_one_case_at_once(book: Casebook) -> None:
    """Two writers on one case both stay: the file is read again under the lock."""
    two = piece()
    two = type(two)(piece="two faces", surfaces=[Surface(name=f"face {n}") for n in range(16)])
    name = book.add(two).id
    with get_context("fork").Pool(8) as pool:
        pool.starmap(_confirm, [(str(book.folder), name, f"face {n}") for n in range(16)])
    assert all(s.confirmed == LAB for s in book.get(name).piece.surfaces)


def _confirm(folder: str, name: str, surface: str) -> None:
    Casebook(Path(folder)).confirm(name, surface, LAB)
