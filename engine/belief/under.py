"""What a film seen below says of the one on top.

What lies on it is a maker's coat over his own sealer, an owner's coat over the maker's
film, or what elsewhere only soils a film (wax): that is then the film on top, as often
as it lies on such a film.
"""

from __future__ import annotations

from ..knowledge.base import Knowledge
from .prior import Prior


def with_film_seen_below(start: Prior, lower: str | None, knowledge: Knowledge) -> Prior:
    """The prior of the film on top once `lower` was seen under it; the same if none was."""
    if lower is None:
        return start
    bands, floor = knowledge.belief.bands, knowledge.priors.floor
    joint = {}
    for finish, (kept, new, on_top) in start.joint.items():
        band = knowledge.finishes[finish].over.get(lower)
        one_hand = bands[band] if band else floor
        coated = floor if finish == lower else start.maker[lower]
        joint[finish] = (kept * one_hand, new * one_hand, on_top * coated)
    for soil in knowledge.belief.contamination.values():
        if soil.film is not None and soil.film != lower:
            kept, new, on_top = joint[soil.film]
            joint[soil.film] = (kept, new, on_top + soil.share * sum(start.joint[lower]))
    total = sum(map(sum, joint.values()))
    return Prior({f: (a / total, b / total, c / total) for f, (a, b, c) in joint.items()}, start.maker, start.contexts)
