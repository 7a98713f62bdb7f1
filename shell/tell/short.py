"""One surface on a terminal in the short: everything that decides, each said once; the rest is in --full."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence

from ...engine.report.assessment import RemoverReport, RouteReport, Sanding, SurfaceReport
from ...engine.words import likely, listed, percent, sentence
from .brief import NOT_STRIPPED
from .figures import after_id, coats_of, first_sentence, opening, runner_up, sentences
from .screen import Screen

SHOWN_FINISHES = 4
SHOWN_FOR, SHOWN_AGAINST = 2, 1
SHOWN_GROUPS = 2
LEAST_CELLS = 4  # a shorter bar says nothing
USUAL_RUNS = 3  # the run of grits that is told is the coarsest of so many
SHOWN_CAUTIONS = 2
WEIGHT = re.compile(r" \([+-]\d+ dB\)$")
CHANCE = re.compile(r" \((\d+)%\)\.?$")
HARM_GRADES = (0.06, 0.25)
Reasoned = Callable[[RemoverReport], str]


def tell_short(surface: SurfaceReport, screen: Screen, moved: str = "") -> None:
    """One surface; `moved`: what the user's own cases did to its chances, if it is worth a line."""
    screen.heading(surface.name)
    tell_ranking(surface, screen)
    screen.line(_verdict(surface), "bold", indent=2)
    if moved:
        screen.marked("cases  ", moved)
    top = surface.ranking[0]
    _joined("for    ", [WEIGHT.sub("", row) for row in top.supports[:SHOWN_FOR]], screen)
    _joined("against", [WEIGHT.sub("", row) for row in top.against[:SHOWN_AGAINST]], screen)
    _joined("layers ", _layers(surface), screen)
    tell_clash(surface, screen)
    tell_next(surface, screen)
    for text in surface.tried:
        screen.marked("tried  ", _tried(text))
    _removers(surface, screen)
    screen.marked("Sanding:", _sanding(surface.sanding))
    if surface.routes and surface.handling == "strip":
        _route(surface.routes, surface.removers, screen)
    screen.items([opening(after_id(flag)) for flag in surface.flags_here], mark="!")


def _verdict(surface: SurfaceReport) -> str:
    """The verdict and how firm it is; the name of the finish stands right above."""
    firm = re.split("[,:]", surface.certainty)[0]
    if surface.verdict == "settled":
        return f"Settled, {firm}: no further test would change what to do."
    return f"{surface.verdict_why} How firm: {firm}."


def _tried(text: str) -> str:
    """What was seen, what rose by it, and whether the way off is another now."""
    rows = [row.split(" and ")[0].rstrip(".,") + "." for row in sentences(text)]
    return " ".join(row for row in rows if not row.startswith("The way off stays"))


def tell_ranking(surface: SurfaceReport, screen: Screen) -> None:
    """The probable finishes with bar, chance, range and word."""
    shown = [r for i, r in enumerate(surface.ranking[:SHOWN_FINISHES]) if i == 0 or r.p >= 0.02]
    longest = max(len(r.name) for r in shown)
    cells = min(16, screen.width - longest - 36)
    for row in shown:
        screen.line(
            f"{row.name:<{longest}} {screen.bar(row.p, cells if cells >= LEAST_CELLS else 0)} {percent(row.p):>4} ({row.low:.0%}-{row.high:.0%}) {likely(row.p)}",
            indent=2,
        )


def tell_clash(surface: SurfaceReport, screen: Screen) -> None:
    """Answers that do not go together."""
    if surface.fit.clashes:
        pairs = "; ".join(f"{a} against {b}" for a, b in surface.fit.clashes)
        repeat = surface.fit.repeat or "the more doubtful one"
        screen.marked("!", f"These answers clash: {pairs}. Clean the spot and repeat {repeat}.", style="bold")


def tell_next(surface: SurfaceReport, screen: Screen) -> None:
    """The test worth doing next, with what it saves and what it asks of the hands."""
    if surface.next_test:
        test = surface.next_test
        told = " ".join(filter(None, [f"{test.name}.", test.how, test.not_on, test.why]))
        screen.marked("Next test:", told)
        screen.items([first_sentence(after_id(c)) for c in test.cautions], indent=4, mark="!")


def _joined(mark: str, rows: Sequence[str], screen: Screen) -> None:
    if rows:
        screen.marked(mark, "; ".join(rows) + ".")


def _layers(surface: SurfaceReport) -> list[str]:
    names = {row.finish: row.name for row in surface.ranking}
    over = [f"{x.text.split(':')[0].rstrip('.')} {x.p:.0%}" for x in surface.layers if x.where == "over"]
    under = [f"{names[x.finish]} {x.p:.0%}" for x in surface.layers if x.where == "under"]
    return [*over, *([f"under it {', '.join(under)}"] if under else [])]


def _removers(surface: SurfaceReport, screen: Screen) -> None:
    """What takes it off, what would not, what may not be used here; those that share a reason share a line."""
    routes = [r.remover for r in surface.routes]
    works = [r for r in surface.removers if not r.vetoed_by and r.works >= 0.5 and not r.spoils]
    works.sort(key=lambda r: (routes.index(r.remover) if r.remover in routes else len(routes), r.harm, -r.works))
    fails = sorted((r for r in surface.removers if not r.vetoed_by and r.works < 0.3), key=lambda r: -r.works)
    perhaps, spoils = between(surface.removers)
    if surface.handling in NOT_STRIPPED:
        screen.marked("stays  ", f"{NOT_STRIPPED[surface.handling]}.")
        _joined("works  ", [_figures([r]) for r in works[:SHOWN_GROUPS]], screen)
    else:
        _takes_off(groups(works, _reason, _grade), screen)
        _joined("perhaps", [_figures([r]) for r in perhaps], screen)
        _joined("spoils ", [_figures([r]) for r in spoils], screen)
        _grouped("fails  ", groups(fails, _reason), screen)
    _grouped("never  ", groups((r for r in surface.removers if r.vetoed_by), _veto), screen)


def between(removers: Iterable[RemoverReport]) -> tuple[list[RemoverReport], list[RemoverReport]]:
    """What may be used and neither works nor fails: perhaps it works, or it takes the film and spoils the face."""
    free = sorted((r for r in removers if not r.vetoed_by and r.works >= 0.3), key=lambda r: -r.works)
    spoils = [r for r in free if r.spoils]
    return [r for r in free if r.works < 0.5 and r not in spoils], spoils


def _grade(remover: RemoverReport) -> int:
    """How its harm is graded, so that the harmless and the harmful share no line."""
    return sum(remover.harm >= edge for edge in HARM_GRADES)


def _takes_off(rows: Sequence[tuple[str, list[RemoverReport]]], screen: Screen) -> None:
    for reason, group in rows[:SHOWN_GROUPS]:
        warnings = _warnings(group)
        head = f"{_figures(group)}, {_hours(group)}{_contact(group)}. {reason}"
        screen.marked("works  ", " ".join([head, *(f"! {w}" for w in warnings)]))
    _joined("works  ", [_figures(group) for _, group in rows[SHOWN_GROUPS:]], screen)


def _warnings(group: Sequence[RemoverReport]) -> list[str]:
    """The first warning of each, once; whose it is where others of the line do not have it."""
    all_of = {r.name: [opening(after_id(w)) for w in r.warnings] for r in group}
    found = []
    for told in dict.fromkeys(row for rows in all_of.values() for row in rows[:1]):
        mine = [name for name, rows in all_of.items() if told in rows]
        found.append(told if len(mine) == len(group) else f"{sentence(listed(mine)).rstrip('.')}: {told}")
    return found


def _figures(group: Sequence[RemoverReport]) -> str:
    """Names, chance that it works, chance of harm."""
    return f"{listed([r.name for r in group])} {_span(r.works for r in group)}, harm {_span(r.harm for r in group)}"


def _grouped(mark: str, rows: Sequence[tuple[str, list[RemoverReport]]], screen: Screen) -> None:
    """A line a reason for the first few; of the rest the names alone."""
    for told, group in rows[:SHOWN_GROUPS]:
        chances = [int(found[1]) for r in group if r.vetoed_by and (found := CHANCE.search(r.vetoed_by[0]))]
        tail = f" ({_ends(min(chances), max(chances))}%)" if chances else ""
        screen.marked(mark, f"{listed([r.name for r in group])}: {told.rstrip('.')}{tail}.")
    rest = [r.name for _, group in rows[SHOWN_GROUPS:] for r in group]
    if rest:
        screen.marked(mark, f"also {listed(rest)}.")


def groups(
    removers: Iterable[RemoverReport], reason: Reasoned, apart: Callable[[RemoverReport], int] = lambda _: 0
) -> list[tuple[str, list[RemoverReport]]]:
    """Removers that share a reason and are not to be kept `apart`, in the order of the first of each."""
    found: dict[tuple[str, int], list[RemoverReport]] = {}
    for remover in removers:
        found.setdefault((reason(remover), apart(remover)), []).append(remover)
    return [(told, group) for (told, _), group in found.items()]


def _reason(remover: RemoverReport) -> str:
    return opening(remover.because[0]) if remover.because else ""


def _veto(remover: RemoverReport) -> str:
    return opening(CHANCE.sub("", after_id(remover.vetoed_by[0])))


def _sanding(sanding: Sanding) -> str:
    """The budget in one line, or why there is none."""
    if not sanding.runs:
        return " ".join(sentences(sanding.text)[:2])
    run = sanding.runs[-USUAL_RUNS:][0]
    known = "measured" if sanding.measured else "guessed from the years"
    of = f" of {_ends(*sanding.veneer_mm)} mm veneer ({known})" if sanding.veneer_mm else " of the solid wood"
    return (
        f"{sanding.may_go_mm:g} mm{of} may go: {run.grits} {'once' if run.times == 1 else f'up to {run.times} times'}."
    )


def _route(routes: Sequence[RouteReport], removers: Sequence[RemoverReport], screen: Screen) -> None:
    """The best way off by its turning points, and what the runner-up would cost."""
    best, names = routes[0], {r.remover: r.name for r in removers}
    litres = f", {best.litres_m2[0]:.1f}-{best.litres_m2[1]:.1f} l a square metre" if best.litres_m2[1] >= 0.05 else ""
    figures = f"about {best.expected_hours:.1f} h of work, harm {best.harm:.0%}, hazard {best.hazard} of 5{litres}"
    screen.line(f"Route: {figures}", "bold", indent=2)
    text = {stage.kind: stage.text for stage in best.tree}
    report = next(r for r in removers if r.remover == best.remover)
    coats = coats_of(report.coats, report.coat_minutes)
    steps = [
        text["patch"].split(" Go on if")[0],
        *([f"Then {coats}."] if coats else []),
        first_sentence(text["stop-when"]),
    ]
    steps += [first_sentence(text["below"])] if "below" in text else []
    steps += [first_sentence(stage.text) for stage in best.tree if stage.kind == "dry" and stage.minutes[1] > 0]
    steps += [f"If nothing moves: {f'patch with {names[best.then]}' if best.then else 'stop and test again'}."]
    more = (f"Runner-up: {runner_up(best, r)}." for r in routes[1:2])
    screen.line(" ".join([*steps, *(row for row in more if routes[1].remover != best.then)]), indent=4)
    _joined("mind   ", [first_sentence(after_id(c)).rstrip(".") for c in best.cautions[:SHOWN_CAUTIONS]], screen)


def _span(chances: Iterable[float]) -> str:
    rounded = sorted(round(100 * p) for p in chances)
    return f"{_ends(rounded[0], rounded[-1])}%"


def _hours(group: Sequence[RemoverReport]) -> str:
    return f"{min(r.hours[0] for r in group):.1f}-{max(r.hours[1] for r in group):.1f} h"


def _contact(group: Sequence[RemoverReport]) -> str:
    """How many coats, each on for how long, over the whole group."""
    told = coats_of(_over([r.coats for r in group]), _over([r.coat_minutes for r in group]))
    return f", {told}" if told else ""


def _over(ends: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return min(low for low, _ in ends), max(high for _, high in ends)


def _ends(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"
