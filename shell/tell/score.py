"""The score of the casebook on a terminal: plain words first, then the tables and the curve."""

from __future__ import annotations

from collections.abc import Sequence

from ...engine.casebook.score import FEW, Bin, Marks, Score
from ...engine.casebook.trace import Trace
from ...engine.knowledge.base import Knowledge
from .screen import Screen

SHOWN = 8
TALL, WIDE = 11, 41


def tell_score(
    done: Score, against: Sequence[Trace], doubts: Sequence[str], knowledge: Knowledge, screen: Screen
) -> None:
    """Everything that the score says."""
    marks, book = done.casebook, done.book
    if marks is None or book is None:
        return
    screen.heading(f"{marks.n} confirmed surfaces of {done.cases} cases, each guessed from all others")
    low, high = marks.right_range
    right = f"right {round(marks.right * marks.n)} of {marks.n}; the true share lies between {low:.0%} and {high:.0%}"
    screen.line(right if marks.tells else f"Too few cases to tell: {right}.", "bold", indent=2)
    known = ", ".join(f"{count} by {how.replace('-', ' ')}" for how, count in done.how.items())
    screen.line(f"How the truth is known: {known}.", indent=2)
    _marks_table(marks, book, screen)
    _calibration(done, screen)
    _finishes(done, knowledge, screen)
    _tests(done, knowledge, screen)
    screen.heading("What the book gets wrong for you")
    if not against:
        screen.line("Nothing that these cases can show.", indent=2)
    for row in against[:SHOWN]:
        screen.marked(screen.bullet, f"{row.text} Weight of evidence {row.decibans:.0f} dB.")
    if doubts:
        screen.heading("Cases to look at again")
        screen.items(doubts[:SHOWN])


def _marks_table(marks: Marks, book: Marks, screen: Screen) -> None:
    screen.line(f"{'':24}{'with cases':>12}{'book alone':>12}", indent=2)
    for word, ours, theirs in (
        ("right", f"{marks.right:.1%}", f"{book.right:.1%}"),
        ("among the first two", f"{marks.first_two:.1%}", f"{book.first_two:.1%}"),
        ("sure (80 %) and wrong", f"{marks.confident_wrong:.1%}", f"{book.confident_wrong:.1%}"),
        ("log loss (less is good)", f"{marks.log_loss:.3f}", f"{book.log_loss:.3f}"),
        ("Brier (less is good)", f"{marks.brier:.3f}", f"{book.brier:.3f}"),
    ):
        screen.line(f"{word:24}{ours:>12}{theirs:>12}", indent=2)


def _calibration(done: Score, screen: Screen) -> None:
    screen.heading("When it says so much, how often is it so")
    for row in done.calibration:
        few = "" if row.n >= FEW else ", too few cases to tell"
        low, high = row.was_range
        text = f"said {row.said:4.0%}, was {row.was:4.0%} of {row.n} (between {low:.0%} and {high:.0%}{few})"
        screen.line(text, indent=2)
    screen.line(f"Mean distance between said and was: {done.calibration_error:.3f}.", indent=2)
    if not screen.plain:
        for line in curve(done.calibration):
            screen.line(line, indent=2)


def curve(bins: Sequence[Bin]) -> list[str]:
    """Said (across) against was (up) in characters: o many cases, + few, . where both are equal."""
    grid = [[" "] * WIDE for _ in range(TALL)]
    for column in range(WIDE):
        grid[round(column / (WIDE - 1) * (TALL - 1))][column] = "."
    for row in bins:
        grid[round(row.was * (TALL - 1))][round(row.said * (WIDE - 1))] = "o" if row.n >= FEW else "+"
    lines = [f"{index / (TALL - 1):4.0%} |{''.join(grid[index])}|" for index in reversed(range(TALL))]
    axis = "0%" + "said".center(WIDE - 6) + "100%"
    return [*lines, " " * 6 + axis, f"o {FEW} cases or more, + fewer, . said and was are the same"]


def _finishes(done: Score, knowledge: Knowledge, screen: Screen) -> None:
    screen.heading("By finish")
    few = []
    for row in sorted(done.finishes, key=lambda r: (-r.marks.n, r.finish)):
        name, marks = knowledge.finishes[row.finish].name, row.marks
        right = f"right {round(marks.right * marks.n)} of {marks.n}"
        if marks.n < FEW:
            few.append(f"{name}, {right}")
            continue
        taken = ", ".join(f"{knowledge.finishes[f].name} {count}" for f, count in list(row.taken_for.items())[:3])
        tail = f" Taken for {taken}." if taken else ""
        screen.marked(screen.bullet, f"{name}: {right}, log loss {marks.log_loss:.2f}.{tail}")
    _too_few(few, screen)


def _tests(done: Score, knowledge: Knowledge, screen: Screen) -> None:
    screen.heading("Which tests earned their time")
    few = []
    for row in done.tests:
        told = f"{knowledge.test_name(row.test)}: {row.decibans:+.1f} dB"
        if row.n < FEW:
            few.append(f"{told}, {row.n}")
            continue
        pay = f", {row.per_minute:+.1f} dB a minute" if row.per_minute is not None else ""
        text = (
            f"{told} towards the truth{pay}, "
            f"put it right {_times(row.turned_right)} and wrong {_times(row.turned_wrong)} in {row.n}"
        )
        screen.marked(screen.bullet, text)
    _too_few(few, screen)


def _too_few(rows: Sequence[str], screen: Screen) -> None:
    """What fewer than FEW cases say, in one paragraph."""
    if rows:
        screen.line(f"Fewer than {FEW} cases, too few to tell: {'; '.join(rows)}.", "dim", indent=2)


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")
