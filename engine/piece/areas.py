"""How large each surface is: as given, or a share of what is usual for the kind of piece."""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..knowledge.base import Knowledge
from .form import Piece, Surface

LEAST_SHARE = 0.2  # of an even share, if the areas that were given already fill the usual whole


def area_of(piece: Piece, surface: Surface, knowledge: Knowledge) -> float:
    """Square metres of `surface`.

    Where it was not measured: out of the middle of the usual area of such a piece (its show
    faces), less what was measured. A face with a usual share takes that, the others share
    evenly what is left. A hidden face is taken to be as large as such a face.
    """
    if surface.area_m2 is not None:
        return surface.area_m2
    usual = knowledge.work.areas_m2
    low, high = usual.get(piece.kind) or usual.get("unknown", (1.0, 1.0))
    whole = (low + high) / 2
    shown = [s for s in piece.surfaces if not s.hidden] or list(piece.surfaces)
    given = sum(s.area_m2 for s in shown if s.area_m2 is not None)
    left = max(whole - given, LEAST_SHARE * whole)
    shares = [usual_share(s.name, piece.kind, knowledge.work.faces) for s in shown if s.area_m2 is None]
    named = sum(share for share in shares if share is not None)
    unnamed = sum(share is None for share in shares)
    most = left / (1 + unnamed * LEAST_SHARE) if unnamed else left
    fit = min(1.0, most / (named * whole)) if named else 1.0
    mine = usual_share(surface.name, piece.kind, knowledge.work.faces)
    if mine is not None:
        return mine * whole * fit
    return (left - named * whole * fit) / max(1, unnamed)


def usual_share(name: str, kind: str, faces: Mapping[str, float]) -> float | None:
    """The share of the first word of the name that has one; None if none has, or if it is a word of the kind."""
    words = [word.removesuffix("s") for word in re.findall(r"[a-z]+", name.lower())]
    if {word.removesuffix("s") for word in kind.split("-")} & set(words):
        return None
    return next((faces[word] for word in words if word in faces), None)
