"""Moisture in wood: where it settles in a room, how long it takes to come back, how far it moves.

Forecasts for a shop. A meter on a part that was never wetted has the last word.
"""

from __future__ import annotations

from math import exp

from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..knowledge.entries import Drying
from ..physics import temperature_factor, time_to_fraction
from ..piece.form import Room


def emc(celsius: float, humidity: float) -> float:
    """Equilibrium moisture content of wood in per cent of its dry weight.

    celsius: air temperature. humidity: relative, per cent, 0 to 100.

    Hailwood-Horrobin equation with two hydrates, Wood Handbook (FPL-GTR-190, chapter
    4, equation 4-5), with h the relative humidity as a fraction:

        EMC = 1800/W [ Kh / (1 - Kh) + (K1 K h + 2 K1 K2 K^2 h^2) / (1 + K1 K h + K1 K2 K^2 h^2) ]

    W, K, K1, K2 are polynomials of the temperature in degrees C. It keeps to table 4-2
    within 0.07 over -1 to 60 degrees C; the table itself is good for shop use only.
    """
    h, t = humidity / 100, celsius
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


def movement(width_mm: float, coefficient: float, from_percent: float, to_percent: float) -> float:
    """Change of width in mm, negative if it shrinks: width x coefficient x change of moisture.

    coefficient: change per 1 per cent of moisture, radial or tangential. Wood Handbook,
    chapter 13, table 13-5; holds from about 6 to 14 per cent.
    """
    return width_mm * coefficient * (to_percent - from_percent)


def drying_hours(wet: float, room: float, depth_mm: float, book: Drying, celsius: float) -> float:
    """Hours until wood wetted `depth_mm` deep is within `book.near_points` of the room's own moisture.

    wet, room: per cent. Fick's law for a slab that dries from one face (Crank 1975),
    so the time grows with the square of the depth. 0 if it is dry already.
    """
    excess = wet - room
    if excess <= book.near_points:
        return 0.0
    wanted = 1 - book.near_points / excess
    speed = book.diffusion_mm2_h * temperature_factor(celsius, book.activation_j_mol)
    return time_to_fraction(wanted, speed, depth_mm, one_sided=True)


def room_moisture(room: Room) -> float:
    """What wood settles at in this room, per cent."""
    return emc(room.temperature_c, room.humidity)


def flooded_hours(room: Room, knowledge: Knowledge) -> float:
    """Hours for a face that was flooded to come dry in this room."""
    book = knowledge.substrate.drying
    return drying_hours(book.soaked_percent, room_moisture(room), book.depth_mm, book, room.temperature_c)


def warmed(room: Room, celsius: float) -> Room:
    """The room heated to `celsius` with no water added or taken away; the same room if it is that warm already.

    The vapour in the air stays, so the humidity falls as the saturation pressure rises:
    6.1094 exp(17.625 t / (t + 243.04)) hPa (Alduchov and Eskridge 1996, Magnus form).
    """
    if celsius <= room.temperature_c:
        return room
    cold, warm = (exp(17.625 * t / (t + 243.04)) for t in (room.temperature_c, celsius))
    return replace(room, temperature_c=celsius, humidity=room.humidity * cold / warm)


def settling_hours(before: Room, after: Room, knowledge: Knowledge) -> float:
    """Hours for a face that lay in one room to come to the moisture of another; 0 if it need not dry for it."""
    book = knowledge.substrate.drying
    return drying_hours(room_moisture(before), room_moisture(after), book.depth_mm, book, after.temperature_c)


def too_damp(room: Room, knowledge: Knowledge) -> bool:
    """Whether wood settles above the limit for stain and finish in this room."""
    return room_moisture(room) > knowledge.substrate.drying.most_percent


def driest_needed(celsius: float, knowledge: Knowledge) -> int:
    """Highest whole per cent of humidity at which wood stays within the limit for stain and finish."""
    most = knowledge.substrate.drying.most_percent
    return next(h for h in range(99, 0, -1) if emc(celsius, h) <= most)


def room_flags(room: Room, knowledge: Knowledge) -> list[str]:
    """What the room's air means for drying; empty if it is dry enough."""
    settles, most = room_moisture(room), knowledge.substrate.drying.most_percent
    if not too_damp(room, knowledge):
        return []
    return [
        f"damp-room: at {room.temperature_c:g} C and {room.humidity:g} % humidity wood settles at {settles:.1f} %, "
        f"above the {most:g} % for stain and finish. Warm or dry the room before any coat."
    ]


DRY_AIR, DAMP_AIR = 35.0, 65.0  # a heated room in winter, an unheated one in summer
SHOWN_WIDTH_MM = 300.0


def told_movement(wood: str, celsius: float, knowledge: Knowledge) -> str | None:
    """How far a solid width of this wood moves between dry and damp air, or None if the book has no figure."""
    entry = knowledge.woods.get(wood)
    if entry is None or entry.movement is None:
        return None
    span = emc(celsius, DRY_AIR), emc(celsius, DAMP_AIR)
    radial, tangential = (movement(SHOWN_WIDTH_MM, c, *span) for c in entry.movement)
    return (
        f"{wood} moves {radial:.1f} mm (quarter-sawn) to {tangential:.1f} mm (flat-sawn) in {SHOWN_WIDTH_MM:.0f} mm of "
        f"width between {DRY_AIR:.0f} and {DAMP_AIR:.0f} % humidity: leave room in frames and drawers."
    )
