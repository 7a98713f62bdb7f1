"""The bench sheet: the whole answer on one page that needs nothing else, to print or to read on a phone.

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

from ...engine.assessment import Assessment
from ...engine.knowledge.base import Knowledge
from ...engine.piece.form import Piece
from ...engine.words import likely, listed, times
from ..tell import figures
from ..tell.plan import MEANS, MEANS_OF_WORD
from ..tell.safe import safe
from . import views
from .bars import bar, percent
from .drawings import drawing

TEMPLATES = Path(__file__).parent / "templates"


def sheet(answer: Assessment, piece: Piece, knowledge: Knowledge) -> str:
    """The page as HTML. `answer` is the assessment of `piece` by `knowledge`."""
    cautions = views.Cautions(answer, knowledge)
    jobs = views.jobs(answer.order_of_work, cautions)
    return _environment().get_template("sheet.html").render(
        answer=answer,
        piece=piece,
        facts=_facts(piece, knowledge),
        surfaces=list(zip(answer.surfaces, piece.surfaces, strict=True)),
        cautions=cautions,
        answers=lambda surface: views.answers(surface, knowledge),
        may_show=lambda test: views.may_show(test, knowledge),
        jobs=jobs,
        held=views.jobs(answer.held, cautions, len(jobs) + 1),
        step_names={step.step: step.name for step in answer.order_of_work},
        style=Markup((TEMPLATES / "sheet.css").read_text("utf-8")),  # our own file: no text of a user is in it
    )  # fmt: skip


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        finalize=_harmless,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= _FILTERS
    made.globals |= {"bar": bar, "drawing": drawing, "MEANS": MEANS, "OTHERWISE": MEANS_OF_WORD, "TINY": views.TINY}
    return made


def _harmless(value: object) -> object:
    """What a template prints: nothing for None, our own drawings as they are, all else without control characters."""
    if value is None:
        return ""
    return value if isinstance(value, Markup) else safe(value)


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
        ("Note", piece.note),
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
    "span": figures.span,
    "long_time": figures.long_time,
    "minutes": figures.minutes,
    "choice": views.choice,
    "doing": views.doing,
    "amount": lambda item: figures.amount(item.amount, item.unit),
    "joined_steps": figures.joined_steps,
    "shown": views.shown,
}
