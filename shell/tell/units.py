"""Text in metric units to the same text in US customary units, for showing only.

Everything is reckoned and kept in metric. A figure, or a range of two, that stands
straight before a unit is turned; all else stays as it is. A text with grams "in a litre"
or "to the litre" is a recipe: all its grams become ounces for a US quart, and the litre
becomes the quart, so that the mix stays the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction

# Exact by definition: international yard and pound agreement, 1959 (inch 25.4 mm, pound
# 0.45359237 kg); US gallon of 231 cubic inches; NIST Handbook 44, appendix C.
MM_PER_INCH = 25.4
UM_PER_MIL = 25.4
M2_PER_FT2 = 0.09290304
L_PER_GALLON = 3.785411784
QUARTS_PER_GALLON = 4
FLUID_OUNCES_PER_GALLON = 128
KG_PER_POUND = 0.45359237
G_PER_OUNCE = 1000 * KG_PER_POUND / 16
SMALL_INCH = 0.1  # below this a fraction of an inch says too little: thousandths, as on a feeler gauge

SIDES = ("x", "by")  # two sides of a patch: both are told though they are alike

_NUMBER = r"\d+(?:[.,]\d+)?"
_FORM = re.compile(
    rf"(?<![\w.,/])(-?{_NUMBER})(?:( ?(?:-|to|x|by) ?)({_NUMBER}))? ?"
    r"(l a square metre|l per square metre|L/m2|l/m2|litres?|mm|cm|um|\u00b5m|m2|\u00b0C|C|l|L|ml|kg|g)(?![\w/%])"
)
_GRAMS = re.compile(rf"{_NUMBER} g(?![\w/%])")
_BY_THE_LITRE = re.compile(r"\b(in|to) (?:a|the) litre\b")
_Turned = tuple[str, Callable[[float], str]]
Rule = Callable[[float], _Turned]


def in_us(text: str) -> str:
    """The text with its metric figures in US units."""
    rules = _RULES
    if _GRAMS.search(text) and _BY_THE_LITRE.search(text):
        text, rules = _BY_THE_LITRE.sub(r"\1 a US quart", text), _RULES | _RECIPE
    return _FORM.sub(lambda found: _turn(found, rules), text)


def _turn(found: re.Match[str], rules: Mapping[str, Rule]) -> str:
    first, joint, second, metric = found.groups()
    ends = [float(end.replace(",", ".")) for end in (first, second) if end is not None]
    unit, told = rules[metric](max(ends))
    texts = [told(end) for end in ends]
    if len(texts) == 1 or (texts[0] == texts[1] and joint.strip() not in SIDES):
        return f"{texts[0]} {unit}"
    return f"{texts[0]}{joint if ' ' in joint or '/' not in ''.join(texts) else ' to '}{texts[1]} {unit}"


def _scaled(unit: str, size: float) -> Callable[[float], _Turned]:
    return lambda _most: (unit, lambda value: _figures(value / size))


def _figures(value: float) -> str:
    """Two figures, and whole numbers in full."""
    return f"{value:.0f}" if abs(value) >= 10 else f"{value:.2g}"


def _length(mm_each: float) -> Callable[[float], _Turned]:
    def turned(most: float) -> _Turned:
        if most * mm_each / MM_PER_INCH < SMALL_INCH:
            return "thou", lambda value: _figures(1000 * value * mm_each / MM_PER_INCH)
        return "in", lambda value: _inches(value * mm_each / MM_PER_INCH)

    return turned


def _inches(value: float) -> str:
    """Inches in sixteenths, from one inch in eighths, from a foot in whole ones: 3/8, 1 1/2."""
    parts = 16 if value < 1 else 8 if value < 12 else 1
    near = Fraction(round(value * parts), parts)
    whole, part = divmod(near, 1)
    if not near and value:
        return f"{value:.2g}"
    return " ".join(str(piece) for piece in (whole, part) if piece) or "0"


def _liquid(litres_each: float) -> Callable[[float], _Turned]:
    def turned(most: float) -> _Turned:
        gallons = most * litres_each / L_PER_GALLON
        unit, per_gallon = (
            ("US gal", 1)
            if gallons >= 1
            else ("US qt", QUARTS_PER_GALLON)
            if gallons >= 1 / 8
            else ("US fl oz", FLUID_OUNCES_PER_GALLON)
        )
        return unit, lambda value: _figures(value * litres_each / L_PER_GALLON * per_gallon)

    return turned


def _spread(words: str) -> Callable[[float], _Turned]:
    """Litres a square metre as quarts for a hundred square feet."""
    return lambda _most: (words, lambda value: _figures(value * 100 * M2_PER_FT2 / L_PER_GALLON * QUARTS_PER_GALLON))


def _fahrenheit(_most: float) -> _Turned:
    return "F", lambda value: f"{value * 9 / 5 + 32:.0f}"


_RULES: dict[str, Rule] = {
    "mm": _length(1.0),
    "cm": _length(10.0),
    "um": _scaled("mil", UM_PER_MIL),
    "\u00b5m": _scaled("mil", UM_PER_MIL),
    "m2": _scaled("ft2", M2_PER_FT2),
    "l": _liquid(1.0),
    "L": _liquid(1.0),
    "litre": _liquid(1.0),
    "litres": _liquid(1.0),
    "ml": _liquid(0.001),
    "kg": _scaled("lb", KG_PER_POUND),
    "g": _scaled("oz", G_PER_OUNCE),
    "C": _fahrenheit,
    "\u00b0C": _fahrenheit,
    "l a square metre": _spread("US qt a hundred square feet"),
    "l per square metre": _spread("US qt per hundred square feet"),
    "L/m2": _spread("US qt/100 ft2"),
    "l/m2": _spread("US qt/100 ft2"),
}
_RECIPE: dict[str, Rule] = {"g": _scaled("oz", G_PER_OUNCE / (L_PER_GALLON / QUARTS_PER_GALLON))}
