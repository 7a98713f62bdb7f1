"""Questions beside the main line: answers, tests, removers tried, stains."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import get_args

from msgspec.structs import replace

from ...engine.knowledge.base import PATCH_PREFIX
from ...engine.piece.form import NOT_DONE, Answer, Result, StainSeen, Tried, told_outcome
from ...engine.session.events import StainTold, TriedTold, Withdrawn
from ...engine.words import listed, span_told
from ..tell.safe import MOST
from .desk import Desk
from .measure import minutes
from .page import Choice, Choices, Page, Question, Row
from .testing import cautions

Show = Callable[[Question], None]
NOTE_SHOWN = 160  # letters of a note that stand in the list of answers
TRIED_WHY = "What a remover did, and did not do, says what the film is and changes the way off."
RESULTS = {
    "works": "it took the film off",
    "lifts": "the film wrinkled and lifted",
    "softens": "the film softened but stayed",
    "no-effect": "nothing happened",
    "harms": "it harmed the wood or what lies under",
}


def answers_question(desk: Desk, show: Show) -> Question:
    """The answers, removers tried and stains on this surface; the one chosen is asked again."""
    knowledge, here = desk.knowledge, desk.state.here
    rows = [
        Choice(test, f"{knowledge.test_name(test)}: {_told(desk, test, answer)}") for test, answer in here.tests.items()
    ]
    tries = dict.fromkeys(t.remover for t in here.tried)
    results = {r: [_told_try(t) for t in here.tried if t.remover == r] for r in tries}
    rows += [Choice(f"tried/{r}", f"{knowledge.removers[r].name} was tried: {'; '.join(results[r])}") for r in tries]
    rows += [Choice(f"stain/{s.kind}", _told_stain(desk, s)) for s in here.stains]

    def take(value: str) -> None:
        kind, _, name = value.partition("/")
        if kind == "tried":
            show(_result_question(desk, name, show, next(t for t in here.tried if t.remover == name)))
        elif kind == "stain":
            show(stain_question(desk, show, instead_of=name))
        elif value:
            desk.picked = value

    page: Page = [Row(f"Answers on {here.name}", style="bold")]
    page += [Row(f"note: {_in_short(here.note)}", mark="-")] if here.note else []
    page += (
        [Row(f"{listed(list(desk.aside))}: not in the knowledge here, kept.", mark="set aside:")] if desk.aside else []
    )
    tail = (
        "A number asks it again; withdraw and a number takes it out. Enter goes on."
        if rows
        else "None yet. Enter goes on."
    )
    return Question("answers", [*page, Choices(rows), Row(tail, style="dim")], take, rows, enter="")


def _in_short(note: str) -> str:
    return note if len(note) <= NOTE_SHOWN else f"{note[:NOTE_SHOWN].rstrip()} ... in full: list notes"


def notes(desk: Desk) -> Page:
    """All notes here in full: on the surface, and on each answer."""
    here = desk.state.here
    told = {here.name: here.note}
    told |= {desk.knowledge.test_name(t): a.note for t, a in here.tests.items() if isinstance(a, Answer)}
    rows: Page = []
    for name, note in told.items():
        parts = textwrap.wrap(note, MOST)
        rows += [Row(part, mark="-" if i else f"{name}:") for i, part in enumerate(parts)]
    return [Row(f"Notes on {here.name}", style="bold"), *(rows or [Row("None yet.")])]


def _told_try(tried: Tried) -> str:
    after = f" after {span_told(tried.minutes, tried.minutes)}" if tried.minutes is not None else ""
    return RESULTS[tried.result] + after


def _told_stain(desk: Desk, stain: StainSeen) -> str:
    tried = [f"{desk.knowledge.treatments[t].name}{_times(n)}" for t, n in stain.tried.items()]
    return ", ".join([f"stain: {desk.knowledge.stains[stain.kind].name} {stain.where}".rstrip(), *tried])


def _told(desk: Desk, test: str, answer: str | Answer) -> str:
    outcome = told_outcome(answer)
    text = "not done" if outcome == NOT_DONE else desk.knowledge.outcome(test, outcome).sees.rstrip(".")
    if isinstance(answer, Answer):
        text += "" if answer.sure or outcome == NOT_DONE else " (not sure)"
        text += f" [{_in_short(answer.note)}]" if answer.note else ""
    return text


def tests_question(desk: Desk) -> Question:
    """Every test that could be done now, what each is expected to save, to pick from."""
    knowledge, proposed = desk.knowledge, {w.test: _saving(w.saves, w.safety) for w in desk.tests()}
    others = {t: "     " for t in knowledge.tests if t not in proposed and t not in desk.state.here.tests}
    rows = [
        Choice(test, f"{lead}{knowledge.test_name(test)}", knowledge.test_name(test))
        for test, lead in [*proposed.items(), *others.items()]
    ]
    rows += [
        Choice(t, f"     {knowledge.test_name(t)} ({_short(a)})", knowledge.test_name(t))
        for t, a in desk.state.here.tests.items()
    ]

    def take(value: str) -> None:
        if value:
            desk.picked = value

    page: Page = [
        Row("Tests, and the minutes that each is expected to save, its own taken off", style="bold"),
        Row("Of those that save about as much as the best, the gentlest comes first.", style="dim", spare=4),
        Choices(rows, short=True),
        Row("A number picks one. Enter goes on with the best.", style="dim"),
    ]
    return Question("test", page, take, rows, enter="")


def named_test(desk: Desk, text: str) -> str | None:
    """The test whose name this is, in any case, as its id or in words."""
    low = text.lower().strip(" .")
    if not low or low.isdigit():
        return None
    for test in [*desk.knowledge.tests, *(f"{PATCH_PREFIX}{r}" for r in desk.knowledge.removers)]:
        if low in (test, test.replace("-", " "), desk.knowledge.test_name(test).lower()):
            return test
    return None


def _saving(minutes: float, safety: str) -> str:
    if safety:
        return "1st  "
    return f"{minutes:+4.0f} " if abs(minutes) >= 0.5 else "     "


def _short(answer: str | Answer) -> str:
    outcome = told_outcome(answer)
    return "left out" if outcome == NOT_DONE else outcome.replace("-", " ")


def tried_question(desk: Desk, show: Show) -> Question:
    """A remover that was tried on this surface, then what it did."""
    removers = desk.knowledge.removers
    rows = [Choice(name, entry.name, entry.name) for name, entry in sorted(removers.items())]

    def take(value: str) -> None:
        show(_result_question(desk, value, show))

    return Question(
        "tried", [Row("Which remover was tried here?", style="bold"), Choices(rows, short=True)], take, rows
    )


def _result_question(desk: Desk, remover: str, show: Show, before: Tried | None = None) -> Question:
    """What a remover did; kept at once, then asked how long it was left on."""
    rows = [Choice(name, RESULTS[name]) for name in get_args(Result)]
    name = desk.knowledge.removers[remover].name

    def take(value: str) -> None:
        tried = replace(before or Tried(remover=remover, result="works"), result=value)  # its note and minutes stay
        desk.do(TriedTold(surface=desk.state.surface, tried=tried))
        show(_minutes_question(desk, tried))

    page: Page = [Row(f"What did {name} do?", style="bold"), Choices(rows)]
    page += [Row(f"Enter: as told, {RESULTS[before.result]}", style="dim")] if before else []
    return Question("result", page, take, rows, enter=before.result if before else None, why=[Row(TRIED_WHY)])


def _minutes_question(desk: Desk, tried: Tried) -> Question:
    entry = desk.knowledge.removers[tried.remover]
    told = f"{entry.name}: {RESULTS[tried.result]}"

    def take(line: str) -> Page:
        now = replace(tried, minutes=minutes(line)) if line else tried
        if now != tried:
            desk.do(TriedTold(surface=desk.state.surface, tried=now))
        return _kept(desk, f"{entry.name}: {_told_try(now)}")

    full = f"as long as it should be ({span_told(*entry.work.dwell_minutes)})"
    before = tried.minutes
    enter = f"{full}" if before is None else f"as told, {span_told(before, before)}. Unknown: {full}"
    page: Page = [
        Row(f"Noted: {told}.", style="dim"),
        Row("How long was it left on, in minutes? A try cut short says less.", style="bold"),
        Row(f"Such as: 30, or 2 h. Enter: {enter}", style="dim"),
    ]
    return Question("minutes", page, take, enter="", free=True, why=[Row(TRIED_WHY)])


def _kept(desk: Desk, told: str) -> Page:
    """Word that something was taken down, for what shows nowhere else on the next screen."""
    return [Row(f"Noted on {desk.state.surface}: {told}. To change it: list", style="dim", spare=2)]


def stain_question(desk: Desk, show: Show, instead_of: str | None = None) -> Question:
    """A stain on this surface, or what a stain is instead of what it was taken for; then what was tried on it."""
    stains = desk.knowledge.stains
    rows = [Choice(name, f"{entry.name}: {entry.know_by}", entry.name) for name, entry in sorted(stains.items())]

    def take(value: str) -> None:
        here = desk.state.here
        before = next((s for s in here.stains if s.kind == instead_of), None)
        stain = before or next((s for s in here.stains if s.kind == value), StainSeen(kind=value))
        desk.do(StainTold(surface=here.name, stain=replace(stain, kind=value)))
        if instead_of not in (None, value):
            desk.do(Withdrawn(surface=here.name, test=f"stain/{instead_of}"))
        show(_treated_question(desk, value, show))

    page: Page = [Row("Which stain?", style="bold"), Choices(rows)]
    return Question("stain", page, take, rows, why=[Row("The way to take a stain out depends on what it is.")])


def _treated_question(desk: Desk, kind: str, show: Show) -> Question:
    """What was tried on a stain already; each choice counts one try more."""
    knowledge = desk.knowledge
    name = knowledge.stains[kind].name
    seen = next(s for s in desk.state.here.stains if s.kind == kind)
    ladder = [*dict.fromkeys([*(step.treatment for step in knowledge.stains[kind].ladder), *seen.tried])]
    rows = [Choice(t, f"{knowledge.treatments[t].name}{_times(seen.tried.get(t, 0))}", t) for t in ladder]

    def take(value: str) -> Page | None:
        if not value:
            told = [f"{knowledge.treatments[t].name}{_times(n)}" for t, n in seen.tried.items()]
            return _kept(desk, f"stain, {name}" + (f", tried: {', '.join(told)}" if told else ""))
        tried = {**seen.tried, value: seen.tried.get(value, 0) + 1}
        desk.do(StainTold(surface=desk.state.surface, stain=replace(seen, tried=tried)))
        show(_treated_question(desk, kind, show))
        return None

    page: Page = [
        Row(f"Noted: {name}. Was anything tried on it already?", style="bold"),
        Choices(rows),
        Row("A number counts one try of it. Enter: nothing else", style="dim"),
        *cautions(desk, desk.treating(ladder), early=True),
    ]
    why: Page = [Row("What failed so often is not proposed again, and the next treatment comes first.")]
    return Question("treated", page, take, rows, enter="", why=why)


def _times(count: int) -> str:
    return "" if not count else f" (tried {'once' if count == 1 else f'{count} times'})"
