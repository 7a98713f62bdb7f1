"""The plan of a piece on a terminal: whether to go on, stains, coats, order of work, sessions, shopping, parts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from ...engine.planning.ledger import PartLine
from ...engine.planning.recoat import CoatPlan
from ...engine.planning.schedule import Schedule
from ...engine.planning.stains import Rung, StainPlan
from ...engine.planning.triage import Triage
from ...engine.report.assessment import Assessment, Shopping, Step, SurfaceReport
from ...engine.words import times
from .figures import after_id, amount, first_sentence, joined_steps, long_time, notes_by_face, span
from .screen import Screen

MEANS = {
    "works": "Goes on",
    "after-cure": "After full cure",
    "barrier": "With a barrier",
    "test": "Test patch first",
    "remove": "Clean it off first",
    "no": "Not over this",
}


def tell_triage(triage: Triage, screen: Screen) -> None:
    """Whether to go on, the worst surface, and the cheapest work that shows it."""
    screen.line("Worth going on?", "bold", indent=2)
    tell_decision(triage, screen, 4)
    early = triage.early
    if early is not None:
        screen.marked(
            "!",
            f"Against the usual order {early.surface} is worked out before the decision ({early.hours:.1f} h). "
            f"What that costs: {'; '.join(early.costs)}. On average it still saves {early.worth:.0f} in your money "
            "against deciding now.",
            4,
        )


def tell_decision(triage: Triage, screen: Screen, indent: int = 2) -> None:
    """What to do, the figures behind it, which surface decides, and the cheapest work that shows how it comes out."""
    first = first_sentence(triage.told)
    screen.line(first, "bold", indent=indent)
    screen.line(f"{triage.told.removeprefix(first)} {triage.why}".strip(), indent=indent)
    show = triage.show
    if show is not None:
        cost = f" ({show.cost:.0f} in your money)" if show.cost is not None else ""
        minutes = max(1, round(show.hours * 60))
        screen.marked("Cheapest look:", f"{show.surface}: {show.name}, about {minutes} min{cost}.", indent)


def never_mix(stains: Sequence[StainPlan]) -> list[str]:
    """The treatments that come next on one surface and must never meet, by twos."""
    ahead = [rung for stain in stains for rung in stain.ladder if rung.state == "next"]
    foes = {
        tuple(sorted((one.name, other.name)))
        for one in ahead
        for other in ahead
        if other.name.lower() in one.never_with
    }
    return [f"{first} and {then}: two rinses and full drying between." for first, then in sorted(foes)]


def tell_never_mix(stains: Sequence[StainPlan], screen: Screen) -> None:
    """The same as warnings."""
    screen.items([f"Never mix {text}" for text in never_mix(stains)], indent=2, mark="!", style="bold")


def tell_stains(surface: SurfaceReport, screen: Screen) -> None:
    """Each stain: what next, how, how often, what then, what never, what to beware of; first which two must not meet."""
    tell_never_mix(surface.stains, screen)
    for stain in surface.stains:
        where = f" ({stain.where})" if stain.where else ""
        screen.line(f"Stain: {stain.name}{where}", "bold", indent=2)
        screen.line(stain.told, indent=4)
        for rung in stain.ladder:
            if rung.state == "next":
                _tell_next(rung, screen)
                _tell_cautions(rung.cautions, surface, screen)
            elif rung.state == "later":
                screen.marked("then", f"{rung.name}, {times(rung.left)}. {' '.join(rung.why)}", 4)
            else:
                why = " ".join(rung.why) if rung.state == "not-here" else f"tried {rung.tried} of {rung.tries}."
                screen.items([f"{rung.name}: {why}"] if why else [], indent=4, mark="x")
        if stain.next is not None:
            screen.marked("last", stain.last, 4)
        screen.marked("!", stain.sanding, 4)


def _tell_cautions(names: Sequence[str], surface: SurfaceReport, screen: Screen) -> None:
    """Those of these cautions that matter on this surface."""
    here = dict(line.partition(": ")[::2] for line in surface.cautions)
    screen.items([here[name] for name in names if name in here], indent=6, mark="!")


def _tell_next(rung: Rung, screen: Screen) -> None:
    screen.marked("now", f"{rung.name}: {rung.how}", 4)
    rows = (
        ("mix", rung.mix),
        ("on for", f"{span(rung.dwell_hours)} h" if rung.dwell_hours[1] else None),
        ("rinse", rung.rinse),
        ("dry", f"{span(rung.dry_hours)} h before anything else" if rung.dry_hours[1] else None),
        ("never with", ", ".join(rung.never_with)),
        ("metal", rung.metal),
        ("veneer", rung.veneer),
        ("colour", rung.colour),
    )
    for head, text in rows:
        if text:
            screen.marked(f"{head}:", text, 6)
    screen.items(rung.warnings, indent=6, mark="!")


def tell_coats(surface: SurfaceReport, screen: Screen) -> None:
    """The coat that was chosen in full, with what to beware of; all others by one word."""
    coats = surface.recoat
    if not coats:
        return
    screen.line("Next coat", "bold", indent=2)
    for coat in coats:
        if coat.chosen:
            _tell_chosen(coat, screen)
            _tell_cautions(coat.cautions, surface, screen)
    notes = dict.fromkeys(note for coat in coats if not coat.chosen for note in coat.notes if "%" in note)
    screen.items(notes if not coats[0].chosen else [], indent=4, mark="!")
    for means, told in MEANS.items():
        names = [coat.name for coat in coats if coat.means == means and not coat.chosen]
        if names:
            screen.marked(f"{told}:", "; ".join(names), 4)


def _tell_chosen(coat: CoatPlan, screen: Screen) -> None:
    screen.line(f"{coat.name}: {coat.told}", indent=4)
    for other in coat.otherwise:
        screen.marked(
            "but",
            f"{MEANS_OF_WORD.get(other.word, other.word)} if it is {' or '.join(other.under) or 'another film'} ({other.p:.0%})",
            6,
        )
    screen.items(coat.notes, indent=6, mark="!")
    for row in coat.stack if coat.means in ("works", "after-cure", "barrier") else []:
        screen.marked(screen.bullet, row, 6)
    if coat.toner == "no":
        screen.marked("!", "A toner does not hold with it, under it or over it: the toner is left out.", 6)
    if coat.too_cold:
        screen.marked("!", f"The room is too cold for it: {coat.least_c:g} C or more first; times are for that.", 6)
    screen.marked("use:", f"light use after {long_time(coat.use_hours)}, full cure after {coat.cure_days:.0f} days", 6)
    screen.marked("wears:", coat.wears, 6)
    screen.marked("way back:", coat.back_off, 6)


WAITS = "Only for the work that is free now. Buy for the rest once the parts are matched."
MEANS_OF_WORD = {
    "no": "not at all",
    "closed": "not at all",
    "remove": "only after cleaning",
    "ok": "as it is",
    "test": "test patch",
}


def tell_plan(answer: Assessment, screen: Screen) -> None:
    """Order of work, sessions, shopping list, parts."""
    _tell_order(answer.order_of_work, "Order of work", screen)
    if answer.if_anyway:
        _tell_anyway(answer, screen)
    if answer.held:
        screen.line("Stopped until the parts are matched", "bold", indent=2)
        held = [f"{s.name} ({s.surface})" if s.surface else s.name for s in answer.held]
        screen.line(joined_steps(held, {}), indent=4)
    if answer.schedule is not None and answer.schedule.sessions:
        _tell_sessions(answer.schedule, _names(answer), screen)
    _tell_shopping(answer.shopping, bool(answer.held), screen)
    _tell_parts(answer.parts, screen)


def tell_moves(surface: SurfaceReport, screen: Screen) -> None:
    """How far the solid wood of this surface moves, if the book knows."""
    if surface.moves:
        screen.marked("wood:", surface.moves)


def _tell_order(steps: Sequence[Step], heading: str, screen: Screen) -> None:
    if not steps:
        return
    screen.heading(heading)
    for number, rows in enumerate(numbered(steps), 1):
        _tell_step(number, rows, screen)


def numbered(steps: Sequence[Step]) -> list[list[Step]]:
    """The steps that share a number: the same one on several faces, straight after each other."""
    return [list(rows) for _, rows in groupby(steps, key=lambda step: step.step)]


def _tell_anyway(answer: Assessment, screen: Screen) -> None:
    """That the work ends here by the figures, and in brief what would follow; days and shopping are without it."""
    early = answer.triage.early
    if early is not None:
        screen.line(f"Stop here and decide. Only if {early.surface} came out well, the rest:", "bold", indent=2)
    else:
        screen.line("Stop here: by your figures the rest does not pay. Only if you go on anyway:", "bold", indent=2)
    steps = [f"{s.step} ({s.surface})" if s.surface else s.step for s in answer.if_anyway]
    hours = sum(s.hours[0] for s in answer.if_anyway), sum(s.hours[1] for s in answer.if_anyway)
    screen.line(f"{joined_steps(steps, {s.step: s.name for s in answer.if_anyway})}.", indent=4)
    screen.line(
        f"That is {span(hours)} h more. The days and the shopping list are without it; "
        "for the whole plan leave `money:` out of the file.",
        indent=4,
    )
    cautions = dict.fromkeys(first_sentence(after_id(c)) for s in answer.if_anyway for c in s.cautions)
    screen.items(cautions, indent=4, mark="!")


def _tell_step(number: int, rows: Sequence[Step], screen: Screen) -> None:
    """One step on all the surfaces that come together in the order."""
    first = rows[0]
    where = ", ".join(r.surface for r in rows if r.surface)
    low, high = sum(r.hours[0] for r in rows), sum(r.hours[1] for r in rows)
    wait = max(r.wait_hours for r in rows)
    told = [f"{span((round(low, 1), round(high, 1)))} h"] if high >= 0.05 else []
    told += [f"then wait {long_time(wait)}"] if wait >= 0.5 else []
    told += ["early, on purpose"] if any(r.early for r in rows) else []
    tail = f" ({', '.join(told)})" if told else ""
    screen.marked(f"[ ] {number:>2}", f"{first.name}{': ' + where if where else ''}{tail}")
    screen.items(_notes(rows), indent=9, mark=screen.bullet)
    screen.items(dict.fromkeys(first_sentence(after_id(c)) for r in rows for c in r.cautions), indent=9, mark="!")


def _notes(rows: Sequence[Step]) -> list[str]:
    """The notes of one step; those that are not said of all its faces each with its own."""
    return [f"{', '.join(where)}: {note}" if where else note for where, note in notes_by_face(rows)]


def _tell_sessions(plan: Schedule, names: dict[str, str], screen: Screen) -> None:
    screen.heading("Working days")
    alone = f"; one thing after the other: {plan.sequence_days}" if plan.sequence_days > plan.days else ""
    screen.line(
        f"{plan.work_hours:.0f} h of work, {plan.days} day{'s' if plan.days != 1 else ''} with the waits overlapped{alone}.",
        indent=2,
    )
    for session in plan.sessions:
        screen.marked(f"day {session.day:>3}, {session.hours:.1f} h:", joined_steps(session.steps, names))
        if session.waiting:
            screen.marked("meanwhile:", joined_steps(session.waiting, names), 4)


def _names(answer: Assessment) -> dict[str, str]:
    return {step.step: step.name for step in answer.order_of_work}


def _tell_shopping(shopping: Shopping, waits: bool, screen: Screen) -> None:
    if not shopping.items:
        return
    screen.heading("Shopping list")
    if waits:
        screen.line(WAITS, "bold", indent=2)
    for item in shopping.items:
        screen.marked("[ ]", f"{item.what}: {amount(item.amount, item.unit)}, {item.why}{_places(item.surfaces)}")
    if shopping.tools:
        screen.marked("have:", "; ".join(shopping.tools))


def _tell_parts(parts: Sequence[PartLine], screen: Screen) -> None:
    if not parts:
        return
    screen.heading("Parts")
    for part in parts:
        place = ", ".join(p for p in (part.where, f"up: {part.up}" if part.up else "") if p)
        state = "matched" if part.matched else f"HOLD: {part.holds}"
        screen.marked(f"[{part.label}]", f"{part.what}{'; ' + place if place else ''}. {state}")
        screen.items([f"screws {s}" for s in part.screws] + part.hardware, indent=4)
        screen.items([f"photograph and mask: {m}" for m in part.mask] + part.warnings, indent=4, mark="!")


def _places(surfaces: Sequence[str]) -> str:
    return f" ({', '.join(surfaces)})" if surfaces else ""
