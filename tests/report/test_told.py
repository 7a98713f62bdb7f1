"""What an answer tells, against the plan and the examination that it is told of; all faces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.reason import SEEN
from oldcoat.engine.report.told import layers, ranking, told_remover, told_route

Examine = Callable[..., Examination]


def test_the_ranking_is_by_chance_and_equals_by_name(examine: Examine, knowledge: Knowledge) -> None:
    """Each within its range; what speaks for it and against it strongest first, on its own side."""
    answers = {"alcohol-drop": "no-effect", "lacquer-thinner-drop": "dissolves", "uv-a": "orange"}
    done = examine({"made": 1930}, build="solid", tests=answers)
    rows = ranking(done, knowledge)
    assert [row.p for row in rows] == sorted(done.posterior.finishes.values(), reverse=True)
    assert all(row.low <= row.p <= row.high for row in rows)
    for row in rows:
        for told, sign in ((row.supports, 1), (row.against, -1)):
            pulls = [sign * float(text.rpartition("(")[2].split()[0]) for text in told if text.endswith("dB)")]
            assert pulls == sorted(pulls, reverse=True)
            assert all(pull >= 0 for pull in pulls)
    even = dict.fromkeys(done.posterior.finishes, 1 / len(done.posterior.finishes))
    level = ranking(replace(done, posterior=replace(done.posterior, finishes=even)), knowledge)
    assert [row.finish for row in level] == sorted(even)


def test_each_step_says_what_it_comes_after_and_why(knowledge: Knowledge, examiner: Examiner) -> None:
    """The book's reason for each row between a step and what it is told to come after; the first comes first."""
    text = "piece: x\nmade: 1930\nnext_coat: shellac\nsurfaces: [{name: top, wood: oak, build: solid, plan: strip}]"
    order = assess(parse_piece(text, "x", knowledge), knowledge, examiner=examiner).order_of_work
    assert (order[0].after, order[0].why) == ([], "it comes first")
    rows = {(row.first, row.then): row.why for row in knowledge.work.order}
    told = 0
    for step in order:
        assert (step.why == "it comes first") == (not step.after), step.step
        for before in step.after:
            if (before, step.step) in rows:
                told += 1
                assert rows[before, step.step] in step.why, (before, step.step)
    assert told > len(order) / 2


@pytest.mark.parametrize(
    ("tried", "patch", "again"),
    [
        (None, None, True),
        ("works", None, False),
        ("no-effect", None, True),
        (None, "lifts", False),
        (None, "softens", True),
        ("works", "dissolves", False),
        ("works", "no-effect", True),
    ],
)
def test_a_trial_that_went_well_is_not_asked_for_again(
    examine: Examine, knowledge: Knowledge, tried: str | None, patch: str | None, again: bool
) -> None:
    """All that was seen of the remover on this face, tries and patches, must have moved the film."""
    known = {"finish": "shellac", "how": "laboratory"}
    fields = {
        "tried": [{"remover": "denatured-alcohol", "result": tried, "minutes": 60}] if tried else [],
        "tests": {"stripper-patch/denatured-alcohol": patch} if patch else {},
    }
    done = examine({"made": 1930}, build="solid", known=known, **fields)
    route = replace(examine({"made": 1930}, build="solid", known=known).routes[0], remover="denatured-alcohol")
    asked, told = [s.text for s in route.stages], [s.text for s in told_route(route, done, knowledge).tree]
    before = f"Tried here before: {SEEN[done.changes[-1].seen]}. " if done.changes else ""
    assert ([text.removeprefix(before) for text in told] == asked) == again
    assert any(text.startswith(before) for text in told) == again


def test_minutes_of_a_coat_by_hand(examine: Examine, knowledge: Knowledge) -> None:
    """An hour in one coat; four hours in two are two hours each, of which it stays open for one and a half."""
    row = next(p for p in examine(build="solid").predictions if p.remover == "acetone")
    entry = knowledge.removers["acetone"]
    slow = replace(entry, work=replace(entry.work, open_minutes=90.0))
    book = replace(knowledge, removers={**knowledge.removers, "acetone": slow})
    told = told_remover(replace(row, dwell_minutes=(60.0, 240.0), coats=(1.0, 2.0)), book)
    assert told.coat_minutes == (60, 90)
    assert told.dwell_minutes == (60, 240)


def test_layers_that_are_worth_a_word(examine: Examine, knowledge: Knowledge) -> None:
    """Over it from fifteen in a hundred on, a spot that does not speak for the film is no layer; under it from a tenth, three."""
    over = {"clean": 0.4, "waxed": 0.15, "greasy": 0.14, "astray": 0.31}
    below = {"shellac": 0.4, "wax": 0.1, "epoxy": 0.09, "oil-paint": 0.2, "casein": 0.3}
    done = replace(examine(build="solid"), below={f: p for f, p in below.items() if f in knowledge.finishes})
    done = replace(done, posterior=Posterior(done.posterior.finishes, 0.0, {}, over, 0.0))
    rows = [(row.finish, row.where, row.p) for row in layers(done, knowledge)]
    most = sorted(((p, f) for f, p in done.below.items() if p >= 0.1), reverse=True)[:3]
    assert rows == [("waxed", "over", 0.15), *((f, "under", p) for p, f in most)]


def test_only_solid_wood_is_said_to_move(knowledge: Knowledge, examiner: Examiner) -> None:
    """Veneer is held by what it is laid on."""
    for build, moves in (("solid", True), ("veneer", False)):
        text = f"piece: x\nsurfaces: [{{name: top, wood: oak, build: {build}}}]"
        surface = assess(parse_piece(text, "x", knowledge), knowledge, examiner=examiner).surfaces[0]
        assert (surface.moves is not None) == moves
