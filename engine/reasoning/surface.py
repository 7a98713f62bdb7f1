"""What the rules may know of one surface, in two helpings.

The first holds what was given: piece, wood, glue, answers, tries, stains, room. The
second adds what belief makes of it: probable finishes, origin, the film's nature.
"""

from __future__ import annotations

from ..belief.posterior import Posterior
from ..knowledge.base import Knowledge
from ..knowledge.entries import Glue, Literalish, Wood
from ..piece.form import NOT_DONE, Piece, Surface, told_outcome
from ..wood.substrate import Wooden

Working = dict[str, Literalish]


def given_facts(
    piece: Piece, surface: Surface, years: tuple[int, int] | None, under: Wooden, knowledge: Knowledge
) -> Working:
    """The first helping of working memory; `years` of making, None if they are not known."""
    facts: Working = {
        "piece.place": piece.place,
        "piece.region": piece.region,
        "piece.kind": piece.kind,
        "piece.style": piece.style or "unknown",
        "surface.wood": surface.wood,
        "surface.build": surface.build,
        "surface.hidden": surface.hidden,
        "surface.keep-under": surface.keep_under,
        "room.ventilation": piece.room.ventilation,
        "room.flame": "unknown" if piece.room.flame is None else piece.room.flame,
        "room.respirator": piece.room.respirator,
        "budget.mm": under.budget_mm,
    }
    if years:
        facts |= {"piece.year-from": years[0], "piece.year-to": years[1]}
    if under.veneer_mm:
        facts |= {"surface.veneer-mm": under.veneer_mm[0], "surface.veneer-known": under.veneer_known}
    if surface.under is not None and _lead(surface.under, years, knowledge):
        facts["film.lead-below"] = True
    wood = knowledge.woods.get(surface.wood)
    return facts | (_of_wood(wood) if wood else {}) | (_of_glue(under.glue) if under.glue else {}) | _of_face(surface)


def _of_wood(wood: Wood) -> Working:
    return {
        "wood.tannin": wood.tannin,
        "wood.oily": wood.oily,
        "wood.sensitiser": wood.sensitiser,
        "wood.pores": wood.pores,
    }


def _of_glue(glue: Glue) -> Working:
    return {
        "glue.water": glue.water,
        "glue.alkali": glue.alkali,
        "glue.solvent": glue.solvent,
        "glue.heat-limit": glue.heat_limit_c,
    }


def _of_face(surface: Surface) -> Working:
    """What was seen and done on this face: answers, tries, stains, what is let in, what is broken."""
    answers = {test: told_outcome(given) for test, given in surface.tests.items()}
    return {
        **{f"test.{test}": outcome for test, outcome in answers.items() if outcome != NOT_DONE},
        **{f"tried.{tried.remover}": tried.result for tried in surface.tried},
        **{f"stain.{stain.kind}": True for stain in surface.stains},
        **{f"surface.feature.{name}": True for name in surface.features},
        **{f"surface.repair.{name}": True for name in surface.repairs},
    }


def believed_facts(
    posterior: Posterior, years: tuple[int, int] | None, knowledge: Knowledge, under: str | None = None
) -> Working:
    """The second helping: what the answers make probable; `under`: the film that was seen below."""
    top = knowledge.finishes[posterior.top]
    possible = [f for f, p in posterior.finishes.items() if p >= knowledge.decide.possible]
    facts: Working = {f"finish.possible.{name}": True for name in possible}
    return facts | {
        "finish.top": posterior.top,
        "finish.family": top.family,
        "finish.sure": round(posterior.finishes[posterior.top], 4),
        "film.opaque": top.film.opaque,
        "film.network": top.chemistry.network,
        "film.lead-risk": lead_risk(posterior, years, knowledge, under),
        "origin.overcoated": round(posterior.origins["overcoated"], 4),
        "origin.refinished": round(posterior.origins["refinished"], 4),
    }


def lead_risk(
    posterior: Posterior, years: tuple[int, int] | None, knowledge: Knowledge, under: str | None = None
) -> bool:
    """Whether the paints that may hold lead at this age are, all together, possible here."""
    return lead_chance(posterior, years, knowledge, under) >= knowledge.decide.possible


def lead_chance(
    posterior: Posterior, years: tuple[int, int] | None, knowledge: Knowledge, under: str | None = None
) -> float:
    """The chance that the film, or the one that was seen below it, is a paint of the lead years."""
    if under is not None and _lead(under, years, knowledge):
        return 1.0
    return sum(p for f, p in posterior.finishes.items() if _lead(f, years, knowledge))


def _lead(finish: str, years: tuple[int, int] | None, knowledge: Knowledge) -> bool:
    before = knowledge.finishes[finish].lead_before
    return before is not None and (years is None or years[0] < before)
