"""Page one: each surface on a card, the order of work in short, and when to stop."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct

from ...engine.knowledge.base import Knowledge
from ...engine.planning.stains import StainPlan
from ...engine.report.assessment import Assessment, Ranked, SurfaceReport
from ...engine.words import sentence, times
from ..tell.figures import after_id, coats_of, first_sentence
from ..tell.plan import never_mix
from .cautions import Cautions
from .views import Job

DRAWN, CROWDED = 2, 5  # bars on a card; from so many surfaces on there is room for one
SIZES = {
    "huge": 12.4,
    "largest": 11.2,
    "large": 10.2,
    "middle": 9.5,
    "small": 8.9,
    "least": 8.3,
}  # points, as in sheet.css
OVER = "over"  # more than one sheet holds: the cards, then the order of work and the stops, each kept together
PAGE = 660.0  # lines times points that a page of Letter paper holds
NO_STOP = "area-guessed"
APART = re.compile(r"(?<=\.) (?=Here above all|No progress)")  # what to fear here, between what is said everywhere
PART_FLAGS = ("part-not-matched", "part-not-checked")  # the ledger says which parts these are
FULL = 1060.0  # characters times points across that page
LABEL, HEAD = 7, 9.0  # characters before what a card says; lines of headings and gaps
WAIT, LEAST_WAIT = 9, 0.5  # characters that a wait takes; hours from which it is told
ENOUGH_MONEY = 90  # characters of the decision that stand on page one
WORTH_A_LINE = 0.1  # a second finish that is likelier than this is named on the card
HANDLED = {
    "keep": "Nothing: the film stays. Clean it and coat over it.",
    "seal": "Nothing: seal the bare face.",
    "leave": "Nothing: this face is left as it is.",
    "bare": "Nothing: it is bare wood.",
}


class Mind(Struct, frozen=True, kw_only=True):
    """The one thing to mind on a surface; `number` if it is a caution of the list."""

    text: str
    number: int | None = None


class Card(Struct, frozen=True, kw_only=True):
    """One surface in the fewest words that a person at the bench needs."""

    letter: str
    name: str
    drawn: list[Ranked]
    named: list[Ranked]
    use: str
    never: list[str]
    mind: Mind | None
    next: str
    stains: list[str]
    apart: list[str]
    coats: list[str]


class Stop(Struct, frozen=True, kw_only=True):
    """When to stop, and the letters of the surfaces that it is said of; none if of the whole piece."""

    text: str
    letters: list[str]


class Bench(Struct, frozen=True, kw_only=True):
    """Page one. `size` is a class of the style sheet; what holds on all surfaces is not said on the cards."""

    size: str
    never: list[str]
    coats: list[str]
    cards: list[Card]
    stops: list[Stop]


def bench(
    answer: Assessment, jobs: Sequence[Job], letters: dict[str, str], cautions: Cautions, knowledge: Knowledge
) -> Bench:
    """Page one of a piece with this order of work."""
    never, coats = _never_anywhere(answer), _coats_everywhere(answer)
    drawn = 1 if len(answer.surfaces) >= CROWDED else DRAWN
    cards = [_card(s, letters[s.name], drawn, never, coats, cautions, knowledge) for s in answer.surfaces]
    ends = stops(answer, letters)
    graves = [cautions.of_hazard(h).name + "! 99  " + " A" * len(h.surfaces) for h in answer.hazards if h.grave]
    lengths = _Lengths(
        steps=[len(f"99 {job.name}") + 2 * len(job.places) + WAIT * (job.wait_hours >= LEAST_WAIT) for job in jobs],
        stops=[len(stop.text) + 2 * len(stop.letters) for stop in ends],
        graves=sum(map(len, graves)),
        everywhere=len(", ".join([*never, *coats])),
    )
    size = next((name for name, pt in SIZES.items() if pt * _lines_in_all(pt, cards, lengths) <= PAGE), OVER)
    return Bench(size=size, never=never, coats=coats, cards=cards, stops=ends)


def letter(index: int) -> str:
    """A, B, ... Z, AA, AB: what surfaces are called where room is short."""
    head, last = divmod(index, 26)
    return (letter(head - 1) if head else "") + chr(ord("A") + last)


def _never_anywhere(answer: Assessment) -> list[str]:
    """Removers that must not be used on any surface that has a film to deal with; empty for a single surface."""
    worked = [_vetoed(s) for s in answer.surfaces if s.handling in ("strip", "keep")]
    return [name for name in worked[0] if all(name in names for names in worked)] if len(worked) > 1 else []


def _coats_everywhere(answer: Assessment) -> list[str]:
    """The next coats, if all surfaces that get one get the same and there are several."""
    chosen = [_coats(s) for s in answer.surfaces if _coats(s)]
    return chosen[0] if len(chosen) > 1 and all(coats == chosen[0] for coats in chosen) else []


def _coats(surface: SurfaceReport) -> list[str]:
    return [coat.name for coat in surface.recoat if coat.chosen]


def _card(
    surface: SurfaceReport,
    mark: str,
    drawn: int,
    never: Sequence[str],
    coats: Sequence[str],
    cautions: Cautions,
    knowledge: Knowledge,
) -> Card:
    likely = [row for i, row in enumerate(surface.ranking[: DRAWN + 1]) if i == 0 or row.p >= WORTH_A_LINE]
    worked = surface.handling in ("strip", "keep")
    return Card(
        letter=mark,
        name=surface.name,
        drawn=likely[:drawn],
        named=likely[drawn:],
        use=use(surface),
        never=[name for name in _vetoed(surface) if name not in never] if worked else [],
        mind=mind(surface, cautions, knowledge),
        next=surface.next_test.name if surface.next_test else "",
        stains=[_stain(stain) for stain in surface.stains],
        apart=never_mix(surface.stains),
        coats=[] if coats else _coats(surface),
    )


def _vetoed(surface: SurfaceReport) -> list[str]:
    return [r.name for r in surface.removers if r.vetoed_by]


def use(surface: SurfaceReport) -> str:
    """What to take to the surface: the remover with its time and coats, and what if it fails."""
    if surface.handling != "strip" or not surface.routes:
        return HANDLED.get(surface.handling, "Nothing that may be used here is worth a try.")
    route = surface.routes[0]
    report = next(r for r in surface.removers if r.remover == route.remover)
    coats = coats_of(report.coats, report.coat_minutes)
    parts = ["hidden patch first", *([f"then {coats}"] if coats else [])]
    second = next((f" If it fails: {r.name}." for r in surface.removers if r.remover == route.then), "")
    before = f"{first_sentence(surface.before_stripping[0])} Then " if surface.before_stripping else ""
    return f"{before}{route.name}: {', '.join(parts)}.{second}"


def _stain(stain: StainPlan) -> str:
    rung = next((rung for rung in stain.ladder if rung.state == "next"), None)
    if rung is None:
        return f"{stain.name}: {first_sentence(stain.told)}"
    return f"{stain.name}: {rung.name}, {times(rung.left)}{', on bare wood' if rung.needs_bare else ''}"


def mind(surface: SurfaceReport, cautions: Cautions, knowledge: Knowledge) -> Mind | None:
    """The warning that matters most on a surface.

    First what a rule says of this very surface with a grave caution to it, then the first
    grave caution of the work planned here, then whatever else is said of it.
    """
    book = _cautions_of_flags(knowledge)
    for row in surface.flags_here:
        name = book.get(row.partition(": ")[0])
        if name is not None and knowledge.cautions[name].grave:
            return Mind(text=_start(after_id(row)))
    grave = cautions.first_grave(surface)
    if grave is not None and (grave.grave or not surface.flags_here):
        return Mind(text=grave.short, number=grave.number)
    return Mind(text=_start(after_id(surface.flags_here[0]))) if surface.flags_here else None


def _cautions_of_flags(knowledge: Knowledge) -> dict[str, str | None]:
    """For each flag of the rules, by its id, the caution that its rule gives."""
    told = (rule.then for file in knowledge.rules.values() for rule in file.rules)
    return {then.flag.id: then.caution for then in told if then.flag is not None}


def _start(text: str, enough: int = 40) -> str:
    """Whole sentences from the start, until that is enough characters to stand alone."""
    said = ""
    for part in text.split(". "):
        said = f"{said} {part.rstrip('.')}.".strip()
        if len(said) >= enough:
            break
    return said


def stops(answer: Assessment, letters: dict[str, str]) -> list[Stop]:
    """All that ends the work: the money, the parts, the film, the stain, answers that clash."""
    verdict = answer.triage.verdict
    turns = verdict is not None and (verdict.decision != "go" or answer.triage.early is not None)
    rows = [(_start(answer.triage.told, ENOUGH_MONEY), "")] if turns else []
    held = [part.label for part in answer.parts if part.holds]
    if held and answer.held:
        rows.append((f"Parts not matched: {', '.join(held)}. Nothing below the double line before they are.", ""))
    for surface in answer.surfaces:
        rows += [(sentence(text), letters[surface.name]) for text in _of_surface(surface)]
    rows += [
        (sentence(_start(after_id(flag))), "")
        for flag in answer.flags
        if flag.partition(":")[0] not in (NO_STOP, *PART_FLAGS)
    ]
    return _joined(rows)


def _of_surface(surface: SurfaceReport) -> Iterable[str]:
    if surface.fit.clashes:
        yield (
            "Answers clash: " + "; ".join(f"{one} against {two}" for one, two in surface.fit.clashes) + ". Test again."
        )
    if surface.handling == "strip":
        told = (stage.text for route in surface.routes[:1] for stage in route.tree if stage.kind == "stop-when")
        yield from (part for text in told for part in APART.split(text))
    yield from (f"{stain.name} still there: {stain.last}" for stain in surface.stains)


def _joined(rows: Sequence[tuple[str, str]]) -> list[Stop]:
    """The same said of several surfaces is said once."""
    found: dict[str, list[str]] = {}
    for text, mark in rows:
        found.setdefault(text, []).extend([mark] if mark else [])
    return [Stop(text=text, letters=list(dict.fromkeys(marks))) for text, marks in found.items()]


class _Lengths(Struct, frozen=True, kw_only=True):
    """Characters of what stands under the cards: each step and each stop, all grave cautions, what holds everywhere."""

    steps: list[int]
    stops: list[int]
    graves: int
    everywhere: int


def _lines_in_all(points: float, cards: Sequence[Card], rest: _Lengths) -> float:
    """Lines that page one takes in this size of type, reckoned from lengths of text."""
    full = FULL / points
    half, third = full / 2 - 2, full / 3 - 4  # a column, less its rule and its box to tick
    taken = [_lines(card, half - LABEL) for card in cards]
    under = sum(_rows(n, third) for n in rest.steps) / 3 + sum(_rows(n, half) for n in rest.stops) / 2
    return HEAD + max(sum(taken) / 2, *taken) + under + _rows(rest.graves, full) + _rows(rest.everywhere, full)


def _lines(card: Card, width: float) -> float:
    """Lines of a card whose texts are so many characters wide."""
    texts = [
        card.use,
        card.mind.text if card.mind else "",
        ", ".join(card.never),
        *card.stains,
        *card.apart,
        ", ".join(card.coats),
    ]
    named = bool(card.named) * (1 + sum(len(row.name) + 6 for row in card.named) // int(width))
    head = 1.6 * _rows(len(card.name) + 3, width / 1.4)
    return 2.2 + head + 1.9 * len(card.drawn) + named + sum(_rows(len(text), width) for text in texts if text)


def _rows(characters: int, width: float) -> int:
    return 1 + int(characters / width)
