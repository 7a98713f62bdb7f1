"""What is going to happen to the film of a surface: strip, keep, seal, leave, or bare already."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..removal.objection import Objection

Handling = Literal["strip", "keep", "seal", "leave", "bare"]
LEAVE = "note.leave-as-is"  # what the rules of the book conclude for the planner
KEEP = "note.keep-film"
RENEW = "note.renew"
WET_ONLY = "note.wet-only"
NO_WOOD = "note.no-wood"
SANDING = "sanding"  # the remover


def notes(done: Examination) -> frozenset[str]:
    """What the rules have concluded of this surface and hold true."""
    return frozenset(key for firing in done.firings for key, value in firing.rule.then.facts.items() if value is True)


def sanding_barred(done: Examination) -> list[Objection]:
    """All that forbids sanding here; empty if it may be sanded."""
    return [veto for p in done.predictions if p.remover == SANDING for veto in p.vetoes]


def objections_to(traits: Iterable[str], done: Examination, knowledge: Knowledge) -> list[Objection]:
    """What the rules of the surface have against work of these traits: a veto, or more harm than any way off may do."""
    wanted, found = set(traits), []
    for rule in (firing.rule for firing in done.firings):
        veto, harm = rule.then.veto, rule.then.harm
        likely = knowledge.belief.bands[harm.chance] if harm and wanted & set(harm.traits) else 0.0
        if (veto and wanted & set(veto.traits)) or likely > knowledge.decide.most_harm:
            found.append(Objection(rule.id, f"{rule.about} {rule.why}", rule.source, likely or 1.0))
    return found


def only_dust_bars(done: Examination) -> bool:
    """Whether sanding is forbidden for its dust alone, so that wet abrading is left."""
    dusty = {f.rule.id for f in done.firings if WET_ONLY in f.rule.then.facts}
    barred = sanding_barred(done)
    return bool(barred) and all(veto.rule in dusty for veto in barred)


def handling(done: Examination, knowledge: Knowledge) -> Handling:
    """As the user says; else what is hidden or not to be touched is left, and a film goes if there is a way.

    Bare wood is bare, and a film that the rules want kept or renewed is kept. What is not
    to be touched is not cleaned and coated either where the user wants it kept.
    """
    held = notes(done)
    if done.surface.plan == "keep" and LEAVE in held:
        return "leave"
    if done.surface.plan is not None:
        return done.surface.plan
    if done.surface.hidden or LEAVE in held:
        return "leave"
    if knowledge.finishes[done.posterior.top].recoat_row in knowledge.recoat.bare.values():
        return "bare"
    return "strip" if done.routes and KEEP not in held else "keep"


def films_kept(done: Examination, knowledge: Knowledge) -> Examination:
    """The same surface with its film kept where it was to come off: what is left to do if it is only made usable."""
    if handling(done, knowledge) != "strip":
        return done
    return replace(done, surface=replace(done.surface, plan="keep"))


def ends_bare(how: Handling) -> bool:
    """Whether bare wood shows before the next coat."""
    return how in ("strip", "bare")
