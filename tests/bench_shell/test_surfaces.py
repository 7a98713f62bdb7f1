"""The surfaces of a piece at the bench: added, renamed, copied, dropped, set against each other."""

from __future__ import annotations

import pytest
from bench_helpers import INTAKE, Bench, pick
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.piece.form import Surface
from oldcoat.shell.bench.words import in_quotes, new_name, quoted


def test_surfaces_are_added_renamed_copied_dropped(working: Bench) -> None:
    """The list of surfaces can change at any time; the last one cannot be dropped."""
    working.say("surface copy left leaf")
    assert working.state.surface == "left leaf"
    assert working.state.here.wood == "oak"
    working.say("surface rename leaf", "surface add back")
    assert [s.name for s in working.state.piece.surfaces] == ["top", "legs", "leaf", "back"]
    working.say("surface drop", "surface drop legs", "surface drop leaf")
    assert [s.name for s in working.state.piece.surfaces] == ["top"]
    assert "at least one surface" in working.say("surface drop")


def test_a_surface_that_departs_is_flagged_at_once(working: Bench) -> None:
    """Legs that dissolve in alcohol under a top that resists everything: told with all explanations and what to check."""
    for test, answer in (
        ("alcohol-drop", "3"),
        ("lacquer-thinner-drop", "3"),
        ("acetone-rub", "3"),
        ("film-build", "4"),
    ):
        pick(working, test)
        working.say(answer)
    working.say("surface legs")
    for test, answer in (("alcohol-drop", "1"), ("uv-a", "1"), ("lacquer-thinner-drop", "2")):
        pick(working, test)
        working.say(answer)
    for word in ("refinished", "part of another piece", "maker used another finish", "fit, screw holes, marks"):
        assert word in working.asked


def test_surfaces_are_dropped_and_renamed_by_name(working: Bench) -> None:
    """drop and rename take a name; what was lost is told and comes back; a new surface has the wood of all."""
    working.say("rename legs front legs")
    working.say("surface add Back")
    assert [(s.name, s.wood) for s in working.state.piece.surfaces][1:] == [("front legs", "oak"), ("Back", "oak")]
    pick(working, "uv-a")
    working.say("1")
    assert "Back (1 answer); back restores it" in working.say("drop back")
    assert [s.name for s in working.state.piece.surfaces] == ["top", "front legs"]
    working.say("back")
    assert working.state.piece.surfaces[2].tests == {"uv-a": "orange"}


def test_names_in_quotes_stay_whole(bench: Bench) -> None:
    """Commas and semicolons part names, quotes keep one together; what has either in it is quoted where it is told."""
    bench.say(*INTAKE[:4], '"left; right", top; legs', *INTAKE[5:])
    assert [s.name for s in bench.state.piece.surfaces] == ["left; right", "top", "legs"]
    bench.say('rename "left; right" "doors, both"')
    assert bench.state.piece.surfaces[0].name == "doors, both"
    assert '"doors, both"' in bench.say("surface nowhere")
    bench.say('surface "doors, both"', 'rename "doors, both" x')
    assert (bench.state.surface, bench.state.piece.surfaces[0].name) == ("x", "x")
    bench.say('rename 2 "top"', "rename 3 hind legs")
    assert [s.name for s in bench.state.piece.surfaces] == ["x", "top", "hind legs"]


@pytest.mark.parametrize(
    "line", ["surface add a; b", "rename top a, b", "surface add 7", 'rename "a; b" x', 'surface add "left']
)
def test_a_name_that_cannot_be_typed_back_is_refused(working: Bench, line: str) -> None:
    """It is told how to write it, and nothing is changed."""
    before = working.state
    assert "name" in working.say(line).lower()
    assert working.state == before


def test_capitals_do_not_make_two_surfaces_at_intake(bench: Bench) -> None:
    """Both would read FLAP on every title."""
    bench.say(*INTAKE[:4])
    assert "another flap" in bench.say("FLAP, top, flap")
    assert "Which surfaces?" in bench.asked
    bench.say("flap, top, flap")
    assert [s.name for s in bench.state.piece.surfaces] == ["flap", "top"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("rename legz chair legs", "no surface legz (did you mean legs?)"),
        ('rename xyzzy "Oma desk"', "no surface xyzzy; there is top, legs"),
        ("rename xyzzy chair legs", 'in quotes: rename "xyzzy chair legs"'),
        ("rename 7 leaf", "no surface 7"),
        ('rename "lid" "lid inside"', 'no surface "lid"'),
        ("rename 'pull-out slides' slides", '"pull-out slides" slides'),
        ('surface copy legz "flap inside"', "did you mean legs?"),
        ("surface legz", "did you mean legs?"),
        ("drop legz", "did you mean legs?"),
        ("surface add TOP", "a surface top already"),
        ("surface copy Legs", "a surface legs already"),
        ("rename top LEGS", "a surface legs already"),
    ],
)
def test_a_surface_that_is_not_there_is_told_and_nothing_is_changed(working: Bench, line: str, told: str) -> None:
    """The nearest name, or what there is; never is the surface here taken for it. Nor do capitals make a second one."""
    before = working.state
    assert told in working.say(line)
    assert working.state == before


def test_one_name_alone_is_for_the_surface_here(working: Bench) -> None:
    """Where it can mean nothing else: one word, a name in quotes, or words if there is one surface and none is like them."""
    assert "Renamed top: it is leaf now" in working.say("rename leaf")
    working.say('rename "left leaf"')
    assert working.state.surface == "left leaf"
    working.say("rename Left Leaf", 'surface copy legs "hind legs"')
    assert [s.name for s in working.state.piece.surfaces] == ["left leaf", "legs", "hind legs"]
    working.say('rename "left leaf" LEFT')
    assert working.state.piece.surfaces[0].name == "LEFT"
    working.say("drop 3", "drop 2", "rename drawer fronts")
    assert working.state.surface == "drawer fronts"
    assert "did you mean drawer fronts" in working.say("rename draw fronts sides")


@given(name=st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=20))
def test_what_is_told_can_be_typed_back(name: str) -> None:
    """A name as it is told in hints is one name again, whatever signs are in it but quotes."""
    told = quoted(name)
    if '"' not in name:
        assert in_quotes(told, ",;") == [name]
        assert new_name(told) == name


def test_a_copy_says_what_was_copied(working: Bench) -> None:
    """Wood and build of which surface, and that no answer went along."""
    working.say("surface legs")
    assert working.say("surface copy feet").startswith(
        "feet has the wood (oak) and build (solid) of legs, none of its answers."
    )
    assert "of top" in working.say('surface copy top "back rail"')
    assert working.state.here == Surface(name="back rail", wood="oak", build="solid")
