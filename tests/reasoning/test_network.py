"""The compiled rules against an independent reading of the same rules."""

from __future__ import annotations

import random
import threading
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Bounds, Conclusion, Rule
from oldcoat.engine.reasoning.network import Network

KEYS = ["a", "b", "c", "d"]
VALUES: list[str | int | float | bool] = ["x", "y", 1, 2.5, True, False]


def _holds(condition: Any, value: Any) -> bool:
    """A second reading of a condition, written without looking at the first."""
    if isinstance(condition, Bounds):
        if isinstance(value, bool) or not isinstance(value, int | float):
            return False
        return not (condition.at_least is not None and value < condition.at_least) and not (
            condition.below is not None and value >= condition.below
        )
    options = condition if isinstance(condition, list) else [condition]
    return any(isinstance(o, bool) == isinstance(value, bool) and o == value for o in options)


def naive(rules: list[Rule], facts: dict[str, Any]) -> set[str]:
    """Forward chaining by going over all rules until nothing new fires; negation on the first state only for no-chain sets."""
    known = {key: {value} for key, value in facts.items()}
    fired: set[str] = set()
    while True:
        new = [
            rule
            for rule in sorted(rules, key=lambda r: (-r.priority, r.id))
            if rule.id not in fired
            and all(any(_holds(c, v) for v in known.get(k, ())) for k, c in rule.when.items())
            and not any(any(_holds(c, v) for v in known.get(k, ())) for k, c in rule.unless.items())
        ]
        if not new:
            return fired
        fired.add(new[0].id)
        for key, value in new[0].then.facts.items():
            known.setdefault(key, set()).add(value)


def _rule(number: int, when: dict[str, Any], unless: dict[str, Any], facts: dict[str, Any]) -> Rule:
    return Rule(
        id=f"r{number}",
        about="invented",
        status="draft",
        when=when,
        unless=unless,
        then=Conclusion(facts=facts),
        why="invented",
        source=["memory"],
        wrong_if=["invented"],
    )


conditions = st.one_of(
    st.sampled_from(VALUES),
    st.lists(st.sampled_from(VALUES), min_size=1, max_size=3),
    st.builds(Bounds, at_least=st.one_of(st.none(), st.just(1.0)), below=st.one_of(st.none(), st.just(3.0))),
)
patterns = st.dictionaries(st.sampled_from(KEYS), conditions, min_size=1, max_size=3)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(patterns, st.dictionaries(st.sampled_from(KEYS), conditions, max_size=1)), min_size=1, max_size=6
    ),
    st.dictionaries(st.sampled_from(KEYS), st.sampled_from(VALUES), max_size=4),
)
def test_same_firings_as_a_second_reading(
    shapes: list[tuple[dict[str, Any], dict[str, Any]]], facts: dict[str, Any]
) -> None:
    """On random rules and facts the network and the naive reading fire the same rules (chaining into facts no rule negates)."""
    rules = [_rule(i, when, unless, {f"made{i}": True}) for i, (when, unless) in enumerate(shapes)]
    rules.append(_rule(99, {"made0": True}, {}, {}))
    assert {f.rule.id for f in Network(rules).run(facts)} == naive(rules, facts)


def test_shipped_rules_agree_on_their_examples(knowledge: Knowledge) -> None:
    """On every example of every shipped rule both readings of the whole rule set agree."""
    for file in knowledge.rules.values():
        rules = [rule for f in knowledge.rules.values() if f.scope == file.scope for rule in f.rules]
        network = Network(rules)
        for rule in file.rules:
            for facts in (*rule.fires, *rule.silent):
                assert {f.rule.id for f in network.run(facts)} == naive(rules, facts), (rule.id, facts)


def _makes_true(condition: Any, rng: random.Random) -> Any:
    """A value that a condition accepts: one of its own, or one at either edge of its bounds."""
    if isinstance(condition, Bounds):
        edges = [] if condition.at_least is None else [condition.at_least]
        edges += [] if condition.below is None else [condition.below - 1e-6]
        return rng.choice(edges)
    return rng.choice(condition if isinstance(condition, list) else [condition])


def _near(condition: Any) -> list[Any]:
    """Values that a condition turns on: its own, both edges of its bounds and just outside, the wrong type."""
    if isinstance(condition, Bounds):
        edges = [edge for edge in (condition.at_least, condition.below) if edge is not None]
        return [value for edge in edges for value in (edge - 1e-6, edge, int(edge), edge > 0, str(edge))]
    return [*(condition if isinstance(condition, list) else [condition]), "something else", True, False, 1, 0]


@pytest.mark.parametrize("scope", ["surface", "pair"])
def test_shipped_rules_on_random_facts(knowledge: Knowledge, scope: str) -> None:
    """Every shipped rule is made to fire, and each of its exceptions to silence it, amid random other facts.

    Both readings agree on all of these facts. The values come from the conditions of the
    rules themselves: every field that any rule reads is drawn, at its edges too.
    """
    rules = [rule for file in knowledge.rules.values() if file.scope == scope for rule in file.rules]
    network, rng = Network(rules), random.Random(f"facts/{scope}")
    domain: dict[str, list[Any]] = {}
    for rule in rules:
        for key, condition in (*rule.when.items(), *rule.unless.items()):
            domain.setdefault(key, []).extend(_near(condition))
    drawn: set[str] = set()
    for rule in rules:
        chosen = {key: _makes_true(c, rng) for key, c in rule.when.items()}
        others = rng.sample(sorted(domain.keys() - rule.when.keys() - rule.unless.keys()), 6)
        noise = {key: rng.choice(domain[key]) for key in others}
        sets = [{**noise, **chosen}]
        sets += [{**noise, **chosen, key: _makes_true(c, rng)} for key, c in rule.unless.items() if key not in chosen]
        for facts in sets:
            drawn |= facts.keys()
            firings = network.run(facts)
            assert {f.rule.id for f in firings} == naive(rules, facts), (rule.id, facts)
            concluded = {(key, value) for f in firings for key, value in f.rule.then.facts.items()}
            assert all(item in facts.items() or item in concluded for f in firings for item in f.facts.items())
        alone = {f.rule.id for f in network.run(chosen)}
        assert rule.id in alone, (rule.id, chosen)
        for facts in sets[1:]:
            assert rule.id not in {f.rule.id for f in network.run(facts)}, (rule.id, facts)
    assert drawn >= {key for rule in rules for key in rule.when}


def test_true_is_not_one() -> None:
    """A condition on true does not match the number one, which Python calls equal."""
    network = Network([_rule(1, {"a": True}, {}, {})])
    assert network.run({"a": True})
    assert not network.run({"a": 1})


def test_order_is_stable_and_keeps_reasons() -> None:
    """Rules fire by priority, then id, and each firing names the facts that it matched."""
    rules = [_rule(3, {"a": 1}, {}, {}), _rule(1, {"a": 1}, {}, {}), _rule(2, {"a": 1, "b": "x"}, {}, {})]
    fired = Network(rules).run({"a": 1, "b": "x"})
    assert [f.rule.id for f in fired] == ["r1", "r2", "r3"]
    assert fired[1].facts == {"a": 1, "b": "x"}


def test_networks_in_threads_do_not_mix() -> None:
    """Each thread with a network of its own gets its own answers (experta's class-level facts would mix them)."""
    wrong: list[int] = []

    def work(seed: int) -> None:
        network = Network([_rule(1, {"a": seed}, {}, {"n": seed})])
        for _ in range(30):
            if [f.facts for f in network.run({"a": seed})] != [{"a": seed}]:
                wrong.append(seed)

    threads = [threading.Thread(target=work, args=(i,)) for i in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong


def test_importing_the_matcher_leaves_no_trace() -> None:
    """The guard gives collections.Mapping back and leaves the root logger as it was."""
    import subprocess
    import sys

    code = (
        "import logging, collections; before=(list(logging.root.handlers), logging.root.level);"
        "import oldcoat.engine.reasoning.matcher as m;"
        "assert (list(logging.root.handlers), logging.root.level)==before;"
        "assert not hasattr(collections,'Mapping'); assert hasattr(m.experta,'KnowledgeEngine')"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0
