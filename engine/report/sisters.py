"""A surface that departs from its sisters is flagged before work goes on.

Two surfaces of one piece share their maker. If the answers on one make its finish
plainly another than the finish of the rest, or one lets go under a liquid that the rest
resisted, something happened to it. Faces that do not show were mostly left bare and are
no sisters of those that do.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from operator import mul

from ..belief.tables import SOLUBILITY
from ..examine import Examination
from ..knowledge.base import Knowledge
from ..words import listed

OPPOSITE = 2.0  # from the one end of an answer's response to the other
OVERLAP = 0.33  # opposite answers to one test already bring two faces below this


def odd_ones(done: list[Examination], knowledge: Knowledge) -> list[str]:
    """One flag for each surface whose finish departs from that of most others; of two, one flag for both."""
    tested = [d for d in done if (d.evidence or d.surface.known) and not d.surface.hidden]
    gave = [_responses(d, knowledge) for d in tested]
    flags = []
    for mine, one in enumerate(tested):
        opposed = [_opposite(gave[mine], gave[other]) for other in range(len(tested))]
        unlike = [d for d, test in zip(tested, opposed, strict=True) if test or _agreement(one, d) < OVERLAP]
        if len(unlike) * 2 > len(tested) - 1:
            flags.append(_told(one, unlike, max(opposed), knowledge))
    return flags[-1:] if len(tested) == 2 else flags


def _agreement(one: Examination, other: Examination) -> float:
    """How far two beliefs point at the same finishes, 1 for equal ones, 0 for none in common, however spread they are."""
    mine, theirs = one.posterior.finishes.values(), other.posterior.finishes.values()
    return float(sum(map(mul, mine, theirs)) / (hypot(*mine) * hypot(*theirs)))


def _opposite(mine: Mapping[str, float], theirs: Mapping[str, float]) -> str:
    """A test that one face answered by letting go and the other by resisting; empty if there is none."""
    return next((test for test in mine if abs(mine[test] - theirs.get(test, mine[test])) >= OPPOSITE), "")


def _responses(done: Examination, knowledge: Knowledge) -> dict[str, float]:
    """Test -> how far the film gave way to it, of the sure answers that read how readily a film takes up a liquid."""
    found = {}
    for item in done.evidence:
        entry = knowledge.tests.get(item.test)
        if entry and entry.group == SOLUBILITY and item.keeps >= 1:
            found[item.test] = knowledge.outcome(item.test, item.outcome).response
    return found


def _told(one: Examination, unlike: list[Examination], test: str, knowledge: Knowledge) -> str:
    """The flag; `test` is one that parts them by opposite answers, or empty."""
    mine = knowledge.finishes[one.posterior.top].name
    theirs = sorted({knowledge.finishes[d.posterior.top].name for d in unlike})
    names = listed([d.surface.name for d in unlike])
    apart = f"{one.surface.name} reads as {mine}, {names} as {listed(theirs, 'or')}"
    if test and mine in theirs:
        apart = f"{one.surface.name} answered the {knowledge.test_name(test)} in the opposite way to {names}"
    return (
        f"departs-from-sisters: {apart}. "
        "It may have been refinished, or the maker used another finish there; it may also be a part of another piece. "
        "Before going on check fit, screw holes, marks and tool traces against its sisters."
    )
