"""Cold and damp rooms, coats that would not hold, water and loose veneer. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Room
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.wood.moisture import driest_needed, emc, settling_hours, warmed

Planner = Callable[[str], Plan]


def _made(planned: Planner, surface: str, more: str = "", made: int = 1955) -> Plan:
    return planned(f"piece: invented\nmade: {made}\n{more}\nsurfaces:\n  - {{name: top, {surface}}}\n")


def _place(made: Plan) -> dict[str, int]:
    return {node.step: index for index, node in enumerate(made.order)}


def test_a_cold_room_is_warmed_before_the_coat(planned: Planner, knowledge: Knowledge) -> None:
    """The coat waits for it; how warm is the coat's own least, and its hours are those at that temperature."""
    oak = "wood: oak, build: solid"
    cold = _made(planned, oak, "next_coat: waterborne\nroom: {temperature_c: 10, humidity: 40}")
    place = _place(cold)
    assert place["warm-room"] < place["first-coat"]
    least = knowledge.recoat.coats["waterborne"].min_c
    assert f"{least:g} C or more" in cold.tasks[Node("warm-room", "")].note
    warm = _made(planned, oak, f"next_coat: waterborne\nroom: {{temperature_c: {least}, humidity: 40}}")
    assert "warm-room" not in _place(warm)
    assert cold.tasks[Node("first-coat", "top")].wait == warm.tasks[Node("first-coat", "top")].wait


def test_a_damp_room_is_dried_before_the_coat(planned: Planner) -> None:
    """Only if it is still damp once it is warm enough for the coat."""
    oak = "wood: oak, build: solid"
    place = _place(_made(planned, oak, "next_coat: shellac\nroom: {temperature_c: 20, humidity: 85}"))
    assert place["dry-room"] < place["first-coat"]
    cold = _place(_made(planned, oak, "next_coat: waterborne\nroom: {temperature_c: 8, humidity: 75}"))
    assert "warm-room" in cold
    assert "dry-room" not in cold


def test_damp_wood_gets_time_to_dry_in_the_better_air(planned: Planner, knowledge: Knowledge) -> None:
    """The damper it lay, the longer, by Fick's law on the depth of a face; never less than the book's night."""
    warm = Room(temperature_c=18, humidity=40)
    hours = [settling_hours(Room(temperature_c=8, humidity=h), warm, knowledge) for h in (40, 75, 85, 95)]
    assert hours == sorted(hours)
    assert hours[0] < 1 < hours[1] < hours[3] < 24 * 7
    for cold in (0, 8):
        text = f"next_coat: waterborne\nroom: {{temperature_c: {cold}, humidity: 97}}"
        made = _made(planned, "wood: oak, build: solid", text)
        room = Room(temperature_c=cold, humidity=97)
        wait = made.tasks[Node("warm-room", "")].wait
        assert wait >= settling_hours(room, warmed(room, knowledge.recoat.coats["waterborne"].min_c), knowledge)
        assert wait >= knowledge.work.steps["warm-room"].wait_hours


def test_no_room_is_warmed_for_nothing(planned: Planner) -> None:
    """A face that gets no coat asks for no heat."""
    place = _place(_made(planned, "wood: oak, plan: leave", "next_coat: waterborne\nroom: {temperature_c: 5}"))
    assert not place.keys() & {"warm-room", "dry-room", "first-coat"}


@given(st.floats(-5, 25), st.floats(20, 100), st.floats(0, 20))
def test_warming_dries_the_air_and_adds_no_water(celsius: float, humidity: float, more: float) -> None:
    """Never damper than before; ten degrees about halve it (any psychrometric chart)."""
    room = Room(temperature_c=celsius, humidity=humidity)
    assert warmed(room, celsius + more).humidity <= humidity + 1e-9
    ten = warmed(room, celsius + 10).humidity / humidity
    assert 0.45 < ten < 0.60
    assert warmed(room, celsius - 1) == room


def test_the_humidity_asked_for_is_the_highest_that_will_do(knowledge: Knowledge) -> None:
    """At it wood is within the limit, one per cent above it is not; Wood Handbook, table 4-2: 12 % at 65 and 21 C."""
    needed, most = driest_needed(21, knowledge), knowledge.substrate.drying.most_percent
    assert emc(21, needed) <= most < emc(21, needed + 1)
    assert most != 12 or abs(needed - 65) <= 1


def test_a_coat_that_would_not_hold_is_left_out_with_the_reason(planned: Planner, knowledge: Knowledge) -> None:
    """Oil over a lacquer that stays: no coat, no dulling for it, none bought, and the flag says so."""
    made = _made(
        planned, "wood: oak, build: solid, plan: keep, known: {finish: nitrocellulose-lacquer, how: laboratory}",
        "next_coat: hardwax-oil",
    )  # fmt: skip
    assert made.facings[0].chosen is not None
    assert made.facings[0].chosen.means == "no"
    assert not _place(made).keys() & {"scuff-film", "first-coat", "top-coats", "light-cure", "warm-room"}
    assert knowledge.recoat.coats["hardwax-oil"].name not in {item.what for item in made.shopping}
    assert any("left out" in flag for flag in made.flags)


def test_a_doubtful_coat_is_tried_first(planned: Planner) -> None:
    """A patch of the whole stack, with the coat's own hours, before the face is coated."""
    made = _made(planned, "wood: oak, build: solid, plan: keep, known: {finish: oil-modified-polyurethane, how: laboratory}",
                 "next_coat: shellac")  # fmt: skip
    coat = made.facings[0].coat
    assert coat is not None
    assert coat.means == "test"
    assert _place(made)["coat-patch"] < _place(made)["first-coat"]
    assert made.tasks[Node("coat-patch", "top")].wait == coat.use_hours


LOOSE = "wood: walnut, build: veneer, veneer_mm: 0.6, repairs: [veneer-loose], stains: [{kind: black-ring}]"


@pytest.mark.parametrize("room", ["", "room: {flame: true}"])
@pytest.mark.parametrize("film", ["", ", plan: strip", ", known: {finish: bare-wood, how: laboratory}"])
def test_no_water_before_loose_veneer_lies(planned: Planner, room: str, film: str) -> None:
    """Dry cleaning first; every wet step after the veneer is laid, also with no spirits in the room."""
    made = _made(planned, LOOSE + film, room, made=1930)
    place = _place(made)
    assert "dust-loose" in place
    assert not place.keys() & {"clean", "clean-with-water"}
    wet = place.keys() & {"clean-laid", "oxalic-acid", "rinse-after-oxalic", "strip", "raise-grain", "coat-wash"}
    assert "clean-laid" in wet
    assert all(place["lay-veneer"] < place[step] for step in wet)


def test_bleach_on_veneer_is_damp_and_not_on_thin_veneer(planned: Planner, knowledge: Knowledge) -> None:
    """The text is that for veneer; below the least thickness it is left; two-part bleach eats hide glue."""
    acid = knowledge.treatments["oxalic-acid"]

    def rung(surface: str, name: str) -> tuple[str, str]:
        made = _made(planned, surface, made=1930)
        one = next(r for r in made.facings[0].stains[0].ladder if r.treatment == name)
        return one.how, one.state

    assert rung(LOOSE, "oxalic-acid") == (acid.on_veneer, "next")
    assert rung(LOOSE.replace("veneer, veneer_mm: 0.6, repairs: [veneer-loose]", "solid"), "oxalic-acid")[0] == acid.how
    assert rung(LOOSE.replace("0.6", "0.25"), "oxalic-acid")[1] == "not-here"
    stained = LOOSE.replace("0.6", "2.0").replace("black-ring", "organic")
    assert rung(stained, "two-part-bleach")[1] == "not-here"
