"""The event log: cut at any byte it recovers, held by one shell, newer formats refused, nothing lost."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import stat
from pathlib import Path

import pytest

from oldcoat.engine.piece.form import Piece, Surface
from oldcoat.engine.problems import BadInput, Problem
from oldcoat.engine.session.events import Answered, AnyEvent, Noted, Started
from oldcoat.engine.session.fold import fold
from oldcoat.engine.session.log import Busy, held, open_log, read_events
from oldcoat.engine.session.store import kept, open_session, path_for_file

EVENTS: list[AnyEvent] = [
    Started(piece=Piece(piece="hall täble", surfaces=[Surface(name="top")])),
    Answered(surface="top", test="alcohol-drop", outcome="dissolves-fast", note="two\nlines"),
    Noted(text="Ω \u2028 \u0000", surface="top"),
    Answered(surface="top", test="uv-a", outcome="orange", sure=False),
]


def written(path: Path) -> bytes:
    """A log with all of EVENTS."""
    with held(path) as log:
        for event in EVENTS:
            log.append(event)
    return path.read_bytes()


def test_cut_at_every_byte_it_recovers(tmp_path: Path) -> None:
    """Whatever a kill leaves of the last line, every line before it is kept and writing goes on."""
    whole = written(tmp_path / "whole.jsonl")
    ends = [i + 1 for i, byte in enumerate(whole) if byte == 10]
    for cut in range(len(whole) + 1):
        path = tmp_path / "cut.jsonl"
        path.write_bytes(whole[:cut])
        sound = sum(end <= cut or end - 1 == cut for end in ends)
        assert read_events(path) == EVENTS[:sound], cut
        with held(path) as log:
            log.append(EVENTS[0])
        assert read_events(path) == [*EVENTS[:sound], EVENTS[0]], cut


def test_a_tail_of_zeros_after_a_power_cut_is_dropped(tmp_path: Path) -> None:
    """Some file systems leave a block of zeros where the last line should be."""
    path = tmp_path / "s.jsonl"
    whole = written(path)
    path.write_bytes(whole + b"\0" * 512)
    assert read_events(path) == EVENTS
    with held(path):
        pass
    assert path.read_bytes() == whole


def test_damage_in_the_middle_is_refused_with_its_line(tmp_path: Path) -> None:
    """A damaged line with sound ones after it is no cut-off tail: nothing is thrown away."""
    path = tmp_path / "s.jsonl"
    lines = written(path).splitlines(keepends=True)
    lines[1] = lines[1][:-9] + b"\n"
    path.write_bytes(b"".join(lines))
    before = path.read_bytes()
    with pytest.raises(BadInput) as caught:
        open_log(path)
    assert caught.value.problems[0].line == 2
    assert path.read_bytes() == before


def test_newer_format_is_refused_untouched(tmp_path: Path) -> None:
    """A log of a newer program is not guessed at, and its lines are not cut off."""
    path = tmp_path / "s.jsonl"
    written(path)
    with path.open("a") as file:
        file.write(json.dumps({"v": 2, "at": "", "event": {"event": "sung"}}) + "\n")
    before = path.read_bytes()
    with pytest.raises(BadInput, match="update oldcoat"):
        open_log(path)
    assert path.read_bytes() == before


def test_second_shell_is_told_and_nothing_is_lost(tmp_path: Path) -> None:
    """The lock is held across processes; the first goes on, the second gets a message."""
    path = tmp_path / "s.jsonl"
    written(path)
    with held(path) as log:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            assert pool.apply(_try_open, (path,)) == "busy"
        log.append(EVENTS[1])
    assert read_events(path) == [*EVENTS, EVENTS[1]]


def _try_open(path: Path) -> str:
    try:
        open_log(path)
    except Busy as error:
        return "busy" if "another" in str(error) else str(error)
    return "open"


@pytest.mark.skipif(os.name != "posix", reason="needs SIGKILL")
def test_kill_in_the_act_loses_nothing_acknowledged(tmp_path: Path) -> None:
    """A writer killed without warning: every event it reported is there, and the lock is free."""
    path = tmp_path / "s.jsonl"
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    writer = context.Process(target=_write_for_ever, args=(path, theirs))
    writer.start()
    told = 0
    while told < 40:
        told = ours.recv()
    os.kill(writer.pid or 0, signal.SIGKILL)
    writer.join()
    while ours.poll():
        told = ours.recv()
    session = open_session(path)
    assert len(session.state.here.note.split()) >= told
    session.close()


def _write_for_ever(path: Path, pipe: object) -> None:
    session = open_session(path)
    session.do(EVENTS[0])
    for number in range(1, 100_000):
        session.do(Noted(text=str(number), surface="top"))
        pipe.send(number)  # type: ignore[attr-defined]


def test_log_is_private(tmp_path: Path) -> None:
    """Only the user can read what was told."""
    path = tmp_path / "new" / "s.jsonl"
    written(path)
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def test_list_is_newest_first_and_names_what_cannot_be_read(tmp_path: Path) -> None:
    """A damaged log does not hide the others, nor is it hidden."""
    for index, name in enumerate(["old", "bad", "new"]):
        path = tmp_path / f"{name}.jsonl"
        written(path)
        os.utime(path, (1_000_000 + index, 1_000_000 + index))
    (tmp_path / "bad.jsonl").write_bytes(b'{"v":1}\n{"v":1}\n')
    unread: list[Problem] = []
    found = kept(tmp_path, unread)
    assert [k.path.stem for k in found] == ["new", "old"]
    assert found[0].state == fold(EVENTS)
    assert [(Path(p.path).name, p.line) for p in unread] == [("bad.jsonl", 1)]


def test_an_event_that_does_not_fit_is_named_by_its_line(tmp_path: Path) -> None:
    """Sound lines whose story is not: an answer on a surface that never was, told with its line, in list and opening."""
    path = tmp_path / "s.jsonl"
    with held(path) as log:
        for event in (*EVENTS[:2], Answered(surface="gone", test="uv-a", outcome="orange"), EVENTS[3]):
            log.append(event)
    before, unread = path.read_bytes(), list[Problem]()
    assert kept(tmp_path, unread) == []
    with pytest.raises(BadInput) as caught:
        open_session(path)
    assert caught.value.problems[0].line == unread[0].line == 3
    assert "'gone'" in unread[0].message
    assert path.read_bytes() == before


def test_one_file_has_one_session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However the file is named on the command line, it is the same session; another file has another."""
    monkeypatch.chdir(tmp_path)
    assert path_for_file(tmp_path, Path("a.yaml")) == path_for_file(tmp_path, tmp_path / "x" / ".." / "a.yaml")
    assert path_for_file(tmp_path, Path("a.yaml")) != path_for_file(tmp_path, Path("b.yaml"))
