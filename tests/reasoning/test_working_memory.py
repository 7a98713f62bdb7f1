"""What the rules may know of one surface, by hand on an invented one."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Answer, Piece, Room, StainSeen, Surface, Tried
from oldcoat.engine.reasoning.surface import believed_facts, given_facts, lead_chance, lead_risk
from oldcoat.engine.wood.substrate import wooden

FACE = Surface(
    name="face",
    wood="teak",
    build="veneer",
    veneer_mm=0.7,
    features=["inlay"],
    repairs=["dents"],
    tests={"alcohol-drop": "no-effect", "uv-a": Answer(outcome="orange", sure=False), "scraper": "could-not-do"},
    tried=[Tried(remover="acetone", result="softens")],
    stains=[StainSeen(kind="black-ring")],
)


def given(knowledge: Knowledge, surface: Surface, years: tuple[int, int] | None, **piece: Any) -> dict[str, Any]:
    """The first helping for a piece with this one surface."""
    whole = Piece(piece="invented", surfaces=[surface], **piece)
    return dict(given_facts(whole, surface, years, wooden(surface, years, knowledge), knowledge))


def test_what_was_told_is_known(knowledge: Knowledge) -> None:
    """Piece, years, wood, veneer, glue, answers that were given, tries, stains, features, repairs; nothing else."""
    glue = replace(next(iter(knowledge.substrate.glues.values())), years=[1900, 1999], water="high", alkali="low")
    wood = replace(knowledge.woods["teak"], tannin="low", oily=True, pores="open", sensitiser=True)
    book = replace(
        knowledge,
        substrate=replace(knowledge.substrate, glues={"only": glue}),
        woods={**knowledge.woods, "teak": wood},
    )
    room = Room(flame=None, ventilation="good", respirator=True)
    found = given(book, FACE, (1950, 1960), region="britain", kind="box", style=None, place="uk", room=room)
    budget = found.pop("budget.mm")
    assert 0 <= budget < 0.7
    assert found == {
        "piece.place": "uk",
        "piece.region": "britain",
        "piece.kind": "box",
        "piece.style": "unknown",
        "piece.year-from": 1950,
        "piece.year-to": 1960,
        "surface.wood": "teak",
        "surface.build": "veneer",
        "surface.hidden": False,
        "surface.keep-under": False,
        "surface.veneer-mm": 0.7,
        "surface.veneer-known": "measured",
        "surface.feature.inlay": True,
        "surface.repair.dents": True,
        "room.ventilation": "good",
        "room.flame": "unknown",
        "room.respirator": True,
        "glue.water": "high",
        "glue.alkali": "low",
        "glue.solvent": glue.solvent,
        "glue.heat-limit": glue.heat_limit_c,
        "wood.tannin": "low",
        "wood.oily": True,
        "wood.sensitiser": True,
        "wood.pores": "open",
        "test.alcohol-drop": "no-effect",
        "test.uv-a": "orange",
        "tried.acetone": "softens",
        "stain.black-ring": True,
    }


def test_what_was_not_told_is_no_fact(knowledge: Knowledge) -> None:
    """Solid wood without a name, no years, a flame that was asked about: no veneer, glue, wood or year; the flame as told."""
    found = given(knowledge, Surface(name="face", build="solid"), None, room=Room(flame=False))
    assert not [key for key in found if key.startswith(("glue.", "wood.", "test.", "tried.", "stain.", "piece.year"))]
    assert "surface.veneer-mm" not in found
    assert found["room.flame"] is False


def test_what_belief_makes_of_it(knowledge: Knowledge) -> None:
    """Top and family, how sure, every finish from the least chance that is possible on, how the film came there."""
    least = knowledge.decide.possible
    chances = {"epoxy": 1 - least - 0.01, "shellac": least, "oil-paint": 0.01}
    posterior = Posterior(chances, 0.0, {"original": 0.5, "refinished": 0.3, "overcoated": 0.2}, {}, 0.0)
    found = believed_facts(posterior, None, knowledge)
    top = knowledge.finishes["epoxy"]
    assert {key for key in found if key.startswith("finish.possible.")} == {
        "finish.possible.epoxy",
        "finish.possible.shellac",
    }
    assert (found["finish.top"], found["finish.family"]) == ("epoxy", top.family)
    assert found["finish.sure"] == round(1 - least - 0.01, 4)
    assert (found["film.opaque"], found["film.network"]) == (top.film.opaque, top.chemistry.network)
    assert (found["origin.overcoated"], found["origin.refinished"]) == (0.2, 0.3)


@pytest.mark.parametrize(
    ("years", "lead"), [(None, 0.06), ((1950, 1990), 0.06), ((1969, 1971), 0.06), ((1970, 1980), 0.02)]
)
def test_lead_is_possible_before_its_year(knowledge: Knowledge, years: tuple[int, int] | None, lead: float) -> None:
    """Invented: one paint held lead before 1970, another before 1990; the chances of those that may count together."""
    finishes = {
        **knowledge.finishes,
        "oil-paint": replace(knowledge.finishes["oil-paint"], lead_before=1970),
        "alkyd-enamel": replace(knowledge.finishes["alkyd-enamel"], lead_before=1990),
        "shellac": replace(knowledge.finishes["shellac"], lead_before=None),
    }
    book = replace(knowledge, finishes=finishes, decide=replace(knowledge.decide, possible=0.06))
    posterior = Posterior({"shellac": 0.94, "oil-paint": 0.04, "alkyd-enamel": 0.02}, 0.0, {}, {}, 0.0)
    assert lead_chance(posterior, years, book) == pytest.approx(lead)
    assert lead_risk(posterior, years, book) == (lead >= 0.06)
