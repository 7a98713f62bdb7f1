"""What stays in sight on small screens: where it stands, what takes it off, what was kept."""

from __future__ import annotations

import pytest
from bench_helpers import Bench, text_of

from oldcoat.shell.bench.page import Choices, Page, Ranked, Row
from oldcoat.shell.bench.view import lines_of, parts

SIZES = [(60, 20), (80, 24)]
SHELLAC = ("alcohol-drop", "1", "mineral-spirits-rub", "no-effect", "uv-a", "orange")
LACQUER = ("alcohol-drop", "3", "lacquer-thinner-drop", "1")


def on_screen(page: Page, width: int, height: int) -> Page:
    """What of a page stands on a screen; it must fit."""
    shown = parts(page, width, height)[0]
    assert lines_of(shown, width) <= height - 2, text_of(shown)
    return shown


def head(page: Page) -> str:
    """Title, first finish and its chance, as they stand on top."""
    return " ".join(
        f"{i.name} {i.p:.0%}" if isinstance(i, Ranked) else i.text for i in page[:2] if not isinstance(i, Choices)
    )  # type: ignore[union-attr]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_stop_begins_with_where_it_stands_and_names_what_takes_it_off(
    working: Bench, width: int, height: int
) -> None:
    """Two faces that differ, both at their stop: surface, finish, per cent, STOP, remover and all choices in sight."""
    for face, answers in (("top", SHELLAC), ("legs", LACQUER)):
        working.say(f"surface {face}", *answers)
    for face in ("top", "legs"):
        working.say(f"surface {face}")
        while working.dialogue.question.test:
            working.say("skip")
        shown = on_screen(working.dialogue.question.page, width, height)
        done = working.desk.examined()
        name = working.desk.knowledge.finishes[done.posterior.top].name
        assert face.upper() in head(shown)
        assert name in head(shown)
        assert f"{done.posterior.finishes[done.posterior.top]:.0%}" in head(shown)
        assert "STOP" in text_of(shown)
        assert working.desk.knowledge.removers[done.routes[0].remover].name in text_of(shown)
        way_off = next(i.text for i in shown if isinstance(i, Row) and i.mark == "way off:")
        assert "trial patch on a hidden spot first" in way_off
        assert "trial patch on a hidden spot first" in working.say("result").splitlines()[0]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_trial_that_went_well_is_not_asked_for_again(working: Bench, width: int, height: int) -> None:
    """At the stop it goes on to the whole face, and says so wherever the way off is told."""
    working.say("surface top", *SHELLAC, "tried", "denatured-alcohol", "softens", "5")
    while working.dialogue.question.test:
        working.say("skip")
    assert "Then trial patch with denatured alcohol" in working.asked
    working.say("tried", "denatured-alcohol", "works", "5")
    assert "rial patch" not in working.asked
    assert "is as it was. Then the whole face: Flood one small part" in working.asked
    assert "as its trial here went well" in text_of(on_screen(working.dialogue.question.page, width, height))
    assert "as its trial here went well" in working.say("result").splitlines()[0]
    route = working.desk.told_route(working.desk.examined(), working.desk.examined().routes[0])
    assert "The trial with denatured alcohol is done: it worked." in route.steps[0]
    assert [stage.text for stage in route.tree] == route.steps


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_test_shows_where_it_stands(working: Bench, width: int, height: int) -> None:
    """With sisters that differ and old paint possible: title, first finish and per cent stand above every test."""
    working.say("surface top", *SHELLAC, "surface legs", *LACQUER)
    top = working.desk.examined().posterior
    name = working.desk.knowledge.finishes[top.top].name
    for test in working.desk.knowledge.tests:
        if test not in working.state.here.tests:
            working.say("tests", test)
            shown = on_screen(working.dialogue.question.page, width, height)
            assert all(word in head(shown) for word in ("LEGS", name, f"{top.finishes[top.top]:.0%}")), test


def test_that_it_was_kept_is_in_sight(working: Bench) -> None:
    """After the closing: the line that says where it was kept stands on the smallest screen, above the question."""
    working.say("done", "none", "none", "none", "none")
    page = working.dialogue.reply("keep")
    shown = on_screen([*page, *working.dialogue.question.page], 60, 20)
    assert "Kept in the casebook" in text_of([i for i in shown if isinstance(i, Row)])


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_that_a_test_must_not_be_done_stays_in_sight(working: Bench, width: int, height: int) -> None:
    """Old paint and a flame: the test that was picked all the same says so on any screen, and why tells the reason."""
    working.say("piece", "room", "flame", "", "lacquer-thinner-drop")
    told = working.dialogue.question
    assert told.test == "lacquer-thinner-drop"
    assert "not here" in text_of(on_screen(told.page, width, height)).lower()
    assert "flame" in working.say("why").lower()
