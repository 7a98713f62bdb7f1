"""What the substrate, the law and the person forbid, on invented surfaces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Law
from oldcoat.engine.piece.form import Surface, Tried
from oldcoat.engine.removal.objection import law_vetoes, law_warnings, told_before

Examine = Callable[..., Examination]
mm = st.floats(min_value=0.1, max_value=3.0).map(lambda x: round(x, 2))


def by_name(done: Examination) -> dict[str, Any]:
    """remover -> prediction."""
    return {p.remover: p for p in done.predictions}


def vetoed(done: Examination) -> set[str]:
    """Removers that are forbidden here."""
    return {p.remover for p in done.predictions if p.vetoes}


@settings(max_examples=40, deadline=None)
@given(
    mm,
    mm,
    st.sampled_from([1790, 1880, 1925, 1962, 1990]),
    st.sampled_from(["walnut", "oak", "birch"]),
    st.sampled_from([None, "shellac", "oil-paint", "polyester", "plastic-laminate"]),
    st.sampled_from([[], ["inlay"], ["composite-core"]]),
)
def test_nothing_gets_safer_when_the_veneer_gets_thinner(
    examine: Examine, one: float, other: float, made: int, wood: str, finish: str | None, features: list[str]
) -> None:
    """Whatever thick veneer forbids, thin veneer forbids too, and no remover harms it less."""
    thin, thick = sorted((one, other))
    known = {"known": {"finish": finish, "how": "laboratory"}} if finish else {"tests": {"alcohol-drop": "no-effect"}}
    fields = {"wood": wood, "build": "veneer", "features": features, **known}
    on_thick, on_thin = (examine({"made": made}, veneer_mm=x, **fields) for x in (thick, thin))
    assert vetoed(on_thick) <= vetoed(on_thin)
    for before, after in zip(on_thick.predictions, on_thin.predictions, strict=True):
        assert after.vetoes or after.harm >= before.harm - 1e-12, before.remover
        assert {v.rule for v in before.vetoes} <= {v.rule for v in after.vetoes} | {"no-budget-for-sanding"}


def test_a_scraper_on_thin_veneer_is_warned_of(examine: Examine) -> None:
    """0.5 mm bears no sanding, and a scraper only with a warning; 1 mm bears both. Invented faces."""
    thin, thick = (by_name(examine({"made": 1980}, build="veneer", veneer_mm=x, wood="walnut")) for x in (0.5, 1.0))
    assert "thin-veneer-under-a-scraper" in [h.rule for h in thin["card-scraper"].harms]
    assert "no-budget-for-sanding" in [v.rule for v in thin["sanding"].vetoes]
    assert not thick["card-scraper"].harms
    assert not thick["sanding"].vetoes


@settings(max_examples=20, deadline=None)
@given(mm, mm)
def test_thinner_veneer_never_has_more_to_give(examine: Examine, one: float, other: float) -> None:
    """The sanding budget only grows with the veneer, and the runs it bears with it."""
    thin, thick = (examine(build="veneer", veneer_mm=x).under for x in sorted((one, other)))
    assert thin.budget_mm <= thick.budget_mm
    assert len(thin.sequences) <= len(thick.sequences)


def test_guessed_veneer_has_less_to_give_than_measured(examine: Examine) -> None:
    """The margin for what cannot be seen is larger for a guess."""
    guessed = examine({"made": 1935}, build="veneer").under
    assert guessed.veneer_mm is not None
    measured = examine({"made": 1935}, build="veneer", veneer_mm=guessed.veneer_mm[0]).under
    assert guessed.unseen_mm > measured.unseen_mm
    assert guessed.budget_mm < measured.budget_mm


@pytest.mark.parametrize("place", ["us", "eu", "uk"])
def test_dichloromethane_is_not_for_a_private_person(examine: Examine, place: str) -> None:
    """84 FR 11420; Decision 455/2009/EC; HSE: forbidden whatever the room and the mask."""
    room = {"ventilation": "good", "flame": False, "respirator": True}
    done = examine({"place": place, "room": room}, build="solid")
    assert f"law-{place}" in [v.rule for v in by_name(done)["dichloromethane"].vetoes]


def test_a_place_without_a_row_is_said_to_be_unknown(examine: Examine, knowledge: Knowledge) -> None:
    """Every chemical warns where the law was not read, and no tool does."""
    done = examine({"place": "other"}, build="solid")
    for name, prediction in by_name(done).items():
        chemical = knowledge.removers[name].action in ("solvent", "alkali", "acid")
        assert bool(prediction.warnings) == chemical, name
        assert all("not known" in w.why for w in prediction.warnings)


@pytest.mark.parametrize("place", ["eu", "uk"])
def test_what_harms_the_unborn_is_not_sold_to_the_public(examine: Examine, place: str) -> None:
    """REACH annex XVII, entry 30: substances toxic to reproduction, category 1B, are not for the general public."""
    vetoes = by_name(examine({"place": place}, build="solid"))["nmp-gel"].vetoes
    assert f"law-{place}" in [v.rule for v in vetoes]


def test_restricted_is_a_warning_with_its_source(knowledge: Knowledge) -> None:
    """An invented row of the law: restricted warns and does not veto, banned vetoes and does not warn."""
    gel = knowledge.removers["nmp-gel"]
    row = Law(place="us", status="restricted", text="Only in small cans.", source=["rm-3"])
    (warning,) = law_warnings(replace(gel, law=[row]), "us")
    assert (warning.rule, warning.source) == ("law-us", ["rm-3"])
    assert warning.why == "Restricted here. Only in small cans."
    assert law_vetoes(replace(gel, law=[row]), "us") == []
    assert law_warnings(replace(gel, law=[replace(row, status="banned")]), "us") == []


@pytest.mark.parametrize("under", ["oil-paint", "alkyd-enamel"])
@pytest.mark.parametrize("top", ["shellac", "oil-modified-polyurethane", "wax"])
def test_old_paint_under_a_clear_film_is_lead_until_tested(examine: Examine, top: str, under: str) -> None:
    """40 CFR 745 counts paint from before 1978 as lead until shown otherwise, whatever clear coat lies over it."""
    fields: dict[str, Any] = {"build": "solid", "wood": "pine", "known": {"finish": top, "how": "laboratory"}}
    done = examine({"made": "1935-1955"}, **fields, under=under)
    vetoed = {p.remover for p in done.predictions if p.vetoes}
    assert {"sanding", "hot-air", "card-scraper"} <= vetoed
    assert done.worths[0].test == "lead-swab"
    on_top = examine({"made": "1935-1955"}, **fields, under=under, tests={"lead-swab": "negative"})
    assert {"sanding", "hot-air", "card-scraper"} <= {p.remover for p in on_top.predictions if p.vetoes}
    late = examine({"made": "1995-2005"}, **fields, under=under)
    assert not {"sanding", "card-scraper"} & {p.remover for p in late.predictions if p.vetoes}


def test_paint_of_the_lead_years_is_lead_until_tested(examine: Examine) -> None:
    """No dry cutting before a negative swab of all the coats there are (40 CFR 745.85)."""
    old = {"made": 1920}
    paint = {"build": "solid", "known": {"finish": "oil-paint", "how": "laboratory"}}
    assert {"sanding", "hot-air", "card-scraper"} <= vetoed(examine(old, **paint))
    tested = examine(old, **paint, tests={"lead-swab": "negative", "layers-seen": "one"})
    assert not {"hot-air", "card-scraper"} & vetoed(tested)


@pytest.mark.parametrize("finish", ["oil-paint", "alkyd-enamel", "latex-paint"])
def test_a_swab_tells_of_the_coats_that_it_wets(examine: Examine, finish: str) -> None:
    """A no lifts the bar on dry sanding only where one coat was seen; else the edge of a chip is asked for first."""

    def face(**tests: str) -> Examination:
        known = {"finish": finish, "how": "laboratory"}
        return examine(
            {"made": 1920}, build="solid", wood="maple", known=known, tests={"lead-swab": "negative", **tests}
        )

    unseen, stack = face(), face(**{"layers-seen": "paint-stack"})
    assert "sanding" in vetoed(unseen) & vetoed(stack)
    assert unseen.worths[0].test == "layers-seen"
    assert unseen.worths[0].safety
    assert "sanding" not in vetoed(face(**{"layers-seen": "one"}))


@pytest.mark.parametrize(
    ("feature", "forbidden"),
    [
        ("inlay", {"sanding", "caustic-soda", "hot-air"}),
        ("metal-inlay", {"sanding", "ammonia", "benzyl-alcohol-acid"}),
        ("bone-or-shell", {"caustic-soda", "benzyl-alcohol-acid", "infrared-heat"}),
        ("gilding", {"card-scraper", "sanding", "ammonia"}),
        ("glass", {"hot-air"}),
        ("composite-core", {"caustic-soda", "alkaline-poultice"}),
    ],
)
def test_what_is_let_in_or_laid_on_is_spared(examine: Examine, feature: str, forbidden: set[str]) -> None:
    """A feature forbids what would eat it; without it the same face does not forbid all of that."""
    film = {"finish": "alkyd-varnish", "how": "laboratory"}
    fields = {"build": "solid", "wood": "maple", "known": film}
    assert forbidden <= vetoed(examine({"made": 1990}, **fields, features=[feature]))
    assert not forbidden <= vetoed(examine({"made": 1990}, **fields))


def test_decals_and_labels_are_masked_off(examine: Examine) -> None:
    """They raise no veto for all, but a flag that says to mask them."""
    done = examine(build="solid", features=["decal", "label", "makers-mark"])
    flags = {f.rule.then.flag.id for f in done.firings if f.rule.then.flag}
    assert {"decal-stays-masked", "label-masked-off", "mark-masked-off"} <= flags


def test_lye_and_acid_must_not_meet(examine: Examine) -> None:
    """After one was tried the other is forbidden until the face is rinsed."""
    done = examine(build="solid", wood="maple", tried=[{"remover": "caustic-soda", "result": "no-effect"}])
    assert "must-not-meet" in [v.rule for v in by_name(done)["benzyl-alcohol-acid"].vetoes]
    assert "must-not-meet" not in [v.rule for v in by_name(done)["acetone"].vetoes]


def test_either_side_may_say_that_two_must_not_meet(knowledge: Knowledge) -> None:
    """An invented enmity, told in one of the two entries only; what did harm is named for itself."""
    acetone, spirits = (replace(knowledge.removers[n], never_with=[]) for n in ("acetone", "mineral-spirits"))
    face = Surface(name="face", tried=[Tried(remover="mineral-spirits", result="works")])

    def rules(mine: list[str], theirs: list[str]) -> list[str]:
        removers = {
            **knowledge.removers,
            "acetone": replace(acetone, never_with=mine),
            "mineral-spirits": replace(spirits, never_with=theirs),
        }
        book = replace(knowledge, removers=removers)
        return [found.rule for found in told_before("acetone", removers["acetone"], face, book)]

    assert rules([], []) == []
    assert rules(["mineral-spirits"], []) == rules([], ["acetone"]) == ["must-not-meet"]


def test_a_try_that_spared_the_film_below_outweighs_the_fear(examine: Examine) -> None:
    """For that remover alone; what would more likely than not take it stays forbidden."""
    fields = {"build": "solid", "known": {"finish": "oil-modified-polyurethane", "how": "laboratory"}}
    fields |= {"keep_under": True, "under": "oil-resin-varnish"}

    def feared(**more: Any) -> set[str]:
        done = examine({"made": 1900}, **fields, **more)
        return {p.remover for p in done.predictions if any(h.rule == "keep-the-film-below" for h in p.harms)}

    before = feared()
    spared = min(before)
    assert len(before) > 1
    assert feared(tried=[{"remover": spared, "result": "works"}]) == before - {spared}
    assert feared(tried=[{"remover": spared, "result": "softens"}]) == before


def test_the_film_to_be_kept_vetoes_what_takes_it(examine: Examine) -> None:
    """Polyurethane over shellac that is to stay: alcohol would take the shellac, mineral spirits would not."""
    fields = {"build": "solid", "known": {"finish": "oil-modified-polyurethane", "how": "laboratory"}}
    kept = by_name(examine({"made": 1900}, **fields, keep_under=True, under="shellac"))
    free = by_name(examine({"made": 1900}, **fields))
    assert "keep-the-film-below" in [v.rule for v in kept["denatured-alcohol"].vetoes]
    assert "keep-the-film-below" in [v.rule for v in kept["benzyl-alcohol-gel"].vetoes]
    assert not kept["mineral-spirits"].vetoes
    assert not any(v.rule == "keep-the-film-below" for p in free.values() for v in p.vetoes)


def test_taking_both_films_names_the_second_remover(examine: Examine) -> None:
    """Latex over shellac, both to go: the route says what takes the shellac once it shows."""
    fields = {"build": "solid", "known": {"finish": "latex-paint", "how": "laboratory"}, "under": "shellac"}
    done = examine({"made": 1990}, **fields, tests={"lead-swab": "negative"})
    below = [stage for route in done.routes for stage in route.stages if stage.kind == "below"]
    assert below
    assert all("shellac" in stage.text and stage.remover for stage in below)
    names = {stage.remover for stage in below}
    assert all(by_name(done)[n].effects_by["shellac"]["dissolves"] >= 0.4 for n in names)


def test_what_only_the_room_stands_against(knowledge: Knowledge) -> None:
    """A stove in the shed bars alcohol on a large shellac face: said so; with the stove out nothing is said."""

    def elsewhere(flame: str) -> str | None:
        text = (
            f"piece: x\nmade: 1890\nplace: us\nroom: {{ventilation: good, flame: {flame}}}\n"
            "surfaces: [{name: top, build: solid, wood: maple, area_m2: 4.0, film_um: 20,"
            " tests: {alcohol-drop: dissolves-fast, uv-a: orange}}]"
        )
        piece = parse_piece(text, "x", knowledge)
        way = Examiner(knowledge, this_year=2026).examine(piece, piece.surfaces[0]).elsewhere
        return way.remover if way else None

    assert elsewhere("true") == "denatured-alcohol"
    assert elsewhere("false") is None
