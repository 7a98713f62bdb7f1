"""Checks of published limits: flash points, workplace air, heat, years, thickness."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from book_rows import Got, Row, all_near, examiner, near
from derived import flash_celsius


def _limit(given: Row, expect: Row, tolerance: Any) -> Got:
    return _BY_SUBJECT[next(key for key in _BY_SUBJECT if key in given)](given, expect, tolerance)


def _solvent(given: Row, expect: Row, tolerance: float) -> Got:
    flash = next((s.flash_c for s in examiner().knowledge.solvents.values() if s.cas == given["cas"]), None)
    fits, told = near(flash if flash is not None else float("nan"), expect["celsius"], tolerance)
    if "antoine" not in given:
        return fits, told
    agrees, also = near(flash_celsius(given), flash if flash is not None else float("nan"), tolerance)
    return fits and agrees, f"{told}, by vapour pressure {also}"


def _agent(given: Row, expect: Row, tolerance: float) -> Got:
    book = examiner().knowledge
    air = {**book.solvents, **book.solutes}[given["agent"]].air
    wanted = expect.get("ppm") or expect["mg_m3"]
    unit = "ppm" if "ppm" in expect else "mg/m3"
    if air is None or air.unit != unit:
        return False, str(air)
    return all_near([air.shift, air.short], wanted, tolerance)


def _glue(given: Row, expect: Row, _: Any) -> Got:
    limit = examiner().knowledge.substrate.glues[given["glue"]].heat_limit_c
    return limit <= expect["at_most"], f"{limit:g}"


def _finish(given: Row, expect: Row, _: Any) -> Got:
    year = examiner().knowledge.finishes[given["finish"]].lead_before or 0
    return year >= expect["at_least"], str(year)


def _coat(given: Row, expect: Row, tolerance: float) -> Got:
    value = getattr(examiner().knowledge.recoat.coats[given["coat"]], given["what"])
    return near(value, next(iter(expect.values())), tolerance)


def _remover(given: Row, expect: Row, tolerance: float) -> Got:
    ceiling = examiner().knowledge.removers[given["remover"]].ceiling_c
    return near(ceiling if ceiling is not None else float("nan"), expect["celsius"], tolerance)


_BY_SUBJECT: dict[str, Callable[[Row, Row, Any], Got]] = {
    "solvent": _solvent,
    "agent": _agent,
    "glue": _glue,
    "finish": _finish,
    "coat": _coat,
    "remover": _remover,
}
LIMITS = {"limit": _limit}
