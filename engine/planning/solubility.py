"""How strong a solution can be made: what water takes at a temperature, from knowledge/solutes.yaml."""

from __future__ import annotations

from itertools import pairwise

from ..knowledge.entries import Solute


def dry_grams(solute: Solute, celsius: float) -> float:
    """Grams of the dry substance that a kilogram of water takes.

    Straight lines between the rows of the table; beyond its ends the nearest row.
    """
    rows = sorted(solute.g_per_kg)
    if celsius <= rows[0][0]:
        return rows[0][1]
    for (cold, less), (warm, more) in pairwise(rows):
        if celsius <= warm:
            return less + (more - less) * (celsius - cold) / (warm - cold)
    return rows[-1][1]


def crystal_grams(solute: Solute, celsius: float) -> float:
    """Grams of shop crystals that a litre of water takes.

    Crystals bring their own water: with a the dry grams by the gram of water and f the
    dry over the crystal molar mass, x grams of crystals hold f x dry substance in
    1000 + (1 - f) x grams of water, so x = 1000 a / (f - (1 - f) a).
    """
    a, f = dry_grams(solute, celsius) / 1000, solute.molar_dry / solute.molar_crystals
    return 1000 * a / (f - (1 - f) * a)


def stays_clear(solute: Solute, grams_l: float, celsius: float) -> bool:
    """Whether so many grams of crystals to the litre of water dissolve at this temperature."""
    return grams_l <= crystal_grams(solute, celsius)


def clear_above(solute: Solute, grams_l: float) -> float | None:
    """Lowest temperature in degrees C, to the next half, at which so much dissolves; None if the table has none."""
    rows = sorted(solute.g_per_kg)
    steps = range(int(rows[0][0] * 2), int(rows[-1][0] * 2) + 1)
    return next((step / 2 for step in steps if stays_clear(solute, grams_l, step / 2)), None)
