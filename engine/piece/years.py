"""When a piece was made, as people write it: 1930, 1905-10, c. 1890, 1930s, 19th century, Edwardian, unknown.

What the words say is all that is read: what is understood only in part is refused. The
names of periods and their years are in the knowledge, vocabulary.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..knowledge.base import Knowledge
    from ..knowledge.entries import Period
    from .form import Piece

EARLIEST = 1400
CIRCA = 5  # years either way that `about` leaves open
OPEN = 60  # years that `before` and `after` reach
_TO = r"\s*(?:-|–|—|/|to|and)\s*"
_PART = r"(early|mid|middle|late)?[ -]*(?:the )?"
_CIRCA = re.compile(r"(?:c\.?|ca\.?|circa|about|around)\s*(?=\d|the |early|mid|late)")
_ORDINAL = re.compile(_PART + r"(\d{1,2})(?:st|nd|rd|th)[ -]century\Z")
_DECADE = re.compile(_PART + r"(\d{3}0)'?s\Z")
_RANGE = re.compile(r"(?:between )?(\d{4})" + _TO + r"(?:c\.?|ca\.?|circa|about)?\s*(\d{4}|\d\d)\Z")
_DECADES = re.compile(r"(?:the )?(\d{3}0)'?s" + _TO + r"(?:the )?(\d{3}0)'?s\Z")
_OPEN = re.compile(r"(before|pre|after|post|since)[ -]*(\d{4})\Z")
_PERIOD = re.compile(_PART + r"(.+?)(?: period| era)?\Z")
FORMS = "write 1930, 1905-10, c. 1890, 1930s, 19th century, Edwardian or unknown"

Years = tuple[int, int]
Periods = Mapping[str, "Period"]


class BadYears(ValueError):
    """The words do not name a time, or one that cannot be."""


def years_of(piece: Piece, knowledge: Knowledge, this_year: int | None = None) -> Years | None:
    """First and last possible year in which a piece was made, or None for unknown. Raises BadYears."""
    return parse_years(piece.made, this_year, knowledge.vocabulary.periods)


def parse_years(made: int | str, this_year: int | None = None, periods: Periods | None = None) -> Years | None:
    """First and last possible year of making, or None for unknown; `periods` are the names that stand for years.

    Raises BadYears, with the reason, for a year in the future, before 1400 or a
    range that runs backwards.
    """
    text = " ".join(str(made).lower().split())
    if text in ("unknown", ""):
        return None
    about = _CIRCA.match(text)
    first, last, vague = _span(text[about.end() :] if about else text, periods or {})
    now = this_year or date.today().year
    if first > last:
        raise BadYears(f"the years run backwards: {first} to {last}")
    if first > now or (last > now and not vague):
        raise BadYears(f"{last if first <= now else first} is in the future")
    if first < EARLIEST:
        raise BadYears(f"{first} is before {EARLIEST}, earlier than any finish in the book")
    wide = CIRCA if about else 0
    return first - wide, min(last + wide, now)


def _span(text: str, periods: Periods) -> tuple[int, int, bool]:
    """First and last year that the words name, and whether the last may lie ahead, as that of this decade does."""
    if re.fullmatch(r"\d{4}", text):
        return int(text), int(text), False
    if found := _RANGE.match(text):
        last = found[2] if len(found[2]) == 4 else found[1][:2] + found[2]
        return int(found[1]), int(last), False
    if found := _DECADES.match(text):
        first, end = int(found[1]), int(found[2])
        return first, end + (99 if first % 100 == end % 100 == 0 else 9), True
    if found := _DECADE.match(text):
        start = int(found[2])  # the 1900s may be a decade or a century: the wider is never wrong
        return (*_third(found[1], start, 10 if start % 100 else 100), True)
    if found := _ORDINAL.match(text):
        return (*_third(found[1], int(found[2]) * 100 - 100, 100), True)
    if found := _OPEN.match(text):
        year = int(found[2])
        early = found[1] in ("before", "pre")
        return (max(EARLIEST, year - OPEN), year, False) if early else (year, year + OPEN, True)
    return _period(text, periods)


def _period(text: str, periods: Periods) -> tuple[int, int, bool]:
    """The years of a period by its name, or of its early, middle or late third."""
    by_name = {name: period for key, period in periods.items() for name in (key, *period.also)}
    found = _PERIOD.match(text)
    if text in by_name:
        return (*by_name[text].years, False)
    if found is None or found[2] not in by_name:
        raise BadYears(f"{text[:40]!r} does not name a time")
    first, last = by_name[found[2]].years
    return (*_third(found[1], first, last - first + 1), False)


def _third(part: str | None, start: int, length: int) -> Years:
    """Early, middle or late third of a decade, a century or a period; the whole if not said."""
    third = length / 3
    step = {"early": 0, "mid": 1, "middle": 1, "late": 2}.get(part or "")
    if step is None:
        return start, start + length - 1
    return round(start + step * third), round(start + (step + 1) * third) - 1
