"""A surface that departs from its sisters is flagged before work goes on.

Two surfaces of one piece share their maker. If the answers on one make its finish
plainly another than the finish of the rest, something happened to it.
"""

from __future__ import annotations

from .examine import Examination
from .knowledge.base import Knowledge
from .words import listed

SURE = 0.6
OVERLAP = 0.15


def odd_ones(done: list[Examination], knowledge: Knowledge) -> list[str]:
    """One flag for each surface whose finish departs from that of the others."""
    tested = [d for d in done if d.evidence or d.surface.known]
    flags = []
    for one in tested:
        others = [d for d in tested if d is not one]
        clear = [d for d in others if d.posterior.finishes[d.posterior.top] >= SURE]
        if not clear or one.posterior.finishes[one.posterior.top] < SURE:
            continue
        unlike = [d for d in clear if _agreement(one, d) < OVERLAP]
        if len(unlike) * 2 > len(clear):
            flags.append(_told(one, unlike, knowledge))
    return flags


def _agreement(one: Examination, other: Examination) -> float:
    """Chance that both carry the same finish, if each is as believed."""
    return sum(p * other.posterior.finishes[f] for f, p in one.posterior.finishes.items())


def _told(one: Examination, unlike: list[Examination], knowledge: Knowledge) -> str:
    mine = knowledge.finishes[one.posterior.top].name
    theirs = sorted({knowledge.finishes[d.posterior.top].name for d in unlike})
    names = listed([d.surface.name for d in unlike])
    return (
        f"departs-from-sisters: {one.surface.name} reads as {mine}, {names} as {listed(theirs, 'or')}. "
        "It may have been refinished, or the maker used another finish there; it may also be a part of another piece. "
        "Before going on check fit, screw holes, marks and tool traces against its sisters."
    )
