"""Which surface decides and what shows it: figures worked out by hand. All pieces and figures are invented."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine.deciding.nexttest import Worth
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Money, Piece
from oldcoat.engine.planning.facing import Facing
from oldcoat.engine.planning.jobs import Task
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.triage import Work, triage

Planner = Callable[[str], Plan]
Made = Callable[..., Work]
PIECE = """
piece: invented
made: 1930-1945
next_coat: shellac
surfaces:
  - {name: legs, wood: oak, build: solid, plan: keep, area_m2: 1}
  - {name: top, wood: oak, build: solid, plan: strip, area_m2: 1, tests: {alcohol-drop: dissolves-fast},
     stains: [{kind: black-ring}, {kind: rust}]}
"""
RING, PATCH, STRIP, GATE = (
    Node(*of) for of in (("stain-patch", "top"), ("remover-patch", "top"), ("strip", "top"), ("salvage-decision", ""))
)
HOURS = {RING: (1.0, 3.0), PATCH: (0.5, 1.5), STRIP: (2.0, 4.0), Node("clean", "legs"): (1.0, 1.0), GATE: (0.0, 0.5)}


@pytest.fixture
def book(knowledge: Knowledge) -> Knowledge:
    """Softening is worth half of a success; a trial patch takes a quarter of an hour."""
    works = {**knowledge.decide.works_by_effect, "softens": 0.5}
    return replace(knowledge, decide=replace(knowledge.decide, works_by_effect=works, patch_minutes=15.0))


@pytest.fixture
def piece(read: Callable[[str], Piece]) -> Piece:
    """Legs that keep their film and a top that is stripped, with two stains."""
    return read(PIECE)


@pytest.fixture
def made(planned: Planner) -> Made:
    """That piece with round figures for the top, and with its steps."""

    def work(stains: tuple[float, float] = (0.8, 0.5), worths: tuple[str, ...] = (), **route: Any) -> Work:
        facings = planned(PIECE).facings
        legs, top = facings
        first, then = top.done.routes[0], "sanding"
        effects = {"dissolves": 0.4, "lifts": 0.1, "softens": 0.2, "no-effect": 0.3}
        predictions = [
            replace(p, effects=effects, works=0.5, cost=(10.0, 30.0)) if p.remover == first.remover else p
            for p in top.done.predictions
        ]
        predictions = [replace(p, works=0.4) if p.remover == then else p for p in predictions]
        done = replace(
            top.done,
            predictions=predictions,
            routes=[replace(first, then=then, harm=0.1, **route)],
            verdict="test-more" if worths else "go",
            worths=[Worth(test, 60.0, 2.0, {}) for test in worths],
        )
        plans = [replace(plan, chance=chance) for plan, chance in zip(top.stains, stains, strict=True)]
        faces: list[Facing] = [legs, replace(top, done=done, stains=plans)]
        return faces, list(HOURS), {node: Task(hours=hours, wait=0.0, cautions=[]) for node, hours in HOURS.items()}

    return work


def test_how_each_surface_stands(piece: Piece, made: Made, book: Knowledge) -> None:
    """The film: half, half of what softens, and the 0.4 of what the route turns to, nine times in ten unharmed.

    (0.5 + 0.5 x 0.2 + 0.4 x 0.3) x 0.9 = 0.648; both stains 0.8 x 0.5; kept film and no stain are sure.
    """
    judged = triage(piece, made(), None, book)
    top, legs = judged.told.standings
    assert (top.surface, legs.surface) == ("top", "legs") == tuple(judged.worst_first)
    assert (top.film, top.stain, top.p) == pytest.approx((0.648, 0.4, 0.2592))
    assert top.hours == (3.5, 8.5)
    assert (legs.film, legs.stain, legs.p, legs.hours) == (1.0, 1.0, 1.0, (1.0, 1.0))
    assert judged.told.p == pytest.approx(0.2592)
    assert judged.told.doubt == "stain"
    assert judged.told.why.startswith("What decides is top: there it is least sure that the stain goes (40%).")


def test_the_film_is_in_doubt_where_it_is_less_sure_than_the_stains(piece: Piece, made: Made, book: Knowledge) -> None:
    """0.648 against 0.9 x 0.9; where there is no way off at all, none of it comes off."""
    told = triage(piece, made(stains=(0.9, 0.9)), None, book).told
    assert told.doubt == "film"
    assert "the film comes off unharmed (65%)" in told.why
    facings, nodes, tasks = made()
    top = replace(facings[1], done=replace(facings[1].done, routes=[]))
    none = triage(piece, ([facings[0], top], nodes, tasks), None, book).told
    assert (none.doubt, none.p, none.standings[0].film) == ("film", 0.0, 0.0)


def test_where_nothing_is_in_doubt_the_most_work_is_named(piece: Piece, made: Made, book: Knowledge) -> None:
    """Two faces as sure as each other: the one with more hours, and no trial."""
    facings, nodes, tasks = made()
    kept = [facings[0], replace(facings[0], name="top")]
    told = triage(piece, (kept, nodes, tasks), None, book).told
    assert (told.worst, told.doubt, told.show) == ("top", None, None)
    assert told.why == "No surface is in doubt; top has the most work."


def test_the_cheapest_look_at_a_film_in_doubt(piece: Piece, made: Made, book: Knowledge) -> None:
    """The patch takes an hour; the next test is named where it takes less, a patch of another remover a quarter of one."""
    sure = (0.9, 0.9)
    patch = triage(piece, made(sure), None, book).told.show
    assert patch is not None
    assert (patch.step, patch.surface, patch.hours, patch.cost) == ("remover-patch", "top", 1.0, None)
    for minutes, name in ((30, "alcohol-drop"), (90, "remover-patch")):
        tests = {**book.tests, "alcohol-drop": replace(book.tests["alcohol-drop"], minutes=minutes)}
        show = triage(piece, made(sure, worths=("alcohol-drop",)), None, replace(book, tests=tests)).told.show
        assert show is not None
        assert (show.step, show.hours) == (name, min(minutes / 60, 1.0))
    other = triage(piece, made(sure, worths=("stripper-patch/acetone",)), None, book).told.show
    assert other is not None
    assert (other.step, other.hours) == ("stripper-patch/acetone", 0.25)
    assert "acetone" in other.name.lower()


def test_a_stain_in_doubt_is_looked_at_itself(piece: Piece, made: Made, book: Knowledge) -> None:
    """No test of the film shows whether a stain goes: its patch does, once the wood is bare; priced at the user's rate."""
    paid = replace(piece, money=Money(sells=900.0, rate_hour=30.0, fallback=250.0))
    show = triage(paid, made(worths=("alcohol-drop",)), None, book).told.show
    assert show is not None
    assert (show.step, show.hours, show.cost) == ("stain-patch", 2.0, 60.0)
    assert show.name.endswith("once the wood is bare")


def test_a_stain_on_a_kept_film_is_looked_at_once_the_face_is_clean(planned: Planner) -> None:
    """No wood is bared there."""
    kept = "wood: walnut, build: solid, plan: keep, known: {finish: shellac, how: laboratory}, stains: [{kind: white-bloom}]"
    show = planned(f"piece: invented\nnext_coat: shellac\nsurfaces:\n  - {{name: lid, {kept}}}\n").triage.show
    assert show is not None
    assert (show.step, show.name.rpartition(", ")[2]) == ("stain-patch", "once the face is clean")


def test_the_gain_by_hand(piece: Piece, made: Made, book: Knowledge) -> None:
    """Sells for 1000 with p = 0.2592, else for nothing; 4.5 to 10 hours at 10, remover for 10 to 30; usable in 2 to 4.

    On average 259.2 - 72.5 - 20, usable -30. Without the shorter job there is no verdict.
    """
    paid = replace(piece, money=Money(sells=1000.0, rate_hour=10.0, fallback=0.0))
    work, short = made(), {Node("clean", "top"): Task(hours=(2.0, 4.0), wait=0.0, cautions=[])}
    verdict = triage(paid, work, (work[0], list(short), short), book).told.verdict
    assert verdict is not None
    assert verdict.gain == pytest.approx(259.2 - 72.5 - 20)
    assert (verdict.hours, verdict.usable_hours) == pytest.approx((7.25, 3.0))
    assert verdict.usable_gain == pytest.approx(-30)
    assert verdict.decision == "go"
    assert triage(paid, work, None, book).told.verdict is None


EARLY = """
piece: invented
made: 1930-1945
kind: table
next_coat: shellac
{money}
surfaces:
  - {{name: legs, wood: oak, build: solid, area_m2: 6, tests: {{alcohol-drop: dissolves-fast}}}}
  - {{name: top, wood: oak, build: solid, area_m2: 0.8, tests: {{alcohol-drop: dissolves-fast}},
     stains: [{{kind: black-ring, tried: {{oxalic-acid: 1}}}}], repairs: [joints-loose]}}
"""


def test_an_early_trial_counts_the_steps_that_it_moves(planned: Planner) -> None:
    """Those that stand before the decision and would not if success and failure both paid; lost are their hours and the
    extra ones, at 30.
    """
    money = "money: {{sells: {}, rate_hour: 30, fallback: {}, as_it_stands: 150}}"
    usual = planned(EARLY.format(money=money.format(20000, 5000)))
    made = planned(EARLY.format(money=money.format(1500, 250)))
    early, order = made.triage.early, [*made.order, *made.if_anyway]
    assert usual.triage.early is None
    assert early is not None
    before = set(usual.order[: usual.order.index(GATE)])
    moved = [node for node in order[: order.index(GATE)] if node not in before]
    assert sorted(early.steps) == sorted(node.step for node in moved)
    assert "strip" in early.steps
    assert "first-coat" not in early.steps
    assert early.hours == pytest.approx(sum(usual.tasks[node].likely for node in moved))
    assert early.lost == pytest.approx(30 * (early.hours + early.extra_hours))
    assert early.extra_hours > 0
    assert early.chance == made.triage.standings[0].stain


def test_a_price_that_never_pays_asks_for_no_trial(planned: Planner) -> None:
    """It is said that none is asked for; where a success would pay the surface is named."""
    money = "money: {{sells: {}, rate_hour: 30, fallback: 30, as_it_stands: 100}}"
    hopeless, fair = (planned(EARLY.format(money=money.format(sells))).triage for sells in (150, 5000))
    assert hopeless.why.startswith("No trial can change that")
    assert fair.why.startswith("What decides is top")
