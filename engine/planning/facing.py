"""One surface as the planner sees it: its examination, its stains and coats, and the conditions that hold."""

from __future__ import annotations

from msgspec import Struct

from ..examine import DEFAULT_AREA_M2, Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Coat
from ..piece.areas import area_of
from ..piece.form import Piece
from ..piece.years import parse_years
from ..reasoning.surface import lead_risk
from ..removal.predict import Prediction
from .handling import LEAVE, WET_ONLY, Handling, ends_bare, handling, notes, only_dust_bars, sanding_barred
from .ledger import marks_on
from .order import ANSWERED
from .recoat import NOTED, CoatPlan, chosen_coat, recoat_plans
from .stains import Rung, StainPlan, stain_plans

Span = tuple[float, float]
LEAD = "note.treat-as-lead"
MARKS = {"label", "makers-mark", "decal"}


class Facing(Struct, frozen=True, kw_only=True):
    """A surface ready for planning. `conditions` are those of work.yaml that hold on it."""

    name: str
    done: Examination
    how: Handling
    area_m2: float
    stains: list[StainPlan]
    coats: list[CoatPlan]
    conditions: frozenset[str]

    @property
    def coat(self) -> CoatPlan | None:
        """The coat that the user chose, if one was chosen and this surface is coated."""
        return next((plan for plan in self.coats if plan.chosen), None)

    @property
    def rungs(self) -> list[Rung]:
        """The treatments that come next, one for each stain that is to be treated, each treatment once."""
        ahead = {r.treatment: r for s in self.stains for r in s.ladder if r.state == "next"}
        return list(ahead.values())

    @property
    def route(self) -> Prediction | None:
        """What the first remover of the best route would do, or None if the film stays."""
        if self.how != "strip" or not self.done.routes:
            return None
        remover = self.done.routes[0].remover
        return next(p for p in self.done.predictions if p.remover == remover)

    def scaled(self, span: Span) -> Span:
        """A figure of the examination brought to the area of the plan."""
        scale = self.area_m2 / (self.done.surface.area_m2 or DEFAULT_AREA_M2)
        return span[0] * scale, span[1] * scale

    def strip_hours(self) -> Span | None:
        """Hours of the best route on the whole area, or None if the film stays."""
        if self.route is None:
            return None
        low, high = self.route.hours
        expected = self.done.routes[0].expected_hours
        return self.scaled((min(low, expected), max(high, expected)))


def facing(piece: Piece, done: Examination, knowledge: Knowledge) -> Facing:
    """Everything that the planner needs of one surface."""
    how = handling(done, knowledge)
    area = area_of(piece, done.surface, knowledge)
    stains = stain_plans(done, area, piece.room, knowledge)
    return Facing(
        name=done.surface.name,
        done=done,
        how=how,
        area_m2=area,
        stains=stains,
        coats=recoat_plans(piece, done, knowledge),
        conditions=frozenset(_conditions(piece, done, how, stains, knowledge)),
    )


def _conditions(
    piece: Piece, done: Examination, how: Handling, stains: list[StainPlan], knowledge: Knowledge
) -> set[str]:
    """The words of work.yaml that hold on one surface."""
    surface = done.surface
    coated = how in ("strip", "keep", "bare")
    wood = knowledge.woods.get(surface.wood)
    chosen = knowledge.recoat.coats.get(chosen_coat(piece, done, knowledge) or "")
    told = notes(done)
    left = how == "leave" and LEAVE in told
    barred = bool(sanding_barred(done)) or not done.under.sequences
    wet = only_dust_bars(done) and bool(done.under.sequences)
    treated = [stain for stain in stains if stain.next is not None]
    treatments = [knowledge.treatments[stain.next] for stain in treated if stain.next is not None]
    truths = {
        "labels": bool(marks_on(piece.parts, surface.name))
        or any(p.marks and not p.surface for p in piece.parts)
        or bool(MARKS & set(surface.features)),
        "paint-old": lead_risk(done.posterior, parse_years(piece.made, None), knowledge) or LEAD in told,
        "veneer": surface.build != "solid",
        "left-alone": left,
        "worked-on": not left,
        "sanding-barred": barred,
        "bare-wet": wet and ends_bare(how),
        "bare-unsanded": barred and not wet and ends_bare(how),
        "keep-film-wet": how == "keep" and WET_ONLY in told,
        "iron-present": any(knowledge.stains[stain.kind].iron for stain in treated),
        "strip": how == "strip",
        "bare-wood": ends_bare(how),
        "keep-film": how == "keep",
        "coated": coated,
        "sealed": coated or how == "seal",
        "stain-any": any(t.work is None for t in treatments),
        "wet-treatment": any(t.water for t in treatments),
        "water-used": ends_bare(how) and _waterborne(chosen),
        "oily-wood": ends_bare(how) and wood is not None and wood.oily,
        "colour": surface.colour == "stain" and ends_bare(how),
        "open-pores": surface.fill_pores and wood is not None and wood.pores in ("open", "semi-open"),
        "toner": coated and surface.colour == "toner",
        "wax-final": piece.wax_last and coated,
    }
    held = {name for name, true in truths.items() if true} | set(surface.repairs)
    held |= told | {f"stain:{stain.next}" for stain in treated}
    held |= {t.work for t in treatments if t.work is not None and coated}
    held |= {f"{ANSWERED}{test}" for test in surface.tests}
    return held | {f"over:{name}" for name, p in done.posterior.contamination.items() if p >= NOTED}


def _waterborne(coat: Coat | None) -> bool:
    return coat is not None and coat.water
