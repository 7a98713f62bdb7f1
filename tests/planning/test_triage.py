"""Go, go to usable, stop: by the user's figures, worst surface first."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given, settings
from hypothesis import strategies as st

from oldcoat.engine.piece.form import Money, Spread
from oldcoat.engine.planning.money import (
    break_even,
    chance_of_gain,
    decide,
    early_gain,
    figures,
    gain,
    gain_after_trial,
)
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.triage_told import told_triage

Planner = Callable[[str], Plan]
MONEY = st.floats(0, 5000)
CHANCE = st.floats(0, 1)


@given(CHANCE, MONEY, MONEY, st.floats(0, 100), st.floats(0, 80), MONEY, st.floats(0, 0.5))
def test_break_even_is_where_the_gain_is_nothing(
    p: float, sells: float, fallback: float, hours: float, rate: float, material: float, fee: float
) -> None:
    """At that chance the gain is 0; above it the sign follows the chance."""
    even = break_even(sells, fallback, hours, rate, material, fee)
    if even is None:
        assert sells <= fallback
        return
    if (sells - fallback) < 1:
        return
    assert abs(gain(even, sells, fallback, hours, rate, material, fee)) < 1e-4
    here = gain(p, sells, fallback, hours, rate, material, fee)
    assert here >= -1e-4 if p >= even else here <= 1e-4


def _money(**more: object) -> Money:
    base: dict[str, object] = {"sells": 900.0, "rate_hour": 30.0, "fallback": 250.0, "fee_share": 0.1}
    return Money(**{**base, "as_it_stands": 150.0, "material": 60.0, **more})  # type: ignore[arg-type]


def test_buying_price_is_sunk() -> None:
    """What was paid changes nothing about going on."""
    rows = [decide(figures(_money(bought=b), 0.7, (12, 16), (3, 4), (0, 0, 0))) for b in (0.0, 500.0)]
    assert rows[0] == rows[1]


@settings(deadline=None)
@given(CHANCE, CHANCE)
def test_a_likelier_success_never_gains_less(p: float, q: float) -> None:
    """Gain and chance of gain rise with the chance of the planned result."""
    money = _money(sells=Spread(likely=900, low=600, high=1200))
    low, high = (decide(figures(money, x, (10, 18), (3, 4), (0, 0, 0))) for x in sorted((p, q)))
    assert low.gain <= high.gain + 1e-9
    assert low.chance_of_gain <= high.chance_of_gain + 1e-9


def test_the_three_decisions() -> None:
    """Invented figures for each; the decision is the one that gains most."""
    go = decide(figures(_money(sells=2000.0), 0.9, (10, 12), (3, 4), (0, 0, 0)))
    usable = decide(figures(_money(sells=500.0, fallback=400.0), 0.5, (30, 40), (2, 3), (0, 0, 0)))
    stop = decide(figures(_money(sells=300.0, fallback=100.0), 0.5, (30, 40), (8, 9), (0, 0, 0)))
    assert [v.decision for v in (go, usable, stop)] == ["go", "go-to-usable", "stop"]
    assert usable.usable_gain > max(0.0, usable.gain)
    assert max(stop.gain, stop.usable_gain) <= 0


def test_the_most_to_bid_by_hand() -> None:
    """Sells for 900 less a tenth with 0.5, else for 225 net; 14 hours at 30, 60 of material: 37.5 are left for the piece.

    One that fetches 150 as it stands gains 37.5 - 150, so the most to give for it is 37.5. Where nothing is left
    one bids nothing.
    """
    verdict = decide(figures(_money(), 0.5, (14, 14), (3, 3), (0, 0, 0)))
    assert abs(verdict.gain - (0.5 * 810 + 0.5 * 225 - 420 - 60 - 150)) < 1e-9
    assert abs(verdict.most_bid - 37.5) < 1e-9
    assert abs(verdict.gain_per_hour - verdict.gain / 14) < 1e-9
    assert decide(figures(_money(), 0.1, (14, 14), (3, 3), (0, 0, 0))).most_bid == 0


def test_without_spread_the_chance_is_exact() -> None:
    """With fixed figures the chance of a gain is the chance of success, where success pays and failure does not."""
    given_ = figures(_money(), 0.37, (14, 14), (3, 3), (0, 0, 0))
    assert abs(chance_of_gain(given_) - 0.37) < 1e-9


@given(CHANCE, st.floats(0, 10), st.floats(0, 3))
def test_knowing_first_is_worth_no_more_than_what_failure_costs(p: float, trial: float, extra: float) -> None:
    """An early trial saves at most the loss that it prevents, and nothing if success and failure both pay."""
    verdict = decide(figures(_money(), p, (14, 14), (3, 3), (0, 0, 0)))
    worth = early_gain(verdict, p, trial, extra, 30)
    assert worth <= max(0.0, -(1 - p) * verdict.gain_if_not, p * verdict.gain_if_it_works) + 1e-6
    rich = decide(figures(_money(sells=5000.0, fallback=3000.0), p, (14, 14), (3, 3), (0, 0, 0)))
    assert early_gain(rich, p, trial, extra, 30) <= 1e-6


@given(CHANCE, CHANCE, st.floats(0, 10), st.floats(0, 3), st.sampled_from([400.0, 900.0, 5000.0]))
def test_knowing_first_by_its_tree(one: float, other: float, trial: float, extra: float, sells: float) -> None:
    """The trial comes out with chance q and the whole with p of that: the best of going on or stopping after either."""
    p, q = sorted((one, other))
    verdict = decide(figures(_money(sells=sells), p, (14, 14), (3, 3), (0, 0, 0)))
    works, fails, stopped = verdict.gain_if_it_works, verdict.gain_if_not, -trial * 30
    plans = [
        (p * works + (q - p) * fails if after_good == "on" else q * stopped)
        + (1 - q) * (fails if after_bad == "on" else stopped)
        for after_good in ("on", "stop")
        for after_bad in ("on", "stop")
    ]
    now = max(p * works + (1 - p) * fails, verdict.usable_gain, 0.0)
    assert abs(early_gain(verdict, q, trial, extra, 30) - (max(plans) - extra * 30 - now)) < 1e-6
    if q > 0.01:
        assert abs(gain_after_trial(verdict, q) * q - (p * works + (q - p) * fails)) < 1e-6


PIECE = """
piece: invented
made: 1930-1945
kind: table
next_coat: shellac
money: {{sells: 1500, rate_hour: 30, fallback: 250, fee_share: 0.1, as_it_stands: 150, material: 60}}
surfaces:
  - {{name: legs, wood: oak, build: solid, area_m2: {legs}, tests: {{alcohol-drop: dissolves-fast}}}}
  - {{name: top, wood: oak, build: solid, area_m2: 0.8, tests: {{alcohol-drop: dissolves-fast}},
     stains: [{{kind: black-ring, tried: {{oxalic-acid: 1}}}}], repairs: [joints-loose]}}
"""


def test_the_stained_surface_decides(planned: Planner) -> None:
    """It is named, comes first, and the cheapest look at it is before the decision."""
    triage = planned(PIECE.format(legs=0.6)).triage
    assert triage.worst == "top"
    assert triage.doubt == "stain"
    assert triage.show is not None
    assert triage.show.surface == "top"
    assert triage.show.cost is not None
    assert triage.verdict is not None


def test_an_early_trial_says_what_it_costs(planned: Planner) -> None:
    """With much work on the other surfaces the worst one is done first, and the price of that order is told."""
    plan = planned(PIECE.format(legs=6.0))
    early = plan.triage.early
    assert early is not None
    assert early.surface == "top"
    assert early.worth > 0
    assert any("bare wood" in cost for cost in early.costs)  # joints are glued after this strip
    place = {(n.step, n.surface): i for i, n in enumerate([*plan.order, *plan.if_anyway])}
    assert place["strip", "top"] < place["salvage-decision", ""] < place["strip", "legs"]


def test_without_figures_nothing_is_taken_early(planned: Planner, hall_table: str) -> None:
    """No money, no verdict, the usual order; the worst surface is named all the same."""
    triage = planned(hall_table).triage
    assert triage.verdict is None
    assert triage.early is None
    assert triage.worst == "top"


USABLE = """
piece: invented chest
made: 1900-1920
kind: chest
next_coat: shellac
money: {sells: 500, rate_hour: 25, fallback: 450, as_it_stands: 150}
surfaces:
  - {name: top, wood: oak, build: solid, area_m2: 0.5, repairs: [filler], tests: {alcohol-drop: dissolves-fast}}
  - {name: sides, wood: pine, build: solid, area_m2: 1.0, plan: strip, tests: {alcohol-drop: dissolves-fast}}
"""


def test_usable_only_is_planned_as_the_shorter_job(planned: Planner) -> None:
    """No film comes off and nothing is bought for that; repairs and coats stay; the hours told are those planned."""
    made = planned(USABLE)
    whole = planned(USABLE.replace("sells: 500", "sells: 5000"))
    verdict = made.triage.verdict
    assert verdict is not None
    assert verdict.decision == "go-to-usable"
    steps = {node.step for node in made.order}
    assert not steps & {"strip", "remover-patch", "wash-residue", "sand", "lift-film"}
    assert {"clean", "fill", "first-coat", "hand-over"} <= steps
    assert "strip" in {node.step for node in whole.order}
    planned_hours = sum(made.tasks[node].likely for node in made.order)
    assert abs(planned_hours - verdict.usable_hours) < 1e-6
    assert verdict.usable_hours < verdict.hours
    assert not any("finish off" in item.why for item in made.shopping)
    assert [f.how for f in made.facings] == ["keep", "keep"]
    assert "shorter job" in made.triage.told


def test_the_decision_is_told_with_hours_gains_and_chance() -> None:
    """What to do comes first; each gain with its hours; nothing is said of a chance that the figures do not have."""
    money = _money(sells=300.0, fallback=100.0, as_it_stands=0.0)
    verdict = decide(figures(money, 0.5, (30, 40), (8, 9), (0, 0, 0)))
    told = told_triage(money, verdict, 0.5, None)
    assert told.startswith("Stop. On average the whole job (35 h) loses")
    assert "making it usable (8.5 h) loses" in told
    assert "as it stands" not in told  # it fetches nothing as it stands
    assert "not even full success" in told
    assert "%" not in told
    rich = _money(sells=2000.0)
    verdict = decide(figures(rich, 0.9, (10, 12), (3, 4), (0, 0, 0)))
    told = told_triage(rich, verdict, 0.9, None)
    assert told.startswith("Go on with the whole job. ")
    assert f"gains {verdict.gain:.0f}" in told
    assert "selling it as it stands for 150" in told
    assert f"Chance that the whole job pays: {verdict.chance_of_gain:.0%}" in told


@settings(deadline=None)
@given(CHANCE, MONEY, MONEY, st.floats(0, 60))
def test_what_is_told_never_contradicts_itself(p: float, sells: float, fallback: float, rate: float) -> None:
    """Full success is said not to pay only where it does not; a decision to go on never loses, a stop never gains."""
    money = _money(sells=sells, fallback=fallback, rate_hour=rate)
    verdict = decide(figures(money, p, (10, 18), (3, 4), (0, 0, 0)))
    told = told_triage(money, verdict, p, None)
    if "not even full success" in told:
        assert verdict.gain_if_it_works <= 1e-6
        assert verdict.decision != "go"
    if told.startswith("Stop"):
        assert " gains " not in told
    if told.startswith("Go on"):
        assert "whole job (14 h) loses" not in told
