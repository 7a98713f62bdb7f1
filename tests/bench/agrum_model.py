"""The tool's own model handed to pyAgrum, for timing the two on the same evidence."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pyagrum as gum

from oldcoat.engine.belief.evidence import Evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.tables import ORIGINS


def library_posterior(model: Model, evidence: Sequence[Evidence]) -> Callable[[], object]:
    """A call that computes the posterior of the finish with the library."""
    network = _network(model, [e.test for e in evidence])
    answers = {e.test: e.seen for e in evidence}

    def run() -> object:
        inference = gum.VariableElimination(network)
        inference.setEvidence(answers)
        inference.makeInference()
        return inference.posterior("finish")

    return run


def _network(model: Model, tests: Sequence[str]) -> gum.BayesNet:
    tables = model.tables
    finishes = [*tables.finishes, "none-of-these"]
    network = gum.BayesNet()
    for name, labels in (("finish", finishes), ("origin", list(ORIGINS)), ("over", tables.contaminations)):
        network.add(gum.LabelizedVariable(name, name, labels))
    network.addArc("finish", "origin")
    sums = [sum(row) for row in model.start]
    network.cpt("finish").fillWith([s / sum(sums) for s in sums])
    for finish, row, total in zip(finishes, model.start, sums, strict=True):
        network.cpt("origin")[{"finish": finish}] = [p / total for p in row]
    network.cpt("over").fillWith(model.over[: len(tables.contaminations)])
    for group in tables.groups:
        states = tables.states_of(group)
        network.add(gum.LabelizedVariable(group, group, states))
        network.addArc("finish", group)
        shares = tables.state_shares(group)
        for i, finish in enumerate(finishes):
            network.cpt(group)[{"finish": finish}] = shares[i * len(states) : (i + 1) * len(states)]
    for test in tests:
        _add_test(network, model, test, finishes)
    return network


def _add_test(network: gum.BayesNet, model: Model, test: str, finishes: list[str]) -> None:
    tables = model.tables
    origin = tables.origin_likelihood(test)
    table = origin or tables.likelihood(test)
    network.add(gum.LabelizedVariable(test, test, list(table)))
    if origin:
        network.addArc("finish", test)
        network.addArc("origin", test)
        for i, finish in enumerate(finishes):
            for j, name in enumerate(ORIGINS):
                cell = i * len(ORIGINS) + j
                network.cpt(test)[{"finish": finish, "origin": name}] = [row[cell] for row in table.values()]
        return
    group = tables.group_of(test)
    states = tables.states_of(group)
    for parent in ["finish", "over", *([group] if group else [])]:
        network.addArc(parent, test)
    for i, finish in enumerate(finishes):
        for j, over in enumerate(tables.contaminations):
            for k, state in enumerate(states):
                cell = (i * len(tables.contaminations) + j) * len(states) + k
                where = {"finish": finish, "over": over} | ({group: state} if group else {})
                network.cpt(test)[where] = [row[cell] for row in table.values()]
