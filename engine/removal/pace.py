"""How long a remover takes on this very face, once it was tried there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from ..belief.evidence import Evidence, softening
from ..knowledge.base import Knowledge
from ..knowledge.entries import Remover
from . import kinetics
from .clock import Times
from .reason import OFF


def as_it_went(
    times: Mapping[str, Times], remover: str, trials: Sequence[Evidence], knowledge: Knowledge
) -> Mapping[str, Times]:
    """finish -> its times, brought to the pace of the last try if that was quicker than one would reckon.

    The minutes that are told are those after which it was looked at: it took no longer. A film
    that went soft before the usual contact was over is ready a few times later (decide.yaml).
    """
    tries = [t for t in trials if t.minutes and t.name not in knowledge.tests]
    if not tries:
        return times
    last, work = tries[-1], knowledge.removers[remover]
    minutes = last.minutes or 0.0
    if softening(last.seen, minutes, work.work.dwell_minutes):
        minutes *= knowledge.decide.soft_to_ready
    elif last.seen not in OFF:
        return times
    return {f: _at(t, min(minutes, t.dwell_likely), work) for f, t in times.items()}


def _at(times: Times, minutes: float, remover: Remover) -> Times:
    """Times whose middle contact is `minutes`, as wide as before about it; coats and work as the liquid's open time asks."""
    if times.dwell_likely <= 0:
        return times
    pace = minutes / times.dwell_likely
    low, high = (end * pace for end in times.dwell_minutes)
    young = times.young_minutes[0] * pace, times.young_minutes[1] * pace
    coats = kinetics.coats(young, remover.work.open_minutes, remover.work.coats)
    hours = [h * new / old for h, new, old in zip(times.hours_m2, coats, times.coats, strict=True)]
    return replace(
        times,
        dwell_minutes=(low, high),
        dwell_likely=minutes,
        coats=coats,
        hours_m2=(hours[0], hours[1]),
        young_minutes=young,
    )
