"""How long each remover takes on each finish: contact, coats and hours, by film, age and warmth."""

from __future__ import annotations

from msgspec import Struct, structs

from ..belief.tables import Tables
from ..knowledge.entries import Remover
from ..words import Span
from . import kinetics
from .effects import Response, likeliest, response
from .effort import factor
from .film import Told, slower, thickness
from .objection import CHEMICAL

LEAST_FILM = 0.5  # a film thinner than half the reference takes no less time to cut away
WIDE = 6  # a range of contact in the book that is this many times wide spans films of every kind
PLACES = {"none": kinetics.SHORT_HALF, "light": kinetics.MIDDLE_HALF, "dense": kinetics.LONG_HALF}


class Times(Struct, frozen=True):
    """Minutes of contact (four trials in five, and the middle one), coats, hours of work on a square metre.

    `young_minutes`: the contact if age has not slowed the film, by which the coats are reckoned.
    """

    dwell_minutes: Span
    dwell_likely: float
    coats: Span
    hours_m2: Span
    young_minutes: Span


class Clock:
    """What each remover does to each finish, and how long it takes; kept, since it is asked again and again."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._times: dict[tuple[str, Told, float], dict[str, Times]] = {}
        self._responses: dict[str, Response] = {}

    def response(self, remover: str) -> Response:
        """What it does to each finish, by the hidden state of the film. Not to be changed."""
        if remover not in self._responses:
            self._responses[remover] = response(remover, self._tables)
        return self._responses[remover]

    def times(self, remover: str, film: Told, celsius: float) -> dict[str, Times]:
        """finish -> contact, coats and hours a square metre. Not to be changed."""
        key = (remover, film, celsius)
        if key not in self._times:
            self._times[key] = {f: self._on(remover, f, film, celsius) for f in self._tables.finishes}
        return self._times[key]

    def _on(self, remover: str, finish: str, film: Told, celsius: float) -> Times:
        knowledge = self._tables.knowledge
        how, entry = knowledge.removers[remover], knowledge.finishes[finish]
        stretched = slower(film, entry) if how.action in CHEMICAL else 1.0
        liquid = likeliest(knowledge.pairs[finish][remover].gives) == "dissolves"
        wide = how.work.dwell_minutes[1] >= WIDE * how.work.dwell_minutes[0]
        place = PLACES[entry.chemistry.network] if wide else kinetics.WHOLE
        return self._paced(
            remover, _times(how, Face(thickness(film, entry, knowledge), stretched, celsius, liquid, place))
        )

    def _paced(self, remover: str, times: Times) -> Times:
        """The book's coats and hours as the casebook has them; never less than the one coat that it takes at all."""
        counts, weight = self._tables.counts, self._tables.belief.book_weight
        if not counts.effort:
            return times
        coats, hours = (factor(remover, what, counts, weight) for what in ("coats", "hours"))
        low, high = times.coats
        return structs.replace(
            times,
            coats=(max(low * coats, min(low, 1.0)), max(high * coats, min(high, 1.0))),
            hours_m2=(times.hours_m2[0] * hours, times.hours_m2[1] * hours),
        )


class Face(Struct, frozen=True):
    """The film as the clock sees it: um, how far age may have slowed it, degrees C, how it goes, place in the book's range."""

    um: Span
    slower: float
    celsius: float
    dissolves: bool
    place: kinetics.Place


def _times(remover: Remover, face: Face) -> Times:
    """Contact, coats and hours; a film that age has slowed is kept wet under cover for longer and costs no more coats."""
    work = remover.work
    if remover.action in ("cutting", "abrasion"):
        low, high = (max(um / kinetics.REFERENCE_UM, LEAST_FILM) for um in face.um)
        hours = work.active_hours_m2[0] * low, work.active_hours_m2[1] * high
        return Times(work.dwell_minutes, sum(work.dwell_minutes) / 2, work.coats, hours, work.dwell_minutes)
    young, wet = (
        kinetics.dwell(work.dwell_minutes, face.um, face.celsius, face.dissolves, face.place, slower)
        for slower in (1.0, face.slower)
    )
    coats = kinetics.coats((young.low, young.high), work.open_minutes, work.coats)
    longest = work.open_minutes * coats[1] * face.slower  # after that many coats one stops, moved or not
    low, likely, high = (min(minutes, longest) for minutes in (wet.low, wet.likely, wet.high))
    hours = (work.active_hours_m2[0] * coats[0], work.active_hours_m2[1] * coats[1])
    return Times((low, high), likely, coats, hours, (young.low, young.high))
