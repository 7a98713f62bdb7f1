"""What a rule forbids on a surface stays out of the plan, the shopping list and the stains. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine import Examiner
from oldcoat.engine.piece.areas import area_of
from oldcoat.engine.piece.form import Piece
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
