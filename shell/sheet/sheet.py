"""The bench sheet: the whole answer in one file that needs nothing else, to print or to read on a phone.

Page one is for the wall; what it says in short stands at length on the pages after it.

Every text passes two gates before it stands on the page, wherever it is from: control
and bidirectional characters are made visible, then HTML is escaped. A content policy in
the page forbids scripts and anything from outside, should both ever fail.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import Piece
from ...engine.report.assessment import Assessment
from ...engine.words import likely, listed, times
from ..tell import figures
from ..tell.plan import MEANS_OF_WORD, WAITS
from ..tell.safe import safe
from ..tell.units import in_us
from . import bench, removers, views
from .bars import bar, percent
from .cautions import Cautions
from .drawings import drawing

TEMPLATES = Path(__file__).parent / "templates"


def sheet(answer: Assessment, piece: Piece, knowledge: Knowledge, us: bool = False) -> str:
    """The page as HTML. `answer` is the assessment of `piece` by `knowledge`; `us`: figures in US units."""
    cautions = Cautions(answer, knowledge)
    letters = {surface.name: bench.letter(i) for i, surface in enumerate(answer.surfaces)}
    jobs = views.jobs(answer.order_of_work, answer.held, cautions, letters)
    return _environment(us).get_template("sheet.html").render(
        answer=answer,
        piece=piece,
        facts=_facts(piece, knowledge),
        surfaces=list(zip(answer.surfaces, piece.surfaces, strict=True)),
        letters=letters,
        marks_of=lambda names: [letters[name] for name in names if name in letters],
        cautions=cautions,
        bench=bench.bench(answer, jobs, letters, cautions, knowledge),
        shared=views.shared_flags(answer, letters),
        removers=removers.tables(answer),
        coats=views.coats(answer, letters),
        answers=lambda surface: views.answers(surface, knowledge),
        may_show=lambda test: views.may_show(test, knowledge),
        jobs=[job for job in jobs if not job.held],
        held=[job for job in jobs if job.held],
        days=lambda steps: figures.joined_steps(views.with_letters(steps, letters), _names(answer)),
        style=Markup((TEMPLATES / "sheet.css").read_text("utf-8")),  # our own file: no text of a user is in it
    )  # fmt: skip


def _names(answer: Assessment) -> dict[str, str]:
    return {step.step: step.name for step in answer.order_of_work}


def _environment(us: bool) -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        finalize=_in_us_harmless if us else _harmless,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= _FILTERS
    made.globals |= {
        "bar": bar,
        "drawing": drawing,
        "OTHERWISE": MEANS_OF_WORD,
        "WAITS": WAITS,
        "TINY": views.TINY,
        "runner_up": figures.runner_up,
    }
    return made


def _harmless(value: object) -> object:
    """What a template prints: nothing for None, our own drawings as they are, all else without control characters."""
    if value is None:
        return ""
    return value if isinstance(value, Markup) else safe(value)


def _in_us_harmless(value: object) -> object:
    """The same with figures in US units; a figure and its unit must come in one value."""
    harmless = _harmless(value)
    return (
        in_us(harmless)
        if isinstance(value, str) and isinstance(harmless, str) and not isinstance(value, Markup)
        else harmless
    )


def _facts(piece: Piece, knowledge: Knowledge) -> list[tuple[str, str]]:
    """What is known of the piece, in words, without what is not known."""
    words = knowledge.vocabulary
    rows = (
        ("Made", str(piece.made)),
        ("Where", _word(words.regions, piece.region)),
        ("Kind", _word(words.kinds, piece.kind)),
        ("Style", _word(words.styles, piece.style)),
        ("Rules of", _word(words.places, piece.place)),
        ("Room", _room(piece)),
    )
    return [(head, text) for head, text in rows if text and text != "unknown"]


def _word(words: dict[str, Any], name: str | None) -> str:
    return words[name].name if name in words and name != "unknown" else ""


def _room(piece: Piece) -> str:
    room = piece.room
    air = "" if room.ventilation == "unknown" else f", {room.ventilation} air"
    return f"{room.temperature_c:g} C, {room.humidity:g}% humidity{air}"


_FILTERS: dict[str, Callable[..., Any]] = {
    "percent": percent,
    "likely": likely,
    "listed": listed,
    "times": times,
    "after_id": figures.after_id,
    "first_sentence": figures.first_sentence,
    "after_first": views.after_first,
    "span": figures.span,
    "long_time": figures.long_time,
    "doing": views.doing,
    "amount": lambda item: figures.amount(item.amount, item.unit),
    "shown": views.shown,
}
