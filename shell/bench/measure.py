"""Sizes, times and warmth as people write them, to the units of a piece file."""

from __future__ import annotations

import re
from fractions import Fraction

from .page import Misread

# Exact by definition: international yard and pound agreement, 1959.
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, '"': 25.4, "thou": 0.0254}
M2 = {"m2": 1.0, "m²": 1.0, "sqm": 1.0, "cm2": 1e-4, "sqft": 0.09290304, "ft2": 0.09290304, "sqin": 0.00064516}
UM = {"um": 1.0, "µm": 1.0, "micron": 1.0, "microns": 1.0, "mm": 1000.0, "mil": 25.4, "mils": 25.4, "thou": 25.4}
MINUTES = {"min": 1.0, "mins": 1.0, "minutes": 1.0, "m": 1.0, "h": 60.0, "hour": 60.0, "hours": 60.0, "s": 1 / 60}
HOURS = {"h": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "minutes": 1 / 60}
COUNT = {"": 1.0, "coats": 1.0, "coat": 1.0, "passes": 1.0, "%": 1.0}
MOST = 1000.0
MOST_MINUTES = 10_080.0  # a week
SIZES = {"veneer_mm": (MM, "mm", "in"), "area_m2": (M2, "m2", "sqft"), "film_um": (UM, "um", "mil")}
WRITTEN = {"sqft": "sq ft"}  # units that are read without a space
_FORM = re.compile(r"(?:(\d+)[ -])?(\d+/\d+|\d+(?:[.,]\d+)?)\s*(.*)\Z")


def millimetres(line: str, units: str, most: float = MOST) -> float | None:
    """A thickness; a bare number is mm, or inches for US units. None for unknown. Raises Misread."""
    return _read(line, MM, "in" if units == "us" else "mm", "0.6 mm or 1/32 in", most)


def square_metres(line: str, units: str) -> float | None:
    """An area; a bare number is m2, or square feet for US units. None for unknown. Raises Misread."""
    return _read(line, M2, "sqft" if units == "us" else "m2", "0.8 m2 or 9 sq ft")


def micrometres(line: str, units: str) -> float | None:
    """A film; a bare number is um, or mils for US units. None for unknown. Raises Misread."""
    return _read(line, UM, "mil" if units == "us" else "um", "80 um or 3 mil", 20_000)


def minutes(line: str) -> float | None:
    """A time left on; a bare number is minutes. None for unknown. Raises Misread."""
    return _read(line, MINUTES, "min", "30 or 2 h", MOST_MINUTES)


def hours(line: str) -> float | None:
    """A time of work; a bare number is hours. None for unknown. Raises Misread."""
    return _read(line, HOURS, "h", "2.5 or 40 min")


def number(line: str, most: float = MOST) -> float | None:
    """A plain number, of coats or per cent. None for unknown. Raises Misread."""
    return _read(line, COUNT, "", "3", most)


def celsius(line: str, units: str) -> float:
    """Warmth; a bare number is Celsius, or Fahrenheit for US units. Raises Misread."""
    found = re.match(r"(-?\d+(?:[.,]\d+)?)\s*(c|f|)\Z", line.strip().lower().replace("°", ""))
    if not found:
        raise Misread(f"Not a temperature: {line[:30]!r}. Type such as 18 C or 65 F.")
    value = float(found[1].replace(",", "."))
    fahrenheit = found[2] == "f" or (not found[2] and units == "us")
    return round((value - 32) / 1.8 if fahrenheit else value, 1)


def _read(line: str, factors: dict[str, float], bare: str, form: str, most: float = MOST) -> float | None:
    text = line.strip().lower()
    if text in ("", "unknown"):
        return None
    found = _FORM.match(text)
    unit = re.sub(r"[ .]", "", found[3]) or bare if found else ""
    if not found or unit not in factors:
        raise Misread(f"Not read: {line[:30]!r}. Type such as {form}.")
    try:
        value = (int(found[1] or 0) + Fraction(found[2].replace(",", "."))) * Fraction(str(factors[unit]))
    except ZeroDivisionError:
        raise Misread("A fraction cannot have 0 below the line.") from None
    if not 0 < value <= most:
        limit = float(f"{most / factors[bare]:.4g}")
        raise Misread(
            f"Out of range: {line[:30]!r}. More than 0, and at most {f'{limit:,.10g} {WRITTEN.get(bare, bare)}'.strip()}."
        )
    return round(float(value), 6)


def told_size(field: str, value: float, units: str) -> str:
    """A size of a piece file with its unit, in the units that are typed; inches in 64ths where it is one."""
    table, metric, us = SIZES[field]
    unit = us if units == "us" else metric
    size = Fraction(str(value)) / Fraction(str(table[unit]))
    part = Fraction(round(size * 64), 64)
    if unit == "in" and part and abs(size / part - 1) < 1e-4:
        whole, rest = divmod(part, 1)
        return f"{f'{whole} ' if whole else ''}{rest if rest else ''}".strip() + " in"
    return f"{float(size):.4g} {WRITTEN.get(unit, unit)}"
