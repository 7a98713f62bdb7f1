"""What follows from the chemistry: more crosslinking never dissolves better, and exceptions show."""

from __future__ import annotations

import itertools

import pytest
from msgspec.structs import replace

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import EFFECTS, Literalish
from oldcoat.engine.reasoning.network import Network
from oldcoat.engine.removal.pairs import derive_pairs, pair_facts


@pytest.fixture(scope="module")
def network(knowledge: Knowledge) -> Network:
    """The removal rules of the book."""
    return Network([rule for file in knowledge.rules.values() if file.scope == "pair" for rule in file.rules])


def dissolves(facts: dict[str, Literalish], network: Network, knowledge: Knowledge) -> float:
    """How often it dissolves by the rule of highest priority, as the band says it."""
    gives = next(f.rule.then.gives for f in network.run(facts) if f.rule.then.gives)
    return knowledge.belief.bands[gives["dissolves"]] if "dissolves" in gives else 0.0


def test_more_crosslinking_never_dissolves_better(network: Network, knowledge: Knowledge) -> None:
    """Every solvent on every film, were the same film tighter than it is."""
    words = ("none", "light", "dense")
    for finish, remover in itertools.product(knowledge.finishes, knowledge.removers):
        facts = pair_facts(finish, remover, knowledge)
        if facts["remover.action"] not in ("solvent", "acid"):
            continue
        tighter = words[words.index(str(facts["film.network"])) :]
        falling = [dissolves({**facts, "film.network": word}, network, knowledge) for word in tighter]
        assert falling == sorted(falling, reverse=True), (finish, remover, falling)


def test_nothing_dissolves_a_tight_film(knowledge: Knowledge) -> None:
    """No remover of the book turns a dense network to liquid: P(dissolves) stays the least."""
    for finish, entry in knowledge.finishes.items():
        if entry.chemistry.network == "dense":
            for remover, pair in knowledge.pairs[finish].items():
                assert pair.gives["dissolves"] <= 0.1, (finish, remover)


def test_chances_sum_to_one_and_every_pair_has_a_reason(knowledge: Knowledge) -> None:
    """25 x 19 pairs, none without a rule, a source or an effect."""
    for row in knowledge.pairs.values():
        for pair in row.values():
            assert sum(pair.gives[e] for e in EFFECTS) == pytest.approx(1)
            assert pair.rule != "none"
            assert pair.why
            assert pair.source


def test_an_exception_overrides_and_is_marked(knowledge: Knowledge) -> None:
    """Rows of the removers show as such and keep their source."""
    marked = [(f, r) for f, row in knowledge.pairs.items() for r, pair in row.items() if pair.exception]
    assert marked
    for finish, remover in marked:
        assert knowledge.pairs[finish][remover].rule == f"{remover}: exception"
        assert any(
            finish in row.finishes or knowledge.finishes[finish].family in row.finishes
            for row in knowledge.removers[remover].exceptions
        )


def test_what_flashes_below_23_degrees_is_marked_flammable(knowledge: Knowledge) -> None:
    """29 CFR 1910.106: below 23 C a liquid is of category 1 or 2."""
    for name, remover in knowledge.removers.items():
        flashes = [knowledge.solvents[s].flash_c for s, share in remover.blend.items() if share >= 0.2]
        if any(f is not None and f < 23 for f in flashes):
            assert {"flammable", "very-flammable"} & set(remover.traits), name


def test_where_no_rule_speaks_every_effect_is_alike(knowledge: Knowledge) -> None:
    """A book without rules of removal keeps its exceptions and says of the rest that it knows nothing."""
    silent = derive_pairs(replace(knowledge, rules={}))
    for finish, row in silent.items():
        for remover, pair in row.items():
            if not pair.exception:
                assert pair.rule == "none"
                assert pair.gives == dict.fromkeys(EFFECTS, 0.25), (finish, remover)
            assert pair.exception == knowledge.pairs[finish][remover].exception
