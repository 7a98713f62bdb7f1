"""Plans, order of tests, trees and what is told of a try, against what they are defined to be."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner
from oldcoat.engine.belief.evidence import Evidence
from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.belief.weigh import Fit
from oldcoat.engine.deciding.changes import told_change
from oldcoat.engine.deciding.costs import CostTable, Weights, fallback_minutes, fixed_minutes
from oldcoat.engine.deciding.escalate import gentlest_first, stage_of
from oldcoat.engine.deciding.nexttest import Worth, safety_first
from oldcoat.engine.deciding.routes import Route
from oldcoat.engine.deciding.verdict import verdict
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Surface, Tried
from oldcoat.engine.reasoning.network import Firing

Examine = Callable[..., Examination]
AREA = 2.0


@pytest.fixture(scope="module")
def done(examine: Examine) -> Examination:
    """Two square metres of an American table of the 1930s on which alcohol did nothing."""
    tests = {"alcohol-drop": "no-effect"}
    return examine({"made": "1930-1945", "region": "north-america"}, build="solid", area_m2=AREA, tests=tests)


def shares(done: Examination) -> dict[str, float]:
    """The finishes that count in a plan."""
    return {f: p for f, p in done.posterior.finishes.items() if p >= 1e-3}


def test_cost_of_a_plan(done: Examination, examiner: Examiner, knowledge: Knowledge) -> None:
    """What is fixed, the work while it moves, and where it does nothing the cost of the next attempt there."""
    weights = Weights(taste=knowledge.decide.tastes["balanced"], area_m2=AREA)
    fallback, by_name = fallback_minutes(knowledge, weights), {p.remover: p for p in done.predictions}
    rows = dict(zip(done.costs.removers, done.costs.alone, strict=True))
    assert len(done.routes) > 1
    for route in done.routes:
        first, wanted = by_name[route.remover], fixed_minutes(by_name[route.remover], knowledge, weights)
        fails = {f: p * first.effects_by[f]["no-effect"] for f, p in shares(done).items()}
        for finish, p in shares(done).items():
            active = first.minutes_on[finish]
            for effect, saved in knowledge.decide.works_by_effect.items():
                if saved > 0:
                    wanted += p * first.effects_by[finish][effect] * min(active / saved, active + fallback)
        again = [rows[route.then][examiner.tables.finishes.index(f)] if route.then else fallback for f in fails]
        wanted += sum(p * minutes for p, minutes in zip(fails.values(), again, strict=True))
        assert route.expected_minutes == pytest.approx(wanted)
        assert route.litres_m2 == pytest.approx((route.litres[0] / AREA, route.litres[1] / AREA))


def test_what_a_route_turns_to(done: Examination, examiner: Examiner, knowledge: Knowledge) -> None:
    """The cheapest where the first one fails, of those worth a try that there take the film at least every third time or so."""
    book = knowledge.decide
    rows = dict(zip(done.costs.removers, done.costs.alone, strict=True))
    turns = set()
    for route in done.routes:
        first = next(p for p in done.predictions if p.remover == route.remover)
        fails = {f: p * first.effects_by[f]["no-effect"] for f, p in shares(done).items()}
        costs = {}
        for other in done.predictions:
            takes = sum(p * (other.effects_by[f]["dissolves"] + other.effects_by[f]["lifts"]) for f, p in fails.items())
            apart = {other.remover, route.remover} & {
                *knowledge.removers[route.remover].never_with,
                *knowledge.removers[other.remover].never_with,
            }
            fit = other.allowed and other.works >= 0.35 and other.harm <= book.most_harm and not apart
            if fit and other is not first and takes >= 0.35 * sum(fails.values()):
                row = rows[other.remover]
                costs[other.remover] = sum(p * row[examiner.tables.finishes.index(f)] for f, p in fails.items())
        assert route.then == min(costs, key=lambda r: costs[r], default=None)
        turns.add(route.then)
    assert turns - {None}


def test_hours_of_a_plan(done: Examination, knowledge: Knowledge) -> None:
    """Patch, work and, where it does nothing, a second patch and its work: nothing of harm, hazard or money."""
    book, by_name = knowledge.decide, {p.remover: p for p in done.predictions}
    fallback = book.fallback_minutes_m2 * AREA

    def minutes(remover: str | None, finish: str, with_failure: bool) -> float:
        if remover is None:
            return fallback
        prediction, total = by_name[remover], 0.0
        for effect, saved in book.works_by_effect.items():
            chance, active = prediction.effects_by[finish][effect], prediction.minutes_on[finish]
            if saved > 0:
                total += chance * min(active / saved, active + fallback)
            elif with_failure:
                total += chance * fallback
        return total

    for route in done.routes:
        wanted = book.patch_minutes
        for finish, p in shares(done).items():
            again = minutes(route.then, finish, True) + (book.patch_minutes if route.then else 0.0)
            failing = by_name[route.remover].effects_by[finish]["no-effect"]
            wanted += p * (minutes(route.remover, finish, False) + failing * again)
        assert route.expected_hours == pytest.approx(wanted / 60)


def test_what_a_route_covers(done: Examination, knowledge: Knowledge) -> None:
    """Possible finishes on which it dissolves or lifts at least every other time, likeliest first."""
    by_name = {p.remover: p for p in done.predictions}
    for route in done.routes:
        chances = [done.posterior.finishes[f] for f in route.covers]
        assert chances == sorted(chances, reverse=True)
        for finish, p in done.posterior.finishes.items():
            effects = by_name[route.remover].effects_by[finish]
            moved = effects["dissolves"] + effects["lifts"]
            assert (finish in route.covers) == (p >= knowledge.decide.possible and moved >= 0.5)


def test_the_tree_counts_right(done: Examination) -> None:
    """ "If not: step N" stands at the patch and names the next attempt; the attempt names the stop; waits are in minutes."""
    for route in done.routes:
        kinds = [stage.kind for stage in route.stages]
        fails = kinds.index("if-not" if "if-not" in kinds else "stop") + 1
        assert f"If not: step {fails}." in route.stages[0].text
        assert sum("If not: step" in stage.text for stage in route.stages) == 1
        if "if-not" in kinds:
            assert route.stages[fails - 1].text.endswith(f"If that fails too: step {len(kinds)}.")
        dry = route.stages[kinds.index("dry")]
        assert dry.text == "Nothing to dry." or dry.minutes == tuple(60 * hours for hours in route.dry_hours)


def test_the_film_that_stays_is_named(examine: Examine, knowledge: Knowledge) -> None:
    """Where the film below is to be kept the route stops at it and says so; where nothing is kept it does not."""
    fields = {"build": "solid", "known": {"finish": "latex-paint", "how": "laboratory"}}
    kept = examine(None, keep_under=True, under="shellac", **fields)
    gone = examine(None, **fields)
    assert kept.routes
    told = " ".join(stage.text for stage in kept.routes[0].stages)
    assert "Stop as soon as the shellac below shows" in told
    assert "Try it on the film below first." in told
    assert "below" not in " ".join(s.text for s in gone.routes[0].stages if s.kind in ("after", "stop-when"))


# ---------------------------------------------------------------- order of tests, verdict


def worth(test: str, saves: float) -> Worth:
    """An invented worth."""
    return Worth(test, saves, 1.0, {})


def test_the_gentlest_of_near_ones(knowledge: Knowledge) -> None:
    """Of tests within a quarter of the best the one that goes least far; what does not pay stays behind."""
    rows = [worth("scraper", 10.0), worth("uv-a", 7.5), worth("acetone-rub", 7.4), worth("coin-edge", 0.0)]
    assert [w.test for w in gentlest_first(rows, knowledge)] == ["uv-a", "scraper", "acetone-rub", "coin-edge"]
    assert gentlest_first([worth("uv-a", -1.0)], knowledge) == [worth("uv-a", -1.0)]
    assert stage_of("stripper-patch/acetone", knowledge) > stage_of("scraper", knowledge)


def test_safety_goes_first(knowledge: Knowledge) -> None:
    """A test that a safety rule asks for goes before all others and says why; the rest keep their order."""
    rule = next(rule for file in knowledge.rules.values() for rule in file.rules if rule.then.ask)
    asked = str(rule.then.ask)
    rows = [worth("uv-a", 9.0), worth(asked, -3.0), worth("scraper", 2.0)]
    found = safety_first(rows, [Firing(rule, {})], None, knowledge)
    assert [w.test for w in found] == [asked, "uv-a", "scraper"]
    assert found[0].saves == pytest.approx(knowledge.decide.hazard_minutes[-1] - 3.0)
    assert found[0].safety == rule.why
    assert found[0].lacks == ()
    assert safety_first(rows, [], None, knowledge) == rows
    poor = safety_first(rows, [Firing(rule, {})], [], knowledge)
    assert poor[0].test == asked
    assert poor[0].lacks == tuple(knowledge.tests[asked].tools)


def test_same_route_up_to_four_times_the_limit(knowledge: Knowledge) -> None:
    """With no finish above one half it is "same route" while the mix costs no more than four limits."""
    limit = 4 * knowledge.decide.same_route_minutes
    thirds = Posterior({"a": 0.4, "b": 0.3, "c": 0.3}, 0.0, {}, {}, 0.0)
    good = Fit(True, 0.0, [], None)
    for extra, word in ((-0.01, "same-route"), (0.01, "unknown")):
        costs = CostTable(["r", "s"], [[0.0, 0.0, (limit + extra) / 0.3], [900.0, 900.0, 0.0]])
        assert verdict(thirds, 0.2, good, None, costs, ["a", "b", "c"], knowledge.decide) == word
    exact = Posterior({"a": 0.375, "b": 0.375, "c": 0.25}, 0.0, {}, {}, 0.0)
    edge = CostTable(["r", "s"], [[0.0, 0.0, 4 * limit], [900.0, 900.0, 0.0]])
    assert verdict(exact, 0.2, good, None, edge, ["a", "b", "c"], knowledge.decide) == "same-route"


# ---------------------------------------------------------------- what a try changed


def told(
    knowledge: Knowledge, before: float, after: float, routes: Sequence[Route], now: Sequence[Route], keeps: float = 1.0
) -> str:
    """The words for a try of alcohol that moved shellac from one chance to another."""
    item = Evidence("tried/denatured-alcohol", "stripper-patch/denatured-alcohol", "softens", {"softens": 1.0}, keeps)
    tries = [
        Tried(remover="denatured-alcohol", result="softens", minutes=12),
        Tried(remover="denatured-alcohol", result="softens"),
        Tried(remover="acetone", result="works", minutes=50),
    ]
    one, other = (Posterior({"shellac": p, "epoxy": 1 - p}, 0.0, {}, {}, 0.0) for p in (before, after))
    return told_change(item, Surface(name="top", tried=tries), one, other, routes, now, knowledge).text


def test_words_for_a_change(done: Examination, knowledge: Knowledge) -> None:
    """Much only from a doubling on; the old way is named if it changed; a try cut short says what it counts for."""
    first, second = done.routes[0], replace(done.routes[0], remover="card-scraper")
    name = knowledge.removers[first.remover].name
    twice = told(knowledge, 0.2, 0.4, [first], [first])
    assert twice.startswith("Denatured alcohol after 12 min: it only softened the film.")
    assert "shellac much likelier (20% before, 40% now)" in twice
    assert "epoxy less likely" in twice
    assert f"The way off stays {name}." in twice
    assert "counts for" not in twice
    assert "  " not in twice
    less = told(knowledge, 0.4, 0.5, [first], [second], keeps=0.5)
    assert "shellac likelier (40% before, 50% now)" in less
    assert f"The way off is now {knowledge.removers['card-scraper'].name}, not {name}." in less
    assert "it counts for 50%" in less
    same = told(knowledge, 0.5, 0.504, [], [first])
    assert "It says nothing new of the finish." in same
    assert f"The way off is now {name}." in same
    assert "Nothing is left" in told(knowledge, 0.5, 0.5, [first], [])
