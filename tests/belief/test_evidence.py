"""Answers and tries as likelihoods, on invented surfaces."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.belief.evidence import RESULT_EFFECTS, Evidence, answer_evidence, evidence_of
from oldcoat.engine.belief.posterior import Model, Posterior
from oldcoat.engine.belief.prior import Prior
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Known, Surface


def surface(text: str, knowledge: Knowledge) -> Surface:
    """An invented surface from its fields in YAML."""
    return parse_piece(f"piece: x\nsurfaces: [{{name: top, {text}}}]", "x", knowledge).surfaces[0]


def level(examiner: Examiner) -> Prior:
    """Every finish alike, half of each as the maker left it and a quarter by either way of an owner."""
    names = examiner.tables.finishes
    share = 1 / len(names)
    return Prior(dict.fromkeys(names, (share / 2, share / 4, share / 4)), dict.fromkeys(names, share), [])


def posterior(examiner: Examiner, *items: Evidence) -> Posterior:
    """What the items leave of a level prior."""
    return Model(examiner.tables, level(examiner)).posterior(items)


def test_answers(knowledge: Knowledge) -> None:
    """One item for each that was answered; an unsure one keeps its part; one that could not be done is none."""
    told = surface(
        "tests: {alcohol-drop: no-effect, acetone-rub: {outcome: sticky-gel, sure: false}, uv-a: could-not-do}",
        knowledge,
    )
    items = evidence_of(told, knowledge)
    assert [(i.name, i.seen, i.keeps) for i in items] == [
        ("alcohol-drop", "no-effect", 1.0),
        ("acetone-rub", "sticky-gel", knowledge.belief.unsure_keeps),
    ]
    assert items[0].weights == {"no-effect": 1.0}


def test_of_tries_the_longest(knowledge: Knowledge) -> None:
    """One item a remover; of two the longer, of equals the later; a patch test says it already."""
    tries = (
        "tried: [{remover: acetone, result: softens, minutes: 5}, {remover: acetone, result: works, minutes: 3}, "
        "{remover: xylene-free, result: works}]"
    ).replace(", {remover: xylene-free, result: works}", "")
    assert [(i.name, i.test, i.seen) for i in evidence_of(surface(tries, knowledge), knowledge)] == [
        ("tried/acetone", "stripper-patch/acetone", "softens")
    ]
    equal = "tried: [{remover: acetone, result: softens}, {remover: acetone, result: works}]"
    assert evidence_of(surface(equal, knowledge), knowledge)[0].seen == "works"
    patch = "tests: {stripper-patch/acetone: lifts}, tried: [{remover: acetone, result: works}]"
    assert [i.name for i in evidence_of(surface(patch, knowledge), knowledge)] == ["stripper-patch/acetone"]
    harmed = "tried: [{remover: acetone, result: harms}]"
    assert evidence_of(surface(harmed, knowledge), knowledge) == []


def test_a_short_try_says_less(knowledge: Knowledge) -> None:
    """As much as the share of trials that have moved by then: the dwell of the book holds four in five of them.

    Never under a tenth, and only where nothing happened.
    """
    low, high = knowledge.removers["benzyl-alcohol-gel"].work.dwell_minutes

    def keeps(result: str, minutes: float | None) -> float:
        row = f"tried: [{{remover: benzyl-alcohol-gel, result: {result}, minutes: {minutes or 'null'}}}]"
        return evidence_of(surface(row, knowledge), knowledge)[0].keeps

    assert keeps("no-effect", low) == pytest.approx(0.1)
    assert keeps("no-effect", (low * high) ** 0.5) == pytest.approx(0.5)
    assert keeps("no-effect", high) == pytest.approx(0.9)
    assert keeps("no-effect", low / 1000) == pytest.approx(0.1)
    assert keeps("no-effect", high * 20) == pytest.approx(1.0, abs=1e-3)
    assert keeps("no-effect", None) == 1.0
    assert keeps("works", low / 2) == 1.0


def test_a_result_agrees_best_with_its_own_effect() -> None:
    """works with dissolving, lifts with lifting, and so on; every weight is above 0 and at most 1."""
    best = {result: max(row, key=lambda e: row[e]) for result, row in RESULT_EFFECTS.items()}
    assert best == {"works": "dissolves", "lifts": "lifts", "softens": "softens", "no-effect": "no-effect"}
    assert all(0 < w <= 1 for row in RESULT_EFFECTS.values() for w in row.values())
    assert RESULT_EFFECTS["works"]["lifts"] > 0.5 > RESULT_EFFECTS["works"]["softens"]


def test_order_says_nothing(examiner: Examiner, knowledge: Knowledge) -> None:
    """The same answers in another order give the same to the last digit."""
    items = [
        answer_evidence(t, o, knowledge)
        for t, o in (("alcohol-drop", "no-effect"), ("xylene-drop", "no-effect"), ("uv-a", "orange"))
    ]
    assert posterior(examiner, *items) == posterior(examiner, *reversed(items))


def test_no_answer_leaves_the_prior(examiner: Examiner) -> None:
    """Finishes, origins, contamination and "none of these" as they were."""
    found = posterior(examiner)
    assert found.finishes == pytest.approx(dict.fromkeys(examiner.tables.finishes, 1 / len(examiner.tables.finishes)))
    assert found.origins == pytest.approx({"original": 0.5, "refinished": 0.25, "overcoated": 0.25})
    shares = {name: row.share for name, row in examiner.tables.belief.contamination.items()}
    assert found.contamination == pytest.approx(shares)
    assert found.other == pytest.approx(examiner.tables.belief.other)
    assert found.log10_evidence == pytest.approx(0)


def test_a_nonsense_answer_says_nothing(examiner: Examiner, knowledge: Knowledge) -> None:
    """An answer that keeps nothing leaves every chance as it was."""
    item = Evidence("alcohol-drop", "alcohol-drop", "no-effect", {"no-effect": 1.0}, keeps=0.0)
    assert posterior(examiner, item).finishes == pytest.approx(posterior(examiner).finishes)


def test_weights_of_a_try_are_a_mixture(examiner: Examiner) -> None:
    """P(report) is the weighted sum over effects: "works" lies between dissolving and lifting alone."""
    test = "stripper-patch/denatured-alcohol"

    def shellac(weights: dict[str, float]) -> float:
        return posterior(examiner, Evidence(test, test, "x", weights)).finishes["shellac"]

    low, high = sorted((shellac({"dissolves": 1.0}), shellac({"lifts": 1.0})))
    assert low < shellac({"dissolves": 0.5, "lifts": 0.5}) < high


def test_one_more_answer_is_the_same_either_way(examiner: Examiner, knowledge: Knowledge) -> None:
    """What-if equals folding the answer in: in a group already begun, in a new one, without one, and on origin."""
    model = Model(examiner.tables, level(examiner))
    given = [answer_evidence("alcohol-drop", "no-effect", knowledge), answer_evidence("uv-a", "orange", knowledge)]
    prepared = model.prepared(given)
    for test in ("lacquer-thinner-drop", "coin-edge", "film-build", "refinish-signs", "smell-rub"):
        for outcome in knowledge.outcomes_of(test):
            whole = model.prepared([*given, answer_evidence(test, outcome, knowledge)]).weights()
            assert prepared.with_outcome(test, outcome) == pytest.approx(whole)


def test_knowledge_from_outside(examiner: Examiner) -> None:
    """It is trusted as far as its kind is; the rest of the trust is shared by the others."""
    known = Known(finish="shellac", how="laboratory")
    found = Model(examiner.tables, level(examiner), known).posterior([])
    trust = examiner.tables.belief.known["laboratory"]
    assert found.finishes["shellac"] == pytest.approx(trust)
    assert found.finishes["wax"] == pytest.approx((1 - trust) / (len(found.finishes) - 1))


def test_whoever_knows_the_finish_doubts_the_book_less(examiner: Examiner) -> None:
    """By Bayes: a word for one finish is as wrong for a finish of no book as for any other that it is not."""
    other = examiner.tables.belief.other
    trust = examiner.tables.belief.known["laboratory"]
    found = Model(examiner.tables, level(examiner), Known(finish="shellac", how="laboratory")).posterior([])
    share = 1 / len(found.finishes)
    wrong = (1 - trust) / (len(found.finishes) - 1)
    told = (1 - other) * (share * trust + (1 - share) * wrong)
    assert found.other == pytest.approx(other * wrong / (other * wrong + told))
    assert found.other < other


def test_context_of_contamination(examiner: Examiner) -> None:
    """A factor on a contamination acts on its odds."""
    found = Model(examiner.tables, level(examiner), None, {"waxed": 3.0}).posterior([]).contamination
    shares = {name: row.share for name, row in examiner.tables.belief.contamination.items()}
    assert found["waxed"] / found["clean"] == pytest.approx(3 * shares["waxed"] / shares["clean"])
    assert sum(found.values()) == pytest.approx(1)


def test_ties_go_by_name() -> None:
    """Of two equal chances the first by name is the top."""
    assert Posterior({"b": 0.4, "a": 0.4, "c": 0.2}, 0.0, {}, {}, 0.0).top == "a"
