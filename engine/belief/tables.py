"""Words of the knowledge base to numbers: P(outcome | finish, contamination, state).

A table for one outcome is a flat list over finish x contamination x state (the last
index runs fastest), with one state for tests that belong to no group. The finish
index after the last is "none of these". All entries are strictly between 0 and 1.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import exp
from typing import Any, cast

from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import EFFECTS, Band, Belief, Test
from .counts import Counts, Trust, leaning, trust_in

Row = dict[str, float]
Table = dict[str, list[float]]
ONE_CASE = 1.0  # what a row holds to be almost never counts as at least one case
ORIGINS = ("original", "refinished", "overcoated")
SOLUBILITY = "solubility"  # the hidden group that patches read
# How far a removal effect stands on the hidden solubility of the film.
EFFECT_RESPONSE = {"dissolves": 1.0, "lifts": 0.3, "softens": 0.0, "no-effect": -1.0}


def spread(gives: Mapping[Any, Band], outcomes: list[str], belief: Belief) -> Row:
    """A row of words as chances that sum to one; unlisted outcomes take their band too."""
    return scaled({o: belief.bands[gives.get(o, belief.unlisted)] for o in outcomes})


def scaled(row: Mapping[str, float]) -> Row:
    """The same proportions with sum one. Raises ZeroDivisionError for a sum of zero."""
    total = sum(row.values())
    return {key: value / total for key, value in row.items()}


def stepped(row: Row, power: float) -> Row:
    """The row made flatter (power below 1) or more pointed (above 1): P(o)^power, scaled."""
    return scaled({key: value**power for key, value in row.items()})


def tilted(row: Row, tilt: float, response: Mapping[str, float]) -> Row:
    """The row leaned by the hidden state towards outcomes with a high response: P(o) exp(tilt x response), scaled."""
    return scaled({key: value * exp(tilt * response[key]) for key, value in row.items()}) if tilt else row


class Tables:
    """Likelihood tables of one knowledge base and one casebook, made when first asked for.

    `power` shifts every band by about a step: below 1 towards "cannot tell".
    """

    def __init__(self, knowledge: Knowledge, counts: Counts | None = None, power: float = 1.0) -> None:
        self.knowledge = knowledge
        self.belief = knowledge.belief
        self.counts = counts or Counts()
        self.power = power
        self.finishes = sorted(knowledge.finishes)
        self.contaminations = sorted(self.belief.contamination)
        self.drowning = [name for name in self.contaminations if self.belief.contamination[name].drowns]
        self.groups = sorted(self.belief.groups)
        self._tables: dict[str, Table] = {}
        self._origins: dict[str, Table] = {}
        self._rows: dict[tuple[str, str], Row | None] = {}
        self._rest: Tables | None = None
        self._touched: Mapping[str, Collection[str]] = {}
        self._states: dict[str, list[float]] = {}
        self._masks: dict[str, dict[str, tuple[float, Row]]] = {}
        self._trusts: dict[str, Trust] = {}

    def group_of(self, test: str) -> str | None:
        """The hidden group that a test reads, if any."""
        if test.startswith(PATCH_PREFIX):
            return SOLUBILITY if SOLUBILITY in self.belief.groups else None
        return self.knowledge.tests[test].group

    def states_of(self, group: str | None) -> list[str]:
        """States of a group in the order of the tables; one unnamed state without a group."""
        return sorted(self.belief.groups[group].states) if group else [""]

    def state_shares(self, group: str) -> list[float]:
        """P(state | finish) flat over finish x state, "none of these" last."""
        if group not in self._states:
            self._states[group] = self._build_shares(group)
        return self._states[group]

    def spread_states(self, group: str) -> list[float]:
        """P(state | finish), repeated for each contamination. Not to be changed."""
        key = f"{group}/spread"
        if key not in self._states:
            width, flat = len(self.states_of(group)), self.state_shares(group)
            rows = [flat[start : start + width] for start in range(0, len(flat), width)]
            self._states[key] = [share for row in rows for _ in self.contaminations for share in row]
        return self._states[key]

    def _build_shares(self, group: str) -> list[float]:
        default = {name: state.share for name, state in self.belief.groups[group].states.items()}
        flat: list[float] = []
        for finish in self.finishes:
            words = self.knowledge.finishes[finish].ageing.get(group)
            shares = spread(words, sorted(default), self.belief) if words else scaled(default)
            flat += [shares[state] for state in sorted(default)]
        return flat + [scaled(default)[state] for state in sorted(default)]

    def likelihood(self, test: str) -> Table:
        """outcome -> flat list over finish x contamination x state."""
        if test not in self._tables:
            patch = self._patched(test, self._touched.get(test, ())) if self._rest else None
            self._tables[test] = patch or self._build(test)
        return self._tables[test]

    def origin_likelihood(self, test: str) -> Table:
        """outcome -> flat list over finish x ORIGINS; empty if the test does not tell origins apart.

        Such a test is read here alone: how a film came there shows whatever lies over it.
        """
        if test not in self._origins:
            entry = self.knowledge.tests.get(test)
            self._origins[test] = self._build_origin(test, entry) if entry and entry.origin_bands else {}
        return self._origins[test]

    def base_row(self, test: str, finish: str) -> Row | None:
        """P(outcome | finish) on a clean, typical film with what the casebook adds; None if nothing is known.

        See counts.leaning for how the two are joined. Where the book is silent the start is
        Laplace's: one pseudo-case an outcome.
        """
        book = self.book_row(test, finish)
        seen = self.counts.outcomes(finish, test)
        if not seen:
            return book
        if book:
            return leaning(book, seen, self.trust(test), ONE_CASE)
        return scaled({o: 1.0 + seen.get(o, 0.0) for o in self.knowledge.outcomes_of(test)})

    def trust(self, test: str) -> Trust:
        """How far the lines of the book on one test are trusted, by how well the cases bear all of them out."""
        if self._rest:
            return self._rest.trust(test)
        if test not in self._trusts:
            seen = {finish: self.counts.outcomes(finish, test) for finish in self.finishes}
            lines = [(self.book_row(test, finish), counts) for finish, counts in seen.items() if counts]
            self._trusts[test] = trust_in([(b, c) for b, c in lines if b], self.belief.book_weight)
        return self._trusts[test]

    def book_row(self, test: str, finish: str) -> Row | None:
        """What the book alone says of a finish in a test. Not to be changed."""
        key = (test, finish)
        if key not in self._rows:
            if test.startswith(PATCH_PREFIX):
                self._rows[key] = self._patch_row(test[len(PATCH_PREFIX) :], finish)
            else:
                self._rows[key] = self._banded_row(self.knowledge.tests[test], finish, self.knowledge.outcomes_of(test))
        return self._rows[key]

    def _banded_row(self, test: Test, finish: str, outcomes: list[str]) -> Row | None:
        found = None
        family = self.knowledge.finishes[finish].family
        for row in test.bands:
            if family in row.finishes:
                found = row
        for row in test.bands:
            if finish in row.finishes:
                found = row
        return stepped(spread(found.gives, outcomes, self.belief), self.power) if found else None

    def _patch_row(self, remover: str, finish: str) -> Row | None:
        prediction = self.knowledge.pairs.get(finish, {}).get(remover)
        return stepped({e: prediction.gives[e] for e in EFFECTS}, self.power) if prediction else None

    def _build(self, test: str) -> Table:
        outcomes = self.knowledge.outcomes_of(test)
        table: Table = {o: [] for o in outcomes}
        for finish in self.finishes:
            for o, cells in self.cells(test, finish).items():
                table[o] += cells
        width = len(self.contaminations) * len(self.states_of(self.group_of(test)))
        for o in outcomes:
            table[o] += [1 / len(outcomes)] * width
        return table

    def cells(self, test: str, finish: str) -> Table:
        """The part of a table that is about one finish: outcome -> flat list over contamination x state."""
        outcomes = self.knowledge.outcomes_of(test)
        flat, slip = 1 / len(outcomes), self.belief.slip
        known = self.base_row(test, finish)
        base = known or dict.fromkeys(outcomes, flat)
        masks = self.masks(test)
        rows = self.by_state(test, base) if known else [base] * len(self.states_of(self.group_of(test)))
        cells: Table = {o: [] for o in outcomes}
        for contamination in self.contaminations:
            hides, shows = masks.get(contamination, (0.0, base))
            for row in rows:
                for o in outcomes:
                    seen = (1 - hides) * row[o] + hides * shows[o]
                    cells[o].append((1 - slip) * seen + slip * flat)
        return cells

    def over_states(self, test: str, finish: str, row: Row) -> Row:
        """A typical row spread over the hidden states that this finish may be in."""
        group = self.group_of(test)
        if group is None:
            return row
        rows = self.by_state(test, row)
        start = self.finishes.index(finish) * len(rows)
        shares = self.state_shares(group)[start : start + len(rows)]
        return {o: sum(share * r[o] for share, r in zip(shares, rows, strict=True)) for o in row}

    def by_state(self, test: str, row: Row) -> list[Row]:
        """A typical row in each hidden state of the group that the test reads, in the order of the tables."""
        group, response = self.group_of(test), self._responses(test)
        tilts = [self.belief.groups[group].states[s].tilt for s in self.states_of(group)] if group else [0.0]
        return [tilted(row, tilt, response) for tilt in tilts]

    def masks(self, test: str) -> dict[str, tuple[float, Row]]:
        """contamination -> (how often it hides the film from this test, what shows then)."""
        if test not in self._masks:
            book = self.knowledge
            entry = book.tests.get(test) or book.removers[test.removeprefix(PATCH_PREFIX)]
            outcomes = book.outcomes_of(test)
            even = dict.fromkeys(outcomes, 1 / len(outcomes))
            self._masks[test] = dict.fromkeys(self.drowning, (1.0, even)) | {
                name: (self.belief.bands[mask.hides], spread(mask.gives, outcomes, self.belief))
                for name, mask in entry.masked_by.items()
            }
        return self._masks[test]

    def without(self, counts: Counts, touched: Mapping[str, Collection[str]]) -> Tables:
        """These tables under other counts that differ only for the finishes `touched` by test.

        What is not touched is shared, not copied, and so is how far each test is trusted. For
        leaving cases out one at a time.
        """
        other = Tables(self.knowledge, counts, self.power)
        other._origins, other._states, other._masks = self._origins, self._states, self._masks
        other._rows = self._rows
        other._rest, other._touched = self, touched
        return other

    def _patched(self, test: str, finishes: Collection[str]) -> Table:
        table = cast(Tables, self._rest).likelihood(test)
        if not finishes:
            return table
        table = {o: list(row) for o, row in table.items()}
        width = len(self.contaminations) * len(self.states_of(self.group_of(test)))
        for finish in finishes:
            start = self.finishes.index(finish) * width
            for o, cells in self.cells(test, finish).items():
                table[o][start : start + width] = cells
        return table

    def _responses(self, test: str) -> dict[str, float]:
        if test.startswith(PATCH_PREFIX):
            return EFFECT_RESPONSE
        return {outcome.id: outcome.response for outcome in self.knowledge.tests[test].outcomes}

    def _build_origin(self, name: str, test: Test) -> Table:
        """With bands too the two are multiplied and scaled to one, so that it stays a likelihood."""
        outcomes = [outcome.id for outcome in test.outcomes]
        flat, slip = 1 / len(outcomes), self.belief.slip
        even = dict.fromkeys(outcomes, flat)
        by_origin: dict[str, Row] = {
            row.origin: stepped(spread(row.gives, outcomes, self.belief), self.power) for row in test.origin_bands
        }
        table: Table = {o: [] for o in outcomes}
        for finish in self.finishes:
            film = (self.base_row(name, finish) if test.bands else None) or even
            for origin in ORIGINS:
                given = by_origin.get(origin, even)
                row = scaled({o: film[o] * given[o] for o in outcomes})
                for o in outcomes:
                    table[o].append((1 - slip) * row[o] + slip * flat)
        for o in outcomes:
            table[o] += [flat] * len(ORIGINS)
        return table
