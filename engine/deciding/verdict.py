"""Whether to stop asking: settled, same route either way, test more, or unknown."""

from __future__ import annotations

from typing import Literal

from ..belief.posterior import Posterior
from ..belief.weigh import Fit
from ..knowledge.entries import Decide
from .costs import CostTable
from .nexttest import Worth

Verdict = Literal["settled", "same-route", "test-more", "unknown"]


def verdict(
    posterior: Posterior, low: float, fit: Fit, best: Worth | None, costs: CostTable, finishes: list[str], book: Decide
) -> Verdict:
    """The word for where the examination stands.

    `low` is the low end of the range of the most probable finish, `finishes` those of the tables in order.
    """
    top = posterior.finishes[posterior.top]
    pays = best is not None and best.saves > 0
    if posterior.other >= 0.5 or (not fit.ok and top < book.settled):
        return "unknown"
    if (
        top >= book.settled
        and low >= 0.5
        and fit.ok
        and not (best is not None and best.saves > book.same_route_minutes)
    ):
        return "settled"
    if pays:
        return "test-more"
    return "same-route" if _same_route(posterior, costs, finishes, book) else "unknown"


def regret(posterior: Posterior, costs: CostTable, finishes: list[str]) -> float:
    """Expected minutes lost by taking the best route for all instead of the best for each."""
    if not costs.rows:
        return 0.0
    weights = [posterior.finishes[f] for f in finishes]
    together = costs.best([*weights, 0.0])[0]
    return together - sum(w * min(row[i] for row in costs.rows) for i, w in enumerate(weights))


def _same_route(posterior: Posterior, costs: CostTable, finishes: list[str], book: Decide) -> bool:
    """Either the mix of possible finishes costs little, or nothing left to ask would change the route."""
    if not costs.rows:
        return False
    return regret(posterior, costs, finishes) <= 4 * book.same_route_minutes or posterior.finishes[posterior.top] >= 0.5
