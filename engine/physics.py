"""How rates go with temperature, and how far a liquid gets into a slab: two laws that several rooms stand on."""

from __future__ import annotations

from math import ceil, exp, pi, sqrt

REFERENCE_C = 20.0
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
ACTIVATION_J_MOL = 51_200.0  # doubles a rate for every 10 degrees near room temperature
MOST_TERMS = 200
NOTHING = 40.0  # exp(-40) is below the last digit of a float beside 1
HALVINGS = 40  # each halves what is not known of a time


def temperature_factor(celsius: float, activation: float = ACTIVATION_J_MOL) -> float:
    """Rate at `celsius` over the rate at 20 degrees C by Arrhenius' law; `activation` in J/mol."""
    return exp(activation / GAS_CONSTANT * (1 / (REFERENCE_C + 273.15) - 1 / (celsius + 273.15)))


def sorbed_fraction(time: float, diffusion: float, thickness: float, one_sided: bool) -> float:
    """M(t)/M(inf) of a slab by Fick's law, 0 to 1. Consistent units; Crank 1975, eq. 4.18.

    `one_sided`: the film lies on wood, so the liquid enters from one face only. Terms of the
    series that a float no longer tells from nothing are left out.
    """
    reach = pi**2 * diffusion * time / thickness**2 * (0.25 if one_sided else 1.0)
    terms = MOST_TERMS if reach <= 0 else min(MOST_TERMS, ceil(sqrt(NOTHING / reach) / 2) + 1)
    series = sum(exp(-((2 * k + 1) ** 2) * reach) / (2 * k + 1) ** 2 for k in range(terms))
    return 1 - 8 / pi**2 * series


def time_to_fraction(fraction: float, diffusion: float, thickness: float, one_sided: bool) -> float:
    """Time until M(t)/M(inf) reaches `fraction` (0 to 1, ends excluded), by bisection on the series; units as above."""
    low, high = 0.0, thickness**2 / diffusion
    while sorbed_fraction(high, diffusion, thickness, one_sided) < fraction:
        high *= 2
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if sorbed_fraction(middle, diffusion, thickness, one_sided) < fraction:
            low = middle
        else:
            high = middle
    return high
