"""Stains: what treats each, on what, how strong, how long, how often, and when to stop.

The ladder of a stain is worked off from its first rung; what was tried already counts
against the tries of the rungs that name that treatment, in their order.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Stain, StainStep, Treatment
from ..piece.form import Piece, Room, StainSeen
from ..removal.objection import limits
from ..words import listed
from .bars import not_in_this_room
from .handling import (
    LEAVE,
    NO_WOOD,
    RENEW,
    Handling,
    ends_bare,
    film_stays,
    handling,
    notes,
    notes_here,
    objections_to,
    sanding_barred,
)
from .treatments import enemies, masked, named, on_film, strength

State = Literal["next", "later", "used-up", "not-here"]
FILM_SURE = 0.5
WASHES_OFF = "note.washes-off"  # what the rules conclude of a face whose finish the first washing takes


class Rung(Struct, frozen=True, kw_only=True):
    """One treatment of the ladder on this surface. Hours and litres are for one round; `planned`: rounds to reckon with."""

    treatment: str
    name: str
    state: State
    tried: int
    tries: int
    left: int
    planned: int
    chance: float
    why: list[str]
    how: str
    mix: str | None
    whole_face: bool
    needs_bare: bool
    dwell_hours: tuple[float, float]
    rinse: str | None
    dry_hours: tuple[float, float]
    hours: tuple[float, float]
    litres: tuple[float, float]
    grams: float | None
    law: list[str]
    warnings: list[str]
    never_with: list[str]
    metal: str | None
    veneer: str | None
    colour: str | None
    cautions: list[str]


class StainPlan(Struct, frozen=True, kw_only=True):
    """What to do with one stain of one surface."""

    kind: str
    name: str
    where: str
    sits: str
    know_by: str
    whole_face: bool
    next: str | None
    repeats_left: int
    chance: float
    ladder: list[Rung]
    last: str
    sanding: str
    told: str


class _Here(Struct, frozen=True):
    """What the rungs have to know of their surface."""

    done: Examination
    how: Handling
    area_m2: float
    room: Room
    place: str
    met: frozenset[str]
    knowledge: Knowledge


def stain_plans(piece: Piece, done: Examination, area_m2: float, knowledge: Knowledge) -> list[StainPlan]:
    """A plan for each stain of the surface, in the order of the piece file."""
    how = handling(done, knowledge)
    here = _Here(done, how, area_m2, piece.room, piece.place, frozenset(), knowledge)
    here = replace(here, met=_met(here))
    stains = done.surface.stains
    return [_plan(replace(seen, tried=_tried_here(seen, stains, knowledge)), here) for seen in stains]


def _tried_here(seen: StainSeen, stains: Sequence[StainSeen], knowledge: Knowledge) -> dict[str, int]:
    """What this stain has met: a treatment of the whole face met every stain of it, whichever it was written to."""
    mine = {step.treatment for step in knowledge.stains[seen.kind].ladder}
    whole = [name for name in sorted(mine) if knowledge.treatments[name].whole_face]
    met = {name: sum(other.tried.get(name, 0) for other in stains) for name in whole}
    return {**seen.tried, **{name: count for name, count in met.items() if count}}


def tries_left(ladder: Sequence[StainStep], most: dict[str, int], tried: dict[str, int]) -> list[tuple[int, int]]:
    """(tries, left) of each rung. A treatment is never done more often than `most` allows in all."""
    allotted: dict[str, int] = {}
    spent = dict(tried)
    rows = []
    for step in ladder:
        name = step.treatment
        tries = max(0, min(step.tries, most[name] - allotted.get(name, 0)))
        used = min(tries, spent.get(name, 0))
        allotted[name] = allotted.get(name, 0) + tries
        spent[name] = spent.get(name, 0) - used
        rows.append((tries, tries - used))
    return rows


def chance_left(chance: float, tries: int, left: int) -> float:
    """Chance that the tries left still bring the result, after those before them did not.

    The chance is spread evenly over the tries, so c (left/tries) / (1 - c (1 - left/tries)).
    """
    if tries == 0 or left == 0:
        return 0.0
    share = left / tries
    return chance * share / (1 - chance * (1 - share))


def rounds_planned(chance: float, left: int) -> int:
    """Rounds to reckon with: a further one is needed as often as those before it have not done it.

    The chance is spread evenly over the tries left, so the mean is the sum over k < left of 1 - chance k/left.
    """
    mean = sum(1 - chance * done / left for done in range(left))
    return max(min(left, 1), round(mean))


def _met(here: _Here) -> frozenset[str]:
    """Every treatment and remover that this surface has met or may yet meet; not those that are barred on it."""
    done, how = here.done, here.how
    stains = done.surface.stains
    met = {name for stain in stains for name, times in stain.tried.items() if times}
    steps = (step for stain in stains for step in here.knowledge.stains[stain.kind].ladder)
    met |= {step.treatment for step in steps if not _barred_step(step, here)}
    met |= {tried.remover for tried in done.surface.tried}
    return frozenset(met | {route.remover for route in done.routes[:1] if how == "strip"})


def _plan(seen: StainSeen, here: _Here) -> StainPlan:
    knowledge = here.knowledge
    stain = knowledge.stains[seen.kind]
    counts = tries_left(
        stain.ladder, {s.treatment: knowledge.treatments[s.treatment].max_cycles for s in stain.ladder}, seen.tried
    )
    rungs = [_rung(step, *count, seen, here) for step, count in zip(stain.ladder, counts, strict=True)]
    goes = stain.sits == "in-film" and here.how == "strip"
    first = None if goes else next((index for index, rung in enumerate(rungs) if rung.state == "later"), None)
    marked: State = "not-here" if goes else "next"
    ladder = [replace(rung, state=marked) if goes or index == first else rung for index, rung in enumerate(rungs)]
    ahead = ladder[first] if first is not None else None
    return StainPlan(
        kind=seen.kind,
        name=stain.name,
        where=seen.where,
        sits=stain.sits,
        know_by=stain.know_by,
        whole_face=stain.whole_face,
        next=ahead.treatment if ahead else None,
        repeats_left=ahead.left if ahead else 0,
        chance=1.0 if goes else 1 - prod(1 - r.chance for r in ladder),
        ladder=ladder,
        last=stain.last,
        sanding=_sanding(stain, ladder, here.done, knowledge),
        told=_told(stain, ladder, seen, here),
    )


def _rung(step: StainStep, tries: int, left: int, seen: StainSeen, here: _Here) -> Rung:
    knowledge = here.knowledge
    treatment = on_film(step.treatment, here.done, here.how, knowledge)
    barred = _barred_step(step, here)
    state: State = "not-here" if barred else "later" if left else "used-up"
    room = [] if barred else not_in_this_room(treatment.cautions, notes(here.done), knowledge)
    litres = (treatment.litres_m2[0] * here.area_m2, treatment.litres_m2[1] * here.area_m2)
    attempt = seen.tried.get(step.treatment, 0)
    grams, mix = strength(treatment, attempt, here.room, knowledge)
    chance = 0.0 if barred else chance_left(knowledge.belief.bands[step.chance], tries, left)
    law = [] if barred else [row.why for row in limits(row for row in treatment.law if row.place == here.place)]
    return Rung(
        treatment=step.treatment,
        name=treatment.name,
        state=state,
        tried=tries - left,
        tries=tries,
        left=left,
        planned=rounds_planned(chance, left),
        chance=chance,
        why=[*barred, *([step.when] if step.when else []), *law, *room],
        how=_how(treatment, here),
        mix=mix,
        whole_face=treatment.whole_face,
        needs_bare=treatment.needs_bare,
        dwell_hours=treatment.dwell_hours,
        rinse=treatment.rinse,
        dry_hours=treatment.dry_hours,
        hours=(treatment.active_hours_m2[0] * here.area_m2, treatment.active_hours_m2[1] * here.area_m2),
        litres=litres,
        grams=None if grams is None else grams * litres[1],
        law=law,
        warnings=[*law, *_warnings(step.treatment, treatment, here)],
        never_with=[named(n, knowledge) for n in treatment.never_with],
        metal=treatment.metal,
        veneer=treatment.veneer if here.done.under.build != "solid" else None,
        colour=treatment.colour,
        cautions=treatment.cautions,
    )


def _how(treatment: Treatment, here: _Here) -> str:
    """How it is done here: on veneer, and on what may be veneer, damp where solid wood is flooded."""
    return treatment.on_veneer if treatment.on_veneer and here.done.under.build != "solid" else treatment.how


def _too_thin(treatment: Treatment, here: _Here) -> list[str]:
    """What speaks against this treatment on this veneer and its glue."""
    under, glue = here.done.under, here.done.under.glue
    if under.build != "veneer":
        return []
    why = []
    if under.veneer_mm is not None and under.veneer_mm[0] < treatment.least_veneer_mm:
        why.append(f"The veneer may be {under.veneer_mm[0]:g} mm; below {treatment.least_veneer_mm:g} mm it is left.")
    if treatment.eats_glue and glue is not None and glue.alkali == "high":
        why.append(f"It eats {glue.name}, which may hold this veneer.")
    return why


def _barred_step(step: StainStep, here: _Here) -> list[str]:
    """Why this rung is not for this surface; empty if it is."""
    barred = _barred(here.knowledge.treatments[step.treatment], here)
    if step.in_film and here.how == "strip":
        barred.append("It works on what lies in the film, and the film comes off here: strip first, look again.")
    return barred


def _barred(treatment: Treatment, here: _Here) -> list[str]:
    """Why this treatment is not for this surface; empty if it is."""
    done, knowledge = here.done, here.knowledge
    why = _too_thin(treatment, here)
    held = notes_here(done, here.how)
    if here.how == "leave" and LEAVE in held:
        why.append("This face is left as it is: a conservator decides.")
    why += _vetoed(treatment, here)
    if treatment.abrasive:
        why += [f"No sanding here: {veto.why}" for veto in sanding_barred(done)[:1]]
    if done.surface.wood in treatment.avoid_woods:
        why.append(f"Not on {done.surface.wood}.")
    if treatment.abrasive and done.under.build != "solid":
        why.append("A stain is not sanded out of veneer.")
    if treatment.needs_mm > done.under.budget_mm:
        why.append(
            f"It needs {treatment.needs_mm:g} mm of sanding afterwards; {done.under.budget_mm:g} mm are to spare."
        )
    if treatment.needs_bare and film_stays(here.how, done.surface) and not _lets_in(treatment, held):
        stays = (
            "what is in the wood stays and keeps water out: strip it first (`plan: strip`)"
            if RENEW in held
            else "here the film stays"
        )
        why.append(f"It needs bare wood, and {stays}.")
    if treatment.on_finishes and here.how == "strip":
        why.append("It works in the film, and the film comes off here.")
    elif treatment.on_finishes:
        fits = sum(
            p
            for f, p in done.posterior.finishes.items()
            if f in treatment.on_finishes or knowledge.finishes[f].family in treatment.on_finishes
        )
        if fits < FILM_SURE:
            why.append(f"It works on {listed(treatment.on_finishes, 'or')}; that is hardly the film here ({fits:.0%}).")
    return why


def _lets_in(treatment: Treatment, held: frozenset[str]) -> bool:
    """Whether it gets into a face that keeps what it has: wax is washed off for anything wet, oil is not."""
    return WASHES_OFF in held or (RENEW in held and not treatment.water)


def _vetoed(treatment: Treatment, here: _Here) -> list[str]:
    """Why the rules of this surface forbid it, or hold it for more harm than any way off may do."""
    found = objections_to(treatment.met_by, here.done, here.knowledge)
    why = dict.fromkeys(f.why for f in found if f.rule not in treatment.despite)
    return [f"Not here: {' '.join(why)}"] if why else []


def _warnings(name: str, treatment: Treatment, here: _Here) -> list[str]:
    """What to mind here: bad company, glue and veneer, wood, metal."""
    knowledge, told = here.knowledge, []
    foes = [named(other, knowledge) for other in sorted(enemies(name, here.met, knowledge))]
    if foes:
        told.append(
            f"Must not meet {listed(foes, 'or')}, which this surface has met or may meet: "
            "two rinses with water and full drying between."
        )
    glue, wood = here.done.under.glue, knowledge.woods.get(here.done.surface.wood)
    if treatment.water and glue is not None and glue.water in ("medium", "high"):
        told.append(f"Water loosens {glue.name}, which this piece may have: damp, short, dry at once, weights at hand.")
    if treatment.alkali and glue is not None and glue.alkali in ("medium", "high"):
        told.append(f"Alkali attacks {glue.name}, which this piece may have.")
    if treatment.alkali and wood is not None and wood.tannin in ("medium", "high"):
        told.append(f"Alkali darkens {here.done.surface.wood}: it is rich in tannin.")
    if treatment.needs_bare and not ends_bare(here.how, here.done.surface):
        told.append("Bare, wax-free wood first.")
    return told


def without_toner(plan: StainPlan, coat: str, knowledge: Knowledge) -> StainPlan:
    """The plan of a stain whose next treatment is a toner, for a coat that no toner holds with: it is dropped and said so."""
    if plan.next is None or knowledge.treatments[plan.next].work != "toner":
        return plan
    why = f"No toner holds with {coat}, under it or over it: it is dropped with that coat. Choose another for it."
    ladder = [
        replace(r, state="not-here", why=[why, *r.why], chance=0.0) if r.state == "next" else r for r in plan.ladder
    ]
    chance = 1 - prod(1 - r.chance for r in ladder)
    return replace(plan, next=None, repeats_left=0, chance=chance, ladder=ladder, told=f"{why} Else: {plan.last}")


def _sanding(stain: Stain, ladder: Sequence[Rung], done: Examination, knowledge: Knowledge) -> str:
    """Why it is not sanded out, with the figures of this veneer; or how deep, where a light sanding is on the ladder."""
    if NO_WOOD in notes(done):
        return "Do not sand it: there is no wood under it."
    under = done.under
    barred = sanding_barred(done)
    light = [knowledge.treatments[r.treatment] for r in ladder if r.state in ("next", "later")]
    depth = max((t.needs_mm for t in light if t.abrasive), default=0.0)
    if depth:
        return f"Sand lightly, {depth:g} mm at most and the whole face alike: the mark is shallow, or it is not this."
    if barred and under.build == "solid":
        return f"Do not sand it out. {barred[0].why}"
    if under.build == "solid" or under.veneer_mm is None:
        return "Do not sand it out: a stain in the wood goes deeper than it looks, and a hollow shows under the finish."
    thin, budget = under.veneer_mm[0], under.budget_mm
    known = "measured" if under.veneer_known == "measured" else "guessed from its age"
    runs = "no run of grits fits"
    if under.sequences:
        name, takes = under.sequences[0]
        runs = f"{name} takes {takes:g} mm"
    may = "Veneer or not is unknown; take it for veneer. " if under.build == "unknown" else ""
    place = "" if stain.sits == "in-film" else " The stain goes deeper than that."
    return (
        f"{may}Never sand it out: the veneer may be {thin:g} mm ({known}), {budget:g} mm of that may go in all, "
        f"and {runs}.{place}"
    )


def _told(stain: Stain, ladder: Sequence[Rung], seen: StainSeen, here: _Here) -> str:
    """The plan in one or two sentences."""
    if stain.sits == "in-film" and here.how == "strip":
        first = ladder[0].name
        return f"It sits in the film and goes with it: strip first, look again. If the film is to stay, {first} first."
    ahead = next((r for r in ladder if r.state == "next"), None)
    strange = [named(n, here.knowledge) for n, k in seen.tried.items() if k and n not in _treatments(stain)]
    aside = f" {listed(strange).capitalize()} is not on its ladder." if strange else ""
    if ahead is None:
        barred = [r for r in ladder if r.state == "not-here" and r.left]
        if barred:
            why = " ".join(barred[0].why)
            return f"Nothing on its ladder is for this face as it is planned. {why}{aside} Else: {stain.last}"
        return f"Stop treating it.{aside} What is left: {stain.last}"
    kept_off = masked(here.done.surface, here.knowledge) if ahead.litres[1] else []
    whole = f"the whole face, short of {listed(kept_off)}" if kept_off else "the whole face, edge to edge"
    face = whole if ahead.whole_face else "the spot"
    done = f"{ahead.tried} done{' on this face' if ahead.tried and ahead.whole_face else ''}"
    times = f"{ahead.left} more time{'s' if ahead.left != 1 else ''} at most ({done})"
    room = not_in_this_room(ahead.cautions, notes(here.done), here.knowledge)
    more = "".join(f" {why}" for why in (*ahead.law, *room))
    return f"{ahead.name.capitalize()} on {face}, {times}; no change in a round means stop.{aside}{more}"


def _treatments(stain: Stain) -> set[str]:
    return {step.treatment for step in stain.ladder}
