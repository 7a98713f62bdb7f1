"""Figures of the knowledge met by another published figure and an equation that joins the two."""

from __future__ import annotations

from math import log10, sqrt

from book_rows import Row

GAS_J_MOL_K = 8.314
AIR_PA = 101_325.0


def total_solubility(given: Row) -> float:
    """MPa^0.5 at 25 C from heat of evaporation and molar volume: sqrt((H - RT) / V) (Hildebrand and Scott, 1950)."""
    return sqrt((given["evaporation_kj_mol"] * 1000 - GAS_J_MOL_K * 298.15) / given["molar_cm3"])


def flash_celsius(given: Row) -> float:
    """Where the vapour over a liquid just reaches its lower limit in air: log10(P in Pa) = A - B / (T in K + C), solved for T."""
    a, b, c = given["antoine"]
    return float(b / (a - log10(given["lower_limit"] * AIR_PA)) - c - 273.15)


def swelling_per_point(shrinkage_percent: float) -> float:
    """Change of a width a point of moisture, about 10 %, from shrinkage green to dry: 1 / (3000 / S - 30 + 10).

    Wood Handbook (FPL-GTR-190), eq. 13-3: shrinkage is even from 30 % down to none.
    """
    return 1 / (3000 / shrinkage_percent - 20)


def shrinkage_percent(per_point: float) -> float:
    """The same the other way round."""
    return 3000 / (1 / per_point + 20)
