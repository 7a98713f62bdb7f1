"""What may be sanded away on a surface, in words and figures, or why nothing is sanded."""

from __future__ import annotations

from ..examine import Examination
from ..planning.handling import NO_WOOD, SANDING, sanding_barred
from ..words import sentence, times
from .assessment import SPOILS_FROM, Sanding, SandingRun

SHOWN_RUNS = 3


def told_sanding(done: Examination) -> Sanding:
    """The sanding budget, and the runs of grits that it bears; or why nothing is sanded."""
    under, against = done.under, _against_sanding(done)
    open_runs = [] if against else under.sequences
    runs = [SandingRun(grits=g, takes_mm=mm, times=int(under.budget_mm / mm + 1e-9)) for g, mm in open_runs]
    known = under.veneer_known == "measured"
    if under.veneer_mm is None:
        of = "Solid wood: without losing the shape"
    else:
        low, high = under.veneer_mm
        of = f"{low:g} mm of veneer, measured" if known else f"{low:g} to {high:g} mm of veneer, guessed from the years"
        of += f", less {under.stays_mm:g} mm that must stay and {under.unseen_mm:g} mm for what cannot be seen"
    told = "; ".join(f"{run.grits} takes {run.takes_mm:g} mm, {times(run.times)}" for run in runs[-SHOWN_RUNS:])
    return Sanding(
        may_go_mm=under.budget_mm,
        veneer_mm=under.veneer_mm,
        measured=known,
        stays_mm=under.stays_mm,
        unseen_mm=under.unseen_mm,
        runs=runs,
        text=against
        or f"{of}: {under.budget_mm:g} mm may go in all. {sentence(told) if told else 'No run of grits fits into that.'}",
    )


def _against_sanding(done: Examination) -> str:
    """Why nothing is sanded dry: there is no wood, it is forbidden, or the face would not bear it; else empty."""
    sheets = [f.rule.then.flag for f in done.firings if f.rule.then.facts.get(NO_WOOD) is True]
    if sheets:
        return f"There is nothing to sand. {sheets[0].text if sheets[0] else ''}".strip()
    barred = sanding_barred(done)
    if barred:
        return f"No dry sanding here. {barred[0].why}"
    tried = next((p for p in done.predictions if p.remover == SANDING), None)
    if tried is None or not tried.harms or not done.under.sequences or tried.harm < SPOILS_FROM:
        return ""
    worst = max(tried.harms, key=lambda harm: harm.chance)
    return f"The wood would bear {done.under.budget_mm:g} mm in all, but not for taking this film off. {worst.why}"
