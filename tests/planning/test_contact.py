"""Hours on the face are waits: slow gels, trial patches, and what is done meanwhile. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]
CHEST = """
piece: invented
made: 1900-1920
kind: chest
next_coat: shellac
surfaces:
  - {name: top, wood: pine, build: solid, tests: {colour-cast: opaque, layers-seen: paint-stack, lead-swab: negative}}
  - {name: legs, wood: oak, build: solid, known: {finish: shellac, how: laboratory}}
"""


def test_a_slow_gel_is_a_wait_and_the_scraping_comes_after(planned: Planner) -> None:
    """Laying on, its hours on the face for each coat as a wait, then scraping; together the hours of the route."""
    made = planned(CHEST)
    top = made.facings[0]
    assert top.route is not None
    assert "slow-remover" in top.conditions
    laid, lifted = made.tasks[Node("strip", "top")], made.tasks[Node("lift-film", "top")]
    assert laid.wait == top.contact_hours() * sum(top.route.coats) / 2
    assert laid.wait >= 1
    whole = top.strip_hours()
    assert whole is not None
    assert [a + b for a, b in zip(laid.hours, lifted.hours, strict=True)] == list(whole)
    order = [n.step for n in made.order if n.surface == "top"]
    assert order.index("strip") < order.index("lift-film") < order.index("wash-residue")


def test_a_fast_remover_is_watched_and_not_waited_for(planned: Planner, knowledge: Knowledge) -> None:
    """A remover that is done within the hour has no wait and no step of its own for scraping."""
    made = planned(CHEST)
    legs = made.facings[1]
    assert knowledge.work.contact_hours is not None
    assert 0 < legs.contact_hours() < knowledge.work.contact_hours
    assert made.tasks[Node("strip", "legs")].wait == 0
    assert Node("lift-film", "legs") not in made.order


def test_the_trial_patch_waits_as_long_as_the_remover(planned: Planner) -> None:
    """Not a flat hour: the hours of one coat."""
    made = planned(CHEST)
    for one in made.facings:
        assert made.tasks[Node("remover-patch", one.name)].wait == one.contact_hours()


def test_other_faces_are_worked_while_the_gel_is_on(planned: Planner) -> None:
    """Between laying on and scraping the top something is done on the legs, and the plan is shorter for it."""
    made = planned(CHEST)
    assert made.schedule is not None
    turns = {(t.step, t.surface): t for t in made.schedule.turns}
    on, off = turns["strip", "top"].end, turns["lift-film", "top"].start
    assert off >= turns["strip", "top"].ready - 1e-6
    assert any(t.surface == "legs" and t.end > t.start >= on - 1e-6 and t.end <= off + 1e-6 for t in turns.values())
    assert made.schedule.elapsed_hours < made.schedule.sequence_hours


def test_a_trial_that_went_well_is_not_planned_again(planned: Planner) -> None:
    """The order of work goes on to the face; after a trial that only softened the film it is tried again."""
    face = "name: face, wood: oak, build: solid, known: {finish: shellac, how: laboratory}"
    steps = {}
    for result in ("works", "softens"):
        tried = f"tried: [{{remover: denatured-alcohol, result: {result}, minutes: 20}}]"
        made = planned(f"piece: invented\nsurfaces: [{{{face}, {tried}}}]\n")
        steps[result] = {node.step for node in made.order}
        if result == "works":
            assert made.facings[0].done.routes[0].remover == "denatured-alcohol"
    assert "remover-patch" in steps["softens"]
    assert "remover-patch" not in steps["works"]
    assert "strip" in steps["works"]
