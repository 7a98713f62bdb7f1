"""The posterior against an independent exact Bayesian-network library (pyAgrum), hidden states included."""

from __future__ import annotations

import random
from types import SimpleNamespace

import pytest

from oldcoat.engine.belief.evidence import Evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.prior import Prior
from oldcoat.engine.belief.tables import ORIGINS

gum = pytest.importorskip("pyagrum")

FINISHES = ["f0", "f1", "f2", "f3"]
CONTAMINATION = ["c0", "c1", "c2"]
GROUPS = {"g0": ["s0", "s1", "s2"], "g1": ["s0", "s1"]}


def _row(rng: random.Random, n: int) -> list[float]:
    raw = [rng.uniform(0.01, 1) for _ in range(n)]
    return [x / sum(raw) for x in raw]


class RandomTables:
    """Invented tables in the shape that the model reads."""

    def __init__(self, rng: random.Random) -> None:
        self.finishes, self.contaminations, self.groups = FINISHES, CONTAMINATION, sorted(GROUPS)
        shares = _row(rng, len(CONTAMINATION))
        self.belief = SimpleNamespace(
            other=rng.uniform(0.001, 0.1),
            known={},
            contamination={c: SimpleNamespace(share=p) for c, p in zip(CONTAMINATION, shares, strict=True)},
        )
        self.tests = {
            f"t{i}": (rng.choice([None, "g0", "g1", "origin"]), [f"o{k}" for k in range(rng.randint(2, 4))])
            for i in range(6)
        }
        self.shares = {g: [p for _ in range(len(FINISHES) + 1) for p in _row(rng, len(s))] for g, s in GROUPS.items()}
        self.film, self.origin = {}, {}
        for name, (group, outcomes) in self.tests.items():
            cells = (len(FINISHES) + 1) * len(CONTAMINATION) * len(self.states_of(self.group_of(name)))
            rows = [_row(rng, len(outcomes)) for _ in range(cells)]
            flat = group == "origin"
            self.film[name] = {o: [1.0 if flat else row[k] for row in rows] for k, o in enumerate(outcomes)}
            rows = [_row(rng, len(outcomes)) for _ in range((len(FINISHES) + 1) * len(ORIGINS))]
            self.origin[name] = {o: [row[k] for row in rows] for k, o in enumerate(outcomes)} if flat else {}

    def group_of(self, test: str) -> str | None:
        """The hidden group that a test reads."""
        group = self.tests[test][0]
        return None if group == "origin" else group

    def states_of(self, group: str | None) -> list[str]:
        """States of a group, one unnamed without."""
        return GROUPS[group] if group else [""]

    def state_shares(self, group: str) -> list[float]:
        """P(state | finish), flat."""
        return self.shares[group]

    def spread_states(self, group: str) -> list[float]:
        """P(state | finish), the same under each contamination."""
        flat, width = self.state_shares(group), len(self.states_of(group))
        cells = [(at, c, s) for at in range(len(flat) // width) for c in self.contaminations for s in range(width)]
        return [flat[at * width + s] for at, _, s in cells]

    def likelihood(self, test: str) -> dict[str, list[float]]:
        """P(outcome | finish, contamination, state), flat."""
        return self.film[test]

    def origin_likelihood(self, test: str) -> dict[str, list[float]]:
        """P(outcome | finish, origin), flat; empty if the test does not read it."""
        return self.origin[test]


def _drawn(seed: int) -> tuple[random.Random, RandomTables, Prior]:
    """A random model: the source of chance, with which to go on, its tables and its prior."""
    rng = random.Random(seed)
    tables = RandomTables(rng)
    raw = _row(rng, 3 * len(FINISHES))
    return rng, tables, Prior({f: tuple(raw[3 * i : 3 * i + 3]) for i, f in enumerate(FINISHES)}, {}, [])


def _asked(tables: RandomTables, prior: Prior, given: dict[str, object]) -> gum.LazyPropagation:
    """The library's answer to the same model, given outcomes or likelihoods."""
    inference = gum.LazyPropagation(_network(tables, prior))
    inference.setEvidence(given)
    inference.makeInference()
    return inference


def _network(tables: RandomTables, prior: Prior) -> object:
    """The same model as a Bayesian network, built from the tables only."""
    bn = gum.BayesNet()
    finishes = [*FINISHES, "other"]
    bn.add(gum.LabelizedVariable("F", "F", finishes))
    bn.add(gum.LabelizedVariable("R", "R", list(ORIGINS)))
    bn.add(gum.LabelizedVariable("C", "C", CONTAMINATION))
    bn.addArc("F", "R")
    other = tables.belief.other
    chances = [(1 - other) * sum(prior.joint[f]) for f in FINISHES] + [other]
    bn.cpt("F").fillWith(chances)
    for f in FINISHES:
        total = sum(prior.joint[f])
        bn.cpt("R")[{"F": f}] = [p / total for p in prior.joint[f]]
    bn.cpt("R")[{"F": "other"}] = [1, 0, 0]
    bn.cpt("C").fillWith([tables.belief.contamination[c].share for c in CONTAMINATION])
    for g, states in GROUPS.items():
        bn.add(gum.LabelizedVariable(g, g, states))
        bn.addArc("F", g)
        for i, f in enumerate(finishes):
            bn.cpt(g)[{"F": f}] = tables.shares[g][i * len(states) : (i + 1) * len(states)]
    for name, (group, outcomes) in tables.tests.items():
        bn.add(gum.LabelizedVariable(name, name, outcomes))
        if group == "origin":
            bn.addArc("F", name)
            bn.addArc("R", name)
            for f in finishes:
                for i, r in enumerate(ORIGINS):
                    cell = finishes.index(f) * len(ORIGINS) + i
                    bn.cpt(name)[{"F": f, "R": r}] = [tables.origin[name][o][cell] for o in outcomes]
            continue
        bn.addArc("F", name)
        bn.addArc("C", name)
        states = tables.states_of(group)
        if group:
            bn.addArc(group, name)
        for i, f in enumerate(finishes):
            for j, c in enumerate(CONTAMINATION):
                for k, s in enumerate(states):
                    cell = (i * len(CONTAMINATION) + j) * len(states) + k
                    where = {"F": f, "C": c} | ({group: s} if group else {})
                    bn.cpt(name)[where] = [tables.film[name][o][cell] for o in outcomes]
    return bn


@pytest.mark.parametrize("seed", range(25))
def test_agrees_with_exact_library(seed: int) -> None:
    """Posterior of finish, origin and contamination, and the evidence, to 1e-9 on a random model and evidence."""
    rng, tables, prior = _drawn(seed)
    answers = {t: rng.choice(o) for t, (_, o) in tables.tests.items() if rng.random() < 0.7}
    posterior = Model(tables, prior).posterior([Evidence(t, t, o, {o: 1.0}) for t, o in answers.items()])

    inference = _asked(tables, prior, answers)
    finish = inference.posterior("F")
    book = 1 - finish[{"F": "other"}]
    for f in FINISHES:
        assert posterior.finishes[f] == pytest.approx(finish[{"F": f}] / book, abs=1e-9)
    assert posterior.other == pytest.approx(finish[{"F": "other"}], abs=1e-9)
    over = inference.posterior("C")
    for c in CONTAMINATION:
        assert posterior.contamination[c] == pytest.approx(over[{"C": c}], abs=1e-9)
    assert 10**posterior.log10_evidence == pytest.approx(inference.evidenceProbability(), rel=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_hidden_states_agree_with_exact_library(seed: int) -> None:
    """P(state | finish, evidence) of each group that was tested, to 1e-9, "none of these" included."""
    rng, tables, prior = _drawn(seed)
    answers = {t: rng.choice(o) for t, (_, o) in tables.tests.items() if rng.random() < 0.8}
    posterior = Model(tables, prior).posterior([Evidence(t, t, o, {o: 1.0}) for t, o in answers.items()])
    assert posterior.states.keys() == {tables.group_of(t) for t in answers} - {None}
    for index, f in enumerate([*FINISHES, "other"]):
        inference = _asked(tables, prior, {**answers, "F": f})
        for g, found in posterior.states.items():
            states, wanted = GROUPS[g], inference.posterior(g)
            given = found[index * len(states) : (index + 1) * len(states)]
            assert given == pytest.approx([wanted[{g: s}] for s in states], abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_one_answer_less_is_the_model_without_it(seed: int) -> None:
    """Weights with each answer left out, against the library asked without it."""
    rng, tables, prior = _drawn(seed)
    answers = {t: rng.choice(o) for t, (_, o) in tables.tests.items()}
    evidence = [Evidence(t, t, o, {o: 1.0}) for t, o in answers.items()]
    for gone, weights in zip(evidence, Model(tables, prior).prepared(evidence).each_left_out(), strict=True):
        inference = _asked(tables, prior, {t: o for t, o in answers.items() if t != gone.test})
        finish = inference.posterior("F")
        wanted = [finish[{"F": f}] for f in [*FINISHES, "other"]]
        assert [w / sum(weights) for w in weights] == pytest.approx(wanted, abs=1e-9)


def test_unsure_answer_is_the_stated_mixture() -> None:
    """An unsure answer equals, in the library, soft evidence that mixes the outcome with none at all."""
    _, tables, prior = _drawn(77)
    test, (_, outcomes) = next((t, row) for t, row in tables.tests.items() if row[0] in ("g0", "g1"))
    keeps = 0.4
    posterior = Model(tables, prior).posterior([Evidence(test, test, outcomes[0], {outcomes[0]: 1.0}, keeps)])
    n = len(outcomes)
    inference = _asked(tables, prior, {test: [keeps * (k == 0) + (1 - keeps) / n for k in range(n)]})
    finish = inference.posterior("F")
    book = 1 - finish[{"F": "other"}]
    for f in FINISHES:
        assert posterior.finishes[f] == pytest.approx(finish[{"F": f}] / book, abs=1e-9)
