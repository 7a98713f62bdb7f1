"""Corrections: everything that a piece file may say of a piece or a surface and that changes the advice.

Intake asks little; the rest stands in two lists, `piece` and `about`, each line of which is
asked again by its number. A list comes back after an answer, so that several can be given.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from ...engine.piece.form import Known, Money, Room, StainSeen, Tried
from ...engine.session.events import PieceTold, SurfaceTold
from ...engine.words import listed
from .desk import Desk
from .forms import COLOURS, NOT_TOLD, PLANS, TASTES, Field, Now, Put, Show, asked
from .intake import field_question, told_room, told_words
from .measure import SIZES, told_size
from .page import Choice, Choices, Page, Question, Row

FEW = 4  # things of a list that are named one by one
FACE = {
    "wood": Field("wood", "", ""),
    "build": Field("build", "", ""),
    "veneer_mm": Field("veneer", "How thick is the veneer, where an edge shows it?", "It is what sanding may take."),
    "area_m2": Field("area", "How large is this surface, all its faces?", "Hours and litres follow from it."),
    "features": Field(
        "on or in it",
        "What is let in, laid on or stuck on this surface?",
        "Inlay, gilding, decals and labels bear less than wood: removers are ruled out by them.",
    ),
    "film_coats": Field("coats counted", "How many coats are on it?", "A thick film needs more remover and time."),
    "film_um": Field("film measured", "How thick is the film, measured?", "A thick film needs more remover and time."),
    "under": Field(
        "film below", "Which film lies below the top one, if you saw it?", "It is what you meet when the top is off."
    ),
    "keep_under": Field(
        "keep film below",
        "Is only the top film to come off, and the one below it to stay?",
        "Only removers that spare the film below are then proposed.",
    ),
    "repairs": Field(
        "repairs", "Which repairs does it need?", "Loose veneer and joints are glued before anything wet comes near."
    ),
    "plan": Field("what to do", "What is to be done with this surface?", "A film that stays needs no remover."),
    "next_coat": Field(
        "next coat", "What is to go on this surface?", "What may go on depends on what was there before."
    ),
    "colour": Field("new colour", "Is its colour to be changed?", "Stain wants bare wood, a toner a sealed face."),
    "fill_pores": Field(
        "fill pores", "Are its pores to be filled?", "It comes after stain and before the coats, and takes a day."
    ),
    "hidden": Field(
        "hidden face", "Is this a face that does not show?", "A hidden face is left alone, and tested first."
    ),
    "shaded": Field(
        "kept from light",
        "Was it kept from the light, as under a leaf or a cloth?",
        "Its colour will not match the rest.",
    ),
    "known": Field(
        "finish known", "Is its finish known from outside the bench?", "A record or an analysis outweighs tests."
    ),
    "stain": Field("stains", "", ""),
    "tried": Field("tried", "", ""),
}
PIECE = {
    "piece": Field(
        "name", "What is it called?", "The name stands on every page and in the casebook; no advice hangs on it."
    ),
    "kind": Field("kind", "", ""),
    "made": Field("made", "", ""),
    "region": Field("region", "", ""),
    "style": Field("style", "", ""),
    "place": Field("where you work", "", ""),
    "room": Field("air", "", ""),
    "warmth": Field("warmth", "How warm is it where you work?", "Cold slows removers, drying and curing."),
    "damp": Field(
        "damp of the air", "How damp is the air there, in per cent?", "Damp air slows drying and blushes shellac."
    ),
    "have": Field("at hand", "", ""),
    "prefer": Field("what counts", "What counts most in the removal?", "It weighs hours, harm, fumes and money."),
    "next_coat": Field(
        "next coat", "What is to go on the whole piece?", "What may go on depends on what was there before."
    ),
    "wax_last": Field("wax on top", "Is wax to go over the last coat?", "Nothing but wax holds on wax later."),
    "money": Field(
        "money", "What does it sell for, what is an hour of yours worth, what did you pay?", "Whether it pays at all."
    ),
}


def about_question(desk: Desk, show: Show) -> Question:
    """All that may be told of this surface; the line chosen is asked, then the list comes back."""
    here = desk.state.here
    shown = {name: _of_face(desk, name) for name in FACE if name not in ("stain", "tried")}
    shown |= {"stain": told(desk, here.stains), "tried": told(desk, here.tried)}
    rows = [Choice(name, f"{row.label}: {shown[name]}", row.label) for name, row in FACE.items()]

    def take(name: str) -> None:
        if name:
            _ask(show, lambda on: face_question(desk, name, on), lambda: about_question(desk, show))

    page: Page = [Row(f"About {here.name}", style="bold"), Choices(rows, short=True), _tail()]
    why: Page = [Row("Each line can change which removers are ruled out, or the hours, or the order of work.")]
    return Question("about", page, take, rows, enter="", why=why)


def piece_question(desk: Desk, show: Show) -> Question:
    """What was told of the piece; the line chosen is asked again, then the list comes back."""
    piece = desk.state.piece
    shown = {name: told(desk, getattr(piece, name)) for name in PIECE if name not in ("warmth", "damp")}
    shown["piece"] = piece.piece  # as typed, be it the word for a kind
    shown |= {"have": _at_hand(desk)} if "have" in desk.state.asked else {}
    shown |= {"warmth": _degrees(desk, piece.room.temperature_c), "damp": _per_cent(desk, piece.room.humidity)}
    rows = [Choice(name, f"{row.label}: {shown[name]}", row.label) for name, row in PIECE.items()]
    rows.append(Choice("about", f"more about {desk.state.surface}", "about"))

    def take(name: str) -> None:
        if name == "about":
            show(about_question(desk, show))
        elif name:
            _ask(show, lambda on: whole_question(desk, name, on), lambda: piece_question(desk, show))

    page: Page = [Row(f"{piece.piece}: what was told", style="bold"), Choices(rows, short=True), _tail()]
    return Question("piece", page, take, rows, enter="", why=[Row("A correction counts at once, for all surfaces.")])


def _at_hand(desk: Desk) -> str:
    """What is at hand, or the little that is not."""
    tools, have = desk.knowledge.vocabulary.tools, desk.state.piece.have
    if have is None:
        return "everything, the mask too"
    missing = [tool.name for name, tool in tools.items() if name not in have]
    return f"all but {listed(missing)}" if 0 < len(missing) <= FEW else told(desk, have)


def _tail() -> Row:
    return Row("A number tells or corrects it. Enter goes on.", style="dim")


def _ask(show: Show, build: Callable[[Show], Question], after: Callable[[], Question]) -> None:
    """Ask; the list is shown again once it is answered, unless the answer asks on."""
    asked_on: list[Question] = []

    def on(question: Question) -> None:
        asked_on.append(question)
        show(question)

    question = build(on)

    def take(value: str) -> Page | None:
        asked_on.clear()
        page = question.take(value)
        if not asked_on:
            show(after())
        return page

    show(msgspec.structs.replace(question, take=take))


def face_question(desk: Desk, name: str, show: Show) -> Question:
    """The question about one line of `about`, for the surface here."""
    from .menus import stain_question, tried_question

    here = desk.state.surface
    if name in ("wood", "build"):
        return field_question(desk, name, here)
    if name == "stain":
        return stain_question(desk, show)
    if name == "tried":
        return tried_question(desk, show)

    def put(value: object) -> None:
        desk.do(SurfaceTold(surface=here, field=name, value=value))  # type: ignore[arg-type]

    return asked(desk, name, FACE[name], Now(getattr(desk.state.here, name), _of_face(desk, name)), put, show)


def _of_face(desk: Desk, name: str) -> str:
    """What a line of `about` says now, a size with its unit."""
    value = getattr(desk.state.here, name)
    return told_size(name, value, desk.settings.units) if name in SIZES and value is not None else told(desk, value)


def whole_question(desk: Desk, name: str, show: Show) -> Question:
    """The question about one line of `piece`."""
    if not PIECE[name].ask:
        return field_question(desk, name)

    def put(value: object) -> None:
        field = "room" if name in ("warmth", "damp") else name
        desk.do(PieceTold(field=field, value=value))  # type: ignore[arg-type]

    piece = desk.state.piece
    if name == "piece":
        return _name_question(PIECE[name], piece.piece, put)
    rooms = {"warmth": (piece.room.temperature_c, _degrees), "damp": (piece.room.humidity, _per_cent)}
    value, text = rooms.get(name) or (getattr(piece, name), told)
    return asked(desk, name, PIECE[name], Now(value, text(desk, value)), put, show)


def _name_question(field: Field, now: str, put: Put) -> Question:
    """The name of the piece, corrected; Enter keeps it."""
    page: Page = [Row(field.ask, style="bold"), Row(f"Enter: as told, {now}", style="dim")]
    return Question(
        field.label, page, lambda line: put(line) if line else None, enter="", free=True, why=[Row(field.why)]
    )


def _degrees(desk: Desk, celsius: float) -> str:
    return f"{celsius * 1.8 + 32:.0f} F" if desk.settings.units == "us" else f"{celsius:g} C"


def _per_cent(_desk: Desk, value: float) -> str:
    return f"{value:g} %"


def told(desk: Desk, value: object) -> str:
    """A value of a piece file in words."""
    match value:
        case None | "" | []:
            return NOT_TOLD
        case bool():
            return "yes" if value else "no"
        case Room():
            return told_room(value)
        case Known():
            return f"{desk.knowledge.finishes[value.finish].name} ({told_words(value.how)})"
        case Money():
            return f"sells {told_figure(value.sells)}, hour {value.rate_hour:g}, paid {value.bought:g}"
        case list() if all(isinstance(row, StainSeen) for row in value):
            return ", ".join(desk.knowledge.stains[row.kind].name for row in value)
        case list() if all(isinstance(row, Tried) for row in value):
            return ", ".join(dict.fromkeys(desk.knowledge.removers[row.remover].name for row in value))
        case list() if len(value) > FEW:
            return f"{len(value)} things"
        case list():
            return ", ".join(told_words(row) for row in value)
    return f"{value:g}" if isinstance(value, float) else _name(desk, str(value))


def told_figure(value: object) -> str:
    """A figure, or the likely one of a spread."""
    likely = getattr(value, "likely", value)
    return f"{likely:g}"


def _name(desk: Desk, word: str) -> str:
    """What an id is called, where the book has a name for it."""
    book = desk.knowledge
    words, coats = book.vocabulary, book.recoat.coats
    tables: list[Any] = [words.kinds, words.regions, words.styles, words.places, book.finishes, book.woods, coats]
    found = next((table[word].name for table in tables if word in table), None)
    return str(found or PLANS.get(word) or COLOURS.get(word) or TASTES.get(word) or word)
