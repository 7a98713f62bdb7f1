"""Questions beside the main line: answers, tests, surfaces, corrections, removers tried, stains."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from msgspec.structs import replace

from ...engine.knowledge.base import PATCH_PREFIX
from ...engine.piece.form import NOT_DONE, Answer, Result, Room, StainSeen, Surface, Tried, told_outcome
from ...engine.session.events import (
    StainTold,
    SurfaceAdded,
    SurfaceChosen,
    SurfaceDropped,
    SurfaceRenamed,
    SurfaceTold,
    TriedTold,
    Withdrawn,
)
from .desk import Desk
from .measure import millimetres, square_metres
from .page import Choice, Choices, Misread, Page, Question, Row

UNKNOWN = "unknown"
Show = Callable[[Question], None]
RESULTS = {
    "works": "it took the film off",
    "lifts": "the film wrinkled and lifted",
    "softens": "the film softened but stayed",
    "no-effect": "nothing happened",
    "harms": "it harmed the wood or what lies under",
}


def answers_question(desk: Desk, show: Show) -> Question:
    """The answers, removers tried and stains on this surface; the one chosen is asked again."""
    knowledge, here = desk.knowledge, desk.state.here
    rows = [
        Choice(test, f"{knowledge.test_name(test)}: {_told(desk, test, answer)}") for test, answer in here.tests.items()
    ]
    tries = dict.fromkeys(t.remover for t in here.tried)
    results = {r: [RESULTS[t.result] for t in here.tried if t.remover == r] for r in tries}
    rows += [Choice(f"tried/{r}", f"{knowledge.removers[r].name} was tried: {'; '.join(results[r])}") for r in tries]
    rows += [
        Choice(f"stain/{s.kind}", f"stain: {knowledge.stains[s.kind].name} {s.where}".rstrip()) for s in here.stains
    ]

    def take(value: str) -> None:
        kind, _, name = value.partition("/")
        if kind == "tried":
            show(_result_question(desk, name))
        elif kind == "stain":
            show(stain_question(desk, instead_of=name))
        elif value:
            desk.picked = value

    page: Page = [Row(f"Answers on {here.name}", style="bold")]
    page += [Row(f"note: {here.note}", mark="-")] if here.note else []
    tail = (
        "A number asks it again; withdraw and a number takes it out. Enter goes on."
        if rows
        else "None yet. Enter goes on."
    )
    return Question("answers", [*page, Choices(rows), Row(tail, style="dim")], take, rows, enter="")


def _told(desk: Desk, test: str, answer: str | Answer) -> str:
    outcome = told_outcome(answer)
    text = "not done" if outcome == NOT_DONE else desk.knowledge.outcome(test, outcome).sees.rstrip(".")
    if isinstance(answer, Answer):
        text += "" if answer.sure or outcome == NOT_DONE else " (not sure)"
        text += f" [{answer.note}]" if answer.note else ""
    return text


def tests_question(desk: Desk) -> Question:
    """Every test that could be done now, what each is expected to save, to pick from."""
    knowledge, proposed = desk.knowledge, {w.test: _saving(w.saves) for w in desk.tests()}
    others = {t: "     " for t in knowledge.tests if t not in proposed and t not in desk.state.here.tests}
    rows = [
        Choice(test, f"{lead}{knowledge.test_name(test)}", knowledge.test_name(test))
        for test, lead in [*proposed.items(), *others.items()]
    ]
    rows += [
        Choice(t, f"     {knowledge.test_name(t)} ({_short(a)})", knowledge.test_name(t))
        for t, a in desk.state.here.tests.items()
    ]

    def take(value: str) -> None:
        if value:
            desk.picked = value

    page: Page = [
        Row("Tests, and the minutes that each is expected to save, its own taken off", style="bold"),
        Choices(rows, short=True),
        Row("A number picks one. Enter goes on with the best.", style="dim"),
    ]
    return Question("test", page, take, rows, enter="")


def named_test(desk: Desk, text: str) -> str | None:
    """The test whose name this is, in any case, as its id or in words."""
    low = text.lower().strip(" .")
    if not low or low.isdigit():
        return None
    for test in [*desk.knowledge.tests, *(f"{PATCH_PREFIX}{r}" for r in desk.knowledge.removers)]:
        if low in (test, test.replace("-", " "), desk.knowledge.test_name(test).lower()):
            return test
    return None


def _saving(minutes: float) -> str:
    return f"{minutes:+4.0f} " if abs(minutes) >= 0.5 else "     "


def _short(answer: str | Answer) -> str:
    outcome = told_outcome(answer)
    return "left out" if outcome == NOT_DONE else outcome.replace("-", " ")


def surface_words(desk: Desk, rest: str, show: Show) -> Page | None:
    """surface, and what may follow it; what it did, in words. Raises Misread."""
    verb, _, name = rest.partition(" ")
    name, here = name.strip()[:200], desk.state.surface
    meant = _meant(desk, rest)
    if meant is not None:
        desk.do(SurfaceChosen(surface=meant))
    elif verb in ("add", "copy") and name:
        wood = _shared_wood(desk) if verb == "add" else UNKNOWN
        desk.do(SurfaceAdded(surface=name, like=here if verb == "copy" else None, wood=wood))
    elif verb == "rename" and name:
        old, new = _old_and_new(desk, name)
        desk.do(SurfaceRenamed(surface=old, to=new))
    elif verb == "drop":
        return _drop(desk, _meant(desk, name) or name or here)
    elif rest:
        raise Misread(f"There is no surface {rest[:40]!r}. Or: surface add NAME, rename NAME, copy NAME, drop.")
    else:
        show(_surfaces(desk))
        return None
    desk.picked = None
    return None


def _meant(desk: Desk, text: str) -> str | None:
    """The surface that a name or a number in the list means."""
    names = [s.name for s in desk.state.piece.surfaces]
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(names):
        return names[int(text) - 1]
    return text if text in names else next((n for n in names if n.lower() == text.lower()), None)


def _shared_wood(desk: Desk) -> str:
    """The wood of the piece, if all its surfaces share it."""
    woods = {s.wood for s in desk.state.piece.surfaces}
    return woods.pop() if len(woods) == 1 else UNKNOWN


def _old_and_new(desk: Desk, text: str) -> tuple[str, str]:
    """A surface and its new name: OLD NEW, or NEW alone for the surface here."""
    for at in range(len(text) - 1, 0, -1):
        old = _meant(desk, text[:at]) if text[at] == " " else None
        if old is not None:
            return old, text[at:].strip()
    return desk.state.surface, text


def _drop(desk: Desk, name: str) -> Page:
    count = next((told_count(s) for s in desk.state.piece.surfaces if s.name == name), 0)
    desk.do(SurfaceDropped(surface=name))
    desk.picked = None
    return [Row(f"Dropped {name} ({count} answer{'s' if count != 1 else ''}); back restores it.", style="dim")]


def told_count(surface: Surface) -> int:
    """How many answers, removers tried and stains were told of a surface."""
    return len(surface.tests) + len(surface.tried) + len(surface.stains)


def _surfaces(desk: Desk) -> Question:
    here = desk.state.surface
    rows = []
    for surface in desk.state.piece.surfaces:
        count = len(surface.tests)
        told = f"{count} answer{'s' if count != 1 else ''}"
        mark = ", here" if surface.name == here else ""
        rows.append(Choice(surface.name, f"{surface.name} ({surface.wood} wood, {told}{mark})"))

    def take(value: str) -> None:
        if value != here:
            desk.do(SurfaceChosen(surface=value))
            desk.picked = None

    page: Page = [
        Row("Surfaces of this piece", style="bold"),
        Choices(rows),
        Row(
            "A number goes there. surface add NAME; surface rename NAME, copy NAME or drop for the one here. Or: drop NAME, rename OLD NEW.",
            style="dim",
        ),
    ]
    return Question("surface", page, take, rows, enter=here)


PIECE_FIELDS = ("kind", "made", "region", "style", "place", "have", "room")
FACE_FIELDS = ("wood", "build", "veneer_mm", "area_m2", "hidden")
FACE_TOLD = {
    "wood": "wood",
    "build": "build",
    "veneer_mm": "veneer thickness",
    "area_m2": "area",
    "hidden": "hidden face",
}


def piece_question(desk: Desk, ask: Callable[[str, str | None], None]) -> Question:
    """What was told of the piece and of this surface; the line chosen is asked again."""
    piece, here = desk.state.piece, desk.state.here
    rows = [Choice(f, f"{f}: {_shown(getattr(piece, f))}", f) for f in PIECE_FIELDS]
    rows += [Choice(f, f"{here.name}, {FACE_TOLD[f]}: {_shown(getattr(here, f))}", f) for f in FACE_FIELDS]

    def take(value: str) -> None:
        if value:
            ask(value, here.name if value in FACE_FIELDS else None)

    page: Page = [
        Row(f"{piece.piece}: what was told", style="bold"),
        Choices(rows, short=True),
        Row("A number corrects it. Enter goes on.", style="dim"),
    ]
    return Question("correct", page, take, rows, enter="")


def _shown(value: object) -> str:
    if value is None:
        return "not told"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Room):
        from .intake import told_room

        return told_room(value)
    if isinstance(value, list):
        return f"{len(value)} things"
    return str(value)


def measure_question(desk: Desk, field: str, surface: str) -> Question:
    """Veneer thickness, area, or whether a face is hidden."""
    if field == "hidden":
        rows = [Choice("no", "a face that shows"), Choice("yes", "a hidden face")]

        def hide(value: str) -> None:
            desk.do(SurfaceTold(surface=surface, field="hidden", value=value == "yes"))

        return Question("hidden", [Row("Does this face show?", style="bold"), Choices(rows)], hide, rows, enter="no")
    read, ask = (
        (millimetres, "How thick is the veneer?") if field == "veneer_mm" else (square_metres, "How large is it?")
    )
    units = desk.settings.units
    form = {"veneer_mm": {"metric": "0.6 mm", "us": "1/32 in"}, "area_m2": {"metric": "0.8 m2", "us": "9 sq ft"}}[
        field
    ][units]

    def take(line: str) -> None:
        desk.do(SurfaceTold(surface=surface, field=field, value=read(line, units)))  # type: ignore[arg-type]

    page: Page = [Row(ask, style="bold"), Row(f"Such as: {form}. Enter: not measured", style="dim")]
    return Question(FACE_TOLD[field], page, take, enter="unknown", free=True)


def tried_question(desk: Desk, show: Show) -> Question:
    """A remover that was tried on this surface, then what it did."""
    removers = desk.knowledge.removers
    rows = [Choice(name, entry.name, entry.name) for name, entry in sorted(removers.items())]

    def take(value: str) -> None:
        show(_result_question(desk, value))

    return Question(
        "tried", [Row("Which remover was tried here?", style="bold"), Choices(rows, short=True)], take, rows
    )


def _result_question(desk: Desk, remover: str) -> Question:
    rows = [Choice(name, RESULTS[name]) for name in get_args(Result)]

    name = desk.knowledge.removers[remover].name

    def take(value: str) -> Page:
        desk.do(TriedTold(surface=desk.state.surface, tried=Tried(remover=remover, result=value)))  # type: ignore[arg-type]
        return _kept(desk, f"{name}: {RESULTS[value]}")

    return Question(
        "result",
        [Row(f"What did {name} do, left on as long as it should be?", style="bold"), Choices(rows)],
        take,
        rows,
    )


def _kept(desk: Desk, told: str) -> Page:
    """Word that something was taken down, for what shows nowhere else on the next screen."""
    return [Row(f"Noted on {desk.state.surface}: {told}. To change it: list", style="dim", spare=2)]


def stain_question(desk: Desk, instead_of: str | None = None) -> Question:
    """A stain on this surface, or what a stain is instead of what it was taken for."""
    stains = desk.knowledge.stains
    rows = [Choice(name, f"{entry.name}: {entry.know_by}", entry.name) for name, entry in sorted(stains.items())]

    def take(value: str) -> Page:
        here = desk.state.here
        before = next((s for s in here.stains if s.kind == instead_of), StainSeen(kind=value))
        desk.do(StainTold(surface=here.name, stain=replace(before, kind=value)))
        if instead_of not in (None, value):
            desk.do(Withdrawn(surface=here.name, test=f"stain/{instead_of}"))
        return _kept(desk, f"stain, {stains[value].name}")

    return Question("stain", [Row("Which stain?", style="bold"), Choices(rows)], take, rows)
