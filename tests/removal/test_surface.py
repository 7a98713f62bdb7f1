"""What the substrate, the law and the person forbid, on invented surfaces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge

Examine = Callable[..., Examination]
mm = st.floats(min_value=0.1, max_value=3.0).map(lambda x: round(x, 2))


def by_name(done: Examination) -> dict[str, Any]:
    """remover -> prediction."""
    return {p.remover: p for p in done.predictions}


def vetoed(done: Examination) -> set[str]:
    """Removers that are forbidden here."""
    return {p.remover for p in done.predictions if p.vetoes}


@settings(max_examples=25)
@given(mm, mm, st.sampled_from([1790, 1880, 1925, 1962, 1990]), st.sampled_from(["walnut", "oak", "birch"]))
def test_a_veto_never_vanishes_when_the_veneer_gets_thinner(
    examine: Examine, one: float, other: float, made: int, wood: str
) -> None:
    """Whatever thick veneer forbids, thin veneer forbids too."""
    thin, thick = sorted((one, other))
    fields = {"wood": wood, "build": "veneer", "tests": {"alcohol-drop": "no-effect"}}
    piece = {"made": made}
    assert vetoed(examine(piece, veneer_mm=thick, **fields)) <= vetoed(examine(piece, veneer_mm=thin, **fields))


@settings(max_examples=20)
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


def test_restricted_is_a_warning_with_its_source(examine: Examine) -> None:
    """Regulation 2018/588 restricts N-methylpyrrolidone in the EU; it is a warning and not a veto."""
    (warning,) = by_name(examine({"place": "eu"}, build="solid"))["nmp-gel"].warnings
    assert warning.rule == "law-eu"
    assert warning.why.startswith("Restricted here.")
    assert warning.source


def test_paint_of_the_lead_years_is_lead_until_tested(examine: Examine) -> None:
    """No dry cutting before a negative swab (40 CFR 745.85)."""
    old = {"made": 1920}
    paint = {"build": "solid", "known": {"finish": "oil-paint", "how": "laboratory"}}
    assert {"sanding", "hot-air", "card-scraper"} <= vetoed(examine(old, **paint))
    tested = examine(old, **paint, tests={"lead-swab": "negative"})
    assert not {"hot-air", "card-scraper"} & vetoed(tested)


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
