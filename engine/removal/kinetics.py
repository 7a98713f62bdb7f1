"""How long a liquid or heat needs: film thickness, temperature, open time, coats.

A liquid reaches the wood either by Fickian diffusion (time ~ thickness squared;
Michalski 1990; Crank, The Mathematics of Diffusion, 1975) or as a sharp swelling
front (Case II, time ~ thickness; Thomas and Windle 1982). Which of the two holds is
not known at the bench. Rates double for every 10 degrees C (Arrhenius with about
51 kJ/mol near room temperature).

Reference: the dwell given in the knowledge base, for films of all kinds of 100 um at
20 degrees C. Of a wide range, a film that dried and did not cure takes the short half, a
tight network the long half, a light one the middle half (halves on a scale of ratios).

What is not known multiplies: the place in the book's range, the thickness, which law of
thickness holds, how far age has tightened the film. Each is taken as log-normal with a
given range of four in five (10th to 90th percentile), all as independent. So the middle
of the time is the product of the middles, and the half-width of its logarithm is

    h = sqrt(h_book^2 + h_thickness^2 + h_law^2 + h_age^2)

and exp(-h), exp(+h) about the middle hold four trials in five. The lower end is when to
look first: one trial in ten is ready before it.

A screening estimate throughout.
"""

from __future__ import annotations

from math import ceil, exp, log, sqrt

from msgspec import Struct

from ..physics import temperature_factor

REFERENCE_UM = 100.0


def thickness_factor(micrometres: float) -> tuple[float, float]:
    """Time for this film over time for 100 um: low and high of front and Fickian swelling."""
    ratio = micrometres / REFERENCE_UM
    return min(ratio, ratio * ratio), max(ratio, ratio * ratio)


Place = tuple[float, float]  # where in the book's range, as shares of its logarithm
WHOLE: Place = (0.0, 1.0)
SHORT_HALF: Place = (0.0, 0.5)
MIDDLE_HALF: Place = (0.25, 0.75)
LONG_HALF: Place = (0.5, 1.0)


class Dwell(Struct, frozen=True):
    """Minutes of contact: low and high hold four trials in five, `likely` is the middle one."""

    low: float
    likely: float
    high: float


def dwell(
    book: tuple[float, float],
    micrometres: tuple[float, float],
    celsius: float,
    dissolves: bool,
    place: Place = WHOLE,
    slower: float = 1.0,
) -> Dwell:
    """Contact for a film of this range of thickness, as the head of this module says.

    book: minutes for 100 um at 20 degrees C. place: where in that range a film of this kind lies.

    A film that dissolves goes layer by layer from the top, so its time grows with the
    thickness and no faster; any other by a power between 1 and 2.
    `slower`: up to how many times as long because the film may have tightened with age.
    """
    if book[1] <= 0:
        return Dwell(0.0, 0.0, 0.0)
    start, end = (book[0] * (book[1] / book[0]) ** share for share in place)
    um = sqrt(micrometres[0] * micrometres[1])
    least, most = (um / REFERENCE_UM,) * 2 if dissolves else thickness_factor(um)
    power = 1.0 if dissolves else 1.5  # the middle of the two laws of thickness
    widths = (
        log(end / start),
        power * log(micrometres[1] / micrometres[0]),
        log(most / least),
        log(slower),
    )
    middle = sqrt(start * end * least * most * slower) / temperature_factor(celsius)
    half = sqrt(sum((width / 2) ** 2 for width in widths))
    return Dwell(middle * exp(-half), middle, middle * exp(half))


def coats(needed: tuple[float, float], open_minutes: float, book: tuple[float, float]) -> tuple[float, float]:
    """How many coats for the minutes of contact `needed`: at least the book's, and as many as the open time demands."""
    low = max(book[0], ceil(needed[0] / open_minutes))
    return float(low), float(max(book[1], low, min(ceil(needed[1] / open_minutes), 4 * book[1])))
