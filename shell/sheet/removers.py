"""All removers on all surfaces in a table: what works, what does not, what must not be used, and why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from ...engine.report.assessment import Assessment, RemoverReport, SurfaceReport
from ..tell.figures import after_id, coats_of, span
from .bars import percent
from .bench import letter

WIDEST = 6  # surfaces side by side that paper has room for
GOOD, POOR = 0.5, 0.3  # chance that a remover works: from here it is named, below it is advised against


class Cell(Struct, frozen=True, kw_only=True):
    """One remover on one surface: what to think of it, its figures, and the letters of the reasons.

    `more`: how long and how often, which paper has no room for.
    """

    state: Literal["works", "patch", "fails", "spoils", "never"]
    reasons: list[str]
    figures: str = ""
    more: str = ""


class Row(Struct, frozen=True, kw_only=True):
    """Removers of which the same is to be said; a cell for each column."""

    names: list[str]
    cells: list[Cell]


class Table(Struct, frozen=True, kw_only=True):
    """Removers on some surfaces; columns are (letter, name) of the surfaces."""

    columns: list[tuple[str, str]]
    rows: list[Row]


class Tables(Struct, frozen=True, kw_only=True):
    """All surfaces that have a film to deal with, a few to a table; reasons are (letter, text), shared by all."""

    tables: list[Table]
    reasons: list[tuple[str, str]]


def tables(answer: Assessment) -> Tables:
    """The tables; in each what works best comes first, what may be used nowhere last."""
    worked = [(letter(i), s) for i, s in enumerate(answer.surfaces) if s.handling in ("strip", "keep")]
    reasons: dict[str, str] = {}
    count = -(-len(worked) // WIDEST)  # as even as can be: six and six, never eleven and one
    ends = [round(n * len(worked) / count) for n in range(count + 1)] if count else []
    made = [_table(worked[start:end], reasons) for start, end in pairwise(ends)]
    return Tables(tables=made, reasons=[(mark, text) for text, mark in reasons.items()])


def _table(worked: Sequence[tuple[str, SurfaceReport]], reasons: dict[str, str]) -> Table:
    on: dict[str, list[RemoverReport]] = {}
    for _, surface in worked:
        for report in surface.removers:
            on.setdefault(report.remover, []).append(report)
    order = sorted(on.values(), key=lambda reports: -max(0 if r.vetoed_by else 1 + r.works - r.harm for r in reports))
    rows: list[Row] = []
    for reports in order:
        cells = [_cell(report, reasons) for report in reports]
        alike = next((row for row in rows if row.cells == cells), None)
        if alike is None:
            rows.append(Row(names=[reports[0].name], cells=cells))
        else:
            alike.names.append(reports[0].name)
    return Table(columns=[(mark, surface.name) for mark, surface in worked], rows=rows)


def _cell(report: RemoverReport, reasons: dict[str, str]) -> Cell:
    if report.vetoed_by:
        return Cell(state="never", reasons=_marks(map(after_id, report.vetoed_by), reasons))
    said = _marks([*report.because[:1], *map(after_id, report.warnings)], reasons)
    if report.works < POOR:
        return Cell(state="fails", reasons=said, figures=percent(report.works))
    spoils = report.spoils
    return Cell(
        state="spoils" if spoils else "works" if report.works >= GOOD else "patch",
        reasons=said,
        figures=f"{percent(report.works)}, harm {percent(report.harm)}, {span(report.hours)} h",
        more=f", {coats}" if (coats := coats_of(report.coats, report.coat_minutes)) else "",
    )


def _marks(texts: Iterable[str], reasons: dict[str, str]) -> list[str]:
    """The letters of these reasons; one that is new gets the next."""
    return [reasons.setdefault(text, letter(len(reasons)).lower()) for text in dict.fromkeys(texts)]
