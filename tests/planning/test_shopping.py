"""The shopping list: quantities from areas, coats and coverage."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.shopping import coat_litres

Planner = Callable[[str], Plan]


@given(st.floats(0.1, 10), st.integers(1, 5))
def test_litres_grow_with_area_and_coats(area: float, coats: int) -> None:
    """Twice the area, twice the litres; one more coat, more."""
    low, high = coat_litres(area, coats, (5, 10))
    assert low <= high
    assert abs(coat_litres(2 * area, coats, (5, 10))[1] - 2 * high) < 1e-9
    assert coat_litres(area, coats + 1, (5, 10))[0] > low


def test_the_list_of_the_hall_table(planned: Planner, hall_table: str, knowledge: Knowledge) -> None:
    """Coat over both faces, crystals for the rounds that are left, nothing for steps that do not apply."""
    items = {i.what: i for i in planned(hall_table).shopping}
    coat = knowledge.recoat.coats["oil-polyurethane"]
    assert items[coat.name].amount[1] >= 1.4 * coat.coats / coat.coverage_m2_l[0] - 1e-3
    assert items[coat.name].surfaces == ["top", "legs"]
    crystals = items[knowledge.solutes["oxalic-acid"].name]
    assert crystals.unit == "g"
    assert 0 < crystals.amount[0] < crystals.amount[1] < 200
    assert all(0 <= i.amount[0] <= i.amount[1] for i in items.values())
    assert "pore filler" not in items


def test_more_area_never_asks_for_less(planned: Planner, hall_table: str) -> None:
    """A larger top needs at least as much of everything."""
    small = {i.what: i.amount for i in planned(hall_table).shopping}
    large = {i.what: i.amount for i in planned(hall_table.replace("area_m2: 0.8", "area_m2: 1.6")).shopping}
    for what in small.keys() & large.keys():
        assert large[what][1] >= small[what][1] - 1e-9, what


REPAIRED = """
piece: invented chair
made: 1900-1920
place: {place}
next_coat: shellac
surfaces:
  - {{name: frame, wood: oak, build: solid, area_m2: 0.6, known: {{finish: shellac, how: laboratory}},
     tried: [{{remover: denatured-alcohol, result: no-effect}}], repairs: [joints-loose, filler],
     stains: [{{kind: organic, tried: {{enzyme-wash: 3, chlorine-bleach: 3}}}}]}}
  - {{name: seat, wood: oak, build: veneer, veneer_mm: 0.8, area_m2: 0.2, known: {{finish: shellac, how: laboratory}},
     repairs: [veneer-loose, edge-missing, filler]}}
"""


def test_what_repairs_use_up_is_bought_and_what_they_need_is_at_hand(planned: Planner) -> None:
    """Glue, edge band and filler once a line; clamps, iron and the scraper among the tools and not on the list."""
    made = planned(REPAIRED.format(place="uk"))
    bought = " / ".join(item.what for item in made.shopping)
    for word in ("hide glue", "edge band", "filler"):
        assert bought.count(word) == 1, word
    glue = next(item for item in made.shopping if "hide glue" in item.what)
    assert "joints" in glue.why
    assert "veneer" in glue.why
    have = " / ".join(made.tools)
    for word in ("clamps", "iron", "scraper", "brush", "calipers"):
        assert have.count(word) == 1, word
    assert not set(made.tools) & {item.what for item in made.shopping}
    plain = planned(REPAIRED.format(place="uk").replace("[joints-loose, filler]", "[]"))
    assert not any("joints" in item.why for item in plain.shopping)


def test_a_scraper_that_is_the_way_off_is_at_hand(planned: Planner) -> None:
    """A tool that takes the film off is no litre to buy, and is not forgotten for having the name of the remover."""
    made = planned(
        "piece: invented\nmade: 1930-1945\nsurfaces:\n  - {name: top, wood: walnut, build: veneer, veneer_mm: 0.7, "
        "area_m2: 0.8, tests: {alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}}\n"
    )
    route = made.facings[0].route
    assert route is not None
    assert (route.remover == "card-scraper") == ("card scraper" in made.tools)
    assert "card scraper" not in {item.what for item in made.shopping}


def test_a_mix_is_bought_by_what_it_is_mixed_of(planned: Planner, knowledge: Knowledge) -> None:
    """Lye and peroxide apart, for 0.4 l a square metre of both together at the most; never a litre of the mix."""
    items = {i.what: i for i in planned(REPAIRED.format(place="us")).shopping}
    assert not any("mixed" in what or what in {t.name for t in knowledge.treatments.values()} for what in items)
    lye = next(i for what, i in items.items() if "lye" in what)
    peroxide = next(i for what, i in items.items() if "peroxide" in what)
    assert lye.unit == "g"
    assert lye.amount[1] <= 0.6 * 0.4 * 48
    assert peroxide.unit == "L"
    assert peroxide.amount[1] <= 0.6 * 0.4
    for name, treatment in knowledge.treatments.items():
        assert not treatment.litres_m2[1] or treatment.buy or treatment.solution or treatment.work, name


def test_strong_peroxide_is_told_where_it_is_restricted(planned: Planner) -> None:
    """Regulation (EU) 2019/1148, annex I, and Poisons Act 1972: above 12 % w/w not for a private person without leave."""
    for place, restricted in (("eu", True), ("uk", True), ("us", False), ("other", False)):
        made = planned(REPAIRED.format(place=place))
        stain = made.facings[0].stains[0]
        assert stain.next == "two-part-bleach"
        rung = next(r for r in stain.ladder if r.treatment == "two-part-bleach")
        limited = [i.what for i in made.shopping if "12 per cent" in i.why]
        assert [bool(limited), "12 per cent" in stain.told, any("12 per cent" in w for w in rung.warnings)] == [
            restricted
        ] * 3
        assert all("peroxide" in what for what in limited)


HELD = """
piece: invented pair
kind: chair
next_coat: shellac
surfaces:
  - {{name: chair, wood: oak, build: solid, area_m2: 0.6, known: {{finish: shellac, how: removal}}}}
parts:
  - {{label: SEAT, what: slip seat, surface: chair, matched: {matched}}}
"""


def test_nothing_is_bought_for_work_that_waits_for_parts(planned: Planner) -> None:
    """The remover and the coat wait until the seat is known to belong here; soap for the cleaning does not."""
    waits, goes = planned(HELD.format(matched="false")), planned(HELD.format(matched="true"))
    held, free = ({item.what for item in made.shopping} for made in (waits, goes))
    assert {"denatured alcohol", "shellac, dewaxed"} <= free - held
    assert "mild soap" in held


INKED = """
piece: invented
kind: table
surfaces:
  - {{name: top, wood: oak, build: solid, area_m2: 1, plan: keep, known: {{finish: {film}, how: laboratory}}, stains: [{{kind: dye-or-ink}}]}}
"""


@pytest.mark.parametrize(
    ("film", "yes", "no"),
    [("shellac", "mineral spirits", "denatured alcohol"), ("oil-resin-varnish", "denatured alcohol", "by the film")],
)
def test_a_swab_is_of_the_solvent_that_leaves_this_film(planned: Planner, film: str, yes: str, no: str) -> None:
    """Alcohol takes shellac up again (its own thinner) and leaves oil varnish; only the one is told and bought."""
    made = planned(INKED.format(film=film))
    swab = next(rung for stain in made.facings[0].stains for rung in stain.ladder if rung.treatment == "solvent-swab")
    bought = [item.what for item in made.shopping if "swab" in item.why]
    assert bought == [yes]
    assert not any(no in item.what for item in made.shopping)
    assert no not in swab.how


def test_a_treatment_that_is_refused_is_no_enemy(planned: Planner) -> None:
    """Bleach needs bare wood; where the film stays it never comes, and the swab is not warned of it."""
    made = planned(INKED.format(film="shellac"))
    rungs = {rung.treatment: rung for stain in made.facings[0].stains for rung in stain.ladder}
    assert rungs["chlorine-bleach"].state == "not-here"
    assert not any("chlorine" in told for told in rungs["solvent-swab"].warnings)


@pytest.mark.parametrize(("feature", "soap"), [("composite-core", False), ("carving", True)])
def test_no_soap_is_bought_for_a_face_that_bears_no_water(planned: Planner, feature: str, soap: bool) -> None:
    """Chipboard drinks and swells: the face is wiped with spirits; carved oak is washed."""
    made = planned(
        f"piece: invented\nkind: table\nsurfaces:\n  - {{name: top, wood: oak, build: veneer, veneer_mm: 0.8, "
        f"area_m2: 1, features: [{feature}], known: {{finish: shellac, how: laboratory}}}}\n"
    )
    assert "clean" in {node.step for node in made.order}
    assert ("mild soap" in {item.what for item in made.shopping}) == soap
