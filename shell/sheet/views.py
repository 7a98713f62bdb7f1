"""What the templates need that the assessment does not say in so many words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from msgspec import Struct

from ...engine.assessment import Assessment, NextTest, Ranked, RemoverReport, Step, SurfaceReport
from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import NOT_DONE, Answer, Surface
from ..tell.figures import after_id, first_sentence
from .bars import percent

GOOD, POOR = 0.5, 0.3  # chance that a remover works: from here it is named, below it is advised against
TINY = 0.02  # finishes less likely than this are left out, the first one never
SHOWN = 5

HANDLED = {
    "strip": "The film comes off.",
    "keep": "The film stays and is coated over.",
    "seal": "The bare face is sealed and nothing else.",
    "leave": "This face is left as it is.",
    "bare": "Bare wood: there is nothing to take off.",
}


class Warned(Struct, frozen=True, kw_only=True):
    """A caution where it stands: its number in the list, and its text in full or in short."""

    number: int
    name: str
    text: str
    grave: bool
    full: bool


class Seen(Struct, frozen=True, kw_only=True):
    """One thing seen, or to be looked for, with its drawing."""

    name: str
    sees: str
    drawing: str | None
    remark: str = ""


class Choice(Struct, frozen=True, kw_only=True):
    """The removers of one surface by what to think of them; the last two as (names, common reason)."""

    works: list[RemoverReport]
    doubtful: list[RemoverReport]
    fails: list[tuple[str, str]]
    vetoed: list[tuple[str, str]]


class Job(Struct, frozen=True, kw_only=True):
    """One step of the order of work on all the surfaces that come together in it."""

    number: int
    name: str
    places: list[str]
    hours: tuple[float, float]
    wait_hours: float
    how: str
    notes: list[str]
    why: list[str]
    early: bool
    cautions: list[Warned]


class Cautions:
    """All cautions of the sheet, numbered, grave ones first."""

    def __init__(self, answer: Assessment, knowledge: Knowledge) -> None:
        self._book = knowledge.cautions
        rows = self._told([*answer.cautions, *_of_surfaces(answer), *_of_steps(answer)])
        rows.sort(key=lambda row: not self._grave(row))
        self._numbers = {row: number for number, row in enumerate(rows, 1)}

    def all(self) -> list[Warned]:
        """The whole list, in full."""
        return self.full(self._numbers)

    def grave(self) -> list[Warned]:
        """Those that can kill or maim, or that the law has a say in."""
        return [row for row in self.all() if row.grave]

    def full(self, rows: Iterable[str]) -> list[Warned]:
        """Those of one place, in full."""
        return self.once(rows, set())

    def brief(self, rows: Iterable[str]) -> list[Warned]:
        """Those of one place, in short, with their numbers."""
        return self.once(rows, set(self._numbers))

    def of_removal(self, surface: SurfaceReport) -> list[Warned]:
        """Those of a surface and of its best route, in short, without what its stains and its next coat say themselves."""
        told = [c for stain in surface.stains for rung in stain.ladder for c in rung.cautions]
        told += [c for coat in surface.recoat if coat.chosen for c in coat.cautions]
        route = surface.routes[0].cautions if surface.routes and surface.handling == "strip" else []
        elsewhere = set(self._told(told))
        return self.brief([*route, *(row for row in surface.cautions if row not in elsewhere)])

    def once(self, rows: Iterable[str], told: set[str]) -> list[Warned]:
        """Those of one place; in full where they are not in `told` yet, which then holds them."""
        unique = self._told(rows)
        found = [self._warned(row, row not in told) for row in unique]
        told.update(unique)
        return found

    def _told(self, rows: Iterable[str]) -> list[str]:
        """Each once, as `id: text`; some parts of the assessment give the id alone."""
        return list(dict.fromkeys(f"{row}: {self._book[row].text}" if row in self._book else row for row in rows))

    def _warned(self, row: str, full: bool) -> Warned:
        text = after_id(row)
        return Warned(
            number=self._numbers[row],
            name=row.removesuffix(text).removesuffix(": ").replace("-", " "),
            text=text if full else first_sentence(text),
            grave=self._grave(row),
            full=full,
        )

    def _grave(self, row: str) -> bool:
        caution = self._book.get(row.partition(": ")[0])
        return caution is not None and caution.grave


def _of_surfaces(answer: Assessment) -> Iterable[str]:
    for surface in answer.surfaces:
        yield from surface.cautions
        yield from surface.next_test.cautions if surface.next_test else ()
        yield from surface.routes[0].cautions if surface.routes else ()
        for stain in surface.stains:
            for rung in stain.ladder:
                yield from rung.cautions
        for coat in surface.recoat:
            yield from coat.cautions if coat.chosen else ()


def _of_steps(answer: Assessment) -> Iterable[str]:
    for step in [*answer.order_of_work, *answer.held]:
        yield from step.cautions


def shown(surface: SurfaceReport) -> list[Ranked]:
    """The finishes worth a bar: the first one, and those after it that are not negligible."""
    return [row for i, row in enumerate(surface.ranking[:SHOWN]) if i == 0 or row.p >= TINY]


def choice(surface: SurfaceReport) -> Choice:
    """The removers sorted: use, try on a patch, would not work, must not be used here."""
    free = [r for r in surface.removers if not r.vetoed_by]
    fails = sorted((r for r in free if r.works < POOR), key=lambda r: r.works)
    return Choice(
        works=[r for r in free if r.works >= GOOD],
        doubtful=[r for r in free if POOR <= r.works < GOOD],
        fails=_alike((f"{r.name} ({percent(r.works)})", " ".join(r.because[:1])) for r in fails),
        vetoed=_alike((r.name, " ".join(map(after_id, r.vetoed_by))) for r in surface.removers if r.vetoed_by),
    )


def _alike(rows: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Names with the same reason on one line."""
    found: dict[str, list[str]] = {}
    for name, reason in rows:
        found.setdefault(reason, []).append(name)
    return [(", ".join(names), reason) for reason, names in found.items()]


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
    answer = Answer(outcome=given) if isinstance(given, str) else given
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


def jobs(steps: Sequence[Step], cautions: Cautions, first: int = 1) -> list[Job]:
    """The steps, numbered from `first`, those joined that follow each other on several surfaces.

    A caution is told in full where it comes up first.
    """
    told: set[str] = set()
    groups = groupby(steps, key=lambda step: step.step)
    return [_job(number, list(rows), cautions, told) for number, (_, rows) in enumerate(groups, first)]


def _job(number: int, rows: Sequence[Step], cautions: Cautions, told: set[str]) -> Job:
    first = rows[0]
    return Job(
        number=number,
        name=first.name,
        places=[row.surface for row in rows if row.surface],
        hours=(round(sum(r.hours[0] for r in rows), 1), round(sum(r.hours[1] for r in rows), 1)),
        wait_hours=max(row.wait_hours for row in rows),
        how=first.how,
        notes=list(dict.fromkeys(row.note for row in rows if row.note)),
        why=list(dict.fromkeys(why for row in rows for why in row.why.split("; "))),
        early=any(row.early for row in rows),
        cautions=cautions.once([c for row in rows for c in row.cautions], told),
    )


def doing(surface: SurfaceReport) -> str:
    """What happens to a surface, in one sentence."""
    if surface.handling == "strip" and surface.routes:
        name = next((r.name for r in surface.removers if r.remover == surface.routes[0].remover), "")
        return f"Take it off with {name}."
    return HANDLED[surface.handling]
