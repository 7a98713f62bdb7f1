"""What confirmed cases add to the book: weighted counts, kept apart from it."""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, lgamma, log

from msgspec import Struct


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

    def outcomes(self, finish: str, test: str) -> dict[str, float]:
        """Weights of the outcomes seen for a finish in a test; empty if none."""
        return self.seen.get(finish, {}).get(test, {})


def departure(book: Mapping[str, float], counts: Mapping[str, float], weight: float) -> float:
    """ln of the Bayes factor for "here the chances are not the book's" against "they are", given counts.

    The first is a Dirichlet distribution round the book with `weight` pseudo-cases, the
    second the book itself, whose values sum to 1. Rows run in the order of the book, so
    that equal counts give equal digits.
    """
    rows = [(p, counts[key]) for key, p in book.items() if key in counts]
    learnt = lgamma(weight) - lgamma(weight + sum(n for _, n in rows))
    learnt += sum(lgamma(weight * p + n) - lgamma(weight * p) for p, n in rows)
    return learnt - sum(n * log(p) for p, n in rows)


def leaning(
    book: Mapping[str, float], counts: Mapping[str, float], weight: float, least: float = 0.0
) -> dict[str, float]:
    """Chances after counts: the book's and those learnt from cases, mixed by how the counts speak for either.

    What is learnt is (weight x book + counts) / sum, the mean of a Dirichlet distribution
    round the book. It and the book as it stands are held equally likely beforehand and
    weighed by their Bayes factor, so that a workshop where all is as the book says does not
    pay for the chance that it might not be. With `least`, what the book holds to be so rare
    that `weight` makes less than that many cases of it counts as that many: a single
    contrary case, perhaps mislabelled, is no proof. Never 0 or 1 if the book is not.
    """
    total = sum(counts.values())
    differs = 1 / (1 + exp(-max(min(departure(book, counts, weight), 700.0), -700.0)))
    learnt = {}
    for key, p in book.items():
        mass = max(weight * p, least)
        learnt[key] = p * (mass + counts.get(key, 0.0)) / (mass + total * p)
    scale = differs / sum(learnt.values())
    return {key: (1 - differs) * p + scale * learnt[key] for key, p in book.items()}
