"""What confirmed cases add to the book: weighted counts, kept apart from it."""

from __future__ import annotations

from msgspec import Struct


class Counts(Struct, frozen=True):
    """Weighted counts of confirmed cases.

    seen: finish -> test -> outcome -> weight. Patch tests stand under
    stripper-patch/REMOVER, which removal outcomes feed too.
    makers: context id -> finish -> weight, for the priors.
    cases: finish -> number of cases, unweighted, for what is told to the user.
    """

    seen: dict[str, dict[str, dict[str, float]]] = {}
    makers: dict[str, dict[str, float]] = {}
    cases: dict[str, int] = {}

    def outcomes(self, finish: str, test: str) -> dict[str, float]:
        """Weights of the outcomes seen for a finish in a test; empty if none."""
        return self.seen.get(finish, {}).get(test, {})
