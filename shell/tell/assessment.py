"""The assessment of a piece on a terminal, in the short or in full."""

from __future__ import annotations

from collections.abc import Mapping

from ...engine.report.assessment import Assessment, RouteReport, SurfaceReport
from ...engine.words import listed
from .brief import NOT_STRIPPED, tell_glance, tell_hazards, tell_rest
from .figures import after_id, first_sentence, runner_up
from .plan import tell_coats, tell_moves, tell_plan, tell_stains, tell_triage
from .screen import Screen
from .short import between, groups, tell_clash, tell_next, tell_ranking, tell_short

SHOWN_REMOVERS = 4
HONEST = "Chances rest on judged bands of the book. They are not calibrated on your own cases; the range says how far one step of judgement moves them."


def tell(answer: Assessment, screen: Screen, full: bool = False, moved: Mapping[str, str] | None = None) -> None:
    """The answer, the short of it first; on a terminal, which leaves one at the end, there again. `full` tells all.

    `moved`: for each surface what the user's own cases did to it, where that is worth a line.
    """
    said = moved or {}
    screen.heading(answer.piece)
    if full:
        tell_glance(answer, screen)
        tell_triage(answer.triage, screen)
        screen.items([after_id(flag) for flag in answer.flags], mark="!", style="bold")
        for surface in answer.surfaces:
            tell_surface(surface, screen, said.get(surface.name, ""))
        tell_plan(answer, screen)
        screen.heading("Cautions, in full")
        screen.items([after_id(c) for c in answer.cautions], mark="!")
        screen.line()
        _small_print(answer, screen)
        return
    tell_glance(answer, screen)
    for surface in answer.surfaces:
        tell_short(surface, screen, said.get(surface.name, ""))
    tell_rest(answer, screen)
    screen.line()
    _small_print(answer, screen)
    tell_hazards(answer, screen)
    if screen.console.is_terminal:
        screen.heading("In short")
        tell_glance(answer, screen)


def _small_print(answer: Assessment, screen: Screen) -> None:
    screen.line(HONEST, "dim")
    screen.line(f"Knowledge {answer.knowledge.version}; layers: {', '.join(answer.knowledge.layers)}.", "dim")


def tell_surface(surface: SurfaceReport, screen: Screen, moved: str = "") -> None:
    """One surface in full: ranking, verdict, next test, what takes it off, what does not, stains, coats."""
    screen.heading(surface.name)
    tell_ranking(surface, screen)
    screen.line(f"How firm: {surface.certainty}.", indent=2)
    if moved:
        screen.marked("cases", moved)
    top = surface.ranking[0]
    screen.items(top.supports[:5], mark="for    ")
    screen.items(top.against[:3], mark="against")
    for layer in surface.layers:
        screen.marked("over" if layer.where == "over" else "under", f"{layer.text} ({layer.p:.0%})")
    tell_clash(surface, screen)
    screen.line(surface.verdict_why, "bold", indent=2)
    tell_next(surface, screen)
    screen.items([after_id(f) for f in surface.flags], mark="!")
    screen.items(surface.tried, mark="tried")
    if surface.handling in NOT_STRIPPED:
        screen.marked("stays", f"{NOT_STRIPPED[surface.handling]}.")
    _removers(surface, screen)
    screen.marked("Sanding:", surface.sanding.text)
    if surface.routes and surface.handling == "strip":
        names = {r.finish: r.name for r in surface.ranking}
        _route(surface.routes[0], surface.routes[1:], [names[f] for f in surface.routes[0].covers], screen)
    tell_stains(surface, screen)
    tell_coats(surface, screen)
    tell_moves(surface, screen)


def _removers(surface: SurfaceReport, screen: Screen) -> None:
    """What takes it off (those of the routes first), what would not, what may not be used here.

    Removers that share a reason share a line.
    """
    removers, routes = surface.removers, [r.remover for r in surface.routes]
    works = [r for r in removers if not r.vetoed_by and r.works >= 0.5 and not r.spoils]
    works.sort(key=lambda r: (routes.index(r.remover) if r.remover in routes else len(routes), r.harm, -r.works))
    if works:
        screen.line("Takes it off", "bold", indent=2)
    for r in works[:SHOWN_REMOVERS]:
        figures = f"{r.name} {r.works:.0%}, harm {r.harm:.0%}, {_hours(r.hours)}"
        screen.marked(screen.bullet, f"{figures}. {r.reason}", 4)
        screen.items([after_id(w) for w in r.warnings[:3]], indent=6, mark="!")
    lists = ("Takes it off too", "Perhaps", "Takes it off and spoils the face")
    for word, group in zip(lists, (works[SHOWN_REMOVERS:], *between(removers)), strict=True):
        if group:
            screen.marked(f"{word}:", listed([f"{r.name} {r.works:.0%}, harm {r.harm:.0%}" for r in group]), 2)
    fails = sorted((r for r in removers if not r.vetoed_by and r.works < 0.3), key=lambda r: r.works)
    if fails:
        screen.line("Would not", "bold", indent=2)
    for reason, group in groups(fails, lambda r: _first(r.because)):
        screen.marked("x", f"{listed([r.name for r in group])}: {reason}", 4)
    vetoed = [r for r in removers if r.vetoed_by]
    if vetoed:
        screen.line("Not on this surface", "bold", indent=2)
    for reason, group in groups(vetoed, lambda r: after_id(r.vetoed_by[0])):
        screen.marked("X", f"{listed([r.name for r in group])}: {reason}", 4)


def _route(best: RouteReport, others: list[RouteReport], covers: list[str], screen: Screen) -> None:
    """The best route stage by stage, each caution where it first matters, again for the next attempt, and what the runner-up would cost."""
    litres = f", {best.litres_m2[0]:.1f}-{best.litres_m2[1]:.1f} l a square metre" if best.litres_m2[1] >= 0.05 else ""
    figures = f"about {best.expected_hours:.1f} h of work, harm {best.harm:.0%}, hazard {best.hazard} of 5{litres}"
    screen.line(f"Route: {figures}", "bold", indent=2)
    if len(covers) > 1:
        screen.line(f"It takes {listed(covers)} alike.", indent=4)
    every = {c.partition(": ")[0]: c for c in best.cautions}
    full = dict(every)
    for number, stage in enumerate(best.tree, 1):
        full = dict(every) if stage.kind == "if-not" else full
        screen.marked(f"{number}.", stage.text, 4)
        new = [full.pop(name) for name in stage.cautions if name in full]
        screen.items([first_sentence(after_id(c)) for c in new], indent=7, mark="!")
    for other in others[:1]:
        screen.line(f"Runner-up: {runner_up(best, other)}.", indent=4)


def _first(reasons: list[str]) -> str:
    return reasons[0] if reasons else ""


def _hours(span: tuple[float, float]) -> str:
    return f"{span[0]:.1f}-{span[1]:.1f} h"
