"""Invented surfaces, drawn from the book itself, for asking what the book can and cannot tell.

They show what follows from the tables, never whether the tables are right.
"""

from __future__ import annotations

from random import Random

from ..belief.tables import ORIGINS, Tables


class Imagined:
    """One surface of a known finish and origin; the same test asked again shows the same."""

    def __init__(self, finish: str, tables: Tables, rng: Random, origin: str = ORIGINS[0]) -> None:
        self._tables, self._rng = tables, rng
        over = [tables.belief.contamination[name].share for name in tables.contaminations]
        contamination = rng.choices(range(len(over)), over)[0]
        index = tables.finishes.index(finish)
        self._cell, self._origin = index * len(over) + contamination, index * len(ORIGINS) + ORIGINS.index(origin)
        self._states = {group: self._state(group, finish) for group in tables.groups}
        self._shown: dict[str, str] = {}

    def show(self, test: str) -> str:
        """The outcome of a test on this surface."""
        if test not in self._shown:
            self._shown[test] = self._draw(test)
        return self._shown[test]

    def _state(self, group: str, finish: str) -> int:
        width = len(self._tables.states_of(group))
        start = self._tables.finishes.index(finish) * width
        shares = self._tables.state_shares(group)[start : start + width]
        return self._rng.choices(range(width), shares)[0]

    def _draw(self, test: str) -> str:
        table, cell = self._tables.origin_likelihood(test), self._origin
        if not table:
            group = self._tables.group_of(test)
            table = self._tables.likelihood(test)
            cell = self._cell * len(self._tables.states_of(group)) + (self._states[group] if group else 0)
        return self._rng.choices(list(table), [row[cell] for row in table.values()])[0]
