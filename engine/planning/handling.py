"""What is going to happen to the film of a surface: strip, keep, seal, leave, or bare already."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec.structs import replace

from ..belief.tables import scaled
from ..examine import Examination
from ..knowledge.base import Knowledge
from ..piece.form import Surface
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

    Bare wood is bare, and a film that the rules want kept or renewed is kept; but nothing is
    laid over a film that is to be uncovered, so that is left until a way to it is found. What is
    not to be touched is not cleaned and coated either where the user wants it kept.
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
    if done.routes and KEEP not in held:
        return "strip"
    return "leave" if done.surface.keep_under else "keep"


def films_kept(done: Examination, knowledge: Knowledge) -> Examination:
    """The same surface with its film kept where it was to come off: what is left to do if it is only made usable."""
    if handling(done, knowledge) != "strip":
        return done
    return replace(done, surface=replace(done.surface, plan="keep"))


def top_goes(how: Handling) -> bool:
    """Whether the top film, if there is one, is off before the next coat."""
    return how in ("strip", "bare")


def uncovers(how: Handling, surface: Surface) -> bool:
    """Whether the top film goes and the one below it stays."""
    return how == "strip" and surface.keep_under


def ends_bare(how: Handling, surface: Surface) -> bool:
    """Whether bare wood shows before the next coat."""
    return top_goes(how) and not uncovers(how, surface)


def notes_here(done: Examination, how: Handling) -> frozenset[str]:
    """What the rules hold true of what is left: where the top film goes it is not renewed."""
    return notes(done) - {RENEW} if uncovers(how, done.surface) else notes(done)


def films_there(done: Examination, how: Handling) -> dict[str, float]:
    """Chances of the film that stays: the one below where the top one is taken off it, else the top one."""
    below = uncovers(how, done.surface) and any(done.below.values())
    return scaled(done.below) if below else done.posterior.finishes


def film_stays(how: Handling, surface: Surface) -> bool:
    """Whether the next coat goes over an old film: the top one, or the one that came out below it."""
    return how == "keep" or uncovers(how, surface)
