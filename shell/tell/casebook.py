"""Cases on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from ...engine.casebook.record import Case, Summary
from ...engine.casebook.trace import Trace
from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import told_outcome
from ..compare import Difference
from .screen import Screen


def tell_list(rows: Sequence[Summary], screen: Screen) -> None:
    """One paragraph a case."""
    if not rows:
        screen.line("The casebook is empty. Keep a finished piece with `oldcoat case add FILE`.")
    for row in rows:
        truths = ", ".join(f"{surface}: {finish}" for surface, finish in row.confirmed.items()) or "nothing confirmed"
        state = " (withdrawn)" if row.withdrawn else ""
        screen.line(f"{row.id}{state}", "bold")
        screen.line(f"{row.piece}, made {row.made}. {truths}.", indent=2)


def tell_case(case: Case, traces: Sequence[Trace], knowledge: Knowledge, screen: Screen) -> None:
    """A case: surfaces, how they ended, history, and what it changed."""
    screen.heading(f"{case.id}{' (withdrawn: does not count)' if case.withdrawn else ''}")
    screen.line(f"{case.piece.piece}, made {case.piece.made}.", indent=2)
    for surface in case.piece.surfaces:
        truth = surface.confirmed
        told = f"{_finish(truth.finish, knowledge)} ({truth.how.replace('-', ' ')})" if truth else "not confirmed"
        screen.marked(screen.bullet, f"{surface.name}, {surface.wood}: {told}", style="bold")
        for test, answer in surface.tests.items():
            screen.line(f"{test}: {told_outcome(answer)}", indent=6)
        for row in surface.removed:
            effort = "".join(f", {value:g} {word}" for value, word in ((row.coats, "coats"), (row.hours, "h")) if value)
            screen.line(f"removed with {row.remover}: {row.result}{effort}. {row.note}".rstrip(), indent=6)
    screen.heading("History")
    for change in case.history:
        screen.marked(change.when or "-", change.what)
    screen.heading("What it helped to change")
    if not traces:
        screen.line("Nothing: no confirmed surface of it counts.", indent=2)
    for trace in traces:
        screen.marked(screen.bullet, trace.text)


def tell_differences(rows: Sequence[Difference], knowledge: Knowledge, screen: Screen) -> None:
    """Chances by the book alone and with the user's cases."""
    screen.heading("What your cases would change")
    for row in rows:
        name = _finish(row.finish, knowledge)
        screen.line(
            f"{row.surface}, {name}: book alone {row.book_alone:.0%}, with cases {row.with_casebook:.0%}", indent=2
        )


def _finish(name: str, knowledge: Knowledge) -> str:
    return knowledge.finishes[name].name if name in knowledge.finishes else name
