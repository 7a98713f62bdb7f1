"""Costs, worth of a test and verdict, against their definitions worked out the long way."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.belief.evidence import answer_evidence
from oldcoat.engine.belief.posterior import Model, Posterior
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.belief.weigh import Fit
from oldcoat.engine.deciding.costs import CostTable, Weights, cost_table, fallback_minutes, fixed_minutes, plain_minutes
from oldcoat.engine.deciding.nexttest import MOST_PATCHES, Worth, worths
from oldcoat.engine.deciding.nexttest import test_minutes as minutes_of
from oldcoat.engine.deciding.verdict import regret, verdict
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import PATCH_PREFIX, Knowledge
from oldcoat.engine.knowledge.entries import Taste

Examine = Callable[..., Examination]
GOOD = Fit(True, 0.0, [], None)
BAD = Fit(False, 20.0, [], None)
MINE = Weights(taste=Taste(time=1.5, harm=2.0, hazard=3.0, money=4.0), area_m2=2.0)


def test_no_colour_of_a_film_is_asked_for_where_there_is_none(examine: Examine) -> None:
    """Once it was seen that the wood lies open; in doubt of that, and over a film, it may be asked for."""
    for build, open_ in (
        ("none-in-wood", False),
        ("thin-open-pore", True),
        ({"outcome": "none-in-wood", "sure": False}, True),
    ):
        done = examine({"made": 1960}, wood="oak", build="solid", tests={"film-build": build})
        assert ("colour-cast" in {worth.test for worth in done.worths}) == open_, build


# ---------------------------------------------------------------- costs


def test_fixed_cost_by_hand(examine: Examine, knowledge: Knowledge) -> None:
    """Patch, hazard, harm, material, watching and waiting, each with its weight."""
    book = knowledge.decide
    row = next(p for p in examine(build="solid").predictions if p.remover == "benzyl-alcohol-gel")
    row = replace(row, harm=0.1, cost=(4.0, 8.0), dwell_minutes=(20.0, 60.0))
    hazard = book.hazard_minutes[knowledge.removers["benzyl-alcohol-gel"].hazard]
    wanted = book.patch_minutes * 1.5 + hazard * 3 + 0.1 * book.damage_minutes * 2 * 2
    wanted += 6 * book.minutes_per_money * 4 + book.watch_share * 40 * 1.5
    dries = sum(knowledge.removers["benzyl-alcohol-gel"].work.dry_hours) / 2
    wanted += (40 / 60 + dries) * book.wait_minutes_an_hour * 1.5
    assert fixed_minutes(row, knowledge, MINE) == pytest.approx(wanted)
    long = replace(row, dwell_minutes=(5000.0, 5000.0))
    more = (book.watch_most_minutes - book.watch_share * 40) * 1.5
    more += (5000 - 40) / 60 * book.wait_minutes_an_hour * 1.5
    assert fixed_minutes(long, knowledge, MINE) == pytest.approx(wanted + more)


def test_row_by_hand(examine: Examine, examiner: Examiner, knowledge: Knowledge) -> None:
    """Work over what the effect saves, never more than work and then the fallback; nothing saved is the fallback alone."""
    found = next(p for p in examine(build="solid").predictions if p.allowed)
    table = cost_table([found], examiner.tables, MINE)
    fixed, fallback = fixed_minutes(found, knowledge, MINE), fallback_minutes(knowledge, MINE)
    book = knowledge.decide
    assert fallback == pytest.approx(
        2 * (book.fallback_minutes_m2 * 1.5 + book.fallback_harm * book.damage_minutes * 2)
    )
    for index, finish in enumerate(examiner.tables.finishes):
        active, wanted = found.minutes_on[finish] * 1.5, fixed
        for effect, chance in found.effects_by[finish].items():
            saved = book.works_by_effect[effect]
            wanted += chance * (fallback if saved == 0 else min(active / saved, active + fallback))
        assert table.rows[0][index] == pytest.approx(wanted)
    assert table.rows[0][-1] == pytest.approx(sum(table.rows[0][:-1]) / len(examiner.tables.finishes))


def test_work_by_hand(examine: Examine, examiner: Examiner, knowledge: Knowledge) -> None:
    """Two square metres that are cut away in 200 minutes; half of the tries dissolve, a fifth lift, a fifth soften, a tenth do nothing.

    An hour of work, of which lifting saves four fifths and softening two: 30 + 15 + 30 + 20. Of 400 minutes the
    softened fifth would take 1,000: no more than those 400 and then cutting. Minded half as much again, with 50
    minutes left where it fails, the hour is 90: 45 + 22.5 + the lesser of 225 and 140, a fifth of it, + 5.
    """
    chances = {"dissolves": 0.5, "lifts": 0.2, "softens": 0.2, "no-effect": 0.1}
    works = {"dissolves": 1.0, "lifts": 0.8, "softens": 0.4, "no-effect": 0.0}
    decide = replace(knowledge.decide, works_by_effect=works, fallback_minutes_m2=100.0)
    tables = Tables(replace(knowledge, decide=decide))
    found = next(p for p in examine(build="solid").predictions if p.remover == "benzyl-alcohol-gel")
    for minutes, wanted in ((60.0, 95.0), (400.0, 200 + 100 + 120 + 20)):
        all_alike = replace(
            found,
            minutes_on=dict.fromkeys(tables.finishes, minutes),
            effects_by=dict.fromkeys(tables.finishes, chances),
        )
        assert plain_minutes(all_alike, tables, 2.0) == pytest.approx([wanted] * len(tables.finishes))
    hour = replace(
        found, minutes_on=dict.fromkeys(tables.finishes, 60.0), effects_by=dict.fromkeys(tables.finishes, chances)
    )
    mine = Weights(taste=replace(MINE.taste, time=1.5, harm=0.0), area_m2=1 / 3)
    (row,) = cost_table([hour], tables, mine).rows
    fixed = fixed_minutes(hour, tables.knowledge, mine)
    assert [cost - fixed for cost in row] == pytest.approx([45 + 22.5 + 28 + 5] * len(row))


def test_what_is_forbidden_has_no_row(examine: Examine, examiner: Examiner) -> None:
    """The table holds the allowed removers, in the order of the predictions."""
    done = examine(build="veneer", veneer_mm=0.5, wood="walnut")
    assert done.costs.removers == [p.remover for p in done.predictions if not p.vetoes]
    assert any(p.vetoes for p in done.predictions)


def test_least_expected_cost() -> None:
    """The best row by weight, the first of equals."""
    table = CostTable(["a", "b", "c"], [[10.0, 90.0], [50.0, 20.0], [50.0, 20.0]])
    assert table.best([1.0, 0.0]) == (10.0, 0)
    assert table.best([0.5, 0.5]) == (35.0, 1)
    assert table.best([0.9, 0.1]) == (pytest.approx(18.0), 0)


# ---------------------------------------------------------------- next test


@pytest.fixture(scope="module")
def begun(examine: Examine, examiner: Examiner, knowledge: Knowledge) -> tuple[Model, CostTable, list[Any]]:
    """An invented American table of 1930 to 1945 on which alcohol did nothing."""
    done = examine({"made": "1930-1945", "region": "north-america"}, build="solid", tests={"alcohol-drop": "no-effect"})
    return Model(examiner.tables, done.prior), done.costs, [answer_evidence("alcohol-drop", "no-effect", knowledge)]


def test_saving_the_long_way(begun: tuple[Model, CostTable, list[Any]], knowledge: Knowledge) -> None:
    """Expected loss now less expected loss after each answer, from whole posteriors, less the cost of asking."""
    model, costs, given = begun
    found = {w.test: w for w in worths(model, given, costs, None)}

    def loss(posterior: Posterior) -> float:
        book = [posterior.finishes[f] * (1 - posterior.other) for f in model.finishes]
        whole = [*book, posterior.other]
        removal = min(sum(w * c for w, c in zip(whole, row, strict=True)) for row in costs.rows)
        return removal + knowledge.decide.not_knowing_minutes * (1 - max(whole))

    now = model.posterior(given)
    for test in ("lacquer-thinner-drop", "film-build", "scraper", "uv-a", "acetone-rub"):
        after, entry = 0.0, knowledge.tests[test]
        minutes = entry.minutes - entry.wait_minutes
        for outcome in knowledge.outcomes_of(test):
            later = model.posterior([*given, answer_evidence(test, outcome, knowledge)])
            chance = 10 ** (later.log10_evidence - now.log10_evidence)
            assert found[test].splits[outcome] == pytest.approx(chance)
            after += chance * loss(later)
            waits = knowledge.outcome(test, outcome).after_minutes or entry.wait_minutes
            minutes += chance * waits * knowledge.decide.wait_share
        cost = minutes * knowledge.decide.ease[entry.stage] + knowledge.decide.mark_minutes[entry.mark]
        assert (
            found[test].costs == pytest.approx(cost) == pytest.approx(minutes_of(entry, knowledge, found[test].splits))
        )
        assert found[test].saves == pytest.approx(loss(now) - after - cost)


def test_information_never_hurts(begun: tuple[Model, CostTable, list[Any]]) -> None:
    """Before its cost no test has a negative value, and its answers are all there is."""
    model, costs, given = begun
    for worth in worths(model, given, costs, None):
        assert worth.saves + worth.costs >= -1e-9
        assert sum(worth.splits.values()) == pytest.approx(1)


def test_which_tests_are_offered(begun: tuple[Model, CostTable, list[Any]], knowledge: Knowledge) -> None:
    """All but what was done or skipped and what wants tools that are not there, none twice; best first; two patches."""
    model, costs, given = begun
    found = worths(model, given, costs, None)
    names = [w.test for w in found]
    assert {name for name in names if not name.startswith("stripper-patch/")} == knowledge.tests.keys() - {
        "alcohol-drop"
    }
    assert [w.saves for w in found] == sorted((w.saves for w in found), reverse=True)
    patches = [name for name in names if name.startswith("stripper-patch/")]
    assert len(patches) == MOST_PATCHES == len(set(patches))
    best = costs.removers[costs.best(model.prepared(given).weights())[1]]
    assert f"stripper-patch/{best}" in patches
    assert "uv-a" not in [w.test for w in worths(model, given, costs, None, frozenset({"uv-a"}))]
    bare_hands = [w.test for w in worths(model, given, costs, []) if not w.test.startswith("stripper-patch/")]
    assert bare_hands
    assert all(not knowledge.tests[name].tools for name in bare_hands)
    assert worths(model, given, CostTable([], []), None) == []


def test_what_a_patch_costs(begun: tuple[Model, CostTable, list[Any]], knowledge: Knowledge) -> None:
    """Setting it up, a fifth of the shortest dwell, and its mark."""
    model, costs, given = begun
    for worth in worths(model, given, costs, None):
        if worth.test.startswith("stripper-patch/"):
            dwell = knowledge.removers[worth.test.removeprefix("stripper-patch/")].work.dwell_minutes[0]
            book = knowledge.decide
            assert worth.costs == pytest.approx(book.patch_minutes + dwell / 5 + book.mark_minutes[2])


def test_a_patch_is_not_offered_again(begun: tuple[Model, CostTable, list[Any]], knowledge: Knowledge) -> None:
    """After the best one was tried the next two stand there."""
    model, costs, given = begun
    best = costs.removers[costs.best(model.prepared(given).weights())[1]]
    after = [*given, answer_evidence(f"stripper-patch/{best}", "no-effect", knowledge)]
    names = [w.test for w in worths(model, after, costs, None)]
    assert f"stripper-patch/{best}" not in names
    assert sum(name.startswith("stripper-patch/") for name in names) == MOST_PATCHES


# ---------------------------------------------------------------- verdict


def posterior(first: float, other: float = 0.0) -> Posterior:
    """Two invented finishes."""
    return Posterior({"a": first, "b": 1 - first}, other, {}, {}, 0.0)


APART = CostTable(["r", "s"], [[10.0, 400.0], [400.0, 10.0]])
ALIKE = CostTable(["r", "s"], [[10.0, 30.0], [300.0, 29.0]])


def word(knowledge: Knowledge, found: Posterior, low: float, fit: Fit, saves: float | None, costs: CostTable) -> str:
    """The verdict with a best test that saves so much."""
    best = None if saves is None else Worth("t", saves, 1.0, {})
    return verdict(found, low, fit, best, costs, ["a", "b"], knowledge.decide)


def test_verdicts(knowledge: Knowledge) -> None:
    """Each word where it belongs, and at the edges."""
    sure, limit = knowledge.decide.settled, knowledge.decide.same_route_minutes
    assert word(knowledge, posterior(sure), 0.5, GOOD, None, APART) == "settled"
    assert word(knowledge, posterior(sure), 0.5, GOOD, limit, APART) == "settled"
    assert word(knowledge, posterior(sure), 0.5, GOOD, limit + 0.1, APART) == "test-more"
    assert word(knowledge, posterior(sure), 0.49, GOOD, 1.0, APART) == "test-more"
    assert word(knowledge, posterior(sure - 0.01), 0.8, GOOD, 1.0, APART) == "test-more"
    assert word(knowledge, posterior(sure - 0.01), 0.8, BAD, 1.0, APART) == "unknown"
    assert word(knowledge, posterior(sure), 0.8, BAD, 1.0, APART) == "test-more"
    assert word(knowledge, posterior(0.99, other=0.5), 0.9, GOOD, 1.0, APART) == "unknown"
    assert word(knowledge, posterior(0.99, other=0.49), 0.9, GOOD, 1.0, APART) == "settled"
    assert word(knowledge, posterior(0.55), 0.3, GOOD, 0.0, APART) == "same-route"
    assert word(knowledge, posterior(0.45), 0.3, GOOD, None, ALIKE) == "same-route"
    three = Posterior({"a": 0.4, "b": 0.3, "c": 0.3}, 0.0, {}, {}, 0.0)
    far = CostTable(["r", "s", "t"], [[10.0, 900.0, 900.0], [900.0, 10.0, 900.0], [900.0, 900.0, 10.0]])
    assert verdict(three, 0.2, GOOD, None, far, ["a", "b", "c"], knowledge.decide) == "unknown"
    assert word(knowledge, posterior(0.55), 0.3, GOOD, None, CostTable([], [])) == "unknown"


def test_regret_by_hand() -> None:
    """What taking one route for all costs above the best for each."""
    assert regret(posterior(0.75), APART, ["a", "b"]) == pytest.approx(0.75 * 10 + 0.25 * 400 - 10)
    assert regret(posterior(1.0), APART, ["a", "b"]) == pytest.approx(0)
    assert regret(posterior(0.5), CostTable([], []), ["a", "b"]) == 0.0


def test_what_looks_at_a_cleared_spot_waits_for_one(examine: Examine) -> None:
    """Where the colour sits is seen only where a drop or a patch took film off (by the test's own words)."""
    before = examine({"made": 1950}, wood="walnut", build="solid")
    after = examine({"made": 1950}, wood="walnut", build="solid", tests={"alcohol-drop": "softens-slow"})
    assert "colour-location" not in {w.test for w in before.worths}
    assert "colour-location" in {w.test for w in after.worths}


def test_a_test_of_safety_is_not_dropped_for_want_of_a_kit(examine: Examine) -> None:
    """Old paint and no kit at hand: the swab still comes first, and says what to get."""
    paint = {"colour-cast": "opaque", "application-marks": "brush-marks-runs"}
    done = examine({"made": "1920s", "have": ["gloves", "white-cloth"]}, wood="pine", build="solid", tests=paint)
    assert done.worths[0].test == "lead-swab"
    assert "lead-test-kit" in done.worths[0].lacks
    kit = ["lead-test-kit", "blade-and-tape", "gloves"]
    assert examine({"made": "1920s", "have": kit}, wood="pine", build="solid", tests=paint).worths[0].lacks == ()


def test_eyes_are_always_at_hand(examine: Examine) -> None:
    """With no tool at all the looks that daylight does for are still offered, so nothing is settled unseen."""
    done = examine({"made": "1950s", "have": []}, build="veneer")
    assert {"colour-cast", "application-marks"} <= {w.test for w in done.worths}
    assert "uv-a" not in {w.test for w in done.worths}
    assert done.verdict == "test-more"


def test_with_nothing_left_to_ask_a_verdict_stands(examiner: Examiner) -> None:
    """Every test and every patch was set aside: no test is proposed, and it is never to test more."""
    book = examiner.knowledge
    everything = frozenset(book.tests) | {f"{PATCH_PREFIX}{remover}" for remover in book.removers}
    piece = parse_piece("piece: x\nsurfaces: [{name: top, build: solid, wood: oak}]", "x", book)
    done = examiner.examine(piece, piece.surfaces[0], everything)
    assert done.worths == []
    assert done.verdict == "same-route"
