"""YAML rules to a Rete network, built once, then run on the facts of one surface.

Working memory holds what was given as one fact with a field for each key, and each
conclusion as a fact of its own: a fact that passes through the network costs the same
whether it has one field or forty. A firing keeps the rule, the facts that it
matched and what it concluded, so every conclusion can be traced to its parents.
Each rule has a salience of its own (priority, then id), which makes the order of the
agenda the same in every run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from msgspec import Struct

from ..knowledge.entries import Bounds, Condition, Literalish, Rule
from .matcher import experta

Facts = Mapping[str, Literalish]
MOST_KNOWN = 200  # runs that are remembered


class Firing(Struct, frozen=True):
    """One rule that fired, with the facts it matched."""

    rule: Rule
    facts: dict[str, Literalish]


class _Given(experta.Fact):  # type: ignore[misc]
    """All that is known of the surface before any rule fires, as one fact of many fields."""


class _Note(experta.Fact):  # type: ignore[misc]
    """One fact that a rule has concluded: a key and its value, and its kind, or true would pass for a 1 already known."""


def accepts(condition: Condition) -> Callable[[Any], bool]:
    """The predicate that a condition stands for; a value of the wrong type never passes."""
    if isinstance(condition, Bounds):
        low, high = condition.at_least, condition.below
        return lambda v: _is_number(v) and (low is None or v >= low) and (high is None or v < high)
    wanted = {_typed(value) for value in (condition if isinstance(condition, list) else [condition])}
    return lambda v: _typed(v) in wanted


class Network:
    """A set of rules compiled for running many times. Not to be shared between threads."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        self.rules = sorted(rules, key=lambda rule: (-rule.priority, rule.id))
        self._concluded = {key for rule in self.rules for key in rule.then.facts}
        self._read = {key for rule in self.rules for key in (*rule.when, *rule.unless)}
        self._fired: list[Firing] = []
        self._known: dict[tuple[object, ...], list[Firing]] = {}
        body = {f"rule_{rank}": self._compiled(rule, len(self.rules) - rank) for rank, rule in enumerate(self.rules)}
        self._engine = type("Consultation", (experta.KnowledgeEngine,), body)()

    def run(self, facts: Facts) -> list[Firing]:
        """Every rule that fires on `facts`, in the order of the agenda; the same facts are not gone through twice."""
        seen = {key: facts[key] for key in sorted((self._read | self._concluded) & facts.keys())}
        kept = tuple((key, _typed(value)) for key, value in seen.items())
        if kept not in self._known:
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            self._known[kept] = self._consulted(seen)
        return self._known[kept]

    def _consulted(self, facts: Facts) -> list[Firing]:
        """One run of the engine."""
        self._fired = []
        self._engine.reset()
        self._engine.declare(_Given(**{key: facts[key] for key in sorted(self._read & facts.keys())}))
        for key in sorted(self._concluded & facts.keys()):
            self._engine.declare(_noted(key, facts[key]))
        self._engine.run()
        return self._fired

    def _compiled(self, rule: Rule, salience: int) -> Any:
        """One experta rule. What was given stands in one fact, so it costs one pattern however many keys."""
        given = {key: experta.P(accepts(c)) for key, c in sorted(rule.when.items()) if key not in self._concluded}
        bound = [experta.AS.given << _Given(**given)]
        bound += [
            getattr(experta.AS, f"note{index}") << self._pattern(key, condition)
            for index, (key, condition) in enumerate(sorted(rule.when.items()))
            if key in self._concluded
        ]
        absent = [experta.NOT(self._pattern(key, condition)) for key, condition in sorted(rule.unless.items())]

        def fire(engine: Any, **matched: Any) -> None:
            held = {key: matched["given"][key] for key in given}
            held |= {fact["key"]: fact["value"] for name, fact in matched.items() if name != "given"}
            self._fired.append(Firing(rule, held))
            for key, value in rule.then.facts.items():
                engine.declare(_noted(key, value))

        return experta.Rule(*bound, *absent, salience=salience)(fire)

    def _pattern(self, key: str, condition: Condition) -> Any:
        predicate = experta.P(accepts(condition))
        return _Note(key=key, value=predicate) if key in self._concluded else _Given(**{key: predicate})


def _noted(key: str, value: Literalish) -> _Note:
    return _Note(key=key, value=value, kind=isinstance(value, bool))


def _typed(value: Any) -> tuple[bool, Any]:
    """Keeps True apart from 1, which Python calls equal."""
    return isinstance(value, bool), value


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
