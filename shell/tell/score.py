"""The score of the casebook on a terminal: plain words first, then the tables and the curve."""

from __future__ import annotations

from collections.abc import Sequence

from ...engine.casebook.score import FEW, Bin, Marks, Score
from ...engine.casebook.trace import Trace
from ...engine.knowledge.base import Knowledge
from .screen import Screen

SHOWN = 8
TALL, WIDE = 11, 41


def tell_score(done: Score, against: Sequence[Trace], knowledge: Knowledge, screen: Screen) -> None:
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
    for row in sorted(done.finishes, key=lambda r: (-r.marks.n, r.finish)):
        few = " Too few cases to tell." if row.marks.n < FEW else ""
        taken = ", ".join(f"{knowledge.finishes[f].name} {count}" for f, count in list(row.taken_for.items())[:3])
        tail = f" Taken for {taken}." if taken else ""
        marks = row.marks
        text = f"{knowledge.finishes[row.finish].name}: right {round(marks.right * marks.n)} of {marks.n}, log loss {marks.log_loss:.2f}.{tail}{few}"
        screen.marked(screen.bullet, text)


def _tests(done: Score, knowledge: Knowledge, screen: Screen) -> None:
    screen.heading("Which tests earned their time")
    for row in done.tests:
        few = ", too few cases to tell" if row.n < FEW else ""
        pay = f", {row.per_minute:+.1f} dB a minute" if row.per_minute is not None else ""
        text = (
            f"{knowledge.test_name(row.test)}: {row.decibans:+.1f} dB towards the truth{pay}, "
            f"put it right {row.turned_right} times and wrong {row.turned_wrong} times in {row.n}{few}"
        )
        screen.marked(screen.bullet, text)
