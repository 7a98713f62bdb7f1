"""Fields of a knowledge entry in plain words, with their units."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

# Names of fields that a reader would not guess; their units stand in the entry types.
LABELS = {
    "janka_n": ("hardness (Janka)", "N"),
    "shrinkage": ("shrinks, green to dry", "%"),
    "movement": ("moves per 1 % of moisture", "of the width"),
    "hansen": ("solubility figures", "MPa^0.5"),
    "g_l": ("strength", "g/l"),
    "needs_mm": ("veneer needed", "mm"),
    "radius": ("radius of solubility", "MPa^0.5"),
    "cas": ("CAS number", ""),
    "flash_c": ("flash point", "C"),
    "evaporation": ("evaporation (butyl acetate 1)", ""),
    "sensitiser": ("makes some people allergic", ""),
    "tries": ("times at most", ""),
    "swells_networks": ("swells cured films", ""),
    "trust": ("how far to trust the figures", ""),
    "cite": ("source", ""),
    "grade": ("kind of source", ""),
    "checked": ("what was read there", ""),
    "shift": ("over a shift", ""),
    "short": ("for a quarter of an hour", ""),
    "air": ("most in the air at work", ""),
}
PARTS = {  # what each figure of a row is; wood moves across the growth rings and along them
    "shrinkage": ("across the rings", "along the rings", "in volume"),
    "movement": ("across the rings", "along the rings"),
    "hansen": ("dispersion", "polar", "hydrogen bonds"),
}
ENDINGS = {
    "_minutes": "min",
    "_hours": "h",
    "_hours_m2": "h a square metre",
    "_mm": "mm",
    "_um": "um",
    "_c": "C",
    "_percent": "%",
}


def told_field(field: str, value: Any) -> tuple[str, str]:
    """(label, value) of one field as a reader understands them."""
    label, unit = LABELS.get(field) or _by_ending(field)
    if field in PARTS:
        return label, ", ".join(f"{v:g} {part}" for v, part in zip(value, PARTS[field], strict=False)) + f" ({unit})"
    shown = _plain(value)
    return label, f"{shown} {unit}" if unit and _is_figure(value) else shown


def _by_ending(field: str) -> tuple[str, str]:
    if field == "litres_m2":
        return "liquid", "l a square metre"
    ending = max((e for e in ENDINGS if field.endswith(e)), key=len, default="")
    return field.removesuffix(ending).replace("_", " "), ENDINGS.get(ending, "")


def _is_figure(value: Any) -> bool:
    rows = value if isinstance(value, list | tuple) else [value]
    return all(isinstance(v, int | float) and not isinstance(v, bool) for v in rows)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:g}"
    if isinstance(value, Struct):
        fields = [(f, getattr(value, f)) for f in value.__struct_fields__]
        return "; ".join(" ".join(told_field(f, v)) for f, v in fields if v not in (None, [], {}))
    if isinstance(value, dict):
        return ", ".join(f"{k}: {_plain(v)}" for k, v in value.items())
    if isinstance(value, tuple) and len(value) == 2 and _is_figure(value):
        return "-".join(dict.fromkeys(map(_plain, value)))
    if isinstance(value, list | tuple):
        return ", ".join(map(_plain, value))
    return str(value)
