"""Checks of moisture, movement, oxalic acid, coverage and salvage."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from book_rows import Got, Row, all_near, examiner, near
from derived import swelling_per_point

from oldcoat.engine.piece.form import Money
from oldcoat.engine.planning import solubility
from oldcoat.engine.planning.money import break_even, decide, figures, gain
from oldcoat.engine.wood import moisture


def _emc(given: Row, expect: Row, tolerance: Any) -> Got:
    celsius, humidity = given["celsius"], given["humidity"]
    if "order" not in expect:
        return near(moisture.emc(celsius, humidity), expect["percent"], tolerance)
    rooms = [(c, humidity) for c in celsius] if isinstance(celsius, list) else [(celsius, h) for h in humidity]
    values = [moisture.emc(c, h) for c, h in rooms]
    rising = expect["order"] == "rising"
    return all((a < b) == rising and a != b for a, b in pairwise(values)), str(values)


def _movement(given: Row, expect: Row, tolerance: float) -> Got:
    book = examiner().knowledge.woods
    if "mm" in expect:
        known = given.get("coefficient")
        coefficient = known or (book[given["wood"]].movement or [0, 0])[given["direction"] == "tangential"]
        moved = moisture.movement(given["width_mm"], coefficient, given["from_percent"], given["to_percent"])
        return near(moved, expect["mm"], tolerance)
    found = book[given["wood"]].movement
    options = expect.get("one_of") or [expect["radial_tangential"]]
    fits = any(all_near(found, option, tolerance)[0] for option in options)
    if "shrinkage" not in given:
        return fits, str(found)
    width, wet = 300.0, 14.0  # from 10 per cent, about which the equation is taken
    moved = [moisture.movement(width, c, 10.0, wet) for c in found or []]
    wanted = [width * (wet - 10) * swelling_per_point(s) for s in given["shrinkage"]]
    agrees, _ = all_near(moved, wanted, expect["mm_within"])
    return fits and agrees, f"{found}, {moved[0]:.2f} and {moved[1]:.2f} mm against {wanted[0]:.2f} and {wanted[1]:.2f}"


def _oxalic(given: Row, expect: Row, tolerance: Any) -> Got:
    solute = examiner().knowledge.solutes["oxalic-acid"]
    if "treatment" in given:
        found = {key: getattr(examiner().knowledge.treatments[given["treatment"]], key) for key in expect}
        return all(abs(found[k] - v) <= (tolerance or 0) for k, v in expect.items()), str(found)
    if "factor" in given:
        return near(solute.molar_crystals / solute.molar_dry, expect["ratio"], tolerance)
    if "clear" in expect:
        clear = solubility.stays_clear(solute, given["dihydrate_g_l_water"], given["celsius"])
        return clear == expect["clear"], str(clear)
    if "anhydrous_g_l" in expect:
        return near(solubility.dry_grams(solute, given["celsius"]), expect["anhydrous_g_l"], tolerance)
    return near(solubility.crystal_grams(solute, given["celsius"]), expect["dihydrate_g_l_water"], tolerance)


def _coverage(given: Row, expect: Row, _: float) -> Got:
    book = examiner().knowledge
    if "coat" in given:
        return _overlap(book.recoat.coats[given["coat"]].coverage_m2_l, expect["m2_l_overlaps"])
    return _overlap(book.removers[given["remover"]].work.litres_m2, expect["litres_m2_overlaps"])


def _overlap(found: tuple[float, float], wanted: list[float]) -> Got:
    return found[0] <= wanted[1] and found[1] >= wanted[0], f"{found[0]:g}-{found[1]:g}"


def _salvage(given: Row, expect: Row, tolerance: float) -> Got:
    rest = {key: value for key, value in given.items() if key != "bought"}
    if "p" in expect:
        return near(break_even(**rest), expect["p"], tolerance)
    if expect["gain"] != "unchanged":
        return near(gain(**rest), expect["gain"], tolerance)
    gains = [_gain_when_bought(paid, rest) for paid in given["bought"]]
    return gains[0] == gains[1], str(gains)


def _gain_when_bought(paid: float, rest: Row) -> Any:
    money = Money(bought=paid, **{k: v for k, v in rest.items() if k not in ("p", "hours")})
    hours = (rest["hours"], rest["hours"])
    return decide(figures(money, rest["p"], hours, (1, 1), (0, 0, 0))).gain


WOOD_AND_WORK: dict[str, Callable[[Row, Row, Any], Got]] = {
    "emc": _emc,
    "movement": _movement,
    "oxalic": _oxalic,
    "coverage": _coverage,
    "salvage": _salvage,
}
