"""The posterior over finishes by exact enumeration of the hidden states.

Everything here is a pure function of its arguments. Vectors run over finish x
contamination x state as in tables.py; the last finish is "none of these".

The joint is a product of factors over the finish that a report speaks to one of, its slot:
FILM (with what lies over it), each hidden group of tests, and ORIGIN (how the film came there).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from math import log10
from operator import mul

from msgspec import Struct

from ..piece.form import Known
from .evidence import Evidence
from .prior import Prior
from .tables import ORIGINS, Tables, scaled
from .vectors import Vector, all_but_one, folded, product, repeated, times

FILM, ORIGIN = "film", "origin"


class Posterior(Struct, frozen=True):
    """What the evidence leaves of the possibilities.

    finishes: finish -> probability, over the finishes of the book, summing to 1.
    other: probability that it is none of them.
    origins: original, refinished, overcoated -> probability.
    contamination: clean, waxed, greasy -> probability.
    log10_evidence: log10 of the probability of the evidence under the whole model.
    states: hidden group -> P(state | finish), flat over finish x state, of the groups that were tested.
    """

    finishes: dict[str, float]
    other: float
    origins: dict[str, float]
    contamination: dict[str, float]
    log10_evidence: float
    states: dict[str, Vector] = {}

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

    def posterior(self, evidence: Iterable[Evidence]) -> Posterior:
        """The posterior given all of `evidence`; the order does not matter."""
        return self._finish(self.prepared(evidence))

    def prepared(self, evidence: Iterable[Evidence]) -> Prepared:
        """The evidence folded in once, in an order of its own, for trying one answer more or less at a time."""
        return Prepared(self, list(evidence))

    def slot(self, test: str) -> str:
        """The factor of the joint that a test speaks to."""
        return ORIGIN if self.tables.origin_likelihood(test) else self.tables.group_of(test) or FILM

    def untold(self, slot: str) -> Vector:
        """A factor of the joint before any evidence. Not to be changed."""
        if slot == FILM:
            return self.over
        return list(chain.from_iterable(self.start)) if slot == ORIGIN else self.tables.spread_states(slot)

    def told(self, item: Evidence) -> Vector:
        """P(report | ...) of one piece of evidence over the entries of its slot."""
        origins = self.tables.origin_likelihood(item.test)
        return _mixed(origins or self.tables.likelihood(item.test), item)

    def _finish(self, prepared: Prepared) -> Posterior:
        film, origin = prepared.factors()
        width, ways = len(self.tables.contaminations), len(ORIGINS)
        by_film, by_origin = folded(film, width), folded(origin, ways)
        weights = times(by_film, by_origin)
        total, book = sum(weights), sum(weights[:-1])
        finishes = {name: w / book for name, w in zip(self.finishes, weights, strict=False)}
        origins = {name: sum(map(mul, by_film[:-1], origin[index::ways])) / book for index, name in enumerate(ORIGINS)}
        over = {
            name: sum(map(mul, film[index::width], by_origin)) / total
            for index, name in enumerate(self.tables.contaminations)
        }
        return Posterior(finishes, weights[-1] / total, origins, over, log10(total), prepared.states())


class Prepared:
    """A model with evidence folded in, so that one answer more or less costs one multiplication."""

    def __init__(self, model: Model, evidence: Sequence[Evidence]) -> None:
        self.model = model
        self._order = sorted(range(len(evidence)), key=lambda n: (evidence[n].name, evidence[n].seen))
        self._slot_of = [model.slot(evidence[n].test) for n in self._order]
        self._told: dict[str, list[Vector]] = {FILM: [], ORIGIN: []}
        for slot, n in zip(self._slot_of, self._order, strict=True):
            self._told.setdefault(slot, []).append(model.told(evidence[n]))
        self._slots = {slot: product(model.untold(slot), told) for slot, told in sorted(self._told.items())}
        self._by_origin = folded(self._slots[ORIGIN], len(ORIGINS))
        self._over_film = {s: self._spread(s, v) for s, v in self._slots.items() if s != ORIGIN}
        self._others: dict[str, Vector] = {}

    def factors(self) -> tuple[Vector, Vector]:
        """Weights over finish x contamination, and over finish x origin; their product is the joint."""
        return product(self._over_film[FILM], self._groups()), self._slots[ORIGIN]

    def states(self) -> dict[str, Vector]:
        """P(state | finish) of each hidden group that was tested, flat over finish x state."""
        return {slot: self._states(slot) for slot in self._slots if slot not in (FILM, ORIGIN)}

    def weights(self) -> Vector:
        """Unscaled weight of each finish, "none of these" last."""
        return self._with(ORIGIN, self._slots[ORIGIN])

    def with_outcome(self, test: str, outcome: str) -> Vector:
        """Unscaled weight of each finish if `test` now shows `outcome`."""
        return self.with_item(Evidence(test, test, outcome, {outcome: 1.0}))

    def with_item(self, item: Evidence) -> Vector:
        """Unscaled weight of each finish with one more piece of evidence."""
        slot = self.model.slot(item.test)
        before = self._slots.get(slot) or self.model.untold(slot)
        return self._with(slot, times(before, self.model.told(item)))

    def each_left_out(self) -> list[Vector]:
        """Unscaled weight of each finish without one piece of evidence: without each in turn, in the order given."""
        left = {
            slot: iter([self._with(slot, rest) for rest in all_but_one(self.model.untold(slot), told)])
            for slot, told in self._told.items()
        }
        found = dict(zip(self._order, (next(left[slot]) for slot in self._slot_of), strict=True))
        return [found[n] for n in range(len(found))]

    def _with(self, slot: str, factor: Vector) -> Vector:
        """Weight of each finish with another factor in one slot."""
        width = len(self.model.tables.contaminations)
        if slot == ORIGIN:
            return times(folded(self._all_but(ORIGIN), width), folded(factor, len(ORIGINS)))
        film = times(self._all_but(slot), self._spread(slot, factor))
        return times(folded(film, width), self._by_origin)

    def _all_but(self, slot: str) -> Vector:
        """Weights over finish x contamination by all but one slot, origin always left out."""
        if slot not in self._others:
            film = [self._over_film[FILM]] if slot != FILM else []
            first, *rest = [*film, *self._groups(slot)] or [[1.0] * len(self.model.over)]
            self._others[slot] = product(first, rest)
        return self._others[slot]

    def _groups(self, but: str = "") -> list[Vector]:
        return [v for s, v in self._over_film.items() if s not in (FILM, but)]

    def _states(self, group: str) -> Vector:
        tables = self.model.tables
        states, over = len(tables.states_of(group)), len(tables.contaminations)
        joint = times(repeated(self._all_but(group), states), self._slots[group])
        size = states * over
        blocks = [joint[at : at + size] for at in range(0, len(joint), size)]
        return [sum(block[s::states]) / sum(block) for block in blocks for s in range(states)]

    def _spread(self, slot: str, factor: Vector) -> Vector:
        """A factor over finish x contamination: hidden states summed out."""
        return factor if slot == FILM else folded(factor, len(self.model.tables.states_of(slot)))


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


def _outside(finishes: Sequence[str], known: Known | None, trust: Mapping[str, float]) -> tuple[list[float], float]:
    """What outside knowledge of the finish says: trust for the one named, the rest shared by all else.

    The second is for a finish of no book, of which such a word is as wrong as of any other.
    """
    if known is None:
        return [1.0] * len(finishes), 1.0
    sure = trust[known.how]
    wrong = (1 - sure) / (len(finishes) - 1)
    return [sure if f == known.finish else wrong for f in finishes], wrong
