"""A countdown for timed tests: pure arithmetic of time, told in words."""

from __future__ import annotations

from math import ceil


def left(minutes: float, began: float, now: float) -> float:
    """Seconds left of a countdown of `minutes`; times are seconds of one clock."""
    return max(0.0, minutes * 60 - (now - began))


def told(seconds: float) -> str:
    """Seconds as minutes and seconds, or hours; rounded up, so that 0:00 means over."""
    whole = ceil(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, second = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{second:02}" if hours else f"{minutes}:{second:02}"
