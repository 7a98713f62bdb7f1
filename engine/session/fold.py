"""The state of a session is a fold over its events.

    state = fold(events);  undo = fold without the last event that can be undone

State is a piece as in a piece file, so that examining and exporting need nothing else,
and the little that a piece file has no room for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import reduce
from typing import Any, TypeVar

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from ..piece.form import NOT_DONE, Answer, Piece, Surface, as_answer, told_outcome
from .events import (
    Answered,
    AnyEvent,
    CaseKept,
    NotDone,
    Noted,
    PieceTold,
    StainTold,
    Started,
    SurfaceAdded,
    SurfaceChosen,
    SurfaceDropped,
    SurfaceRenamed,
    SurfacesNamed,
    SurfaceTold,
    TriedTold,
    Undone,
    Withdrawn,
)

MOST_SURFACES = 200
STAYS = (SurfaceChosen, CaseKept)  # mere changes of place, and what the casebook has, are not taken back
R = TypeVar("R", Piece, Surface, Answer)


class BadEvent(ValueError):
    """An event that makes no sense in the state it meets; the message says why."""


class State(Struct, frozen=True, kw_only=True):
    """Where a session stands.

    asked: intake questions that were answered.
    last: surface -> what was told last there that counts as evidence, as evidence names it.
    file: the piece file that it is about, if any; case: its name in the casebook, if it was kept.
    closed: the surfaces that were there when it was kept: the work on them is over.
    half: the surfaces whose true finish was told, and not yet how it is known.
    """

    piece: Piece
    surface: str
    asked: frozenset[str] = frozenset()
    last: Mapping[str, str] = {}
    file: str = ""
    case: str = ""
    closed: frozenset[str] = frozenset()
    half: frozenset[str] = frozenset()

    @property
    def here(self) -> Surface:
        """The surface that is worked on."""
        return _surface(self, self.surface)

    @property
    def answers(self) -> int:
        """How many tests were answered on the whole piece."""
        return sum(answered(s) for s in self.piece.surfaces)


def answered(surface: Surface) -> int:
    """How many tests of a surface were answered; one that was left out is no answer."""
    return sum(told_outcome(answer) != NOT_DONE for answer in surface.tests.values())


def fold(events: Iterable[AnyEvent]) -> State | None:
    """The state after `events`, or None before the first. Raises BadEvent."""
    return reduce(_step, live(events), None)


def live(events: Iterable[AnyEvent]) -> list[AnyEvent]:
    """The events that count: those taken back, and the taking back, are left out."""
    return _parted(events)[0]


def taken_back(events: Iterable[AnyEvent]) -> list[AnyEvent]:
    """The events that were taken back, the latest first: what was told, though it no longer counts."""
    return _parted(events)[1][::-1]


def _parted(events: Iterable[AnyEvent]) -> tuple[list[AnyEvent], list[AnyEvent]]:
    """The events that count, and those that were taken back, in the order in which they were."""
    kept: list[AnyEvent] = []
    gone: list[AnyEvent] = []
    for event in events:
        if not isinstance(event, Undone):
            kept.append(event)
            continue
        index = _last_undoable(kept)
        if index is None:
            raise BadEvent("there is nothing to take back")
        gone.append(kept[index])
        kept[index:] = [e for e in kept[index:] if isinstance(e, CaseKept)]  # the casebook has it still
    return kept, gone


def undoable(events: Iterable[AnyEvent]) -> AnyEvent | None:
    """What would be taken back next; None if nothing is left."""
    rows = live(events)
    last = _last_undoable(rows)
    return None if last is None else rows[last]


def told_times(events: Iterable[AnyEvent]) -> int:
    """How many things were told that could be taken back one by one."""
    return sum(not isinstance(event, STAYS) for event in live(events)[1:])


def _last_undoable(events: list[AnyEvent]) -> int | None:
    """The last event but the start and what stays."""
    return next((i for i in range(len(events) - 1, 0, -1) if not isinstance(events[i], STAYS)), None)


def apply(state: State | None, event: AnyEvent) -> State:
    """The state after one more event, which must not be an Undone. Raises BadEvent."""
    return _step(state, event)


def _step(state: State | None, event: AnyEvent) -> State:
    if isinstance(event, Started):
        return State(
            piece=event.piece,
            surface=event.piece.surfaces[0].name,
            asked=frozenset(event.asked),
            file=event.file,
            case=state.case if state is not None else "",
        )
    if state is None:
        raise BadEvent("a session begins with a piece")
    if isinstance(event, CaseKept):
        return replace(state, case=event.case, closed=frozenset(s.name for s in state.piece.surfaces))
    if isinstance(event, SurfaceChosen):
        _surface(state, event.surface)
        return replace(state, surface=event.surface)
    return _told(state, event)


def _told(state: State, event: AnyEvent) -> State:
    match event:
        case PieceTold():
            piece = _with(state.piece, event.field, event.value)
            return replace(state, piece=piece, asked=state.asked | {event.field})
        case SurfacesNamed():
            return _named(state, event.names)
        case SurfaceTold():
            return _surface_told(state, event)
        case SurfaceAdded():
            return _added(state, event)
        case SurfaceRenamed():
            return _renamed(state, event)
        case SurfaceDropped():
            return _dropped(state, event)
        case Noted():
            return _noted(state, event)
        case Answered() | NotDone() | Withdrawn() | TriedTold() | StainTold():
            return _seen(state, event)
    raise BadEvent(f"{type(event).__name__} cannot stand here")


def _with(row: R, field: str, value: Any) -> R:
    """The row with one field changed, checked like a piece file."""
    try:
        return msgspec.convert({**msgspec.to_builtins(row), field: value}, type(row))
    except (msgspec.ValidationError, TypeError) as error:
        raise BadEvent(f"{field}: {error}") from None


def _surface(state: State, name: str) -> Surface:
    found = next((s for s in state.piece.surfaces if s.name == name), None)
    if found is None:
        raise BadEvent(f"there is no surface {name[:60]!r}")
    return found


def _put(state: State, name: str, new: Surface) -> State:
    surfaces = [new if s.name == name else s for s in state.piece.surfaces]
    return replace(state, piece=replace(state.piece, surfaces=surfaces))


def _surfaces(state: State, surfaces: list[Surface], here: str) -> State:
    if not 1 <= len(surfaces) <= MOST_SURFACES:
        raise BadEvent(f"a piece has at least one surface and at most {MOST_SURFACES}")
    names = {s.name for s in surfaces}
    parts = [replace(p, surface=p.surface if p.surface in names else None) for p in state.piece.parts]
    return replace(state, piece=replace(state.piece, surfaces=surfaces, parts=parts), surface=here)


def _free(state: State, name: str) -> None:
    if any(s.name == name for s in state.piece.surfaces):
        raise BadEvent(f"there is a surface {name[:60]!r} already")


def _named(state: State, names: list[str]) -> State:
    unique = list(dict.fromkeys(names))
    known = {s.name: s for s in state.piece.surfaces}
    state = _surfaces(state, [known.get(n) or Surface(name=n) for n in unique], unique[0] if unique else "")
    return replace(state, asked=state.asked | {"surfaces"})


def _surface_told(state: State, event: SurfaceTold) -> State:
    names = [event.surface] if event.surface is not None else [s.name for s in state.piece.surfaces]
    for name in names:
        state = _put(state, name, _with(_surface(state, name), event.field, event.value))
    if event.field == "confirmed":
        state = replace(state, half=state.half.union(names) if event.half else state.half.difference(names))
    return replace(state, asked=state.asked | {event.field})


def _added(state: State, event: SurfaceAdded) -> State:
    _free(state, event.surface)
    new = Surface(name=event.surface, wood=event.wood)
    if event.like is not None:
        like = _surface(state, event.like)
        new = replace(new, wood=like.wood, build=like.build, veneer_mm=like.veneer_mm)
    return _surfaces(state, [*state.piece.surfaces, new], event.surface)


def _renamed(state: State, event: SurfaceRenamed) -> State:
    if event.to != event.surface:
        _free(state, event.to)
    state = _put(state, event.surface, replace(_surface(state, event.surface), name=event.to))
    parts = [replace(p, surface=event.to) if p.surface == event.surface else p for p in state.piece.parts]
    state = replace(state, piece=replace(state.piece, parts=parts))
    last = {event.to if k == event.surface else k: v for k, v in state.last.items()}
    closed, half = (
        frozenset(event.to if name == event.surface else name for name in names) for names in (state.closed, state.half)
    )
    here = event.to if state.surface == event.surface else state.surface
    return replace(state, last=last, closed=closed, half=half, surface=here)


def _dropped(state: State, event: SurfaceDropped) -> State:
    _surface(state, event.surface)
    rest = [s for s in state.piece.surfaces if s.name != event.surface]
    here = state.surface if state.surface != event.surface else (rest[0].name if rest else "")
    state = _surfaces(state, rest, here)
    last = {k: v for k, v in state.last.items() if k != event.surface}
    gone = {event.surface}
    return replace(state, last=last, closed=state.closed - gone, half=state.half - gone)


def _seen(state: State, event: Answered | NotDone | Withdrawn | TriedTold | StainTold) -> State:
    here = _surface(state, event.surface)
    match event:
        case Answered():
            return _evidence(
                state, replace(here, tests={**_but(here, event.test), event.test: _answer(event)}), event.test
            )
        case NotDone():
            row = Answer(outcome=NOT_DONE, note=event.why)
            return _put(state, here.name, replace(here, tests={**_but(here, event.test), event.test: row}))
        case Withdrawn():
            return _put(state, here.name, _withdrawn(here, event.test))
        case TriedTold():
            others = [t for t in here.tried if t.remover != event.tried.remover]
            return _evidence(state, replace(here, tried=[*others, event.tried]), f"tried/{event.tried.remover}")
        case StainTold():
            rest = [s for s in here.stains if s.kind != event.stain.kind]
            return _put(state, here.name, replace(here, stains=[*rest, event.stain]))


def _evidence(state: State, surface: Surface, name: str) -> State:
    return replace(_put(state, surface.name, surface), last={**state.last, surface.name: name})


def _withdrawn(here: Surface, name: str) -> Surface:
    """The surface without one answer, remover tried or stain. Raises BadEvent if there is none."""
    without = replace(
        here,
        tests=_but(here, name),
        tried=[t for t in here.tried if name != f"tried/{t.remover}"],
        stains=[s for s in here.stains if name != f"stain/{s.kind}"],
    )
    if without == here:
        raise BadEvent(f"{name[:60]!r} was not answered on {here.name[:60]!r}")
    return without


def _but(surface: Surface, test: str) -> dict[str, str | Answer]:
    return {name: answer for name, answer in surface.tests.items() if name != test}


def _answer(event: Answered) -> str | Answer:
    if event.sure and not event.note:
        return event.outcome
    return Answer(outcome=event.outcome, sure=event.sure, note=event.note)


def _noted(state: State, event: Noted) -> State:
    if event.surface is None:
        return replace(state, piece=_with(state.piece, "note", _joined(state.piece.note, event.text)))
    here = _surface(state, event.surface)
    if event.test is None:
        return _put(state, here.name, _with(here, "note", _joined(here.note, event.text)))
    if event.test not in here.tests:
        raise BadEvent(f"{event.test[:60]!r} was not answered on {here.name[:60]!r}")
    row = as_answer(here.tests[event.test])
    return _put(
        state,
        here.name,
        replace(here, tests={**here.tests, event.test: _with(row, "note", _joined(row.note, event.text))}),
    )


def _joined(old: str, new: str) -> str:
    return f"{old} {new}".strip()
