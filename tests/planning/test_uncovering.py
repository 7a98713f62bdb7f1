"""The top film comes off and the one below stays: no work as on bare wood, and coats as over the film that came out."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.report.warned import flags

Planner = Callable[[str], Plan]

# Invented: a varnish that peels off the shellac below, which is to stay.
CABINET = """
piece: invented music cabinet
made: 1880-1890
region: continental-europe
kind: cabinet
place: eu
room: {ventilation: good, flame: false}
EXTRA
surfaces:
  - {name: door, wood: walnut, build: veneer, veneer_mm: 1.2, area_m2: 0.6, colour: stain,
     known: {finish: oil-modified-polyurethane, how: laboratory}, plan: PLAN, KEEP
     tests: {wear-pattern: peels-sheets}, stains: [{kind: black-ring}]}
"""
BARE_STEPS = {"wash-residue", "even-wetting", "sand", "raise-grain", "colour", "oxalic-acid", "leave-unsanded"}
KEPT_STEPS = {"scuff-film", "first-coat", "clear-shop"}


def _door(planned: Planner, keep: bool, extra: str = "", tried: str = "card-scraper") -> Plan:
    kept = f"keep_under: true, under: shellac, tried: [{{remover: {tried}, result: works}}]," if keep else ""
    return planned(CABINET.replace("PLAN", "strip").replace("KEEP", kept).replace("EXTRA", extra))


def _steps(made: Plan) -> set[str]:
    return {node.step for node in made.order}


def test_the_film_that_comes_out_is_treated_as_one_that_is_kept(planned: Planner) -> None:
    """Wiped and dulled; neither washed for wax of a remover, wetted with alcohol, sanded, stained nor bleached."""
    bared, uncovered = _steps(_door(planned, keep=False)), _steps(_door(planned, keep=True))
    assert {"wash-residue", "even-wetting", "sand", "oxalic-acid", "colour"} <= bared
    assert not uncovered & BARE_STEPS
    assert uncovered >= KEPT_STEPS | {"strip", "clean-uncovered"}
    assert "clean-uncovered" not in bared


def test_no_paper_for_bare_wood_is_bought(planned: Planner) -> None:
    """The 320 paper that dulls the film, and no discs grit by grit."""
    bought = {item.what for item in _door(planned, keep=True).shopping}
    assert any(what.startswith("320 paper") for what in bought)
    assert not any("abrasive discs" in what for what in bought)
    assert any("abrasive discs" in item.what for item in _door(planned, keep=False).shopping)


def test_its_steps_stand_in_order(planned: Planner) -> None:
    """Off, wiped, dulled, and only then the coat."""
    steps = [node.step for node in _door(planned, keep=True).order]
    wanted = ["strip", "clean-uncovered", "scuff-film", "dust-off", "first-coat"]
    assert [step for step in steps if step in wanted] == wanted


def test_only_what_was_wet_has_to_dry(planned: Planner) -> None:
    """A scraper leaves nothing to dry in the film below; bare wood is washed after it and dries."""
    assert "dry-after-strip" not in _steps(_door(planned, keep=True))
    assert "dry-after-strip" in _steps(_door(planned, keep=False))


def test_coats_go_over_the_film_that_comes_out(planned: Planner, knowledge: Knowledge) -> None:
    """Each coat as the book has it over that film: conversion varnish over shellac is advised against (wj-other)."""
    one = _door(planned, keep=True, extra="next_coat: conversion-varnish").facings[0]
    row = knowledge.recoat.under[knowledge.finishes["shellac"].recoat_row]
    plain = {plan.over: plan for plan in one.coats}
    for over, word in row.items():
        found = knowledge.recoat.words[plain[over].word]
        assert found.means == knowledge.recoat.words[word].means or found.between is not None, over
    assert plain["conversion-varnish"].means == "no"
    assert one.coat is None
    bare = _door(planned, keep=False, extra="next_coat: conversion-varnish").facings[0]
    assert bare.coat is not None
    assert bare.coat.means == "works"


@pytest.mark.parametrize("coat", ["shellac", "oil-varnish"])
def test_as_many_coats_as_over_an_old_film(planned: Planner, knowledge: Knowledge, coat: str) -> None:
    """On a film that stays the book asks for other counts than on bare wood."""
    one = _door(planned, keep=True, extra=f"next_coat: {coat}").facings[0]
    assert one.coat is not None
    assert one.coat.coats == knowledge.recoat.coats[coat].over_film


def test_nothing_is_laid_over_what_cannot_yet_be_uncovered(planned: Planner, knowledge: Knowledge) -> None:
    """No remover spares the film below: the top is not dulled and coated either, but it is looked at and tested."""
    held = CABINET.replace(" plan: PLAN,", "").replace("KEEP", "keep_under: true, under: shellac,")
    held = held.replace("peels-sheets", "gradual-thinning").replace("EXTRA", "next_coat: shellac")
    made = planned(held)
    assert made.facings[0].done.routes == []
    assert made.facings[0].how == "leave"
    assert not _steps(made) & {"scuff-film", "first-coat", "top-coats", "strip"}
    assert _steps(made) >= {"test-surfaces", "wax-look", "measure-substrate"}
    kept = planned(held.replace("keep_under: true", "plan: keep, keep_under: true"))
    assert _steps(kept) >= {"scuff-film", "first-coat"}


# Invented: paint on paint; the upper coats are to come off.
CUPBOARD = """
piece: invented meal chest
made: 1810-1830
region: scandinavia
style: painted-cottage
kind: cabinet
place: eu
room: {ventilation: good, flame: false}
surfaces:
  - {name: lid, wood: pine, build: solid, area_m2: 0.9, keep_under: true, UNDER
     tests: {colour-cast: opaque, ammonia-drop: loosens-colour, LAYERS}}
"""


def _lid(planned: Planner, layers: str = "", under: str = "") -> Plan:
    told = f"layers-seen: {layers}" if layers else ""
    return planned(CUPBOARD.replace("LAYERS", told).replace("UNDER", f"under: {under}," if under else ""))


def _reasons(made: Plan) -> str:
    return " ".join(row.why for p in made.facings[0].done.predictions for row in (*p.vetoes, *p.harms))


def _opaque(below: dict[str, float], knowledge: Knowledge) -> float:
    """The share of paint in what may lie below."""
    return sum(p for f, p in below.items() if knowledge.finishes[f].film.opaque) / sum(below.values())


def test_what_was_seen_of_the_layers_counts_for_the_film_below(planned: Planner, knowledge: Knowledge) -> None:
    """A stack has a coat below, mostly paint, perhaps of the same kind; a clear coat under a clear one is no paint."""
    unseen = _lid(planned).facings[0].done
    stack = _lid(planned, "paint-stack").facings[0].done
    clear = _lid(planned, "clear-over-clear").facings[0].done
    assert stack.posterior.top not in unseen.below
    assert stack.below[stack.posterior.top] > 0
    assert sum(stack.below.values()) == pytest.approx(knowledge.belief.bands["almost-always"])
    assert sum(unseen.below.values()) < sum(stack.below.values())
    assert _opaque(stack.below, knowledge) > 0.5 > _opaque(unseen.below, knowledge)
    assert _opaque(clear.below, knowledge) < 0.1


def test_a_film_below_that_is_not_known_is_not_called_by_a_name(planned: Planner, knowledge: Knowledge) -> None:
    """No reason speaks of shellac as if it had been seen; once the film is told it has its name."""
    made = _lid(planned, "paint-stack")
    names = [entry.name for entry in knowledge.finishes.values()]
    assert "take the film below, which is to stay" in _reasons(made)
    assert not [name for name in names if f"the {name} below" in _reasons(made)]
    told = _lid(planned, "paint-stack", under="casein-paint")
    assert f"the {knowledge.finishes['casein-paint'].name} below" in _reasons(told)
    assert "take the film below" not in _reasons(told)


def test_it_is_said_that_the_film_below_is_not_known(planned: Planner, knowledge: Knowledge) -> None:
    """And which look tells of it, unless it was taken; nothing of the kind once it is told. Nothing is painted over."""
    look = knowledge.tests["layers-seen"].name.lower()

    def said(made: Plan) -> str:
        done = made.facings[0].done
        return " ".join(flag for flag in flags(done, Piece(piece="chest", surfaces=[done.surface]), knowledge))

    stack, unseen = _lid(planned, "paint-stack"), _lid(planned)
    assert "it is not known what lies below" in said(stack)
    assert "little speaks for" not in said(stack)
    assert look not in said(stack)
    assert f"Look first: {look}." in said(unseen)
    told = said(_lid(planned, "paint-stack", under="casein-paint"))
    assert "film-below" not in told
    assert not _steps(stack) & {"scuff-film-wet", "first-coat", "top-coats"}
