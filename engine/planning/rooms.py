"""The room as it is and as it is worked in: warm enough for the first wet step, dry enough for wood to dry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..piece.form import Piece, Room
from ..wood.moisture import driest_needed, room_moisture, too_damp, warmed
from .handling import handling
from .recoat import chosen_coat


class Rooms(NamedTuple):
    """`now`: as it is. `warm`: with the heat that the work wants. `work`: dried too, where that is called for."""

    now: Room
    warm: Room
    work: Room


def rooms(piece: Piece, done: Sequence[Examination], knowledge: Knowledge) -> Rooms:
    """The room before, warmed for the coldest-shy thing that is done in it, and dried so far that wood may be coated."""
    coats = [chosen_coat(piece, one, knowledge) for one in done if handling(one, knowledge) != "leave"]
    least = max([knowledge.work.least_c, *(knowledge.recoat.coats[coat].min_c for coat in coats if coat)])
    warm = warmed(piece.room, least)
    if not too_damp(warm, knowledge):
        return Rooms(piece.room, warm, warm)
    return Rooms(piece.room, warm, replace(warm, humidity=float(driest_needed(warm.temperature_c, knowledge))))


def dry_told(room: Room, knowledge: Knowledge) -> str:
    """What the moisture meter has to show in this room before the work goes on."""
    settles, near = room_moisture(room), knowledge.substrate.drying.near_points
    return (
        f"Go on at {settles + near:.0f} % on the meter or less, or within {near:g} of a part that was never wet: "
        f"at {room.temperature_c:g} C and {room.humidity:.0f} % humidity wood settles at {settles:.1f} %."
    )
