"""The end of a piece: what was really there, what took it off, and into the casebook.

Every answer is an event like any other; what was told already is skipped, so that the
questions can be left and taken up again.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from ...engine.knowledge.base import PATCH_PREFIX
from ...engine.piece.form import NOT_DONE, Confirmed, Removed, Result, Surface, told_outcome
from ...engine.session.events import CaseKept, SurfaceTold
from . import measure
from .desk import Desk
from .forms import LEAST, how_question
from .menus import RESULTS
from .page import Choice, Choices, Misread, Page, Question, Row
from .words import quoted

Show = Callable[[Question], None]
LIKELIEST = 5  # finishes, and removers, that are named before the rest
OTHER = "another"
NONE = "none"
AS_TOLD = ""
NO_RESULT = "not told how it did"
OF_PATCH = {"dissolves": "works"}  # what a patch shows, as the result of a try
MOVED = ("works", "lifts", "softens")
WHY: Page = [
    Row("The casebook learns from finished pieces: which tests told the truth, and what took what off."),
    Row("It stays on this machine."),
]


class Walk(Struct, frozen=True):
    """The way from surface to surface: where we are, what was passed, whether all is told anew."""

    desk: Desk
    show: Show
    surface: str = ""
    passed: frozenset[str] = frozenset()
    anew: bool = False

    @property
    def now(self) -> Surface:
        """The surface as it was told up to now."""
        return next(s for s in self.desk.state.piece.surfaces if s.name == self.surface)

    def next(self) -> Question:
        """The first question that is still open, or whether to keep the piece."""
        for surface in self.desk.state.piece.surfaces:
            if surface.name not in self.passed:
                here = replace(self, surface=surface.name, passed=self.passed | {surface.name})
                question = _truth(here) if self.anew else _open(here)
                if question is not None:
                    return question
        return _keep(self)

    def asks(self, question: Question, make: Callable[[], Question]) -> Question:
        """The question, which `make` asks again as long as its surface is there."""

        def again() -> Question:
            there = not self.surface or any(s.name == self.surface for s in self.desk.state.piece.surfaces)
            return make() if there else self.next()

        return replace(question, again=again)


def ending_question(desk: Desk, show: Show) -> Question:
    """What is still to be told of the end of each surface; at the end the piece is kept as a case."""
    return Walk(desk, show).next()


def _open(walk: Walk) -> Question | None:
    """What is still to be told of a surface, as far as it was told; None if nothing."""
    now = walk.now
    half = next((row.remover for row in now.removed if row.result is None), None)
    if now.confirmed is not None and walk.surface in walk.desk.state.half:
        return _how(walk, now.confirmed)
    if half is not None:
        return _went(walk, half)
    if now.removed:
        return _which(walk) if _contradicts(now) else None
    return _truth(walk) if now.confirmed is None else _used(walk)


def _tell(walk: Walk, field: str, value: Any, half: bool = False) -> None:
    event = SurfaceTold(surface=walk.surface, field=field, value=msgspec.to_builtins(value), half=half)  # type: ignore[arg-type]
    walk.desk.do(event)


def _truth(walk: Walk, every: bool = False) -> Question:
    """The finish that was really there."""
    names, ranking = walk.desk.knowledge.finishes, walk.desk.examined(walk.surface).posterior.finishes
    order = sorted(names, key=lambda f: (-ranking[f], f))
    rows = [Choice(f, names[f].name, names[f].name) for f in (sorted(names) if every else order[:LIKELIEST])]
    rows += [] if every else [Choice(OTHER, "another finish", OTHER)]
    rows.append(Choice(NONE, "not found out", "not found out"))

    def take(value: str) -> None:
        if value == OTHER:
            walk.show(_truth(walk, every=True))
            return
        if value == NONE and before is not None:
            _tell(walk, "confirmed", None)
        if value in (NONE, AS_TOLD):
            walk.show(_used(walk))
        elif before is not None and before.finish == value:
            walk.show(_how(walk, before, told=True))
        else:
            named = Confirmed(finish=value, how=LEAST)
            _tell(walk, "confirmed", named, half=True)
            walk.show(_how(walk, named))

    before = walk.now.confirmed
    enter = f"as told, {names[before.finish].name}" if before else "not found out"
    page: Page = [
        Row(f"{walk.surface.upper()}: what was really on it?", style="bold"),
        Choices(rows, short=every),
        Row(f"Enter: {enter}", style="dim"),
    ]
    question = Question("truth", page, take, rows, enter=AS_TOLD if before else NONE, why=WHY)
    return walk.asks(question, lambda: _truth(walk, every))


def _how(walk: Walk, named: Confirmed, told: bool = False, denied: bool = False) -> Question:
    """How the finish that was named is known; `denied`: not by its removal, which did not happen."""

    def known(how: Any) -> None:
        _tell(walk, "confirmed", replace(named, how=how))
        walk.show(walk.next() if denied else _used(walk))

    name = walk.desk.knowledge.finishes[named.finish].name
    but, before = (("removal",) if denied else ()), (named.how if told else None)
    question = how_question(f"{walk.surface.upper()}: how do you know that it was {name}?", known, but, before)
    return walk.asks(question, lambda: _how(walk, named, told, denied))


def _used(walk: Walk, every: bool = False) -> Question:
    """The remover that was used; asked again until there is no other. The one that did best in a try is proposed."""
    names, before = walk.desk.knowledge.removers, walk.now.removed
    routes = [r.remover for r in walk.desk.examined(walk.surface).routes]
    near = list(dict.fromkeys([*tries(walk.now), *routes]))[:LIKELIEST]
    best = None if before or every else next((r for r, did in tries(walk.now).items() if did in MOVED), None)
    rows = [Choice(r, names[r].name, names[r].name) for r in (sorted(names) if every else near)]
    rows += [] if every else [Choice(OTHER, "another remover", OTHER)]
    rows.append(Choice(NONE, "nothing else" if before else "nothing, it was not stripped", NONE))

    def take(value: str) -> None:
        if value == OTHER:
            walk.show(_used(walk, every=True))
        elif value != NONE:
            if all(row.remover != value for row in walk.now.removed):
                _put_removed(walk, Removed(remover=value))
            walk.show(_went(walk, value))
        elif _contradicts(walk.now):
            walk.show(_which(walk))
        else:
            walk.show(walk.next())

    told = f" Told: {', '.join(names[r.remover].name for r in before)}." if before else ""
    page: Page = [
        Row(f"{walk.surface.upper()}: what {'else ' if before else ''}was used to take it off?{told}", style="bold"),
        Choices(rows, short=every),
        Row(f"Enter: {f'{names[best].name}, as tried' if best else rows[-1].text}", style="dim"),
    ]
    question = Question("used", page, take, rows, enter=best or NONE, why=WHY)
    return walk.asks(question, lambda: _used(walk, every))


def tries(surface: Surface) -> dict[str, str]:
    """Remover -> what it did when it was tried here, by word or as a patch; those that did most first."""
    patches = {test: told_outcome(answer) for test, answer in surface.tests.items() if test.startswith(PATCH_PREFIX)}
    told = {test.removeprefix(PATCH_PREFIX): OF_PATCH.get(did, did) for test, did in patches.items() if did != NOT_DONE}
    found = {**told, **{t.remover: t.result for t in surface.tried}}
    return dict(sorted(found.items(), key=lambda row: get_args(Result).index(row[1])))


def _contradicts(surface: Surface) -> bool:
    """Whether the finish was told by a removal that did not happen."""
    known = surface.confirmed is not None and surface.confirmed.how == "removal"
    return known and all(row.result == "no-effect" for row in surface.removed)


def _which(walk: Walk) -> Question:
    """Its removal showed what it was, and nothing took it off: one of the two is not so."""
    rows = [
        Choice("used", "it was taken off; I name what took it off"),
        Choice("how", "it was not taken off; we know it otherwise"),
        Choice(NONE, "it is not known what it was"),
    ]
    named = walk.now.confirmed

    def take(value: str) -> None:
        if value == "used":
            walk.show(_used(walk))
        elif value == "how" and named is not None:
            walk.show(_how(walk, named, denied=True))
        else:
            _tell(walk, "confirmed", None)
            walk.show(walk.next())

    text = (
        f"{walk.surface.upper()}: you said that its removal showed what it was, but nothing took it off. Which is so?"
    )
    question = Question("which", [Row(text, style="bold"), Choices(rows)], take, rows, why=WHY)
    return walk.asks(question, lambda: _which(walk) if _contradicts(walk.now) else walk.next())


def _went(walk: Walk, remover: str) -> Question:
    """How a remover that was named did; kept at once, then its coats and hours are asked."""
    rows = [Choice(result, RESULTS[result]) for result in get_args(Result)]
    name = walk.desk.knowledge.removers[remover].name
    before = next((row for row in walk.now.removed if row.remover == remover), Removed(remover=remover))
    result = before.result or tries(walk.now).get(remover)

    def take(value: str) -> None:
        row = before if value == NONE else replace(before, result=value)  # its coats and hours stay
        if row != before:
            _put_removed(walk, row)
        walk.show(_work(walk, row))

    enter = f"{RESULTS[result]}, as {'told' if before.result else 'tried'}" if result else NO_RESULT
    page: Page = [
        Row(f"{walk.surface.upper()}: how did {name} do?", style="bold"),
        Choices(rows),
        Row(f"Enter: {enter}", style="dim"),
    ]
    question = Question("went", page, take, rows, enter=result or NONE, why=WHY)
    return walk.asks(question, lambda: _went(walk, remover))


def _work(walk: Walk, row: Removed) -> Question:
    """Coats and hours in one line."""

    def take(line: str) -> None:
        coats, _, spent = line.partition(",") if "," in line else line.partition(" ")
        if line != NONE:
            if not spent.strip():
                raise Misread("Type coats and hours, such as: 2 3.5, or Enter.")
            new = replace(row, coats=measure.number(coats), hours=measure.hours(spent))
            _put_removed(walk, new)
        walk.show(_used(walk))

    page: Page = [
        Row("How many coats or passes, and how many hours of work?", style="bold"),
        Row(f"Such as: 2 3.5. Enter: {'not counted' if row.coats is None else 'as told'}", style="dim"),
    ]
    question = Question("coats and hours", page, take, enter=NONE, free=True, why=WHY)
    return walk.asks(question, lambda: _work(walk, row))


def _put_removed(walk: Walk, row: Removed) -> None:
    """One row for each remover; told again, it replaces the earlier one."""
    _tell(walk, "removed", [*(r for r in walk.now.removed if r.remover != row.remover), row])


def _keep(walk: Walk) -> Question:
    """Into the casebook: a new case, or the correction of the one that this piece is already."""
    desk = walk.desk
    rows = [
        Choice("keep", "yes, keep it"),
        Choice("again", "tell it anew, surface by surface"),
        Choice(NONE, "no, not now"),
    ]
    page: Page = [Row("Keep this piece in the casebook?", style="bold")]
    for surface in desk.state.piece.surfaces:
        page.append(Row(_summary(desk, surface), mark="-", spare=3))

    def take(value: str) -> Page | None:
        if value == "again":
            walk.show(Walk(desk, walk.show, anew=True).next())
            return None
        return _kept(desk) if value == "keep" else [Row("Not kept in the casebook; done asks again.", style="dim")]

    page += [Choices(rows), Row("Enter: yes", style="dim")]
    question = Question("casebook", page, take, rows, enter="keep", why=WHY)
    return replace(walk, surface="").asks(question, lambda: _keep(walk))


def _summary(desk: Desk, surface: Surface) -> str:
    """What was told of the end of one surface."""
    names, removers = desk.knowledge.finishes, desk.knowledge.removers
    was = names[surface.confirmed.finish].name if surface.confirmed else "not found out"
    off = [f"{removers[r.remover].name}: {RESULTS[r.result] if r.result else NO_RESULT}" for r in surface.removed]
    return f"{surface.name}: {was}; {'; '.join(off) if off else 'not stripped'}."


def _kept(desk: Desk) -> Page:
    from ...engine.casebook.store import Busy, KeptAlready, NoSuchCase, NothingToDo

    book, state = desk.casebook(), desk.state
    try:
        if state.case and state.case in book.ids():
            case = book.amend(state.case, state.piece, "told again at the bench")
        else:
            case = book.add(state.piece, once=True)
    except KeptAlready as error:
        raise Misread(f"Not kept: {error}. To keep both: oldcoat case add FILE --another.") from None
    except (Busy, NoSuchCase, NothingToDo) as error:
        raise Misread(f"The casebook did not take it: {error}.") from None
    desk.do(CaseKept(case=case.id))
    return [Row(f"Kept in the casebook as {case.id}. It counts from the next start on.")]


def closed_question(desk: Desk, menu: Callable[[str], Page | None], title: str, unsettled: str | None) -> Question:
    """In place of a test on a surface whose work is over: how it ended, and what one can still do."""
    rows = [Choice(f"surface {quoted(unsettled)}", f"go to the next surface: {unsettled}", "next")] if unsettled else []
    rows += [
        Choice("result", "the result: what takes it off, what goes on"),
        Choice("done", "tell its end again; the case is then corrected"),
        Choice("tests", "test it all the same: pick a test"),
        Choice("leave", "keep everything and leave"),
    ]
    page: Page = [
        Row(title, style="bold"),
        Row(f"CLOSED. Kept in the casebook as {desk.state.case}.", style="bold"),
        Row(_summary(desk, desk.state.here), mark="-"),
        Row("No test is proposed any more. A surface that was forgotten: surface add NAME.", style="dim", spare=3),
        Choices(rows),
    ]
    why: Page = [Row("You told that the work is over; what is told here from now on changes the case if done is told.")]
    return Question(desk.state.surface, page, menu, rows, why=why)
