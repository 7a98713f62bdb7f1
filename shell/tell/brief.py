"""The short of it: what a person with gloves on reads in ten seconds."""

from __future__ import annotations

from ...engine.report.assessment import Assessment, SurfaceReport
from ...engine.words import likely, listed, percent
from .figures import after_id, first_sentence, opening
from .plan import numbered, tell_decision, tell_never_mix
from .screen import Screen

FIRST_STEPS = 3
NOT_USED = 3
NAMED = 2  # what matters on more surfaces than so many is told without them
FULL = "--full"
MORE = "--full, or oldcoat sheet FILE -o OUT.html; one surface: oldcoat explain FILE SURFACE."
NOT_STRIPPED = {
    "keep": "keep the film: clean it and coat it again",
    "seal": "keep it and seal it",
    "leave": "leave it as it is; see its flags",
    "bare": "nothing to take off",
}


def tell_glance(answer: Assessment, screen: Screen) -> None:
    """For each surface: what it is, what to do next, what must stay away; first of all what the money says against it."""
    told = answer.triage
    if told.verdict is not None and (told.verdict.decision != "go" or told.early is not None):
        screen.marked("!", f"By your figures: {first_sentence(told.told)}", style="bold")
    for surface in answer.surfaces:
        top = surface.ranking[0]
        screen.marked(f"{surface.name}:", f"{top.name}, {percent(top.p)} ({likely(top.p)})", style="bold")
        if surface.before_stripping:
            screen.marked("first:", first_sentence(surface.before_stripping[0]), 4)
        screen.marked("next:", _next(surface), 4)
        vetoed = [r.name for r in surface.removers if r.vetoed_by]
        if vetoed:
            more = [f"{len(vetoed) - NOT_USED} more"] if len(vetoed) > NOT_USED else []
            screen.marked("never here:", listed([*vetoed[:NOT_USED], *more]), 4)


def tell_hazards(answer: Assessment, screen: Screen) -> None:
    """The grave things that could hurt somebody in the work that is planned, and where."""
    grave = [row for row in answer.hazards if row.grave]
    if grave:
        screen.heading("What could hurt you")
    for row in grave:
        where = f" ({', '.join(row.surfaces)})" if 0 < len(row.surfaces) <= NAMED and len(answer.surfaces) > 1 else ""
        screen.marked("!", f"{first_sentence(row.text).rstrip('.')}{where}.")


def _next(surface: SurfaceReport) -> str:
    if surface.next_test is not None:
        return f"test: {surface.next_test.name}"
    if surface.handling in NOT_STRIPPED:
        return NOT_STRIPPED[surface.handling]
    if not surface.routes:
        return "no remover is worth a try here; see its flags"
    best = surface.routes[0]
    trial = "its trial is done" if best.trial_done else "trial patch first"
    return f"{best.name}: {trial}; about {best.expected_hours:.1f} h of work, harm {best.harm:.0%}"


def tell_rest(answer: Assessment, screen: Screen, full: str = FULL, more: str = MORE) -> None:
    """The piece as a whole: whether to go on, stains, coats, steps in brief.

    full: how the reader asks for all of it; more: that and what else there is, in the words of where it is read.
    """
    screen.heading("The whole piece")
    tell_decision(answer.triage, screen)
    screen.items([opening(after_id(flag)) for flag in answer.flags], mark="!", style="bold")
    for surface in answer.surfaces:
        for stain in surface.stains:
            screen.line(f"{surface.name}, {stain.name}: {stain.told}", indent=2)
        tell_never_mix(surface.stains, screen)
    _next_coats(answer, screen)
    steps = [rows[0].name for rows in numbered(answer.order_of_work)]
    if steps:
        screen.marked("Order of work:", f"{len(steps)} steps{_time(answer)}: {', '.join(steps[:FIRST_STEPS])} ...")
    if answer.if_anyway:
        early = answer.triage.early
        why = f"It stops there until {early.surface} has come out." if early else "By your figures it stops there."
        screen.marked("!", f"{why} What would follow if you go on: {full}.")
    if answer.held:
        screen.marked("!", f"Work stops until the parts are matched, before: {answer.held[0].name}.")
    screen.marked("More:", more)


def _next_coats(answer: Assessment, screen: Screen) -> None:
    """The chosen coats; surfaces on which the same is said share a line."""
    found: dict[str, list[str]] = {}
    for surface in answer.surfaces:
        for coat in surface.recoat:
            if coat.chosen:
                found.setdefault(f"{coat.name}: {coat.told}", []).append(surface.name)
    for told, names in found.items():
        screen.marked("Next coat:", f"{told} ({', '.join(names)})")


def _time(answer: Assessment) -> str:
    plan = answer.schedule
    if plan is None or not plan.sessions:
        return ""
    return f", {plan.work_hours:.0f} h of work in {plan.days} day{'s' if plan.days != 1 else ''}"
