"""What the templates need that the assessment does not say in so many words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from msgspec import Struct

from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import NOT_DONE, Answer, Surface, as_answer
from ...engine.planning.recoat import CoatPlan
from ...engine.report.assessment import Assessment, NextTest, Ranked, Step, SurfaceReport
from ..tell.figures import first_sentence, notes_by_face
from ..tell.plan import MEANS
from .cautions import Cautions, Warned

TINY = 0.02  # finishes less likely than this are left out, the first one never
SHOWN = 5

HANDLED = {
    "strip": "The film comes off.",
    "keep": "The film stays and is coated over.",
    "seal": "The bare face is sealed and nothing else.",
    "leave": "This face is left as it is.",
    "bare": "Bare wood: there is nothing to take off.",
}


class Seen(Struct, frozen=True, kw_only=True):
    """One thing seen, or to be looked for, with its drawing."""

    name: str
    sees: str
    drawing: str | None
    remark: str = ""


class Place(Struct, frozen=True, kw_only=True):
    """A surface by its letter and name."""

    letter: str
    name: str


class Note(Struct, frozen=True, kw_only=True):
    """What is said in a step, and of which of its surfaces; none if of all of them."""

    places: list[Place]
    text: str


class Job(Struct, frozen=True, kw_only=True):
    """One step of the order of work on all the surfaces that come together in it.

    `like`: the number of an earlier job that says how and why, as this one would.
    """

    number: int
    like: int | None
    name: str
    places: list[Place]
    hours: tuple[float, float]
    wait_hours: float
    how: str
    notes: list[Note]
    why: list[str]
    early: bool
    held: bool
    cautions: list[Warned]


class Coats(Struct, frozen=True, kw_only=True):
    """What may go on next, alike on some surfaces: the coat chosen, and the others by what is said of them."""

    letters: list[str]
    chosen: list[CoatPlan]
    others: list[tuple[str, list[str]]]


def shown(surface: SurfaceReport) -> list[Ranked]:
    """The finishes worth a bar: the first one, and those after it that are not negligible."""
    return [row for i, row in enumerate(surface.ranking[:SHOWN]) if i == 0 or row.p >= TINY]


def answers(surface: Surface, knowledge: Knowledge) -> list[Seen]:
    """What was seen on the surface, and what was tried on it, in the order of the piece file."""
    told = [_answer(test, given, knowledge) for test, given in surface.tests.items()]
    tried = [
        Seen(
            name=f"{knowledge.removers[one.remover].name} was tried",
            sees=one.result.replace("-", " ") + (f" after {one.minutes:g} min" if one.minutes is not None else ""),
            drawing=None,
            remark=one.note,
        )
        for one in surface.tried
    ]
    return told + tried


def _answer(test: str, given: str | Answer, knowledge: Knowledge) -> Seen:
    answer = as_answer(given)
    name = knowledge.test_name(test)
    if answer.outcome == NOT_DONE:
        return Seen(name=name, sees="could not be done", drawing=None, remark=answer.note)
    outcome = knowledge.outcome(test, answer.outcome)
    remark = "; ".join(text for text in ("" if answer.sure else "not sure", answer.note) if text)
    return Seen(name=name, sees=outcome.sees, drawing=outcome.drawing, remark=remark)


def may_show(test: NextTest, knowledge: Knowledge) -> list[Seen]:
    """Everything that a test may show."""
    rows = (knowledge.outcome(test.test, outcome) for outcome in knowledge.outcomes_of(test.test))
    return [Seen(name=row.id.replace("-", " "), sees=row.sees, drawing=row.drawing) for row in rows]


def shared_flags(answer: Assessment, letters: Mapping[str, str]) -> dict[str, list[str]]:
    """Flags that hold for more than one surface, with the letters of those surfaces."""
    found: dict[str, list[str]] = {}
    for surface in answer.surfaces:
        for flag in surface.flags_here:
            found.setdefault(flag, []).append(letters[surface.name])
    return {flag: marks for flag, marks in found.items() if len(marks) > 1}


def coats(answer: Assessment, letters: Mapping[str, str]) -> list[Coats]:
    """The next coats; surfaces of which the same is to be said stand together."""
    found: list[Coats] = []
    for surface in answer.surfaces:
        if not surface.recoat:
            continue
        chosen = [coat for coat in surface.recoat if coat.chosen]
        others = _by_meaning(coat for coat in surface.recoat if not coat.chosen)
        alike = next((row for row in found if (row.chosen, row.others) == (chosen, others)), None)
        if alike is None:
            alike = Coats(letters=[], chosen=chosen, others=others)
            found.append(alike)
        alike.letters.append(letters[surface.name])
    return found


def _by_meaning(rows: Iterable[CoatPlan]) -> list[tuple[str, list[str]]]:
    names: dict[str, list[str]] = {means: [] for means in MEANS}
    for coat in rows:
        names[coat.means].append(coat.name)
    return [(MEANS[means], told) for means, told in names.items() if told]


def jobs(steps: Sequence[Step], held: Sequence[Step], cautions: Cautions, letters: Mapping[str, str]) -> list[Job]:
    """The steps, numbered, those joined that follow each other on several surfaces; held ones after the others."""
    groups = [
        (list(rows), part is held) for part in (steps, held) for _, rows in groupby(part, key=lambda step: step.step)
    ]
    first: dict[str, int] = {}
    return [
        _job(number, first.setdefault(rows[0].step, number), rows, waits, cautions, letters)
        for number, (rows, waits) in enumerate(groups, 1)
    ]


def _job(
    number: int, first: int, rows: Sequence[Step], held: bool, cautions: Cautions, letters: Mapping[str, str]
) -> Job:
    return Job(
        number=number,
        like=first if first < number else None,
        name=rows[0].name,
        places=_places((row.surface for row in rows if row.surface), letters),
        hours=(round(sum(r.hours[0] for r in rows), 1), round(sum(r.hours[1] for r in rows), 1)),
        wait_hours=max(row.wait_hours for row in rows),
        how=rows[0].how,
        notes=[
            Note(places=_places(where, letters), text=cautions.without_bars(text))
            for where, text in notes_by_face(rows)
        ],
        why=list(dict.fromkeys(why for row in rows for why in row.why.split("; "))),
        early=any(row.early for row in rows),
        cautions=cautions.here(c for row in rows for c in row.cautions),
        held=held,
    )


def _places(names: Iterable[str], letters: Mapping[str, str]) -> list[Place]:
    return [Place(letter=letters.get(name, ""), name=name) for name in names]


def with_letters(steps: Iterable[str], letters: Mapping[str, str]) -> list[str]:
    """Steps of the schedule, `step (surface)`, with the letter in place of the name."""
    told = []
    for step in steps:
        name, _, where = step.partition(" (")
        mark = letters.get(where.removesuffix(")"), where.removesuffix(")"))
        told.append(f"{name} ({mark})" if where else name)
    return told


def after_first(text: str) -> str:
    """What follows the first sentence of a text, with the blank before it."""
    return text[len(first_sentence(text)) :]


def doing(surface: SurfaceReport) -> str:
    """What happens to a surface, in one sentence."""
    if surface.handling == "strip" and surface.routes:
        return f"Take it off with {surface.routes[0].name}."
    return HANDLED[surface.handling]
