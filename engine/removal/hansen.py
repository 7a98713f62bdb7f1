"""Distance between a solvent and a resin in Hansen space.

    Ra^2 = 4 (dD1 - dD2)^2 + (dP1 - dP2)^2 + (dH1 - dH2)^2,   RED = Ra / R0

RED below 1: the liquid is inside the resin's sphere and dissolves an uncrosslinked
film, or swells a crosslinked one. A blend takes the mean of its parts by volume.
(C. M. Hansen, Hansen Solubility Parameters: A User's Handbook, 2nd ed., 2007.)

This is a screening estimate: spheres are fitted on uncured resins, and neither
alkali nor acid attack shows in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt

from ..knowledge.entries import Remover, Resin, Solvent


def distance(first: Sequence[float], second: Sequence[float]) -> float:
    """Ra between two points (dD, dP, dH), MPa^0.5."""
    d, p, h = (a - b for a, b in zip(first, second, strict=True))
    return sqrt(4 * d * d + p * p + h * h)


def blend_point(blend: Mapping[str, float], solvents: Mapping[str, Solvent]) -> tuple[float, float, float]:
    """(dD, dP, dH) of a mixture given by volume fractions, which are scaled to sum to one.

    Raises ValueError for an empty blend.
    """
    total = sum(blend.values())
    if total <= 0:
        raise ValueError("a blend needs at least one part")
    d, p, h = (sum(share * solvents[name].hansen[axis] for name, share in blend.items()) / total for axis in range(3))
    return d, p, h


def relative_distance(remover: Remover, resin: Resin, solvents: Mapping[str, Solvent]) -> float | None:
    """RED of a remover's liquid for a resin; None if the remover is not a solvent."""
    if not remover.blend:
        return None
    return distance(blend_point(remover.blend, solvents), resin.hansen) / resin.radius
