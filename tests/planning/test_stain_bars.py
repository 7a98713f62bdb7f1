"""What bars a treatment on a face and what is warned of: one field of an invented treatment at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Law
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.planning.stains import Rung, StainPlan, stain_plans, without_toner
from oldcoat.engine.removal.objection import Objection

PIECE = Piece(piece="invented", surfaces=[], place="us")
MILD: dict[str, Any] = {
    **{
        "water": False,
        "alkali": False,
        "abrasive": False,
        "needs_bare": False,
        "needs_mm": 0.0,
        "least_veneer_mm": 0.0,
    },
    **{"eats_glue": False, "avoid_woods": [], "on_finishes": [], "never_with": [], "law": [], "traits": []},
}
Ladder = Callable[..., StainPlan]


@pytest.fixture
def done(examine: Callable[..., Examination]) -> Examination:
    """A solid oak face to be stripped, with a black ring; no rule heard, nothing against sanding."""
    done = examine(build="solid", wood="oak", plan="strip", stains=[{"kind": "black-ring"}])
    rows = [replace(p, vetoes=[]) for p in done.predictions]
    return replace(done, firings=[], predictions=rows, under=replace(done.under, glue=None, budget_mm=0.5))


@pytest.fixture
def planned(knowledge: Knowledge) -> Ladder:
    """The plan of the ring where its one treatment asks for nothing and bears everything, but for what is named."""

    def plan(done: Examination, **fields: Any) -> StainPlan:
        acid = replace(knowledge.treatments["oxalic-acid"], **MILD | fields)
        book = replace(knowledge, treatments={**knowledge.treatments, "oxalic-acid": acid})
        return stain_plans(PIECE, done, 1.0, book)[0]

    return plan


def _barred(plan: StainPlan) -> list[str]:
    """Why it is not for this face; whatever is barred is no chance and not next."""
    (rung,) = plan.ladder
    assert (rung.state == "not-here") == (rung.chance == 0) == (plan.next is None)
    return rung.why if rung.state == "not-here" else []


def _veneer(done: Examination, build: str = "veneer", **under: Any) -> Examination:
    return replace(done, under=replace(done.under, build=build, veneer_mm=(0.5, 0.9), **under))


def _keeps(done: Examination) -> Examination:
    return replace(done, surface=replace(done.surface, plan="keep"))


def test_nothing_bars_what_asks_for_nothing(done: Examination, planned: Ladder) -> None:
    """On solid wood, on veneer, and where the film stays."""
    for face in (done, _veneer(done), _keeps(done)):
        plan = planned(face)
        assert _barred(plan) == []
        assert plan.next == "oxalic-acid"


def test_thin_veneer_is_left(done: Examination, planned: Ladder) -> None:
    """By its thinnest, not where it is thick enough to the last digit, nor on solid wood."""
    assert _barred(planned(_veneer(done), least_veneer_mm=0.6)) == [
        "The veneer may be 0.5 mm; below 0.6 mm it is left."
    ]
    assert _barred(planned(_veneer(done), least_veneer_mm=0.5)) == []
    assert _barred(planned(done, least_veneer_mm=0.6)) == []


@pytest.mark.parametrize(("alkali", "barred"), [("high", True), ("medium", False), ("low", False)])
def test_what_eats_the_glue_of_veneer(
    done: Examination, planned: Ladder, knowledge: Knowledge, alkali: str, barred: bool
) -> None:
    """Only a glue that alkali harms greatly, and only under veneer."""
    glue = replace(next(iter(knowledge.substrate.glues.values())), alkali=alkali, name="invented glue")
    why = _barred(planned(_veneer(done, glue=glue), eats_glue=True))
    assert why == (["It eats invented glue, which may hold this veneer."] if barred else [])
    assert _barred(planned(_veneer(done, glue=glue))) == []
    assert _barred(planned(replace(done, under=replace(done.under, glue=glue)), eats_glue=True)) == []


def test_woods_that_do_not_bear_it(done: Examination, planned: Ladder) -> None:
    """By name."""
    assert _barred(planned(done, avoid_woods=["cherry", "oak"])) == ["Not on oak."]
    assert _barred(planned(done, avoid_woods=["cherry"])) == []


def test_a_stain_is_sanded_out_of_solid_wood_alone(done: Examination, planned: Ladder) -> None:
    """Not of veneer, nor of what may be veneer; where sanding is forbidden its reason is told; wood must be to spare."""
    assert _barred(planned(done, abrasive=True)) == []
    for build in ("veneer", "unknown"):
        assert _barred(planned(_veneer(done, build), abrasive=True)) == ["A stain is not sanded out of veneer."]
    veto = Objection("invented", "Invented reason.", [])
    barred = replace(done, predictions=[replace(p, vetoes=[veto]) for p in done.predictions if p.remover == "sanding"])
    assert "No sanding here: Invented reason." in _barred(planned(barred, abrasive=True))
    assert not any("No sanding" in why for why in _barred(planned(barred)))
    assert _barred(planned(done, needs_mm=0.5)) == []
    assert _barred(planned(done, needs_mm=0.6)) == ["It needs 0.6 mm of sanding afterwards; 0.5 mm are to spare."]


def test_bare_wood_is_needed_where_the_film_stays(done: Examination, planned: Ladder) -> None:
    """Stripped it is bare."""
    assert _barred(planned(done, needs_bare=True)) == []
    assert _barred(planned(_keeps(done), needs_bare=True)) == ["It needs bare wood, and here the film stays."]


def test_what_works_in_a_film_wants_that_film(done: Examination, planned: Ladder, knowledge: Knowledge) -> None:
    """None where it comes off; else at least as likely as not, by its name or by its family."""
    family = knowledge.finishes["shellac"].family
    assert _barred(planned(done, on_finishes=["shellac"])) == ["It works in the film, and the film comes off here."]
    for share, barred in ((0.5, False), (0.49, True)):
        finishes = dict.fromkeys(sorted(knowledge.finishes), 0.0) | {"shellac": share, "epoxy": 1 - share}
        face = _keeps(replace(done, posterior=Posterior(finishes, 0.0, {}, {}, 0.0)))
        for name in ("shellac", family):
            why = _barred(planned(face, on_finishes=[name]))
            assert bool(why) == barred
            if barred:
                assert "hardly the film here (49%)" in why[0]


def test_law_of_the_place_and_of_no_other(done: Examination, planned: Ladder) -> None:
    """Told as a reason and as a warning, also while it may be used; not of what is barred anyhow."""
    law = [
        Law(place=place, status="restricted", text=f"Invented law of {place}.", source=["memory"])
        for place in ("us", "eu")
    ]
    (rung,) = planned(done, law=law).ladder
    assert len(rung.law) == 1
    assert "Invented law of us." in rung.law[0]
    assert rung.law[0] in rung.why
    assert rung.law[0] in rung.warnings
    assert planned(done, law=law, avoid_woods=["oak"]).ladder[0].law == []


GLUE_WATER = "Water loosens"
GLUE_ALKALI = "Alkali attacks"
DARKENS = "Alkali darkens oak"
BARE_FIRST = "Bare, wax-free wood first."


def _minds(rung: Rung) -> set[str]:
    words = (GLUE_WATER, GLUE_ALKALI, DARKENS, BARE_FIRST)
    return {word for word in words for warning in rung.warnings if warning.startswith(word)}


@pytest.mark.parametrize(("level", "minds"), [("low", False), ("medium", True), ("high", True)])
def test_water_and_alkali_on_glue_and_wood(
    done: Examination, planned: Ladder, knowledge: Knowledge, level: str, minds: bool
) -> None:
    """Each from a medium danger on, each for what it is: glue and water, glue and alkali, tannin and alkali."""
    some = next(iter(knowledge.substrate.glues.values()))

    def told(fears_water: str, fears_alkali: str, **fields: Any) -> set[str]:
        face = replace(done, under=replace(done.under, glue=replace(some, water=fears_water, alkali=fears_alkali)))
        return _minds(planned(face, **fields).ladder[0])

    oak = {DARKENS} if knowledge.woods["oak"].tannin in ("medium", "high") else set()
    assert oak
    assert told(level, "low", water=True) == ({GLUE_WATER} if minds else set())
    assert told(level, "low", alkali=True) == oak
    assert told("low", level, alkali=True) == oak | ({GLUE_ALKALI} if minds else set())
    assert told("low", level, water=True) == set()
    assert told(level, level) == set()
    assert _minds(planned(done, water=True, alkali=True).ladder[0]) == oak  # no glue is known


def test_wood_without_tannin_and_wood_that_is_bare(done: Examination, planned: Ladder, knowledge: Knowledge) -> None:
    """Maple is not darkened by alkali; bare wood first is said where it will not be bare."""
    assert knowledge.woods["maple"].tannin == "low"
    maple = replace(done, surface=replace(done.surface, wood="maple"))
    assert _minds(planned(maple, alkali=True).ladder[0]) == set()
    assert _minds(planned(done, needs_bare=True).ladder[0]) == set()
    assert _minds(planned(_keeps(done), needs_bare=True).ladder[0]) == {BARE_FIRST}


def test_what_is_said_of_sanding_a_stain_out(done: Examination, planned: Ladder) -> None:
    """Lightly where an abrasive is on its ladder, and as deep as that; else not, with the figures of this veneer."""
    assert planned(done, abrasive=True, needs_mm=0.2).sanding.startswith("Sand lightly, 0.2 mm at most")
    assert planned(done, needs_mm=0.2).sanding.startswith("Do not sand it out: a stain in the wood goes deeper")
    figures = {"budget_mm": 0.2, "sequences": [("fine", 0.1), ("coarse", 0.2)], "veneer_known": "measured"}
    told = planned(_veneer(done, **figures)).sanding
    assert told.startswith(
        "Never sand it out: the veneer may be 0.5 mm (measured), 0.2 mm of that may go in all, and fine"
    )
    assert "fine takes 0.1 mm" in told
    perhaps = planned(_veneer(done, "unknown", **{**figures, "sequences": [], "veneer_known": "guessed"})).sanding
    assert perhaps.startswith("Veneer or not is unknown; take it for veneer. Never sand it out:")
    assert "(guessed from its age)" in perhaps
    assert "no run of grits fits" in perhaps
    veto = Objection("invented", "Invented reason.", [])
    barred = replace(done, predictions=[replace(p, vetoes=[veto]) for p in done.predictions])
    assert planned(barred).sanding == "Do not sand it out. Invented reason."


def test_the_plan_says_why_nothing_is_for_this_face(done: Examination, planned: Ladder) -> None:
    """The first reason stands in it, then what is left; what was tried and is on no rung is named."""
    plan = planned(done, avoid_woods=["oak"])
    assert plan.told.startswith("Nothing on its ladder is for this face as it is planned. Not on oak.")
    assert plan.told.endswith(f"Else: {plan.last}")
    stain = replace(done.surface.stains[0], tried={"two-part-bleach": 1})
    strange = planned(replace(done, surface=replace(done.surface, stains=[stain])))
    assert "wo-part bleach is not on its ladder." in strange.told
    assert "is not on its ladder" not in planned(done).told


def test_a_toner_is_dropped_with_a_coat_that_it_does_not_hold_with(
    done: Examination, planned: Ladder, knowledge: Knowledge
) -> None:
    """It is no more next and no chance; any other treatment stays as it is."""
    plan = planned(done)
    assert without_toner(plan, "invented coat", knowledge) is plan
    toner = next(name for name, entry in knowledge.treatments.items() if entry.work == "toner")
    (rung,) = plan.ladder
    toned = replace(
        plan, next=toner, ladder=[replace(rung, treatment=toner), replace(rung, state="later", chance=0.25)]
    )
    found = without_toner(toned, "invented coat", knowledge)
    assert (found.next, found.repeats_left) == (None, 0)
    assert found.chance == pytest.approx(0.25)
    assert [r.state for r in found.ladder] == ["not-here", "later"]
    assert found.told.startswith("No toner holds with invented coat")
