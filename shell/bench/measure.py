"""Thickness and area as people write them, to millimetres and square metres."""

from __future__ import annotations

import re
from fractions import Fraction

from .page import Misread

# Exact by definition: international yard and pound agreement, 1959.
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, '"': 25.4, "thou": 0.0254}
M2 = {"m2": 1.0, "m²": 1.0, "sqm": 1.0, "cm2": 1e-4, "sqft": 0.09290304, "ft2": 0.09290304, "sqin": 0.00064516}
_FORM = re.compile(r"(?:(\d+)[ -])?(\d+/\d+|\d+(?:[.,]\d+)?)\s*(.*)\Z")


def millimetres(line: str, units: str) -> float | None:
    """A thickness; a bare number is mm, or inches for US units. None for unknown. Raises Misread."""
    return _read(line, MM, "in" if units == "us" else "mm", "0.6 mm or 1/32 in")


def square_metres(line: str, units: str) -> float | None:
    """An area; a bare number is m2, or square feet for US units. None for unknown. Raises Misread."""
    return _read(line, M2, "sqft" if units == "us" else "m2", "0.8 m2 or 9 sq ft")


def _read(line: str, factors: dict[str, float], bare: str, form: str) -> float | None:
    text = line.strip().lower()
    if text in ("", "unknown"):
        return None
    found = _FORM.match(text)
    unit = re.sub(r"[ .]", "", found[3]) or bare if found else ""
    if not found or unit not in factors:
        raise Misread(f"Not a size: {line[:30]!r}. Type such as {form}.")
    try:
        value = (int(found[1] or 0) + Fraction(found[2].replace(",", "."))) * Fraction(str(factors[unit]))
    except ZeroDivisionError:
        raise Misread("A fraction cannot have 0 below the line.") from None
    if not 0 < value <= 1000:
        raise Misread(f"Out of range: {line[:30]!r}.")
    return round(float(value), 6)
