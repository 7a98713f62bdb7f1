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
    second the book itself. Every key of `counts` is one of `book`, whose values sum to 1.
    """
    total = sum(counts.values())
    learnt = lgamma(weight) - lgamma(weight + total)
    learnt += sum(lgamma(weight * book[o] + n) - lgamma(weight * book[o]) for o, n in counts.items())
    return learnt - sum(n * log(book[o]) for o, n in counts.items())


def leaning(book: Mapping[str, float], counts: Mapping[str, float], weight: float) -> dict[str, float]:
    """Shares after counts: the book's and those learnt from cases, mixed by how the counts speak for either.

    Both are held equally likely beforehand, so a workshop that is as the book says does
    not pay for the chance that it might not be. What is learnt is, before scaling,

        book x (m + found) / (m + expected),  m = max(weight x book, 1)

    which is the Dirichlet mean, except that a share so small that the book stands for less
    than one case of it counts as one: a single case, perhaps mislabelled, is no proof.
    """
    total = sum(counts.values())
    differs = 1 / (1 + exp(-max(min(departure(book, counts, weight), 700.0), -700.0)))
    learnt = {f: p * _ratio(max(weight * p, 1.0), counts.get(f, 0.0), total * p) for f, p in book.items()}
    scale = differs / sum(learnt.values())
    return {f: (1 - differs) * p + scale * learnt[f] for f, p in book.items()}


def _ratio(mass: float, found: float, expected: float) -> float:
    return (mass + found) / (mass + expected)
