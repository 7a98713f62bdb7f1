"""The cautions of a sheet: each in full once, in the list at its end, and in short wherever a step wants it."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from ...engine.knowledge.base import Knowledge
from ...engine.report.assessment import Assessment, Hazard, SurfaceReport
from ..tell.figures import after_id, first_sentence


class Warned(Struct, frozen=True, kw_only=True):
    """A caution with its number in the list: `short` stands at the step, the rest in the list.

    `barred`: what is to be done where the room forbids the work, empty if the room does not.
    """

    number: int
    name: str
    short: str
    text: str
    barred: str
    grave: bool


class Cautions:
    """All cautions of the sheet, numbered, grave ones first."""

    def __init__(self, answer: Assessment, knowledge: Knowledge) -> None:
        self._book = knowledge.cautions
        rows = self._told(
            [*answer.cautions, *map(self._row, answer.hazards), *_of_surfaces(answer), *_of_steps(answer)]
        )
        rows.sort(key=lambda row: not self._grave(row))
        self._notes = " ".join(step.note for step in [*answer.order_of_work, *answer.held])
        self._rows = {row: self._warned(row, number) for number, row in enumerate(rows, 1)}

    def all(self) -> list[Warned]:
        """The whole list."""
        return list(self._rows.values())

    def here(self, rows: Iterable[str]) -> list[Warned]:
        """Those of one place, each once, grave ones first."""
        return sorted((self._rows[row] for row in self._told(rows)), key=lambda warned: warned.number)

    def of_hazard(self, hazard: Hazard) -> Warned:
        """The caution that a hazard is told by."""
        return self.here([self._row(hazard)])[0]

    def of_surface(self, surface: SurfaceReport) -> list[Warned]:
        """Those of a surface that no step of its route, stain or next coat says itself."""
        said = set(self._told(_of_work(surface)))
        return self.here(row for row in self._told(surface.cautions) if row not in said)

    def first_grave(self, surface: SurfaceReport) -> Warned | None:
        """The first grave one of the work that is planned on a surface, as that work comes; else of the surface."""
        ahead = [self._rows[row] for row in self._told([*_of_work(surface, ahead=True), *surface.cautions])]
        return next((warned for warned in ahead if warned.grave), ahead[0] if ahead else None)

    def without_bars(self, note: str) -> str:
        """A note with what the room forbids cut to its first sentence: the list of cautions has the whole of it."""
        for caution in self._book.values():
            if caution.barred is not None:
                note = note.replace(caution.barred.text, first_sentence(caution.barred.text))
        return note

    def _row(self, hazard: Hazard) -> str:
        return hazard.caution if hazard.caution in self._book else f"{hazard.caution}: {hazard.text}"

    def _told(self, rows: Iterable[str]) -> list[str]:
        """Each once, as `id: text`; some parts of the assessment give the id alone."""
        return list(dict.fromkeys(f"{row}: {self._book[row].text}" if row in self._book else row for row in rows))

    def _warned(self, row: str, number: int) -> Warned:
        text = after_id(row)
        caution = self._book.get(row.partition(": ")[0])
        return Warned(
            number=number,
            name=row.removesuffix(text).removesuffix(": ").replace("-", " "),
            short=caution.short if caution and caution.short else first_sentence(text),
            text=text,
            barred=caution.barred.text if caution and caution.barred and caution.barred.text in self._notes else "",
            grave=self._grave(row),
        )

    def _grave(self, row: str) -> bool:
        caution = self._book.get(row.partition(": ")[0])
        return caution is not None and caution.grave


def _of_work(surface: SurfaceReport, ahead: bool = False) -> Iterable[str]:
    """Those that the route, the stains and the chosen coat carry; `ahead`: of stains only what is tried next."""
    if surface.routes and surface.handling == "strip":
        yield from surface.routes[0].cautions
    for stain in surface.stains:
        for rung in stain.ladder:
            yield from rung.cautions if not ahead or rung.state == "next" else ()
    for coat in surface.recoat:
        yield from coat.cautions if coat.chosen else ()


def _of_surfaces(answer: Assessment) -> Iterable[str]:
    for surface in answer.surfaces:
        yield from surface.cautions
        yield from surface.next_test.cautions if surface.next_test else ()
        yield from (c for route in surface.routes[:1] for stage in route.tree for c in stage.cautions)
        yield from _of_work(surface)


def _of_steps(answer: Assessment) -> Iterable[str]:
    for step in [*answer.order_of_work, *answer.held]:
        yield from step.cautions
