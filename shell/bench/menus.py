"""Questions beside the main line: answers, tests, surfaces, corrections, removers tried, stains."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from ...engine.piece.form import NOT_DONE, Answer, Result, StainSeen, Tried, told_outcome
from ...engine.session.events import (
    StainTold,
    SurfaceAdded,
    SurfaceChosen,
    SurfaceDropped,
    SurfaceRenamed,
    SurfaceTold,
    TriedTold,
)
from .desk import Desk
from .measure import millimetres, square_metres
from .page import Choice, Choices, Misread, Page, Question, Row

Show = Callable[[Question], None]
RESULTS = {
    "works": "it took the film off",
    "lifts": "the film wrinkled and lifted",
    "softens": "the film softened but stayed",
    "no-effect": "nothing happened",
    "harms": "it harmed the wood or what lies under",
}


def answers_question(desk: Desk) -> Question:
    """The answers on this surface; the one chosen is asked again."""
    knowledge, here = desk.knowledge, desk.state.here
    rows = [
        Choice(test, f"{knowledge.test_name(test)}: {_told(desk, test, answer)}") for test, answer in here.tests.items()
    ]

    def take(value: str) -> None:
        if value:
            desk.picked = value

    page: Page = [Row(f"Answers on {here.name}", style="bold")]
    page += [Row(f"{knowledge.removers[t.remover].name} was tried: {t.result}", mark="-") for t in here.tried]
    page += [Row(f"stain: {knowledge.stains[s.kind].name} {s.where}".rstrip(), mark="-") for s in here.stains]
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


def _saving(minutes: float) -> str:
    return f"{minutes:+4.0f} " if abs(minutes) >= 0.5 else "     "


def _short(answer: str | Answer) -> str:
    outcome = told_outcome(answer)
    return "left out" if outcome == NOT_DONE else outcome.replace("-", " ")


def surface_words(desk: Desk, rest: str, show: Show) -> None:
    """surface, and what may follow it. Raises Misread."""
    verb, _, name = rest.partition(" ")
    name, here = name.strip()[:200], desk.state.surface
    names = [s.name for s in desk.state.piece.surfaces]
    if rest.isdigit() and 1 <= int(rest) <= len(names):
        rest = names[int(rest) - 1]
    if rest in names:
        desk.do(SurfaceChosen(surface=rest))
        desk.picked = None
    elif verb in ("add", "copy", "rename") and name:
        desk.do(
            SurfaceRenamed(surface=here, to=name)
            if verb == "rename"
            else SurfaceAdded(surface=name, like=here if verb == "copy" else None)
        )
        desk.picked = None
    elif verb == "drop":
        desk.do(SurfaceDropped(surface=name or here))
        desk.picked = None
    elif rest:
        raise Misread(f"There is no surface {rest[:40]!r}. Or: surface add NAME, rename NAME, copy NAME, drop.")
    else:
        show(_surfaces(desk))


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
            "A number goes there. surface add NAME; surface rename NAME, copy NAME or drop for the one here.",
            style="dim",
        ),
    ]
    return Question("surface", page, take, rows, enter=here)


PIECE_FIELDS = ("kind", "made", "region", "style", "place", "have")
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

    def take(value: str) -> None:
        desk.do(TriedTold(surface=desk.state.surface, tried=Tried(remover=remover, result=value)))  # type: ignore[arg-type]

    name = desk.knowledge.removers[remover].name
    return Question(
        "result",
        [Row(f"What did {name} do, left on as long as it should be?", style="bold"), Choices(rows)],
        take,
        rows,
    )


def stain_question(desk: Desk) -> Question:
    """A stain on this surface."""
    stains = desk.knowledge.stains
    rows = [Choice(name, f"{entry.name}: {entry.know_by}", entry.name) for name, entry in sorted(stains.items())]

    def take(value: str) -> None:
        desk.do(StainTold(surface=desk.state.surface, stain=StainSeen(kind=value)))

    return Question("stain", [Row("Which stain?", style="bold"), Choices(rows)], take, rows)
