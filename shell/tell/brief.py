"""The short of it: what a person with gloves on reads in ten seconds, before any reason."""

from __future__ import annotations

from ...engine.assessment import Assessment, SurfaceReport
from ...engine.words import likely, listed
from .figures import after_id, first_sentence
from .screen import Screen

FIRST_STEPS = 8
NOT_USED = 6
NOT_STRIPPED = {
    "keep": "keep the film: clean it and coat it again",
    "seal": "keep it and seal it",
    "leave": "leave it as it is; see the flags below",
    "bare": "nothing to take off",
}


def tell_glance(answer: Assessment, screen: Screen) -> None:
    """For each surface: what it is, what to do next, what takes it off, what must stay away."""
    for surface in answer.surfaces:
        top = surface.ranking[0]
        screen.marked(f"{surface.name}:", f"{top.name}, {percent(top.p)} ({likely(top.p)})", style="bold")
        screen.marked("next:", _next(surface), 4)
        vetoed = [r.name for r in surface.removers if r.vetoed_by][:NOT_USED]
        if vetoed:
            screen.marked("never here:", ", ".join(vetoed), 4)


def percent(p: float) -> str:
    """A chance as a whole per cent that never claims certainty."""
    return ">99%" if p > 0.995 else "<1%" if p < 0.005 else f"{p:.0%}"


def _next(surface: SurfaceReport) -> str:
    if surface.next_test is not None:
        return f"test: {surface.next_test.name}"
    if surface.handling in NOT_STRIPPED:
        return NOT_STRIPPED[surface.handling]
    if not surface.routes:
        return "no remover is worth a try here; see below"
    best = surface.routes[0]
    return f"{best.name}: trial patch first; about {best.expected_hours:.1f} h of work, harm {best.harm:.0%}"


def tell_rest(answer: Assessment, screen: Screen) -> None:
    """Stains, coats, steps and cautions in brief, and where the whole of it is."""
    for surface in answer.surfaces:
        for stain in surface.stains:
            screen.marked(f"{surface.name}, {stain.name}:", stain.told)
        for coat in surface.recoat:
            if coat.chosen:
                screen.marked(f"{surface.name}, next coat:", f"{coat.name}: {coat.told}")
    steps = list(dict.fromkeys(step.name for step in answer.order_of_work))
    if steps:
        more = f", and {len(steps) - FIRST_STEPS} more steps" if len(steps) > FIRST_STEPS else ""
        screen.marked("Order of work:", ", then ".join(steps[:FIRST_STEPS]) + more + ".")
    if answer.held:
        screen.marked(
            "!",
            "Work stops until the parts are matched: "
            + listed(sorted({s.name for s in answer.held})[:3])
            + " and what follows.",
        )
    if answer.schedule is not None and answer.schedule.sessions:
        plan = answer.schedule
        screen.marked("Time:", f"{plan.work_hours:.0f} h of work, {plan.days} days with the waits overlapped.")
    screen.heading("Cautions")
    screen.items(dict.fromkeys(first_sentence(after_id(c)) for c in answer.cautions), mark="!")
    screen.line()
    screen.line(
        "Stains, coats, order of work, shopping and cautions in full: --full, or oldcoat sheet FILE -o OUT.html."
    )
