"""What a rule forbids on a surface stays out of the plan, the shopping list and the stains. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine import Examiner
from oldcoat.engine.piece.areas import area_of
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.planning.facing import Facing
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]

PAINTED = """
piece: invented
made: 1900-1930
kind: chest
next_coat: waterborne
surfaces:
  - {name: top, wood: pine, build: solid, tests: {colour-cast: opaque, colour-location: opaque,
     layers-seen: paint-stack, lead-swab: SWAB}, stains: [{kind: light}]}
"""
LACQUER = """
piece: invented
made: 1850-1900
region: east-asia
kind: cabinet
next_coat: shellac
surfaces:
  - {name: doors, known: {finish: east-asian-lacquer, how: laboratory}, stains: [{kind: white-bloom}]}
"""


def _steps(made: Plan) -> set[str]:
    return {node.step for node in made.order}


def _bought(made: Plan) -> str:
    return "; ".join(item.what for item in made.shopping)


def test_what_must_not_be_stripped_is_left(planned: Planner) -> None:
    """Tree lacquer is dusted and left: nothing is stripped, sanded, coated, treated or bought for it."""
    made = planned(LACQUER)
    assert made.facings[0].how == "leave"
    assert "leave-alone" in _steps(made)
    assert not _steps(made) & {"strip", "sand", "wet-abrade", "clean", "wax-look", "first-coat", "test-worst-surface"}
    assert not made.shopping
    assert made.facings[0].stains[0].next is None


@pytest.mark.parametrize("swab", ["positive", "negative"])
def test_lead_allows_no_dry_dust(planned: Planner, swab: str) -> None:
    """On a stack of old paint no swab brings dry sanding back; wet work comes after the face was washed."""
    made = planned(PAINTED.replace("SWAB", swab))
    order = [node.step for node in made.order]
    assert "sand" not in order
    assert order.index("wash-residue") < order.index("wet-abrade")
    assert "grit" not in _bought(made)
    light = next(r for r in made.facings[0].stains[0].ladder if r.treatment == "light-sand")
    assert light.state == "not-here"


def test_veneer_without_budget_is_not_sanded(planned: Planner) -> None:
    """At 0.3 mm nothing may go: the step says so and no grit is bought."""
    made = planned(
        "piece: invented\nnext_coat: shellac\nmade: 1985\nsurfaces:\n  - {name: lid, wood: walnut, build: veneer, veneer_mm: 0.3,"
        " tests: {alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}}\n"
    )
    assert "leave-unsanded" in _steps(made)
    assert not _steps(made) & {"sand", "wet-abrade", "raise-grain"}
    assert "grit" not in _bought(made)


def test_no_spirits_by_a_flame(planned: Planner) -> None:
    """With a flame in the room cleaning is done with water, and each step with spirits says that it is done elsewhere."""
    safe = PAINTED.replace("SWAB", "positive")
    made = planned(safe + "room: {flame: true}\n")
    assert "clean-with-water" in _steps(made)
    assert "clean" not in _steps(made)
    spirits = [t for t in made.tasks.values() if {"flammable-solvent", "very-flammable"} & set(t.cautions)]
    assert spirits
    assert all("Not in this room" in task.note for task in spirits)
    assert all("not in this room" in i.why for i in made.shopping if "naphtha" in i.what)
    other = planned(safe + "room: {flame: false, ventilation: good}\n")
    assert "clean" in _steps(other)
    assert not any("Not in this room" in task.note for task in other.tasks.values())


def test_what_stains_and_coats_name_is_not_for_this_room_either(planned: Planner) -> None:
    """Where a flame was told, the wipe, the rungs after it and the coat say so too, or the coat that goes under it."""
    face = (
        "wood: walnut, build: solid, plan: keep, known: {finish: FILM, how: laboratory}, stains: [{kind: white-bloom}]"
    )
    text = "piece: invented\nnext_coat: COAT\nroom: {flame: true}\nsurfaces:\n  - {name: lid, " + face + "}\n"

    def lid(film: str, coat: str, room: str = "flame: true") -> Facing:
        here = text.replace("FILM", film).replace("COAT", coat).replace("flame: true", room)
        return planned(here).facings[0]

    told = "Not in this room"
    one = lid("shellac", "shellac")
    ahead = [r for r in one.stains[0].ladder if r.state in ("next", "later") and "flammable-solvent" in r.cautions]
    assert ahead
    assert all(told in " ".join(rung.why) for rung in ahead)
    assert told in one.stains[0].told
    assert one.chosen is not None
    assert told in one.chosen.told
    between = lid("drying-oil", "waterborne").chosen
    assert between is not None
    assert between.between == "shellac"
    assert told in between.told
    safe = lid("shellac", "shellac", "flame: false, ventilation: good")
    assert told not in safe.stains[0].told
    assert safe.chosen is not None
    assert told not in safe.chosen.told


@pytest.mark.parametrize(("finish", "coat"), [("drying-oil", "oil"), ("hardwax-oil", "hardwax-oil"), ("wax", "wax")])
def test_what_is_in_the_wood_is_renewed(planned: Planner, finish: str, coat: str) -> None:
    """Oil is cleaned and oiled again, wax waxed again, also on oily wood and with no coat named."""
    made = planned(
        f"piece: invented\nmade: 1965\nsurfaces:\n  - {{name: top, wood: teak, build: solid, known: {{finish: {finish}, how: laboratory}}}}\n"
    )
    one = made.facings[0]
    assert (one.how, one.coat and one.coat.over, one.coat and one.coat.means) == ("keep", coat, "works")
    assert not _steps(made) & {"strip", "sand", "scuff-film"}


def test_cautions_stand_where_they_matter(planned: Planner) -> None:
    """A clear lacquer of 1985 on solid wood has no lead, arsenic, mould or veneer to warn of."""
    made = planned(
        "piece: invented\nmade: 1985\nsurfaces:\n  - {name: top, wood: maple, build: solid,"
        " known: {finish: nitrocellulose-lacquer, how: laboratory}}\n"
    )
    told = {caution for task in made.tasks.values() for caution in task.cautions}
    assert "wood-dust" in told
    assert not told & {"lead-until-tested", "arsenic-green", "mould-spores", "veneer-through", "silica-dust"}


def test_one_named_face_is_not_the_whole_piece(examiner: Examiner, read: Callable[[str], Piece]) -> None:
    """The lid of a piano is about a third of it; a case is all of it; a door of a door too; shares never pass the whole."""

    def areas(kind: str, *names: str) -> list[float]:
        rows = "".join(f"  - {{name: {name}}}\n" for name in names)
        piece = read(f"piece: invented\nkind: {kind}\nsurfaces:\n{rows}")
        return [area_of(piece, surface, examiner.knowledge) for surface in piece.surfaces]

    low, high = examiner.knowledge.work.areas_m2["piano"]
    whole = (low + high) / 2
    assert areas("piano", "lid")[0] == pytest.approx(whole / 3, rel=0.05)
    assert areas("piano", "case")[0] == pytest.approx(whole)
    assert sum(areas("piano", "lid", "case")) == pytest.approx(whole)
    assert sum(areas("piano", "lid", "top", "sides", "front", "back", "case")) == pytest.approx(whole)
    assert areas("door", "door")[0] == pytest.approx(sum(examiner.knowledge.work.areas_m2["door"]) / 2)


@pytest.mark.parametrize(
    ("swab", "word"), [("positive", "lead-is-there"), (None, "lead-until-tested"), ("negative", None)]
)
def test_lead_is_told_at_each_touch_until_the_face_is_bare_and_washed(
    planned: Planner, swab: str | None, word: str | None
) -> None:
    """In the words for what the swab said; the sheet lies and the swab is taken before mould is brushed off."""
    tests = f"tests: {{lead-swab: {swab}}}," if swab else ""
    made = planned(
        f"""
piece: invented
made: 1900
surfaces:
  - {{name: top, wood: pine, build: solid, known: {{finish: oil-paint, how: removal}}, plan: strip, {tests}
     stains: [{{kind: mould}}]}}
"""
    )
    order = [node.step for node in made.order]
    washed = order.index("wash-residue")
    for node in made.order:
        lead = {"lead-is-there", "lead-until-tested"} & set(made.tasks[node].cautions)
        if node.surface and any(made.tasks[node].hours) and order.index(node.step) <= washed and word is not None:
            assert lead == {word}
        elif node.step in ("even-wetting", "first-coat", "measure-substrate"):
            assert not lead
    assert order.index("lay-sheet") < order.index("vacuum-mould")
    assert ("lead-test" in order) == (swab is None)
    assert swab is not None or order.index("lead-test") < order.index("vacuum-mould")


def test_what_is_let_in_is_masked_before_the_first_liquid_and_named_in_each_wet_step(planned: Planner) -> None:
    """Leather and a label in a face that is bleached; no step floods it edge to edge."""
    made = planned(
        """
piece: invented
made: 1880
kind: desk
surfaces:
  - {name: top, wood: mahogany, build: solid, features: [leather, label], plan: strip,
     known: {finish: shellac, how: removal}, stains: [{kind: black-ring}]}
"""
    )
    order = [node.step for node in made.order]
    assert order.index("mask-features") < min(order.index(step) for step in ("wax-look", "clean", "strip"))
    wet = [made.tasks[node] for node in made.order if node.step.startswith(("oxalic-acid", "clean", "strip"))]
    assert len(wet) > 2
    assert all("leather and the label" in task.note and "edge to edge" not in task.note for task in wet)
    assert "edge to edge" not in made.facings[0].stains[0].told


def test_every_feature_that_a_step_can_hurt_is_named(planned: Planner) -> None:
    """Bone and metal in one face: both are named where it is rubbed, and where a treatment is refused."""
    made = planned(
        """
piece: invented
made: 1880
next_coat: shellac
surfaces:
  - {name: top, wood: mahogany, build: solid, features: [bone-or-shell, metal-inlay], plan: keep,
     known: {finish: shellac, how: removal}, stains: [{kind: black-ring}]}
"""
    )
    rubbed = next(made.tasks[node] for node in made.order if node.step == "scuff-film")
    refused = made.facings[0].stains[0].ladder[0].why[0]
    assert all("Bone" in told and "Brass" in told for told in (rubbed.note, refused))
