"""What a row stands on: the tool works it out, another published figure leads to it, or the knowledge holds the source's own."""

from __future__ import annotations

from typing import Literal

from book_rows import Row, examiner
from on_a_piece import both_planned

Footing = Literal["worked out", "derived", "copied"]
KINDS: tuple[Footing, ...] = ("worked out", "derived", "copied")
# Looked up as they stand: one cell, one list or one figure of the knowledge.
LOOKED_UP = {"coverage", "vocabulary", "limit", "janka", "shrinkage"}
# What a row of these must hold for a figure of the knowledge to be met from elsewhere.
JOINED = {"hansen": "evaporation_kj_mol", "limit": "antoine", "movement": "shrinkage", "shrinkage": "per_point"}


def footing(row: Row) -> Footing:
    """Whether the tool must work for the answer; else whether more than the one figure itself stands behind it."""
    if not _in_knowledge(row):
        return "worked out"
    return "derived" if JOINED.get(row["check"], "") in row["given"] else "copied"


def _in_knowledge(row: Row) -> bool:
    """Whether the answer is written in the knowledge, so that the row proves nothing of the tool."""
    given, expect, book = row["given"], row["expect"], examiner().knowledge
    match row["check"]:
        case "removal":
            return book.pairs[given["finish"]][given["remover"]].exception
        case "bands":
            return "speaks" not in expect
        case "recoat":
            return not given.keys() & {"film", "bare"}
        case "mix":
            return not {given["a"], given["b"]} <= book.removers.keys()
        case "order":
            written = any((edge.first, edge.then) == (given["a"], given["b"]) for edge in book.work.order)
            return written and not both_planned(given)
        case "hansen":
            return "hansen" in expect
        case "movement":
            return "mm" not in expect
        case "sanding":
            return "veneer_mm_overlaps" in expect
        case "oxalic":
            tabled = given.get("celsius") in [celsius for celsius, _ in book.solutes["oxalic-acid"].g_per_kg]
            return given.keys() & {"treatment", "factor"} != set() or ("anhydrous_g_l" in expect and tabled)
        case kind:
            return kind in LOOKED_UP
