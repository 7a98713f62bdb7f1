"""What confirmed cases add to the book: weighted counts, kept apart from it."""

from __future__ import annotations

from msgspec import Struct

LEAST = 1e-6  # what the book expects at least of any finish


class Counts(Struct, frozen=True):
    """Weighted counts of confirmed cases.

    seen: finish -> test -> outcome -> weight. Patch tests stand under
    stripper-patch/REMOVER, which removal outcomes feed too.
    makers: context id -> finish -> weight, for the priors.
    cases: finish -> number of cases, unweighted, for what is told to the user.
    found, expected: finish -> weight of the surfaces that carried it, and what the book
    expected of the same surfaces, for what this workshop sees more or less of.
    """

    seen: dict[str, dict[str, dict[str, float]]] = {}
    makers: dict[str, dict[str, float]] = {}
    cases: dict[str, int] = {}
    found: dict[str, float] = {}
    expected: dict[str, float] = {}

    def demand(self, finish: str, weight: float) -> float:
        """How much oftener than by the book a finish comes to this workshop, over all contexts.

        (m + found) / (m + expected), where m is the finish's part of `weight` pseudo-cases
        that are as the book expects; 1 with no cases.
        """
        total = sum(self.expected.values())
        if total <= 0:
            return 1.0
        expected = self.expected.get(finish, LEAST)
        mass = weight * expected / total
        return (mass + self.found.get(finish, 0.0)) / (mass + expected)

    def outcomes(self, finish: str, test: str) -> dict[str, float]:
        """Weights of the outcomes seen for a finish in a test; empty if none."""
        return self.seen.get(finish, {}).get(test, {})
