"""Figures and short forms that the terminal and the sheet tell in the same words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from ...engine.report.assessment import RouteReport, Step
from ...engine.words import coats_told, percent, span_told

TELLING = 32  # letters of a sentence that says something by itself
COUNTED = ("pieces", "sheets", "discs")


def after_id(text: str) -> str:
    """The text without the id before its colon."""
    head, found, rest = text.partition(": ")
    return rest if found and " " not in head else text


def first_sentence(text: str) -> str:
    """The first sentence, with its full stop."""
    return text.split(". ")[0].rstrip(".") + "."


def sentences(text: str) -> list[str]:
    """The sentences of a text."""
    return re.split(r"(?<=\.) (?=[A-Z])", text)


def opening(text: str) -> str:
    """The first sentence, and the next where the first says too little by itself."""
    first = first_sentence(text)
    return first if len(first) >= TELLING else " ".join(sentences(text)[:2])


def span(ends: tuple[float, float]) -> str:
    """A range in two figures, or one number if both ends read the same."""
    low, high = (_short(end) for end in ends)
    return low if low == high else f"{low}-{high}"


def _short(value: float) -> str:
    return f"{round(value, 0 if value >= 10 else 1 if value >= 1 else 2):g}"


def coats_of(coats: tuple[float, float], minutes: tuple[float, float]) -> str:
    """How many coats, and how long each stays on; empty where contact does not count."""
    return f"{coats_told(coats)} of {span_told(*minutes)}" if minutes[1] >= 1 else ""


def joined_steps(steps: Iterable[str], names: Mapping[str, str]) -> str:
    """Steps of the schedule in words, those with the same name together: Strip (top, legs)."""
    found: dict[str, list[str]] = {}
    for step in steps:
        name, _, where = step.partition(" (")
        found.setdefault(names.get(name, name), []).append(where.removesuffix(")"))
    return "; ".join(f"{name} ({', '.join(where)})" if where[0] else name for name, where in found.items())


def notes_by_face(rows: Sequence[Step]) -> list[tuple[list[str], str]]:
    """The notes of one step, each with the surfaces it is said of; none where it is said of all of them."""
    faces: dict[str, list[str]] = {}
    for row in rows:
        if row.note:
            faces.setdefault(row.note, []).append(row.surface)
    return [([] if len(where) == len(rows) else where, note) for note, where in faces.items()]


def long_time(hours: float) -> str:
    """Hours as hours, or as days from two days on."""
    return f"{_short(hours)} h" if hours < 48 else f"{hours / 24:.0f} days"


def amount(how_much: tuple[float, float], unit: str) -> str:
    """How much to buy: things by the piece are rounded up to whole ones."""
    low, high = how_much
    if unit in COUNTED:
        least, most = f"{max(1, round(low))}", f"{max(1, -(-high // 1)):.0f}"
        return least if least == most else f"{least}-{most}"
    if unit == "pairs":
        told = span((round(low), -(-high // 1)))
        return f"{told} pair" if told == "1" else f"{told} pairs"
    least, most = (f"{end:.2g}" if high < 100 else f"{end:.0f}" for end in how_much)
    return f"{least} {unit}" if least == most else f"{least}-{most} {unit}"


def runner_up(best: RouteReport, other: RouteReport) -> str:
    """What the second way would cost above the best; where it costs less, why it is second all the same."""
    minutes = other.expected_minutes - best.expected_minutes
    if minutes >= 0:
        return f"{other.name}, {minutes:+.0f} minutes in all, harm and hazard counted"
    return f"{other.name}, {-minutes:.0f} minutes less, but harm {percent(other.harm)}, hazard {other.hazard} of 5"
