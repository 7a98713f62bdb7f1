"""How large each surface is: as given, or an even share of what is usual for the kind of piece."""

from __future__ import annotations

from ..knowledge.base import Knowledge
from .form import Piece, Surface

LEAST_SHARE = 0.2  # of an even share, if the areas that were given already fill the usual whole


def area_of(piece: Piece, surface: Surface, knowledge: Knowledge) -> float:
    """Square metres of `surface`.

    Where it was not measured: the middle of the usual area of such a piece (its show
    faces), less what was measured, shared evenly over the show faces that were not. A
    hidden face is taken to be as large as one of them.
    """
    if surface.area_m2 is not None:
        return surface.area_m2
    usual = knowledge.work.areas_m2
    low, high = usual.get(piece.kind) or usual.get("unknown", (1.0, 1.0))
    whole = (low + high) / 2
    shown = [s for s in piece.surfaces if not s.hidden] or list(piece.surfaces)
    given = sum(s.area_m2 for s in shown if s.area_m2 is not None)
    open_faces = max(1, sum(1 for s in shown if s.area_m2 is None))
    return max(whole - given, LEAST_SHARE * whole) / open_faces
