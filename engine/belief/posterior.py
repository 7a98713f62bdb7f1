"""The posterior over finishes by exact enumeration of the hidden states.

Everything here is a pure function of its arguments. Vectors run over finish x
contamination x state as in tables.py; the last finish is "none of these".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import log10
from operator import mul

from msgspec import Struct

from ..piece.form import Known
from .evidence import Evidence
from .prior import Prior
from .tables import ORIGINS, Tables, scaled

Vector = list[float]


class Posterior(Struct, frozen=True):
    """What the evidence leaves of the possibilities.

    finishes: finish -> probability, over the finishes of the book, summing to 1.
    other: probability that it is none of them.
    origins: original, refinished, overcoated -> probability.
    contamination: clean, waxed, greasy -> probability.
    log10_evidence: log10 of the probability of the evidence under the whole model.
    """

    finishes: dict[str, float]
    other: float
    origins: dict[str, float]
    contamination: dict[str, float]
    log10_evidence: float

    @property
    def top(self) -> str:
        """The most probable finish; ties go by name."""
        return min(self.finishes, key=lambda f: (-self.finishes[f], f))


class Model:
    """Prior and tables of one surface, ready to take evidence."""

    def __init__(
        self, tables: Tables, prior: Prior, known: Known | None = None, contamination: Mapping[str, float] | None = None
    ) -> None:
        self.tables = tables
        self.finishes = tables.finishes
        other = tables.belief.other
        joint = [prior.joint[f] for f in self.finishes]
        outside, stranger = _outside(self.finishes, known, tables.belief.known)
        self.start: list[tuple[float, float, float]] = [
            (a * w * (1 - other), b * w * (1 - other), c * w * (1 - other))
            for (a, b, c), w in zip(joint, outside, strict=True)
        ]
        self.start.append((other * stranger, 0.0, 0.0))
        shares = {name: row.share for name, row in tables.belief.contamination.items()}
        for name, weight in (contamination or {}).items():
            shares[name] *= weight
        shares = scaled(shares)
        self.over = [shares[name] for name in tables.contaminations] * len(self.start)
        self.states = {group: tables.spread_states(group) for group in tables.groups}

    def posterior(self, evidence: Iterable[Evidence]) -> Posterior:
        """The posterior given all of `evidence`; the order does not matter."""
        return self._finish(*self.prepared(evidence).factors())

    def prepared(self, evidence: Iterable[Evidence]) -> Prepared:
        """The evidence folded in once, in an order of its own, for trying one more answer at a time."""
        return Prepared(self, sorted(evidence, key=lambda item: (item.name, item.seen)))

    def vector(self, item: Evidence) -> Vector:
        """P(report | finish, contamination, state) of one piece of evidence."""
        table = self.tables.likelihood(item.test)
        return _mixed(table, item)

    def origin_after(self, origin: list[tuple[float, ...]], item: Evidence) -> list[tuple[float, ...]]:
        """The weights over finish -> origins once `item` is known."""
        table = self.tables.origin_likelihood(item.test)
        if not table:
            return origin
        flat, width = _mixed(table, item), len(ORIGINS)
        return [tuple(map(mul, row, flat[i * width : (i + 1) * width])) for i, row in enumerate(origin)]

    def _finish(self, film: Vector, origin: list[tuple[float, ...]]) -> Posterior:
        width = len(self.tables.contaminations)
        by_film = _fold(film, width)
        weights = [f * sum(o) for f, o in zip(by_film, origin, strict=True)]
        total, book = sum(weights), sum(weights[:-1])
        finishes = {name: w / book for name, w in zip(self.finishes, weights, strict=False)}
        origins = {
            name: sum(f * o[index] for f, o in zip(by_film[:-1], origin, strict=False)) / book
            for index, name in enumerate(ORIGINS)
        }
        over = {
            name: sum(film[i * width + index] * sum(origin[i]) for i in range(len(origin))) / total
            for index, name in enumerate(self.tables.contaminations)
        }
        return Posterior(finishes, weights[-1] / total, origins, over, log10(total))


class Prepared:
    """A model with evidence folded in, so that one more answer costs one multiplication."""

    def __init__(self, model: Model, evidence: Sequence[Evidence]) -> None:
        self.model = model
        tables = model.tables
        self._film = list(model.over)
        self._grouped: dict[str, Vector] = {}
        self._origin: list[tuple[float, ...]] = list(model.start)
        for item in evidence:
            self._origin = model.origin_after(self._origin, item)
            if tables.origin_likelihood(item.test):
                continue
            group = tables.group_of(item.test)
            if group is None:
                self._film = list(map(mul, self._film, model.vector(item)))
            else:
                start = self._grouped.get(group, model.states[group])
                self._grouped[group] = list(map(mul, start, model.vector(item)))
        self._folded = {g: _fold(v, len(tables.states_of(g))) for g, v in sorted(self._grouped.items())}

    def factors(self) -> tuple[Vector, list[tuple[float, ...]]]:
        """Weights over finish x contamination, and over finish -> origins; their product is the joint."""
        film = self._film
        for folded in self._folded.values():
            film = list(map(mul, film, folded))
        return film, self._origin

    def weights(self) -> Vector:
        """Unscaled weight of each finish, "none of these" last."""
        film, origin = self.factors()
        return [f * sum(o) for f, o in zip(_fold(film, len(self.model.tables.contaminations)), origin, strict=True)]

    def with_outcome(self, test: str, outcome: str) -> Vector:
        """Unscaled weight of each finish if `test` now shows `outcome`."""
        tables = self.model.tables
        table = tables.likelihood(test)[outcome]
        group = tables.group_of(test)
        film = self._film
        for name, folded in self._folded.items():
            if name != group:
                film = list(map(mul, film, folded))
        if not tables.origin_likelihood(test):
            if group is None:
                film = list(map(mul, film, table))
            else:
                start = self._grouped.get(group, self.model.states[group])
                film = list(map(mul, film, _fold(list(map(mul, start, table)), len(tables.states_of(group)))))
        item = Evidence(test, test, outcome, {outcome: 1.0})
        origin = self.model.origin_after(self._origin, item)
        return [f * sum(o) for f, o in zip(_fold(film, len(tables.contaminations)), origin, strict=True)]


def _mixed(table: Mapping[str, Vector], item: Evidence) -> Vector:
    """The table's rows joined by how well each outcome agrees with the report."""
    if len(item.weights) == 1:
        seen = table[next(iter(item.weights))]
    else:
        rows = [(weight, table[outcome]) for outcome, weight in item.weights.items()]
        seen = [sum(weight * row[i] for weight, row in rows) for i in range(len(rows[0][1]))]
    if item.keeps >= 1.0:
        return seen
    flat = (1 - item.keeps) * sum(item.weights.values()) / len(table)
    return [item.keeps * value + flat for value in seen]


def _fold(vector: Vector, width: int) -> Vector:
    """Sums of each run of `width` entries: the last index is summed out."""
    if width == 1:
        return vector
    if width == 3:
        return [a + b + c for a, b, c in zip(vector[0::3], vector[1::3], vector[2::3], strict=True)]
    return list(map(sum, zip(*(vector[i::width] for i in range(width)), strict=True)))


def _outside(finishes: Sequence[str], known: Known | None, trust: Mapping[str, float]) -> tuple[list[float], float]:
    """What outside knowledge of the finish says: trust for the one named, the rest shared by all else.

    The second is for a finish of no book, of which such a word is as wrong as of any other.
    """
    if known is None:
        return [1.0] * len(finishes), 1.0
    sure = trust[known.how]
    wrong = (1 - sure) / (len(finishes) - 1)
    return [sure if f == known.finish else wrong for f in finishes], wrong
