"""The deep check on a terminal: what the book cannot tell, and where it is weakest."""

from __future__ import annotations

from ...engine.checking.deep import Deep
from ...engine.knowledge.base import Knowledge
from ...engine.words import listed
from .screen import Screen

SHOWN = 12


def tell_deep(found: Deep, knowledge: Knowledge, screen: Screen) -> None:
    """All four findings, the worst first."""
    screen.heading("Finishes that all tests together do not tell apart")
    for pair in found.pairs:
        one, other = (knowledge.finishes[f].name for f in pair.finishes)
        best = listed([knowledge.test_name(test) for test in pair.best])
        cost = f"the mistake costs about {pair.loses_minutes:.0f} min" if pair.loses_minutes >= 1 else "no harm done"
        screen.marked(
            screen.bullet, f"{one} and {other}: mixed up {pair.confused:.0%} of the time, {cost}. Best: {best}."
        )
    if not found.pairs:
        screen.line("None.", indent=2)
    screen.heading(f"Tests that never paid in {found.examinations} invented examinations")
    for idle in found.idle_tests:
        text = (
            f"{knowledge.test_name(idle.test)}: saves at most {idle.saves_at_most:.0f} min and costs {idle.costs:.0f}."
        )
        screen.marked(screen.bullet, text)
    if not found.idle_tests:
        screen.line("None.", indent=2)
    screen.heading("Lines that decide most on no firm source")
    for row in found.weak_rows[:SHOWN]:
        text = f"{knowledge.test_name(row.test)} on {listed(row.finishes)}: moves {row.moves:.1%} of the belief in the mean, from {listed(row.source)}."
        screen.marked(screen.bullet, text)
    screen.heading("Rules that fire in no shipped case")
    for name, rules in found.unused_rules.items():
        screen.marked(screen.bullet, f"{name}, {len(rules)}: {', '.join(rules)}.")
