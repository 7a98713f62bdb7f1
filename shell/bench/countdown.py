"""A countdown for timed tests: pure arithmetic of time, told in words."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

SLACK = 0.05  # minutes: a look that is so near has been taken


def left(minutes: float, began: float, now: float) -> float:
    """Seconds left of a countdown of `minutes`; times are seconds of one clock."""
    return max(0.0, minutes * 60 - (now - began))


def next_look(looks: Sequence[float], passed: float) -> float | None:
    """The first of the looks (minutes from the start) that is still to come after `passed` minutes; None after the last."""
    return next((look for look in looks if look > passed + SLACK), None)


def told(seconds: float) -> str:
    """Seconds as minutes and seconds, or hours; rounded up, so that 0:00 means over."""
    whole = ceil(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, second = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{second:02}" if hours else f"{minutes}:{second:02}"
