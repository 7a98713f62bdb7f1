"""Invented pieces and cases that the tests of the casebook share."""

from __future__ import annotations

from collections.abc import Callable

from oldcoat.engine.casebook.record import FORMAT, Case, Change
from oldcoat.engine.piece.form import Confirmed, How, Piece, Removed, Surface

Say = Callable[..., tuple[int, str, str]]  # words of a command -> exit code, output, errors
WHEN = "2026-01-01T00:00:00Z"


def piece(name: str = "invented hall table", **top: object) -> Piece:
    """An invented piece with a top."""
    tests = {"alcohol-drop": "dissolves-fast", "film-build": "thin-open-pore"}
    given: dict[str, object] = {"name": "top", "wood": "walnut", "tests": tests, **top}
    return Piece(piece=name, made="1930-1945", region="north-america", kind="table", surfaces=[Surface(**given)])  # type: ignore[arg-type]


def case(name: str, finish: str | None = "shellac", how: How = "laboratory", **top: object) -> Case:
    """An invented case whose top is confirmed."""
    truth = Confirmed(finish=finish, how=how) if finish else None
    history = [Change(when=WHEN, what="invented")]
    return Case(format=FORMAT, id=name, added=WHEN, history=history, piece=piece(confirmed=truth, **top))


REMOVED = Removed(remover="denatured-alcohol", result="works", coats=2, hours=3.5)
