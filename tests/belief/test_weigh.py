"""Weight of evidence, ranges, fit and clashes, against their definitions."""

from __future__ import annotations

from math import log10

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner
from oldcoat.engine.belief.evidence import RESULT_EFFECTS, Evidence, answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.prior import Prior, Setting, prior
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.belief.weigh import Fit, fit, span, weigh
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Known

SETTING = Setting(years=(1925, 1945), region="north-america", now=2026)


def items(knowledge: Knowledge, **answers: str) -> list[Evidence]:
    """Answers by test, hyphens written as underscores."""
    return [answer_evidence(t.replace("_", "-"), o, knowledge) for t, o in answers.items()]


@pytest.fixture
def model(examiner: Examiner, knowledge: Knowledge) -> Model:
    """An American piece of 1925 to 1945."""
    return Model(examiner.tables, prior(SETTING, knowledge))


def fitted(model: Model, evidence: list[Evidence]) -> Fit:
    """The fit of some answers."""
    return fit(model, model.posterior(evidence), weigh(model, evidence))


def test_decibans_are_ten_log_ten_of_the_odds(model: Model, knowledge: Knowledge) -> None:
    """I. J. Good's definition, with the posterior with and without the answer."""
    evidence = items(knowledge, alcohol_drop="no-effect", lacquer_thinner_drop="dissolves")
    found = weigh(model, evidence)
    for index, item in enumerate(evidence):
        rest = model.posterior([e for e in evidence if e is not item])
        whole = model.posterior(evidence)
        for finish in ("shellac", "nitrocellulose-lacquer"):
            # "none of these" has its part in the odds
            with_it, without = (p.finishes[finish] * (1 - p.other) for p in (whole, rest))
            wanted = 10 * log10(with_it / (1 - with_it) / (without / (1 - without)))
            assert found.decibans[index][finish] == pytest.approx(wanted)
    assert found.evidence == evidence


def test_ranges_hold_the_chance(examiner: Examiner, model: Model, knowledge: Knowledge) -> None:
    """Each range runs over the named shifts: it holds the chance itself and each shift's own."""
    evidence = items(knowledge, alcohol_drop="no-effect")
    evidence.append(Evidence("tried/acetone", "stripper-patch/acetone", "softens", RESULT_EFFECTS["softens"]))
    start = prior(SETTING, knowledge)
    flatter, sharper = Model(examiner.flatter, start), Model(examiner.sharper, start)
    names = examiner.tables.finishes
    level = Model(examiner.tables, Prior(dict.fromkeys(names, (1 / len(names), 0.0, 0.0)), {}, []))
    ranges = span(model, weigh(model, evidence), flatter, sharper, level)
    unsure = [Evidence(e.name, e.test, e.seen, e.weights, knowledge.belief.unsure_keeps) for e in evidence]
    variants = [m.posterior(evidence).finishes for m in (model, flatter, sharper, level)]
    variants += [
        model.posterior([unsure[0], evidence[1]]).finishes,
        model.posterior([evidence[0], unsure[1]]).finishes,
    ]
    for finish, (low, high) in ranges.items():
        assert low == pytest.approx(min(v[finish] for v in variants))
        assert high == pytest.approx(max(v[finish] for v in variants))


def test_typical_answers_fit(model: Model, knowledge: Knowledge) -> None:
    """What shellac usually shows is no surprise and clashes with nothing."""
    found = fitted(
        model, items(knowledge, alcohol_drop="dissolves-fast", lacquer_thinner_drop="gels-wrinkles", uv_a="orange")
    )
    assert found.ok
    assert found.clashes == []
    assert found.doubtful is None
    assert found.surprise_db < 10


def test_answers_against_each_other(knowledge: Knowledge) -> None:
    """With lines more pointed than the book's, acetone that dissolves and thinner that does nothing clash."""
    model = Model(Tables(knowledge, power=2.5), prior(SETTING, knowledge))
    found = fitted(
        model, items(knowledge, lacquer_thinner_drop="no-effect", acetone_rub="dissolves-30s", film_build="medium")
    )
    assert found.clashes == [("acetone-rub", "lacquer-thinner-drop")]
    assert found.doubtful in ("acetone-rub", "lacquer-thinner-drop")


def test_nothing_in_the_book_shows_this(model: Model, knowledge: Knowledge) -> None:
    """Answers that no finish gives are a surprise, and the fit is not all right."""
    found = fitted(
        model,
        items(
            knowledge,
            alcohol_drop="dissolves-fast",
            acetone_rub="no-effect-sheds",
            scraper="wood-only",
            film_build="thick-filled",
            tack="sticky-all-over",
            pencil_hardness="3h-or-harder",
        ),
    )
    assert not found.ok
    assert found.surprise_db > 15
    assert len(found.clashes) <= 3


SETS = [
    {"alcohol_drop": "dissolves-fast", "uv_a": "orange"},
    {"alcohol_drop": "dissolves-fast", "acetone_rub": "no-effect-sheds", "pencil_hardness": "3h-or-harder"},
    {"lacquer_thinner_drop": "dissolves", "application_marks": "brush-marks-runs", "oil_drop": "soaks-in"},
    {"scraper": "wood-only", "film_build": "thick-filled", "refinish_signs": "runs-over-hardware"},
    {
        "lacquer_thinner_drop": "no-effect",
        "acetone_rub": "dissolves-30s",
        "tack": "sticky-all-over",
        "scraper": "wood-only",
    },
]


@pytest.mark.parametrize("answers", SETS)
@pytest.mark.parametrize("power", [1.0, 2.5])
def test_surprise_by_its_definition(knowledge: Knowledge, answers: dict[str, str], power: float) -> None:
    """Sum of -10 log10 P(o | top) above what is expected; not all right from three standard deviations on.

    P(o | top) comes from a model that holds nothing but the top finish, in the origins
    and under the contamination that are believed now, the spot taken to speak for the film.
    """
    tables = Tables(knowledge, power=power)
    model, evidence = Model(tables, prior(SETTING, knowledge)), items(knowledge, **answers)
    now = model.posterior(evidence)
    rows = dict.fromkeys(tables.finishes, (0.0, 0.0, 0.0)) | {now.top: tuple(now.origins.values())}
    entries = knowledge.belief.contamination
    factors = {c: 0.0 if entries[c].drowns else p / entries[c].share for c, p in now.contamination.items()}
    alone = Model(tables, Prior(rows, {}, []), None, factors)  # type: ignore[arg-type]
    index = tables.finishes.index(now.top)
    excess = variance = 0.0
    for item in evidence:
        raw = {o: alone.prepared([]).with_outcome(item.test, o)[index] for o in knowledge.outcomes_of(item.test)}
        bits = {o: (w / sum(raw.values()), -10 * log10(w / sum(raw.values()))) for o, w in raw.items()}
        mean = sum(p * db for p, db in bits.values())
        excess += bits[item.seen][1] - mean
        variance += sum(p * (db - mean) ** 2 for p, db in bits.values())
    found = fit(model, now, weigh(model, evidence))
    assert found.surprise_db == pytest.approx(excess, abs=0.006)
    assert found.ok == (excess / variance**0.5 <= 3 and found.astray < 0.5)


def test_an_answer_that_leaves_two_outcomes_open_surprises_by_their_sum(knowledge: Knowledge) -> None:
    """P(fast) + P(nothing) / 2 where nothing fits half as well; what is expected of the test is the same for all three."""
    model = Model(Tables(knowledge), prior(SETTING, knowledge))
    (item,) = items(knowledge, alcohol_drop="dissolves-fast")
    now = model.posterior([item])

    def odds(**weights: float) -> float:
        told = {name.replace("_", "-"): weight for name, weight in weights.items()}
        found = fit(model, now, weigh(model, [replace(item, weights=told)]))
        return float(10 ** (-found.surprise_db / 10))

    fast, slow = odds(dissolves_fast=1.0), odds(no_effect=1.0)
    assert fast > slow
    assert odds(dissolves_fast=1.0, no_effect=0.5) == pytest.approx(fast + slow / 2, rel=0.01)
    assert odds(dissolves_fast=0.5, no_effect=1.0) == pytest.approx(fast / 2 + slow, rel=0.01)


AT_ODDS = {"alcohol_drop": "no-effect", "scraper": "wood-only", "film_build": "medium"}  # a film that is none


@pytest.mark.parametrize("answers", [*SETS, AT_ODDS])
@pytest.mark.parametrize("known", [None, Known(finish="drying-oil", how="removal")])
def test_clashes_by_their_definition(knowledge: Knowledge, answers: dict[str, str], known: Known | None) -> None:
    """Two answers that the others did not expect, seen together less than a quarter as often as apart, given what is known."""
    model, evidence = Model(Tables(knowledge, power=2.5), prior(SETTING, knowledge), known), items(knowledge, **answers)
    nothing = model.posterior([]).log10_evidence

    def chance(*of: Evidence) -> float:
        return float(10 ** (model.posterior(of).log10_evidence - nothing))

    odd = [e for e in evidence if chance(*evidence) / chance(*(x for x in evidence if x is not e)) < chance(e) / 2]
    wanted = {
        tuple(sorted((a.name, b.name)))
        for a in odd
        for b in odd
        if a is not b and chance(a, b) / (chance(a) * chance(b)) < 0.25
    }
    found = fit(model, model.posterior(evidence), weigh(model, evidence)).clashes
    assert set(found) <= wanted
    assert len(found) == min(len(wanted), 3)
    assert found or answers is not AT_ODDS


def test_no_answer_no_surprise(model: Model) -> None:
    """Without an answer there is nothing to fit, and what may be astray is what may be beforehand."""
    found, belief = fitted(model, []), model.tables.belief
    before = 1 - (1 - belief.other) * (1 - belief.contamination["astray"].share)
    assert found == Fit(True, 0.0, [], None, found.astray)
    assert found.astray == pytest.approx(before)


@pytest.mark.parametrize("answers", SETS)
def test_astray_by_its_definition(knowledge: Knowledge, answers: dict[str, str]) -> None:
    """All but what a finish of the book on a spot that speaks for it makes of the evidence."""
    tables, evidence = Tables(knowledge), items(knowledge, **answers)
    model = Model(tables, prior(SETTING, knowledge))
    speaking = Model(tables, prior(SETTING, knowledge), None, {"astray": 0.0}).prepared(evidence).weights()
    speaks = (1 - knowledge.belief.contamination["astray"].share) * sum(speaking[:-1])
    wanted = 1 - speaks / sum(model.prepared(evidence).weights())
    assert fitted(model, evidence).astray == pytest.approx(wanted)


def test_answers_of_no_finish_go_astray(model: Model, knowledge: Knowledge) -> None:
    """Answers that contradict each other throughout are held astray and leave nothing near certain; good ones are not."""
    odd = items(
        knowledge,
        alcohol_drop="dissolves-fast",
        lacquer_thinner_drop="no-effect",
        acetone_rub="no-effect-sheds",
        water_drop="absorbs-darkens",
        oil_drop="beads-wipes-clean",
        xylene_drop="softens-tacky",
    )
    good = items(
        knowledge, alcohol_drop="dissolves-fast", lacquer_thinner_drop="dissolves", acetone_rub="dissolves-30s"
    )
    found, posterior = fitted(model, odd), model.posterior(odd)
    assert found.astray > 5 * fitted(model, []).astray
    assert not found.ok
    assert max(posterior.finishes.values()) < 0.8
    assert fitted(model, good).astray < 0.05


def test_an_unsure_answer_surprises_less(model: Model, knowledge: Knowledge) -> None:
    """The same odd answer told unsure."""
    sure = items(knowledge, alcohol_drop="dissolves-fast", acetone_rub="no-effect-sheds")
    unsure = [sure[0], answer_evidence("acetone-rub", "no-effect-sheds", knowledge, sure=False)]
    assert fitted(model, unsure).surprise_db < fitted(model, sure).surprise_db
