"""The compiled rules against an independent reading of the same rules."""

from __future__ import annotations

import random
import threading
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from oldcoat import knowledge as rule_book
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Bounds, Conclusion, Rule
from oldcoat.engine.reasoning.network import Network

KEYS = ["a", "b", "c", "d"]  # given
MADE = ["e", "f"]  # given or concluded
VALUES: list[str | int | float | bool] = ["x", "y", 1, 2.5, True, False]
RULES = Path(rule_book.__file__).parent / "rules"
Plain = dict[str, Any]  # id, priority, when, unless, facts


def _plain(node: yaml.Node) -> Any:
    """A YAML node as plain values, by another way than the tool's reader: true, false and numbers if unquoted, else text."""
    if isinstance(node, yaml.MappingNode):
        return {_plain(key): _plain(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item) for item in node.value]
    if node.style is None and node.value in ("true", "false"):
        return node.value == "true"
    try:
        return (float if "." in node.value else int)(node.value) if node.style is None else node.value
    except ValueError:
        return node.value


def _read_anew(scope: str) -> list[Plain]:
    """The shipped rules of a scope from their files, without the tool's reader and without its types."""
    files = [_plain(yaml.compose(path.read_text("utf-8"))) for path in sorted(RULES.glob("*.yaml"))]
    return [
        {"priority": 0, "unless": {}, **rule, "facts": rule["then"].get("facts", {})}
        for file in files
        if file["scope"] == scope
        for rule in file["rules"]
    ]


def _holds(condition: Any, value: Any) -> bool:
    """A second reading of a condition, written without looking at the first."""
    if isinstance(condition, dict):
        if isinstance(value, bool) or not isinstance(value, int | float):
            return False
        return not ("at_least" in condition and value < condition["at_least"]) and not (
            "below" in condition and value >= condition["below"]
        )
    options = condition if isinstance(condition, list) else [condition]
    return any(isinstance(o, bool) == isinstance(value, bool) and o == value for o in options)


def naive(rules: list[Plain], facts: dict[str, Any]) -> list[str]:
    """Forward chaining by going over all rules until nothing new fires: ids in the order of firing."""
    known = {key: {(value, type(value))} for key, value in facts.items()}
    fired: list[str] = []

    def holds(key: str, condition: Any) -> bool:
        return any(_holds(condition, value) for value, _ in known.get(key, ()))

    left = sorted(rules, key=lambda r: (-r["priority"], r["id"]))
    while True:
        new = next(
            (
                rule
                for rule in left
                if all(holds(k, c) for k, c in rule["when"].items())
                and not any(holds(k, c) for k, c in rule["unless"].items())
            ),
            None,
        )
        if new is None:
            return fired
        left.remove(new)
        fired.append(new["id"])
        for key, value in new["facts"].items():
            known.setdefault(key, set()).add((value, type(value)))


def _typed(condition: Any) -> Any:
    return Bounds(**condition) if isinstance(condition, dict) else condition


def _rule(rule: Plain) -> Rule:
    return Rule(
        id=rule["id"],
        about="invented",
        status="draft",
        priority=rule["priority"],
        when={key: _typed(c) for key, c in rule["when"].items()},
        unless={key: _typed(c) for key, c in rule["unless"].items()},
        then=Conclusion(facts=rule["facts"]),
        why="invented",
        source=["memory"],
        wrong_if=["invented"],
    )


def _simple(number: int, when: dict[str, Any], facts: dict[str, Any] | None = None) -> Rule:
    return _rule({"id": f"r{number}", "priority": 0, "when": when, "unless": {}, "facts": facts or {}})


conditions = st.one_of(
    st.sampled_from(VALUES),
    st.lists(st.sampled_from(VALUES), min_size=1, max_size=3),
    st.fixed_dictionaries({}, optional={"at_least": st.just(1.0), "below": st.just(3.0)}),
)
shapes = st.fixed_dictionaries(
    {
        "priority": st.integers(0, 2),
        "when": st.dictionaries(st.sampled_from(KEYS + MADE), conditions, min_size=1, max_size=3),
        "unless": st.dictionaries(st.sampled_from(KEYS + MADE), conditions, max_size=2),
        "facts": st.dictionaries(st.sampled_from(MADE), st.sampled_from(VALUES), max_size=1),
    }
)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(shapes, min_size=1, max_size=8),
    st.dictionaries(st.sampled_from(KEYS + MADE), st.sampled_from(VALUES), max_size=5),
)
def test_same_firings_as_a_second_reading(drawn: list[Plain], facts: dict[str, Any]) -> None:
    """On random rules and facts the network and the naive reading fire the same rules in the same order, chains and all."""
    rules = [{"id": f"r{number}", **shape} for number, shape in enumerate(drawn)]
    assert [f.rule.id for f in Network([_rule(rule) for rule in rules]).run(facts)] == naive(rules, facts)


@pytest.mark.parametrize("scope", ["surface", "pair"])
def test_shipped_rules_agree_on_their_examples(knowledge: Knowledge, scope: str) -> None:
    """On every example of every shipped rule the network and the reading of the files anew agree on the whole rule set."""
    anew = _read_anew(scope)
    network = Network(_shipped(knowledge, scope))
    assert anew
    assert {rule["id"] for rule in anew} == {rule.id for rule in network.rules}
    for rule in anew:
        for facts in (*rule["fires"], *rule["silent"]):
            assert [f.rule.id for f in network.run(facts)] == naive(anew, facts), (rule["id"], facts)


def _shipped(knowledge: Knowledge, scope: str) -> list[Rule]:
    return [rule for file in knowledge.rules.values() if file.scope == scope for rule in file.rules]


def _domain(rules: list[Plain]) -> dict[str, list[Any]]:
    """Every field that a rule reads, with the values that its conditions turn on."""
    domain: dict[str, list[Any]] = {}
    for rule in rules:
        for key, condition in (*rule["when"].items(), *rule["unless"].items()):
            domain.setdefault(key, []).extend(_near(condition))
    return domain


@pytest.mark.parametrize("scope", ["surface", "pair"])
def test_shipped_rules_on_any_facts(knowledge: Knowledge, scope: str) -> None:
    """Whatever is known, of the values that the conditions turn on: network and files read anew fire alike, in order."""
    anew, network = _read_anew(scope), Network(_shipped(knowledge, scope))
    domain = _domain(anew)

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**32), st.floats(0.1, 1.0))
    def check(seed: int, share: float) -> None:
        rng = random.Random(seed)
        facts = {key: rng.choice(values) for key, values in domain.items() if rng.random() < share}
        assert [f.rule.id for f in network.run(facts)] == naive(anew, facts), facts

    check()


def _makes_true(condition: Any, rng: random.Random) -> Any:
    """A value that a condition accepts: one of its own, or one at either edge of its bounds."""
    if isinstance(condition, dict):
        edges = [condition["at_least"]] if "at_least" in condition else []
        edges += [condition["below"] - 1e-6] if "below" in condition else []
        return rng.choice(edges)
    return rng.choice(condition if isinstance(condition, list) else [condition])


def _near(condition: Any) -> list[Any]:
    """Values that a condition turns on: its own, both edges of its bounds and just outside, the wrong type."""
    if isinstance(condition, dict):
        return [value for edge in condition.values() for value in (edge - 1e-6, edge, int(edge), edge > 0, str(edge))]
    return [*(condition if isinstance(condition, list) else [condition]), "something else", True, False, 1, 0]


@pytest.mark.parametrize("scope", ["surface", "pair"])
def test_each_shipped_rule_fires_and_falls_silent(knowledge: Knowledge, scope: str) -> None:
    """Every shipped rule is made to fire, and each of its exceptions to silence it, amid random other facts.

    Network and files read anew agree on all of these facts; what a firing says it matched
    was given or concluded.
    """
    anew, network, rng = _read_anew(scope), Network(_shipped(knowledge, scope)), random.Random(f"facts/{scope}")
    domain = _domain(anew)
    for rule in anew:
        chosen = {key: _makes_true(c, rng) for key, c in rule["when"].items()}
        others = rng.sample(sorted(domain.keys() - rule["when"].keys() - rule["unless"].keys()), 6)
        noise = {key: rng.choice(domain[key]) for key in others}
        sets = [{**noise, **chosen}]
        sets += [
            {**noise, **chosen, key: _makes_true(c, rng)} for key, c in rule["unless"].items() if key not in chosen
        ]
        for facts in sets:
            firings = network.run(facts)
            assert [f.rule.id for f in firings] == naive(anew, facts), (rule["id"], facts)
            concluded = {(key, value) for f in firings for key, value in f.rule.then.facts.items()}
            assert all(item in facts.items() or item in concluded for f in firings for item in f.facts.items())
        assert rule["id"] in {f.rule.id for f in network.run(chosen)}, (rule["id"], chosen)
        for facts in sets[1:]:
            assert rule["id"] not in {f.rule.id for f in network.run(facts)}, (rule["id"], facts)


def test_true_is_not_one() -> None:
    """A condition on true does not match the number one, which Python calls equal."""
    network = Network([_simple(1, {"a": True})])
    assert network.run({"a": True})
    assert not network.run({"a": 1})


def test_what_is_concluded_is_true_beside_a_one() -> None:
    """A rule that concludes true where the number one was given: both are known."""
    network = Network([_simple(1, {"a": 1}, {"e": True}), _simple(2, {"e": True})])
    assert [f.rule.id for f in network.run({"a": 1, "e": 1})] == ["r1", "r2"]


def test_order_is_stable_and_keeps_reasons() -> None:
    """Rules fire by priority, then id, and each firing names the facts that it matched."""
    rules = [_simple(3, {"a": 1}), _simple(1, {"a": 1}), _simple(2, {"a": 1, "b": "x"})]
    fired = Network(rules).run({"a": 1, "b": "x"})
    assert [f.rule.id for f in fired] == ["r1", "r2", "r3"]
    assert fired[1].facts == {"a": 1, "b": "x"}


def test_networks_in_threads_do_not_mix() -> None:
    """Each thread with a network of its own gets its own answers (experta's class-level facts would mix them)."""
    wrong: list[int] = []

    def work(seed: int) -> None:
        network = Network([_simple(1, {"a": seed}, {"n": seed})])
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
