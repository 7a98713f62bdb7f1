"""When a piece was made, as people write it: 1930, 1930-1945, 1930s, 19th century, unknown."""

from __future__ import annotations

import re
from datetime import date

EARLIEST = 1400
_YEAR = r"(?:c\.?|ca\.?|circa|about)?\s*(\d{4})"
_ORDINAL = re.compile(r"(early|mid|late)?[ -]*(\d{1,2})(?:st|nd|rd|th)[ -]century\Z")
_DECADE = re.compile(r"(early|mid|late)?[ -]*(?:the )?(\d{3}0)'?s\Z")
_RANGE = re.compile(_YEAR + r"\s*(?:-|–|—|to)\s*" + _YEAR + r"\Z")
_DECADES = re.compile(r"(?:the )?(\d{3}0)'?s\s*(?:-|–|—|to)\s*(\d{3}0)'?s\Z")
_SINGLE = re.compile(_YEAR + r"\Z")
_OPEN = re.compile(r"(before|pre|after|post|since)[ -]*" + _YEAR + r"\Z")
FORMS = "write 1930, 1930-1945, 1930s, 19th century or unknown"

Years = tuple[int, int]


class BadYears(ValueError):
    """The words do not name a time, or one that cannot be."""


def parse_years(made: int | str, this_year: int | None = None) -> Years | None:
    """First and last possible year of making, or None for unknown.

    Raises BadYears, with the reason, for a year in the future, before 1400 or a
    range that runs backwards.
    """
    text = str(made).strip().lower()
    if text in ("unknown", ""):
        return None
    first, last = _span(text)
    now = this_year or date.today().year
    if first > last:
        raise BadYears(f"the years run backwards: {first} to {last}")
    if first > now or (last > now and not _rounds_up(text)):
        raise BadYears(f"{last if first <= now else first} is in the future")
    if first < EARLIEST:
        raise BadYears(f"{first} is before {EARLIEST}, earlier than any finish in the book")
    return first, min(last, now)


def _rounds_up(text: str) -> bool:
    return bool(_DECADE.match(text) or _ORDINAL.match(text) or _DECADES.match(text) or _OPEN.match(text))


def _span(text: str) -> Years:
    if found := _SINGLE.match(text):
        year = int(found[1])
        return (year - 5, year + 5) if not text[0].isdigit() else (year, year)
    if found := _RANGE.match(text):
        return int(found[1]), int(found[2])
    if found := _DECADES.match(text):
        return int(found[1]), int(found[2]) + 9
    if found := _DECADE.match(text):
        return _third(found[1], int(found[2]), 10)
    if found := _ORDINAL.match(text):
        return _third(found[1], int(found[2]) * 100 - 100, 100)
    if found := _OPEN.match(text):
        year = int(found[2])
        return (max(EARLIEST, year - 60), year) if found[1] in ("before", "pre") else (year, year + 60)
    raise BadYears(f"{text[:40]!r} does not name a time")


def _third(part: str | None, start: int, length: int) -> Years:
    """Early, middle or late third of a decade or century; the whole if not said."""
    third = length / 3
    step = {"early": 0, "mid": 1, "late": 2}.get(part or "")
    if step is None:
        return start, start + length - 1
    return round(start + step * third), round(start + (step + 1) * third) - 1
