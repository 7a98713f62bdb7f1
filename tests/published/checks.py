"""Checks against published sources: one function a kind of row, data in the YAML beside.

python tests/published/checks.py        lists every row: pass or fail, tolerance and why, source, what was read

A row is `worked out` if the tool must reason or reckon to meet it. It is `derived` if a
figure of the knowledge is met by other published figures through an equation, and
`copied` if the figure or word stands in the knowledge as in the source: these two guard
against a slip and a later change, and prove nothing of the tool. They are counted apart.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator
from math import hypot
from pathlib import Path
from typing import Any

from book_rows import Got, Row, all_near, examined, examiner, near
from derived import shrinkage_percent, total_solubility
from footing import KINDS, footing
from limits import LIMITS
from on_a_piece import ON_A_PIECE
from wood_and_work import WOOD_AND_WORK

from oldcoat.engine import parse_piece, physics
from oldcoat.engine.reading.yamltext import read
from oldcoat.engine.removal import hansen, kinetics
from oldcoat.engine.storage import to_yaml
from oldcoat.engine.wood.substrate import most_removed, scratch_cost, wooden

FOLDER = Path(__file__).parent


def rows() -> Iterator[tuple[str, Row]]:
    """(file, row) of every check."""
    for path in sorted(FOLDER.glob("*.yaml")):
        for row in read(path).value:
            yield path.name, row


def run(row: Row) -> Got:
    """Whether a row holds. Raises KeyError for a kind that has no check."""
    return CHECKS[row["check"]](row["given"], row["expect"], row["tolerance"])


def _ladder(given: Row, expect: Row, _: Any) -> Got:
    """One of the named leads; and if tests were done, they speak for these: age and place alone must not carry the row."""
    after = examined(given).posterior
    raised = expect.get("raised", expect["any_of_top"])
    top, share = after.top, sum(after.finishes[f] for f in raised)
    fits, told = top in expect["any_of_top"] and top not in expect.get("not_top", []), f"{top}, {share:.2f}"
    if not given.get("tests"):
        return fits, told
    before = examined({**given, "tests": {}}).posterior.finishes
    untold = sum(before[f] for f in raised)
    return fits and share > untold, f"{told} from {untold:.2f}"


def _removal(given: Row, expect: Row, _: Any) -> Got:
    gives = examiner().knowledge.pairs[given["finish"]][given["remover"]].gives
    likeliest = max(gives, key=lambda e: gives[e])
    works = gives["dissolves"] + gives["lifts"]
    fits = likeliest in expect["outcome"] if "outcome" in expect else (works >= 0.5) == expect["works"]
    told = f"{likeliest}, works {works:.2f}"
    if "minutes_overlap" not in expect:
        return fits, told
    face = examined({"finish": given["finish"], "wood": "maple", "build": "solid"})
    low, high = next(p.dwell_minutes for p in face.predictions if p.remover == given["remover"])
    least, most = expect["minutes_overlap"]
    return fits and low <= most and high >= least, f"{told}, {low:.0f}-{high:.0f} min"


def _vocabulary(given: Row, expect: Row, _: Any) -> Got:
    outcomes = examiner().knowledge.tests[given["test"]].outcomes
    if "order" in expect:
        response = {o.id: o.response for o in outcomes}
        found = sorted(response, key=lambda o: -response[o])
        return found == expect["order"], " > ".join(found)
    return [o.id for o in outcomes] == expect["outcomes"], ", ".join(o.id for o in outcomes)


def _hansen(given: Row, expect: Row, tolerance: Any) -> Got:
    if "red" in expect:
        return near(hansen.distance(given["solvent"], given["resin"]) / given["radius"], expect["red"], tolerance)
    if "hansen" in expect:
        found = next(
            (s for n, s in examiner().knowledge.solvents.items() if s.cas == given["cas"] or n == given["solvent"]),
            None,
        )
        fits, told = all_near(found.hansen if found else None, expect["hansen"], tolerance)
        if "evaporation_kj_mol" not in given or not found:
            return fits, told
        agrees, also = near(hypot(*found.hansen), total_solubility(given), expect["total_within"])
        return fits and agrees, f"{told}, in all {also} against {total_solubility(given):.2f}"
    points, radius = given["solvents"], given["radius"]
    mixed = _mean(points, given["shares"])
    each = [hansen.distance(p, given["resin"]) / radius for p in points]
    blend = hansen.distance(mixed, given["resin"]) / radius
    return min(each) > expect["each_above"] and blend < expect["blend_below"], f"each {each}, blend {blend:.2f}"


def _mean(points: list[list[float]], shares: list[float]) -> tuple[float, float, float]:
    from oldcoat.engine.knowledge.entries import Solvent

    solvents = {str(i): Solvent(name="row", hansen=list(p), source=["memory"]) for i, p in enumerate(points)}
    return hansen.blend_point({str(i): s for i, s in enumerate(shares)}, solvents)


def _blend(given: Row, expect: Row, tolerance: float) -> Got:
    parts = given["parts"]
    return all_near(_mean([p["hansen"] for p in parts], [p["share"] for p in parts]), expect["hansen"], tolerance)


def _fick(given: Row, expect: Row, tolerance: float) -> Got:
    if "compare_um" in given:
        first, second = (kinetics.thickness_factor(um)[0 if um < 100 else 1] for um in given["compare_um"])
        return near(second / first, expect["ratio"], tolerance)
    if "dt_l2" in given:
        return near(physics.sorbed_fraction(given["dt_l2"], 1.0, 1.0, given["one_side"]), expect["fraction"], tolerance)
    diffusion, film = given["d_um2_s"], given["film_um"]
    if "minutes" in given:
        return near(
            physics.sorbed_fraction(given["minutes"] * 60, diffusion, film, given["one_side"]),
            expect["fraction"],
            tolerance,
        )
    seconds = physics.time_to_fraction(given["fraction"], diffusion, film, given["one_side"])
    return (
        near(seconds, expect["seconds"], tolerance)
        if "seconds" in expect
        else near(seconds / 60, expect["minutes"], tolerance)
    )


def _arrhenius(given: Row, expect: Row, tolerance: float) -> Got:
    energy = given["kj_mol"] * 1000
    ratio = physics.temperature_factor(given["to_c"], energy) / physics.temperature_factor(given["from_c"], energy)
    return near(ratio, expect["ratio"], tolerance)


def _veto(given: Row, expect: Row, _: Any) -> Got:
    """Each remover is spoken against by a rule that the row names: no other reason will do."""
    done = examined(given)
    by_name = {p.remover: p for p in done.predictions}
    flagged = {f.rule.id for f in done.firings if f.rule.then.flag}
    against = {
        name: {told.rule for told in (*by_name[name].vetoes, *by_name[name].harms)} | flagged
        for name in expect.get("vetoed_or_warned", [])
    }
    missing = [name for name, rules in against.items() if not rules & set(expect["because"])]
    wrong = [name for name in expect.get("not_vetoed", []) if by_name[name].vetoes]
    return not missing and not wrong, f"silent on {missing}, forbids {wrong}" if missing or wrong else "as published"


def _janka(given: Row, expect: Row, tolerance: Any) -> Got:
    woods = examiner().knowledge.woods
    if "woods" in given:
        values = [woods[w].janka_n or 0 for w in given["woods"]]
        return values == sorted(values, reverse=expect["order"] == "falling"), str(values)
    return near(woods[given["wood"]].janka_n or 0, expect["newton"], tolerance)


def _shrinkage(given: Row, expect: Row, tolerance: float) -> Got:
    found = examiner().knowledge.woods[given["wood"]].shrinkage
    options = expect.get("one_of") or [expect["percent"]]
    fits = any(all_near(found, option, tolerance)[0] for option in options)
    if "per_point" not in given:
        return fits, str(found)
    joined = [shrinkage_percent(c) for c in given["per_point"]]
    return fits and all_near((found or [])[:2], joined, expect["within"])[
        0
    ], f"{found}; {joined[0]:.2f}, {joined[1]:.2f}"


def _sanding(given: Row, expect: Row, tolerance: Any) -> Got:
    book = examiner().knowledge.substrate
    grits = [str(g) for g in given.get("grits", [])]
    if "max_mm" in expect:
        return near(most_removed(book, grits), expect["max_mm"], tolerance)
    if "least_mm" in expect:
        return near(scratch_cost(book, grits), expect["least_mm"], tolerance)
    whole = parse_piece(
        to_yaml({"piece": "row", "made": given.get("made", "unknown"), "surfaces": [{"name": "face", **_face(given)}]}),
        "row",
        examiner().knowledge,
    )
    made = given.get("made")
    under = wooden(whole.surfaces[0], (made, made) if made else None, examiner().knowledge)
    if "veneer_mm_overlaps" in expect:
        low, high = under.veneer_mm or (0, 0)
        return low <= expect["veneer_mm_overlaps"][1] and high >= expect["veneer_mm_overlaps"][0], f"{low}-{high}"
    cost = scratch_cost(book, grits) + book.levelling_mm
    return (cost <= under.budget_mm) == expect["allowed"], f"cost {cost:.3f}, budget {under.budget_mm}"


def _face(given: Row) -> Row:
    if given.get("build") == "solid":
        return {"build": "solid"}
    return {"build": "veneer"} | ({"veneer_mm": given["veneer_mm"]} if given.get("measured") else {})


CHECKS: dict[str, Callable[[Row, Row, Any], Got]] = {
    "ladder": _ladder,
    "removal": _removal,
    "vocabulary": _vocabulary,
    "hansen": _hansen,
    "blend": _blend,
    "fick": _fick,
    "arrhenius": _arrhenius,
    "veto": _veto,
    "janka": _janka,
    "shrinkage": _shrinkage,
    "sanding": _sanding,
    **ON_A_PIECE,
    **WOOD_AND_WORK,
    **LIMITS,
}


def main() -> int:
    """Print every row and a count by file and footing; 1 if any failed."""
    failed, count = 0, Counter[tuple[str, str]]()
    for name, row in rows():
        ok, got = run(row) if row["check"] in CHECKS else (False, "no check of this kind")
        failed += not ok
        count[name, footing(row)] += 1
        print(f"{'pass' if ok else 'FAIL'}  {row['id']}  ({footing(row)})")
        print(f"      {row['claim']}")
        print(f"      found {got}; expected {row['expect']}; tolerance {row['tolerance']}: {row['why_tolerance']}")
        print(f"      [{row['source']}] {row['cite']}. Verified: {row['verified']}")
    print(f"\n{'':24}" + "".join(f"{kind:>12}" for kind in KINDS))
    for name in (*sorted({name for name, _ in count}), "all"):
        told = [sum(n for (f, k), n in count.items() if k == kind and name in (f, "all")) for kind in KINDS]
        print(f"{name:24}" + "".join(f"{n:12}" for n in told))
    print(f"{failed} failed of {count.total()}")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
