"""Piece files to pieces: form first, then whether every id and year makes sense."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.layout import FOLDERS
from ..problems import BadInput, Problem, nearest
from ..reading.shape import shaped
from ..reading.yamltext import Document, Place, parse, read
from .aside import set_aside
from .form import NOT_DONE, Answer, Piece, Surface, told_outcome
from .years import FORMS, BadYears, years_of

MOST_VENEER_MM = 6.0  # a guard against slips like 60 for 0.6; old sawn veneer is mostly 1 to 3 mm (common practice)


def read_piece(path: Path, knowledge: Knowledge, aside: list[str] | None = None) -> Piece:
    """The piece in the file at `path`. Raises BadInput with every problem found.

    With `aside`, what it says of the user's own entries that were left out of the knowledge
    is taken out of the piece, and why is added to the list.
    """
    return checked(read(path), knowledge, aside)


def form_of(path: Path) -> Piece | None:
    """The piece in a file by its form alone, whatever ids it names; None if it has none or cannot be read."""
    try:
        return shaped(read(path), Piece)
    except BadInput:
        return None


def parse_piece(text: str, name: str, knowledge: Knowledge) -> Piece:
    """The piece in YAML `text`; `name` stands for the file in messages. Raises BadInput with every problem found."""
    return checked(parse(text, name), knowledge)


def checked(document: Document, knowledge: Knowledge, aside: list[str] | None = None) -> Piece:
    """The document as a piece whose ids all exist, `aside` as in read_piece. Raises BadInput."""
    if document.value is None:
        raise BadInput([document.problem((), "empty", "the file is empty", "it needs `piece:` and `surfaces:`")])
    empty = list(_empty_answers(document, knowledge))
    try:
        piece = shaped(document, Piece)
    except BadInput as error:
        said = {(p.line, p.column) for p in empty}
        others = [p for p in error.problems if (p.line, p.column) not in said]
        raise BadInput(sorted([*empty, *others], key=lambda p: (p.line, p.column))) from None
    problems = list(mistakes(document, piece, knowledge))
    if problems and aside is not None:
        piece, told = _without_left_out(piece, knowledge)
        if told and not any(mistakes(document, piece, knowledge)):
            aside += told
            return piece
    if problems:
        raise BadInput(problems)
    return piece


def _without_left_out(piece: Piece, book: Knowledge) -> tuple[Piece, list[str]]:
    """The piece without what it says of left-out entries, and a line on each; no line if it names anything else unknown."""
    whole, gone = set_aside(piece, book)
    left = {
        Path(p.path).stem: f"{p.path}:{p.line}" for p in reversed(book.left_out) if Path(p.path).parent.name in FOLDERS
    }
    if not left.keys() >= {*gone}:
        return piece, []
    return whole, [f"{n} is yours, left out because of {left[n]}; what is said of it here is set aside" for n in gone]


def _empty_answers(document: Document, book: Knowledge) -> Iterator[Problem]:
    """Tests that are named without an answer, with the answers that they may have."""
    surfaces = document.value.get("surfaces") if isinstance(document.value, dict) else None
    for index, surface in enumerate(surfaces if isinstance(surfaces, list) else []):
        tests = surface.get("tests") if isinstance(surface, dict) else None
        for test, answer in tests.items() if isinstance(tests, dict) else []:
            if answer is None:
                allowed = ", ".join([*book.outcomes_of(test), NOT_DONE])
                place: Place = ("surfaces", index, "tests", test)
                yield document.problem(place, "no-answer", f"{test[:60]} has no answer", f"allowed: {allowed}")


def mistakes(document: Document, piece: Piece, book: Knowledge) -> Iterator[Problem]:
    """Every id or year in a piece that makes no sense with this knowledge."""
    try:
        years_of(piece, book)
    except BadYears as error:
        yield document.problem(("made",), "bad-years", f"made: {error}", FORMS)
    words = book.vocabulary
    yield from _id(document, ("region",), "region", piece.region, {*words.regions, "unknown"})
    yield from _id(document, ("style",), "style", piece.style, {*words.styles, "unknown"})
    yield from _id(document, ("kind",), "kind of object", piece.kind, {*words.kinds, "unknown"})
    yield from _id(document, ("place",), "place", piece.place, words.places)
    yield from _id(document, ("next_coat",), "coat", piece.next_coat, book.recoat.coats)
    for index, tool in enumerate(piece.have or []):
        yield from _id(document, ("have", index), "tool", tool, words.tools)
    seen: set[str] = set()
    for index, surface in enumerate(piece.surfaces):
        place: Place = ("surfaces", index)
        if surface.name in seen:
            yield document.problem((*place, "name"), "twice", f"two surfaces are named {surface.name[:60]!r}")
        seen.add(surface.name)
        yield from _surface(document, place, surface, book)
    for index, part in enumerate(piece.parts):
        if part.surface is not None:
            yield from _id(document, ("parts", index, "surface"), "surface of this piece", part.surface, seen)


def _surface(document: Document, place: Place, surface: Surface, book: Knowledge) -> Iterator[Problem]:
    yield from _id(document, (*place, "wood"), "wood", surface.wood, {*book.woods, "unknown"})
    yield from _id(document, (*place, "next_coat"), "coat", surface.next_coat, book.recoat.coats)
    yield from _id(document, (*place, "under"), "finish", surface.under, book.finishes)
    if surface.build == "solid" and surface.veneer_mm is not None:
        yield document.problem((*place, "veneer_mm"), "contradiction", "solid wood has no veneer thickness")
    if surface.build != "solid" and surface.veneer_mm is not None and surface.veneer_mm > MOST_VENEER_MM:
        message = f"a veneer is at most about {MOST_VENEER_MM:g} mm, not {surface.veneer_mm:g}"
        yield document.problem((*place, "veneer_mm"), "out-of-range", message, "for thicker wood write build: solid")
    for test, answer in surface.tests.items():
        yield from _answer(document, (*place, "tests", test), test, answer, book)
    removers = [("tried", [r.remover for r in surface.tried]), ("removed", [r.remover for r in surface.removed])]
    for field, names in removers:
        for index, name in enumerate(names):
            yield from _id(document, (*place, field, index, "remover"), "remover", name, book.removers)
    for index, stain in enumerate(surface.stains):
        yield from _id(document, (*place, "stains", index, "kind"), "stain", stain.kind, book.stains)
        for treatment in stain.tried:
            yield from _id(
                document, (*place, "stains", index, "tried", treatment), "treatment", treatment, book.treatments
            )
    for field, truth in (("known", surface.known), ("confirmed", surface.confirmed)):
        if truth is not None:
            yield from _id(document, (*place, field, "finish"), "finish", truth.finish, book.finishes)


def _answer(document: Document, place: Place, test: str, answer: str | Answer, book: Knowledge) -> Iterator[Problem]:
    allowed = book.outcomes_of(test)
    if not allowed:
        names = {*book.tests, *(f"{PATCH_PREFIX}{remover}" for remover in book.removers)}
        yield document.problem(place, "unknown-id", f"there is no test {test[:60]!r}", nearest(test, names))
        return
    outcome = told_outcome(answer)
    if outcome != NOT_DONE and outcome not in allowed:
        owner = next((t.name for t in book.tests.values() if any(o.id == outcome for o in t.outcomes)), None)
        extra = f" (that is an outcome of: {owner})" if owner else ""
        message = f"{test} has no outcome {outcome[:60]!r}{extra}"
        yield document.problem(place, "unknown-outcome", message, nearest(outcome, allowed))


def _id(document: Document, place: Place, what: str, value: str | None, allowed: Iterable[str]) -> Iterator[Problem]:
    if value is not None and value not in allowed:
        yield document.problem(place, "unknown-id", f"there is no {what} {value[:60]!r}", nearest(value, allowed))
