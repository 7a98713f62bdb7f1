"""Protection on the shopping list: what the chemistry asks for, and nothing else. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]
ON_SKIN = {"solvent", "alkali", "acid"}


def _bought(planned: Planner, surface: str, more: str = "", made: str = "1955") -> str:
    text = f"piece: invented\nmade: {made}\n{more}\nsurfaces:\n  - {{name: top, {surface}}}\n"
    return "\n".join(f"{i.what}: {i.amount[1]:g} {i.unit}" for i in planned(text).shopping)


def test_every_liquid_has_its_gloves(knowledge: Knowledge) -> None:
    """Each remover that wets the hand, each treatment that asks for gloves and each coat has exactly one kind of them."""
    rows = [gear for gear in knowledge.work.gear if gear.tool == "gloves"]
    wet = [n for n, r in knowledge.removers.items() if r.action in ON_SKIN]
    wet += [n for n, t in knowledge.treatments.items() if t.water or (t.litres_m2[1] > 0 and "gloves" in t.tools)]
    for name in [*wet, *knowledge.recoat.coats]:
        assert sum(name in gear.by for gear in rows) == 1, name


@pytest.mark.parametrize(
    ("solvents", "word"),
    [({"toluene", "dichloromethane"}, "laminate"), ({"acetone", "benzyl-alcohol", "nmp"}, "butyl")],
)
def test_gloves_by_what_goes_through_them(knowledge: Knowledge, solvents: set[str], word: str) -> None:
    """Glove makers' tables: aromatics and dichloromethane go through butyl and nitrile, ketones and benzyl alcohol through nitrile."""
    for name, remover in knowledge.removers.items():
        strong = [s for s in remover.blend if s in ("toluene", "dichloromethane")]
        if set(remover.blend) & solvents and (word == "laminate" or not strong):
            gloves = next(g.name for g in knowledge.work.gear if g.tool == "gloves" and name in g.by)
            assert word in gloves, name


def test_goggles_and_face_shield_where_it_burns(knowledge: Knowledge) -> None:
    """Whatever is sold with a burn caution asks for goggles."""
    goggles = {name for gear in knowledge.work.gear if gear.tool == "goggles" for name in gear.by}
    burning = {"alkali-burn", "acid-burn", "peroxide-caustic", "ammonia-vapour", "never-mix-bleach"}
    for book in (knowledge.removers, knowledge.treatments):
        for name, entry in book.items():
            assert not burning & set(entry.cautions) or name in goggles, name


def test_a_sprayed_coat_asks_for_a_mask_and_a_brushed_one_does_not(planned: Planner) -> None:
    """Vapour cartridges for lacquer; none for shellac over a film that stays."""
    keep = "wood: oak, build: solid, plan: keep, known: {finish: shellac, how: laboratory}"
    assert "cartridges" in _bought(planned, keep, "next_coat: nitrocellulose-lacquer")
    assert "cartridges" not in _bought(planned, keep, "next_coat: shellac")


def test_lead_kit_only_where_lead_is_untested(planned: Planner) -> None:
    """And sheets and bags for the waste wherever old paint comes off."""
    paint = "wood: pine, build: solid, tests: {colour-cast: opaque, layers-seen: paint-stack%s}"
    untested = _bought(planned, paint % "", made="1900-1920")
    tested = _bought(planned, paint % ", lead-swab: positive", made="1900-1920")
    assert "lead test swabs" in untested
    assert "lead test swabs" not in tested
    assert "waste bags" in untested
    assert "waste bags" in tested


def test_film_for_covered_gels_and_a_can_for_oily_rags(planned: Planner) -> None:
    """Cling film to cover the face; the can only where rags can heat themselves."""
    paint = _bought(
        planned,
        "wood: pine, build: solid, area_m2: 1, tests: {colour-cast: opaque, layers-seen: paint-stack}",
        made="1900-1920",
    )
    assert "cling film: 2.5 m2" in paint
    oil = "wood: oak, build: solid, known: {finish: drying-oil, how: laboratory}"
    assert "oily rags: 1" in _bought(planned, oil)
    shellac = "wood: oak, build: solid, plan: keep, known: {finish: shellac, how: laboratory}"
    assert "oily rags" not in _bought(planned, shellac, "next_coat: shellac")
    assert "cling film" not in _bought(planned, shellac, "next_coat: shellac")


def test_nothing_is_told_twice(planned: Planner) -> None:
    """What is on the list of things to buy is not among the tools to have at hand."""
    made = planned(
        "piece: invented\nmade: 1900-1920\nsurfaces:\n  - {name: top, wood: pine, build: solid, tests: {colour-cast: opaque, layers-seen: paint-stack}}\n"
    )
    assert made.tools
    assert not {item.what for item in made.shopping} & set(made.tools)
    assert not any("glove" in tool or "goggle" in tool for tool in made.tools)
