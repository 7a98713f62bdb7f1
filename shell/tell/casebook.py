"""Cases on a terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ...engine.casebook.compare import Difference, Moved
from ...engine.casebook.record import Case, Summary
from ...engine.casebook.trace import Trace
from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import told_outcome
from ...engine.words import percent
from .screen import Screen

WORTH_TELLING = 0.01


def tell_list(rows: Sequence[Summary], command: Callable[..., str], screen: Screen) -> None:
    """One paragraph a case. `command` makes the line that does what its words say."""
    if not rows:
        screen.line("The casebook is empty. Keep a finished piece with:")
        screen.lines([command("case", "add", "FILE")])
    for row in rows:
        truths = (
            ", ".join(f"{surface}: {finish}" for surface, finish in row.confirmed.items()) or "nothing confirmed yet"
        )
        state = " (withdrawn)" if row.withdrawn else ""
        screen.line(f"{row.id}{state}", "bold")
        screen.line(f"{row.piece}{_made(row.made)}; {truths}.", indent=2)
    if any(not row.confirmed and not row.withdrawn for row in rows):
        screen.line("Say what was there with:", "dim")
        screen.lines([command("case", "confirm", "CASE", "SURFACE", "FINISH", "--how", "HOW")])


def tell_case(case: Case, traces: Sequence[Trace], doubts: Sequence[str], knowledge: Knowledge, screen: Screen) -> None:
    """A case: surfaces, how they ended, history, and what it changed."""
    screen.line(f"{case.id}{' (withdrawn: does not count)' if case.withdrawn else ''}", "bold")
    screen.line(f"{case.piece.piece}{_made(str(case.piece.made))}.", indent=2)
    for surface in case.piece.surfaces:
        truth = surface.confirmed
        told = f"{_finish(truth.finish, knowledge)} ({truth.how.replace('-', ' ')})" if truth else "not confirmed"
        screen.marked(screen.bullet, f"{surface.name}, {surface.wood}: {told}", style="bold")
        for test, answer in surface.tests.items():
            screen.line(f"{test}: {told_outcome(answer)}", indent=6)
        for row in surface.removed:
            effort = "".join(f", {value:g} {word}" for value, word in ((row.coats, "coats"), (row.hours, "h")) if value)
            screen.line(
                f"removed with {row.remover}: {row.result or 'result not told'}{effort}. {row.note}".rstrip(), indent=6
            )
    screen.heading("History")
    for change in case.history:
        screen.marked(change.when or "-", change.what)
    screen.heading("What it helped to change")
    if not traces:
        screen.line("Nothing: no confirmed surface of it counts.", indent=2)
    for trace in traces:
        screen.marked(screen.bullet, trace.text)
    for doubt in doubts:
        screen.marked("!", doubt)


def tell_differences(rows: Sequence[Difference], knowledge: Knowledge, screen: Screen) -> None:
    """Chances by the book alone and with the user's cases, where a hundredth or more lies between them."""
    screen.heading("What your cases would change")
    moved = [row for row in rows if abs(row.book_alone - row.with_casebook) >= WORTH_TELLING]
    if not moved:
        screen.line("No chance by as much as a hundredth.", indent=2)
    for row in moved:
        screen.line(
            f"{row.surface}, {_finish(row.finish, knowledge)}: "
            f"book alone {row.book_alone:.0%}, with cases {row.with_casebook:.0%}",
            indent=2,
        )


def told_moves(rows: Sequence[Moved], knowledge: Knowledge) -> dict[str, str]:
    """surface -> what the user's own cases did to it, in one line."""
    return {row.surface: _told_move(row, knowledge) for row in rows}


def _told_move(row: Moved, knowledge: Knowledge) -> str:
    cases = f"{row.cases} of your cases" if row.cases > 1 else "one of your cases"
    first = "" if row.first_without == row.finish else f", and {_finish(row.first_without, knowledge)} stands first"
    return f"{cases} moved this: {percent(row.without)} without them{first}."


def _made(made: str) -> str:
    return "" if made == "unknown" else f", made {made}"


def _finish(name: str, knowledge: Knowledge) -> str:
    return knowledge.finishes[name].name if name in knowledge.finishes else name
