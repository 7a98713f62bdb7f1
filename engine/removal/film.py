"""How thick the film is and how old it may be: what decides the time of contact."""

from __future__ import annotations

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Finish
from ..piece.form import Surface

LEAST_UM = (25.0, 50.0)  # wetting takes its time however little stands there


class Told(Struct, frozen=True):
    """What is known of the film beside its kind: um if measured, coats if counted, most years it may have.

    `years` is the age of the piece: a later owner's coat may be younger, so age only
    stretches the long end of a time.
    """

    um: float | None = None
    coats: int | None = None
    years: float | None = None


def told(surface: Surface, years: tuple[int, int] | None, now: int) -> Told:
    """What the piece file says of the film of one surface; `years` of making."""
    return Told(surface.film_um, surface.film_coats, max(0, now - years[0]) if years else None)


def thickness(film: Told, finish: Finish, knowledge: Knowledge) -> tuple[float, float]:
    """The film in um, four films in five: as measured, or by its coats, or what is usual for the finish.

    Half of the usual spread, as a ratio, is how many coats there are; counting them leaves the other half.
    """
    if film.um is not None:
        return film.um, film.um
    low, high = finish.film.typical_um
    if film.coats is not None and low > 0:
        share, spread = film.coats / knowledge.decide.usual_coats, (high / low) ** 0.25
        low, high = low * share * spread, high * share / spread
    return max(low, LEAST_UM[0]), max(high, LEAST_UM[1])


def slower(film: Told, finish: Finish) -> float:
    """How many times as long a liquid may take because the film has tightened with age; 1 if it has not."""
    knits = finish.film.knits
    return knits.slower if knits and film.years is not None and film.years >= knits.years else 1.0
