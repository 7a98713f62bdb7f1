"""Checks that the tool meets on an invented piece: what an answer speaks for, the law of a place, coats, order of work."""

from __future__ import annotations

from functools import cache
from typing import Any

from book_rows import Got, Row, examined, examiner

from oldcoat.engine import parse_piece
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.planning.order import Node, comes_before
from oldcoat.engine.planning.plan import plan
from oldcoat.engine.planning.recoat import recoat_plans
from oldcoat.engine.storage import to_yaml

WHOLE = """
piece: invented hall table on which nearly every step is done
made: 1950-1960
kind: table
next_coat: oil-varnish
wax_last: true
surfaces:
  - {name: top, wood: oak, build: solid, area_m2: 0.8, known: {finish: shellac, how: laboratory},
     tests: {silicone-check: crawls}, repairs: [joints-loose, dents, edge-missing, filler],
     stains: [{kind: black-ring}, {kind: dye-or-ink}]}
  - {name: legs, wood: oak, build: solid, area_m2: 0.6, known: {finish: shellac, how: laboratory}}
parts: [{label: L1, what: drawer, hardware: [two pulls], surface: top, matched: true}]
"""


def bands(given: Row, expect: Row, _: Any) -> Got:
    """The likeliest outcome of the line; with `speaks`, that seeing that one raises the finish, and more than any of `over`."""
    row = examiner().tables.base_row(given["test"], given["finish"]) or {}
    likeliest = max(row, key=lambda o: row[o], default="no row")
    fits = likeliest in expect["likeliest_in"]
    if "speaks" not in expect:
        return fits, likeliest
    moved = examined({"tests": {given["test"]: expect["speaks"]}}).weighed.decibans[0]
    decibans, next_best = moved[given["finish"]], max((moved[other] for other in expect.get("over", [])), default=0.0)
    return fits and decibans > max(0.0, next_best), f"{likeliest}, {decibans:+.1f} dB, others {next_best:+.1f}"


def law(given: Row, expect: Row, _: Any) -> Got:
    """What is told of a remover on a plain face in a place: forbidden, restricted, not known, or nothing."""
    done = examined({"place": given["place"], "build": "solid"})
    row = next(p for p in done.predictions if p.remover == given["remover"])
    if any(veto.rule == f"law-{given['place']}" for veto in row.vetoes):
        return "banned" in expect["status"], "banned"
    told = " ".join(warning.why for warning in row.warnings)
    found = "restricted" if told.startswith("Restricted") else "not-known" if "not known" in told else "allowed"
    return found in expect["status"], found


def recoat(given: Row, expect: Row, _: Any) -> Got:
    """One cell or one figure of the knowledge; with `film` or `bare`, what the plan of such a face says."""
    book = examiner().knowledge.recoat
    if "coat" in given:
        value = getattr(book.coats[given["coat"]], given["what"])
        low, high = value if isinstance(value, tuple) else (value, value)
        return low <= expect["range_overlaps"][1] and high >= expect["range_overlaps"][0], f"{low:g}-{high:g}"
    word = book.under[given["under"]].get(given["over"], "missing")
    if "film" in given or "bare" in given:
        face = {"wood": given.get("bare", "maple"), "build": "solid", "plan": "seal" if "bare" in given else "keep"}
        known = {"finish": given.get("film", "bare-wood"), "how": "laboratory"}
        piece = _piece(
            to_yaml(
                {
                    "piece": "published row",
                    "made": "1950-1960",
                    "next_coat": given["over"],
                    "surfaces": [{"name": "face", **face, "known": known, "tests": given.get("tests", {})}],
                }
            )
        )
        done = examiner().examine(piece, piece.surfaces[0])
        word = next(p.word for p in recoat_plans(piece, done, examiner().knowledge) if p.over == given["over"])
    return word in expect["word"], word


def order(given: Row, expect: Row, _: Any) -> Got:
    """Whether one step stands before the other in the book, and in the plan of a piece on which both are done."""
    first, then = given["a"], given["b"]
    before = comes_before(examiner().knowledge.work, first, then)
    rows = _planned()
    pairs = [
        (i, j)
        for i, a in enumerate(rows)
        for j, b in enumerate(rows)
        if (a.step, b.step) == (first, then) and (a.surface == b.surface or "" in (a.surface, b.surface))
    ]
    if not pairs:
        return before == expect["before"], "path" if before else "no path"
    planned = all(i < j for i, j in pairs)
    return before == planned == expect["before"], f"{'first' if planned else 'not first'} in the plan"


def both_planned(given: Row) -> bool:
    """Whether both steps of a row are done on the whole piece."""
    return {given["a"], given["b"]} <= {node.step for node in _planned()}


def mix(given: Row, expect: Row, _: Any) -> Got:
    """Never together by the book; of two removers, the one is forbidden on a face where the other was tried."""
    book = examiner().knowledge
    entries = {**book.removers, **book.treatments}
    a, b = given["a"], given["b"]
    apart = any(y in entries[x].never_with for x, y in ((a, b), (b, a)) if x in entries)
    for tried, other in ((a, b), (b, a)) if {a, b} <= book.removers.keys() else ():
        done = examined({"build": "solid", "tried": [{"remover": tried, "result": "no-effect"}]})
        vetoes = next(p.vetoes for p in done.predictions if p.remover == other)
        apart = apart and any(veto.rule == "must-not-meet" for veto in vetoes)
    return apart == expect["never_together"], "kept apart" if apart else "not kept apart"


def _piece(text: str) -> Piece:
    return parse_piece(text, "row", examiner().knowledge)


@cache
def _planned() -> tuple[Node, ...]:
    piece = _piece(WHOLE)
    return tuple(plan(piece, [examiner().examine(piece, s) for s in piece.surfaces], examiner().knowledge).order)


ON_A_PIECE = {"bands": bands, "law": law, "recoat": recoat, "order": order, "mix": mix}
