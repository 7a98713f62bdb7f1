"""How much more or less than the book a removal takes at this workshop, learnt from those that were finished.

Each finished removal tells ln(told / middle of the book's range) for its hours on a square
metre and its coats. The mean of a remover's is drawn towards that of the workshop, and that
of the workshop towards the book, which weighs `book_weight` cases at either step:

    ln factor = (weight x ln workshop + sum) / (weight + n)

How fast a person works shows with every remover, so hours are pooled over all of them;
coats belong to one remover and its book alone.
"""

from __future__ import annotations

from math import exp

from ..belief.counts import Counts

POOLED = ("hours",)


def factor(remover: str, what: str, counts: Counts, weight: float) -> float:
    """Times the book's coats or hours (`what`) of a remover; 1 with no cases. `weight`: that of the book, in cases."""
    number, off = counts.effort.get(remover, {}).get(what, (0.0, 0.0))
    whole = log_pace(what, counts, weight) if what in POOLED else 0.0
    return exp((weight * whole + off) / (weight + number))


def log_pace(what: str, counts: Counts, weight: float) -> float:
    """ln of the times that this workshop takes of the book's, over all removers."""
    rows = [row[what] for _, row in sorted(counts.effort.items()) if what in row]
    return sum(off for _, off in rows) / (weight + sum(number for number, _ in rows))
