"""What confirmed cases add to the book: weighted counts, kept apart from it, and how the two are joined."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import exp, lgamma, log, log1p

from msgspec import Struct

DEPARTING = (0.05, 0.2, 0.5, 0.8, 0.95)  # shares of the lines of a test that may not be as the book says
LIGHTER = (1 / 3, 1.0, 3.0)  # how many times the usual number of cases a line that departs may weigh
EVEN = 0.5


class Counts(Struct, frozen=True):
    """Weighted counts of confirmed cases.

    seen: finish -> test -> outcome -> weight. Patch tests stand under
    stripper-patch/REMOVER, which removal outcomes feed too.
    makers: context id -> finish -> weight, for the priors.
    cases: finish -> number of cases, unweighted, for what is told to the user.
    found, expected: finish -> weight of the surfaces that carried it, and what the book
    expected of the same surfaces, for what this workshop sees more or less of.
    came, due: origin -> weight by what the tests showed of how the film came there, and
    what the book says of the same surfaces and their finishes without those tests.
    effort: remover -> coats or hours -> (weight, weight x ln(told / book)) of removals.
    """

    seen: dict[str, dict[str, dict[str, float]]] = {}
    makers: dict[str, dict[str, float]] = {}
    cases: dict[str, int] = {}
    found: dict[str, float] = {}
    expected: dict[str, float] = {}
    came: dict[str, float] = {}
    due: dict[str, float] = {}
    effort: dict[str, dict[str, tuple[float, float]]] = {}

    def outcomes(self, finish: str, test: str) -> dict[str, float]:
        """Weights of the outcomes seen for a finish in a test; empty if none."""
        return self.seen.get(finish, {}).get(test, {})


class Trust(Struct, frozen=True):
    """How far the lines of one part of the book are trusted, learnt from all of them together.

    rows: (chance, share of the lines that are not as the book says, cases that such a line
    still weighs); the chances sum to one.
    """

    rows: tuple[tuple[float, float, float], ...]

    @property
    def by_weight(self) -> list[tuple[float, list[tuple[float, float]]]]:
        """The rows under each weight, with the ln odds of their share."""
        found: dict[float, list[tuple[float, float]]] = {}
        for chance, share, weight in self.rows:
            found.setdefault(weight, []).append((chance, log(share / (1 - share))))
        return list(found.items())

    @property
    def departing(self) -> float:
        """The share of the lines that are not as the book says, as far as is known."""
        return sum(chance * share for chance, share, _ in self.rows)


def usual(weight: float) -> Trust:
    """A line is as likely to be right as not, and weighs `weight` cases if it is not."""
    return Trust(((1.0, EVEN, weight),))


def trust_in(
    lines: Iterable[tuple[Mapping[str, float], Mapping[str, float]]],
    weight: float,
    lighter: Sequence[float] = LIGHTER,
    departing: Sequence[float] = DEPARTING,
) -> Trust:
    """How far lines of one kind, (book, counts) each, are to be trusted, by how well all of them fit.

    Empirical Bayes (B. Efron, Large-Scale Inference, 2010): the lines are a mixture of such
    as stand and such as depart; the share that departs and the weight left to the book are
    judged by their marginal likelihood over all lines and averaged over, not picked.
    """
    rows = list(lines)
    found: list[tuple[float, float, float]] = []
    for times in lighter:
        factors = [departure(book, counts, weight * times) for book, counts in rows]
        for share in departing:
            odds = log(share / (1 - share))
            score = sum(log(1 - share) + _log1pexp(factor + odds) for factor in factors)
            found.append((score, share, weight * times))
    best = max(score for score, _, _ in found)
    total = sum(exp(score - best) for score, _, _ in found)
    return Trust(tuple((exp(score - best) / total, share, cases) for score, share, cases in found))


def departure(book: Mapping[str, float], counts: Mapping[str, float], weight: float) -> float:
    """ln of the Bayes factor for "here the chances are not the book's" against "they are", given counts.

    The first is a Dirichlet distribution round the book with `weight` pseudo-cases, the
    second the book itself, whose values sum to 1. Rows run in the order of the book, so
    that equal counts give equal digits.
    """
    total = learnt = 0.0
    for key, p in book.items():
        n = counts.get(key, 0.0)
        if n:
            total += n
            mass = weight * p
            learnt += lgamma(mass + n) - lgamma(mass) - n * log(p)
    return learnt + lgamma(weight) - lgamma(weight + total)


def leaning(
    book: Mapping[str, float], counts: Mapping[str, float], trust: Trust, least: float = 0.0
) -> dict[str, float]:
    """Chances after counts: the book's and those learnt from cases, mixed by how the counts speak for either.

    What is learnt is (weight x book + counts) / sum, the mean of a Dirichlet distribution
    round the book. It and the book as it stands are weighed by their Bayes factor and by
    how far such lines are trusted at all, so that a workshop where all is as the book says
    does not pay for the chance that it might not be. With `least`, what the book holds to
    be so rare that its weight makes less than that many cases of it counts as that many: a
    single contrary case, perhaps mislabelled, is no proof. Never 0 or 1 if the book is not.
    """
    total = sum(counts.values())
    shares: dict[float, float] = {}
    for weight, rows in trust.by_weight:
        factor = departure(book, counts, weight)
        shares[weight] = sum(chance / (1 + exp(-max(min(factor + odds, 700.0), -700.0))) for chance, odds in rows)
    stays = 1 - sum(shares.values())
    if not least:
        kept = stays + sum(share * weight / (weight + total) for weight, share in shares.items())
        gained = sum(share / (weight + total) for weight, share in shares.items())
        return {key: kept * p + gained * counts.get(key, 0.0) for key, p in book.items()}
    mixed = {key: stays * p for key, p in book.items()}
    for weight, share in shares.items():
        learnt = {key: _raised(p, max(weight * p, least), counts.get(key, 0.0), total) for key, p in book.items()}
        scale = share / sum(learnt.values())
        for key, p in learnt.items():
            mixed[key] += scale * p
    return mixed


def _raised(p: float, mass: float, n: float, total: float) -> float:
    return p * (mass + n) / (mass + total * p)


def _log1pexp(x: float) -> float:
    return x + log1p(exp(-x)) if x > 0 else log1p(exp(x))
