"""One surface as the planner sees it: its examination, its stains and coats, and the conditions that hold."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..deciding.changes import went_well
from ..examine import DEFAULT_AREA_M2, Examination
from ..knowledge.base import Knowledge
from ..knowledge.rounds import round_condition
from ..piece.areas import area_of
from ..piece.form import Piece
from ..piece.years import years_of
from ..reasoning.surface import lead_risk
from ..removal.objection import CHEMICAL
from ..removal.predict import Prediction
from ..words import Span, listed
from .handling import (
    LEAVE,
    WET_ONLY,
    Handling,
    ends_bare,
    film_stays,
    handling,
    notes_here,
    objections_to,
    only_dust_bars,
    sanding_barred,
    uncovers,
)
from .ledger import marks_on
from .order import ANSWERED
from .recoat import NOTED, CoatPlan, recoat_plans
from .rooms import Rooms
from .sealing import Sealing, seal_reasons, sealing
from .stains import Rung, StainPlan, stain_plans, without_toner
from .treatments import masked

LEAD = "note.treat-as-lead"
TONER = "toner"  # the condition, and the colour of a piece file that makes it
COVER = "cling-film"  # the tool: a remover that asks for it lies covered


class Facing(Struct, frozen=True, kw_only=True):
    """A surface ready for planning. `conditions` are those of work.yaml that hold on it; `seal_why`: why it is sealed."""

    name: str
    done: Examination
    how: Handling
    area_m2: float
    stains: list[StainPlan]
    coats: list[CoatPlan]
    seal_why: list[str]
    conditions: frozenset[str]

    @property
    def chosen(self) -> CoatPlan | None:
        """The coat that the user chose, whether it may go on or not."""
        return _chosen(self.coats)

    @property
    def coat(self) -> CoatPlan | None:
        """The coat that goes on: the chosen one, unless it would not hold."""
        return self.chosen if self.chosen is not None and self.chosen.means != "no" else None

    @property
    def rungs(self) -> list[Rung]:
        """The treatments that come next, one for each stain that is to be treated; each once, for the one it takes longest."""
        ahead: dict[str, Rung] = {}
        for rung in (r for s in self.stains for r in s.ladder if r.state == "next"):
            ahead[rung.treatment] = max(ahead.get(rung.treatment, rung), rung, key=lambda r: (r.planned, r.left))
        return list(ahead.values())

    def after(self, rung: Rung) -> str:
        """What the ladder of its stain holds if this treatment has not done it; no step of this plan, so a sentence."""
        ladders = [s.ladder for s in self.stains if s.next == rung.treatment]
        later = dict.fromkeys(r.name for ladder in ladders for r in ladder if r.state == "later")
        return f" If the mark stays, the next is {listed([*later], 'or')}: then plan again." if later else ""

    def tried_first(self, knowledge: Knowledge) -> list[Rung]:
        """Of the treatments that come next those that are tried on a patch before."""
        book = knowledge.treatments
        return [r for r in self.rungs if book[r.treatment].work is None and book[r.treatment].trial]

    def dry_marks(self, knowledge: Knowledge) -> list[Rung]:
        """Of the treatments that come next those that have no step of their own."""
        own = {step.treatment for step in knowledge.work.steps.values()}
        return [r for r in self.rungs if knowledge.treatments[r.treatment].work is None and r.treatment not in own]

    def sealing(self, knowledge: Knowledge) -> Sealing:
        """Whether what is in the wood is sealed in by a step of its own, by the first coat, or cannot be."""
        return sealing(self.seal_why, self.coat, knowledge)

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

    def contact_hours(self) -> float:
        """Hours that one coat of the best route's remover stays on, its share of all contact; 0 if the film stays."""
        if self.route is None:
            return 0.0
        return sum(self.route.dwell_minutes) / max(2.0, sum(self.route.coats)) / 60

    def strip_hours(self) -> Span | None:
        """Hours of the best route on the whole area, or None if the film stays."""
        if self.route is None:
            return None
        low, high = self.route.hours
        expected = self.done.routes[0].expected_hours
        return self.scaled((min(low, expected), max(high, expected)))


def facing(piece: Piece, done: Examination, air: Rooms, knowledge: Knowledge) -> Facing:
    """Everything that the planner needs of one surface."""
    how = handling(done, knowledge)
    area = area_of(piece, done.surface, knowledge)
    stains = stain_plans(piece, done, area, knowledge)
    coats = recoat_plans(piece, done, knowledge, done.surface.colour == TONER or _toned_over(stains, knowledge))
    chosen = _chosen(coats)
    if chosen is not None and not chosen.toned:
        stains = [without_toner(stain, chosen.name, knowledge) for stain in stains]
    one = Facing(
        name=done.surface.name,
        done=done,
        how=how,
        area_m2=area,
        stains=stains,
        coats=coats,
        seal_why=[],
        conditions=frozenset(),
    )
    one = replace(one, seal_why=seal_reasons(done, how, one.coat, knowledge))
    one = replace(one, coats=_sealed_under(one, knowledge))
    return replace(one, conditions=frozenset(_conditions(piece, one, air, knowledge)))


def _sealed_under(one: Facing, knowledge: Knowledge) -> list[CoatPlan]:
    """The coats; the one that goes on says so where a seal of its own step comes first."""
    seal = knowledge.work.seal
    if seal is None or one.sealing(knowledge) != "step":
        return one.coats
    told = f"Goes on first here, as a step of its own: 1 coat of {knowledge.recoat.coats[seal].name}."
    return [replace(c, notes=[*c.notes, told]) if c is one.coat else c for c in one.coats]


def _toned_over(stains: Sequence[StainPlan], knowledge: Knowledge) -> bool:
    """Whether a stain is to be hidden under a toner."""
    return any(knowledge.treatments[stain.next].work == TONER for stain in stains if stain.next is not None)


def _chosen(coats: Sequence[CoatPlan]) -> CoatPlan | None:
    return next((plan for plan in coats if plan.chosen), None)


def _conditions(piece: Piece, one: Facing, air: Rooms, knowledge: Knowledge) -> set[str]:
    """The words of work.yaml that hold on one surface."""
    done, how, stains = one.done, one.how, one.stains
    surface = done.surface
    refused = one.chosen is not None and one.coat is None
    coated = how in ("strip", "keep", "bare") and not refused
    wood = knowledge.woods.get(surface.wood)
    uncovered, bare = uncovers(how, surface), ends_bare(how, surface)
    told = notes_here(done, how)
    left = how == "leave" and LEAVE in told
    barred = bool(sanding_barred(done)) or not done.under.sequences
    wet = only_dust_bars(done) and bool(done.under.sequences)
    treated = [stain for stain in stains if stain.next is not None]
    treatments = [knowledge.treatments[stain.next] for stain in treated if stain.next is not None]
    truths = {
        "labels": bool(marks_on(piece.parts, surface.name)) or any(p.marks and not p.surface for p in piece.parts),
        "masked": not left and bool(masked(surface, knowledge)),
        "paint-old": lead_risk(done.posterior, years_of(piece, knowledge), knowledge, surface.under) or LEAD in told,
        "veneer": surface.build != "solid",
        "left-alone": left,
        "worked-on": not left,
        "left-hidden": how == "leave" and not left and not surface.keep_under,
        "sanding-barred": barred,
        "bare-wet": wet and bare,
        "bare-unsanded": barred and not wet and bare,
        "keep-film-wet": film_stays(how, surface) and coated and WET_ONLY in told,
        "iron-present": any(knowledge.stains[stain.kind].iron for stain in treated)
        or any(treatment.iron_first for treatment in treatments),
        "alkali-left": any(knowledge.stains[stain.kind].alkali for stain in treated),
        "neutral-check": any(treatment.water and treatment.met_by & {"acid", "alkali"} for treatment in treatments),
        "strip": how == "strip",
        "uncovered": uncovered,
        "bare-wood": bare,
        "keep-film": film_stays(how, surface) and coated,
        "coated": coated,
        "sealed": coated or (how == "seal" and not refused),
        "cold-room": (how != "leave" or bool(treated)) and air.warm != air.now,
        "damp-room": (how != "leave" or bool(treated)) and air.work != air.warm,
        "oily-wood": bare and wood is not None and wood.oily,
        "colour": surface.colour == "stain" and bare,
        "open-pores": surface.fill_pores and wood is not None and wood.pores in ("open", "semi-open"),
        "wax-final": piece.wax_last and coated and not _wax(one.coat, knowledge),
    }
    truths |= _of_removal(one, knowledge) | _of_coat(one, coated, knowledge) | _of_stains(piece, one, knowledge)
    held = {name for name, true in truths.items() if true} | set(surface.repairs)
    held |= told | {f"stain:{stain.next}" for stain in treated}
    held |= {round_condition(r.treatment, n) for r in one.rungs for n in range(2, r.planned + 1)}
    held |= {t.work for t in treatments if t.work not in (None, TONER) and coated}
    held |= {f"{ANSWERED}{test}" for test in surface.tests}
    return held | {f"over:{name}" for name, p in done.posterior.contamination.items() if p >= NOTED}


def _of_stains(piece: Piece, one: Facing, knowledge: Knowledge) -> dict[str, bool]:
    """Whether stains are treated, how, where the trial of it stands, and what the face does not bear.

    Where figures hang on it and a spot can be bared, it is tried before the decision; else once the face is bare.
    """
    loose = "veneer-loose" in one.done.surface.repairs
    spot = piece.money is not None and not loose and (one.how in ("bare", "keep") or one.route is not None)
    tried = bool(one.tried_first(knowledge))
    return {
        "stain-any": any(knowledge.treatments[rung.treatment].work is None for rung in one.rungs),
        "wash-first": _washed_first(one, knowledge),
        "wet-treatment": any(knowledge.treatments[rung.treatment].water for rung in one.rungs),
        "stain-spot": tried and spot,
        "stain-patch": tried and not spot,
        "dry-marks": bool(one.dry_marks(knowledge)),
        **{f"no-{trait}": bool(objections_to([trait], one.done, knowledge)) for trait in ("water", "heat")},
    }


def _of_removal(one: Facing, knowledge: Knowledge) -> dict[str, bool]:
    """Whether the remover was tried here, is left to work while other faces are done, lies under film, leaves it dry.

    Where bare wood comes out it is washed after a dry remover too, and then it has to dry.
    """
    least = knowledge.work.contact_hours
    slow = least is not None and one.contact_hours() >= least
    covered = slow and one.route is not None and COVER in knowledge.removers[one.route.remover].tools
    tried = one.route is not None and went_well(one.done.changes, one.route.remover) is not None
    dry = one.route is not None and knowledge.removers[one.route.remover].action not in CHEMICAL
    return {
        "slow-remover": slow,
        "under-cover": covered,
        "trial-done": tried,
        "nothing-to-dry": dry and uncovers(one.how, one.done.surface),
    }


def _of_coat(one: Facing, coated: bool, knowledge: Knowledge) -> dict[str, bool]:
    """What the coat that goes on asks for. Where none was named it is taken for one that builds a film."""
    coat, plan = None, one.coat
    if plan is not None:
        coat = knowledge.recoat.coats[plan.over]
    layers = plan.coats[1] + (plan.between not in (None, plan.over)) if plan is not None else None
    toner = one.done.surface.colour == TONER or _toned_over(one.stains, knowledge)
    return {
        "water-used": ends_bare(one.how, one.done.surface) and coat is not None and coat.water,
        TONER: coated and (toner if plan is None else plan.toned),
        "more-coats": coated and (layers is None or layers > 1),
        "coat-doubtful": coated and plan is not None and plan.means == "test",
        "coat-wash": coated and plan is not None and plan.means == "remove" and not _washed_once(one, knowledge),
        "seal-in": (coated or one.how == "seal") and one.sealing(knowledge) == "step",
        "film-forming": coated and (coat is None or (coat.bonds and not coat.soaks)),
        "soaks-in": coated and coat is not None and coat.soaks,
    }


def _washed_first(one: Facing, knowledge: Knowledge) -> bool:
    """Whether what lies on a face that is kept is washed off for a wet treatment that wants bare wood."""
    wet = [r for r in one.rungs if r.needs_bare and knowledge.treatments[r.treatment].water]
    return one.how == "keep" and bool(wet)


def _washed_once(one: Facing, knowledge: Knowledge) -> bool:
    """Whether that washing serves the coat too: nothing that may leave oil or wax comes after it."""
    return _washed_first(one, knowledge) and not one.dry_marks(knowledge)


def _wax(plan: CoatPlan | None, knowledge: Knowledge) -> bool:
    return plan is not None and not knowledge.recoat.coats[plan.over].bonds
