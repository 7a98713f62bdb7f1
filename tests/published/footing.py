"""What a row stands on: whether the tool must work it out, or the knowledge holds the source's own word or figure."""

from __future__ import annotations

from book_rows import Row, examiner

# Looked up as they stand: one cell, one list or one figure of the knowledge.
LOOKED_UP = {"bands", "vocabulary", "law", "limit", "mix", "recoat", "janka", "shrinkage"}


def copied(row: Row) -> bool:
    """Whether the answer is written in the knowledge, so that the row guards it and proves nothing more."""
    given, expect, book = row["given"], row["expect"], examiner().knowledge
    match row["check"]:
        case "removal":
            return book.pairs[given["finish"]][given["remover"]].exception
        case "order":
            return any((edge.first, edge.then) == (given["a"], given["b"]) for edge in book.work.order)
        case "hansen":
            return "hansen" in expect
        case "movement":
            return "mm" not in expect
        case "coverage":
            return "coat" in given or "remover" in given
        case "sanding":
            return "veneer_mm_overlaps" in expect
        case "oxalic":
            tabled = given.get("celsius") in [celsius for celsius, _ in book.solutes["oxalic-acid"].g_per_kg]
            return "treatment" in given or ("anhydrous_g_l" in expect and tabled)
        case kind:
            return kind in LOOKED_UP
