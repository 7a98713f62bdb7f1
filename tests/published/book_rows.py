"""What every kind of check needs: the shipped knowledge and a comparison within a tolerance."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.examine import Examination
from oldcoat.engine.storage import to_yaml

Row = dict[str, Any]
Got = tuple[bool, str]  # whether it holds, and what was found


@cache
def examiner() -> Examiner:
    """The shipped knowledge, calendar held still."""
    return Examiner(open_knowledge(cache=Path.home() / ".cache" / "oldcoat"), this_year=2026)


def examined(given: Row) -> Examination:
    """A surface as the row describes it, through the piece reader."""
    surface = {k: given[k] for k in ("wood", "build", "veneer_mm", "tests", "tried", "stains") if k in given}
    if "finish" in given:
        surface["known"] = {"finish": given["finish"], "how": "laboratory"}
    piece = {k: given[k] for k in ("made", "region", "kind", "style", "place", "room") if k in given}
    text = to_yaml({"piece": "published row", **piece, "surfaces": [{"name": "face", **surface}]})
    whole = parse_piece(text, "row", examiner().knowledge)
    return examiner().examine(whole, whole.surfaces[0])


def near(got: float, expect: float, tolerance: float) -> Got:
    """Whether a figure is within `tolerance` of the published one."""
    return abs(got - expect) <= tolerance + 1e-12, f"{got:.6g}"


def all_near(got: Any, expect: list[float], tolerance: float) -> Got:
    """Whether each figure of a list is within `tolerance` of its published one."""
    pairs = list(zip(got or [], expect, strict=False))
    return len(pairs) == len(expect) and all(abs(a - b) <= tolerance + 1e-12 for a, b in pairs), str(got)
