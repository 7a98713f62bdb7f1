"""Questions by what their answer is: yes or no, one or several of a list, a size."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any, get_args

import msgspec
from msgspec import Struct

from ...engine.piece.form import Feature, How, Known, Money, Repair
from ...engine.piece.reader import MOST_VENEER_MM
from . import measure
from .desk import Desk
from .intake import several_question, told_words
from .page import Choice, Choices, Misread, Page, Question, Row

Show = Callable[[Question], None]
Put = Callable[[Any], None]
NOT_TOLD = "not told"
YES_NO = (Choice("no", "no"), Choice("yes", "yes"))
HOWS = {
    "laboratory": "a laboratory analysed it",
    "makers-record": "the maker's record or label says so",
    "removal": "its removal showed it",
    "opinion": "somebody who knows thinks so",
}
LEAST: How = get_args(How)[-1]  # the way of knowing that weighs least
PLANS = {
    "strip": "take the film off",
    "keep": "keep the film, clean it and coat over it",
    "seal": "seal the bare face",
    "leave": "leave it as it is",
}
TASTES = {
    "balanced": "time, harm and fumes alike",
    "fast": "few hours of work",
    "gentle": "little risk to the piece",
    "cheap": "little money for material",
    "low-fume": "little vapour",
}
COLOURS = {"stain": "stain the bare wood", "toner": "tone it under or in the new film"}


class Field(Struct, frozen=True):
    """One line of a list: what it is called, how it is asked, why it matters."""

    label: str
    ask: str
    why: str


class Now(Struct, frozen=True):
    """What stands in a line now, as in a piece file and in words; Enter keeps it."""

    value: Any
    text: str


def asked(desk: Desk, name: str, field: Field, now: Now, put: Put, show: Show) -> Question:
    """A question by what its answer is: yes or no, several of a list, one of a list, a size."""
    lists: dict[str, dict[str, str]] = {
        "under": {name: entry.name for name, entry in desk.knowledge.finishes.items()},
        "next_coat": {name: coat.name for name, coat in desk.knowledge.recoat.coats.items()},
        "plan": PLANS,
        "prefer": TASTES,
        "colour": COLOURS,
    }
    severals = {"features": get_args(Feature), "repairs": get_args(Repair)}
    if name in lists:
        return _choice(field, lists[name], now.value, put, none=name != "prefer")
    if name in severals:
        texts = {value: told_words(value) for value in severals[name]}
        return several_question(field.label, field.ask, field.why, texts, now.value, put)
    if name == "known":
        return _known(desk, field, now.value, put, show)
    if name in SIZES:
        return _size(desk, name, field, now, put)
    return _yes_no(field, now.value, put)


def _yes_no(field: Field, now: bool, put: Put) -> Question:
    enter = "yes" if now else "no"
    page: Page = [Row(field.ask, style="bold"), Choices(YES_NO), Row(f"Enter: {enter}", style="dim")]
    return Question(field.label, page, lambda v: put(v == "yes"), YES_NO, enter=enter, why=[Row(field.why)])


def _choice(field: Field, names: dict[str, str], now: str | None, put: Put, none: bool) -> Question:
    rows = [Choice(value, text, text) for value, text in names.items()]
    rows += [Choice("none", NOT_TOLD, NOT_TOLD)] if none else []
    enter = next((row for row in rows if row.value == now), rows[-1] if none else rows[0])
    page: Page = [
        Row(field.ask, style="bold"),
        Choices(rows, short=True),
        Row(f"Enter: {enter.text}", style="dim"),
    ]

    def take(value: str) -> None:
        put(None if value == "none" else value)

    return Question(field.label, page, take, rows, enter=enter.value, why=[Row(field.why)])


def _known(desk: Desk, field: Field, now: Known | None, put: Put, show: Show) -> Question:
    """The finish that is known, then how."""

    def then(finish: str | None) -> None:
        if finish is None:
            put(None)
        elif now is None or finish != now.finish:
            show(how_question(f"How is it known that it is {desk.knowledge.finishes[finish].name}?", keep(finish)))

    def keep(finish: str) -> Put:
        return lambda how: put(msgspec.to_builtins(Known(finish=finish, how=how)))

    return _choice(
        field,
        {name: entry.name for name, entry in desk.knowledge.finishes.items()},
        now.finish if now else None,
        then,
        True,
    )


def how_question(ask: str, put: Put, but: Collection[str] = (), told: How | None = None) -> Question:
    """How the truth about a finish is known, `but` in these ways; Enter is what was `told`, or what weighs least."""
    rows = [Choice(how, HOWS[how]) for how in get_args(How) if how not in but]
    enter = told if told and told not in but else LEAST
    why = "as told" if enter == told else "which weighs least"
    page: Page = [Row(ask, style="bold"), Choices(rows), Row(f"Enter: {HOWS[enter]}, {why}", style="dim")]
    return Question("how known", page, put, rows, enter=enter, why=[Row("An analysis weighs more than an opinion.")])


SIZES: dict[str, dict[str, str]] = {
    "veneer_mm": {"metric": "0.6 mm", "us": "1/32 in"},
    "area_m2": {"metric": "0.8 m2", "us": "9 sq ft"},
    "film_um": {"metric": "80 um", "us": "3 mil"},
    "film_coats": {"metric": "3", "us": "3"},
    "warmth": {"metric": "18 C", "us": "65 F"},
    "damp": {"metric": "55", "us": "55"},
    "money": {"metric": "400 25 60", "us": "400 25 60"},
}


def _size(desk: Desk, name: str, field: Field, now: Now, put: Put) -> Question:
    units = desk.settings.units
    read: dict[str, Callable[[str], object]] = {
        "veneer_mm": lambda line: measure.millimetres(line, units, MOST_VENEER_MM),
        "area_m2": lambda line: measure.square_metres(line, units),
        "film_um": lambda line: measure.micrometres(line, units),
        "film_coats": lambda line: _whole(measure.number(line, 50)),
        "warmth": lambda line: _room(desk, temperature_c=20.0 if line == "unknown" else measure.celsius(line, units)),
        "damp": lambda line: _room(desk, humidity=measure.number(line, 100) or 50.0),
        "money": lambda line: _money(desk, line),
    }
    kept = "not known" if now.value is None else f"as told, {now.text}. Not known: unknown"
    page: Page = [
        Row(field.ask, style="bold"),
        Row(f"Such as: {SIZES[name][units]}. Enter: {kept}", style="dim"),
    ]

    def take(line: str) -> None:
        if line:
            put(read[name](line))

    return Question(field.label, page, take, enter="", free=True, why=[Row(field.why)])


def _whole(value: float | None) -> int | None:
    return None if value is None else max(1, round(value))


def _room(desk: Desk, **fields: float) -> dict[str, Any]:
    return {**msgspec.to_builtins(desk.state.piece.room), **fields}


def _money(desk: Desk, line: str) -> dict[str, Any] | None:
    """Selling price, worth of an hour, price paid; what else a piece file said of money stays."""
    if line == "unknown":
        return None
    figures = [measure.number(word, 1e9) or 0.0 for word in line.split()]
    if len(figures) not in (2, 3):
        raise Misread("Type two or three figures: sells for, an hour of yours, paid for it.")
    before = msgspec.to_builtins(desk.state.piece.money) if desk.state.piece.money else {}
    now: dict[str, Any] = msgspec.to_builtins(
        Money(sells=figures[0], rate_hour=figures[1], bought=figures[2] if len(figures) == 3 else 0.0)
    )
    return {**before, **now}
