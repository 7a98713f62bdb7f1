"""Going from surface to surface, and changing the list of them."""

from __future__ import annotations

from collections.abc import Callable

from ...engine.piece.form import Surface
from ...engine.session.events import SurfaceAdded, SurfaceChosen, SurfaceDropped, SurfaceRenamed
from ...engine.session.fold import answered
from .desk import Desk
from .page import Choice, Choices, Misread, Page, Question, Row
from .words import new_name, quoted

UNKNOWN = "unknown"
Show = Callable[[Question], None]


def surface_words(desk: Desk, rest: str, show: Show) -> Page | None:
    """surface, and what may follow it; what it did, in words. Raises Misread."""
    verb, _, name = rest.partition(" ")
    name, here = name.strip(), desk.state.surface
    there = meant(desk, rest)
    if there is not None:
        desk.do(SurfaceChosen(surface=there))
    elif verb in ("add", "copy") and name:
        wood = _shared_wood(desk) if verb == "add" else UNKNOWN
        desk.do(SurfaceAdded(surface=new_name(name), like=here if verb == "copy" else None, wood=wood))
    elif verb == "rename" and name:
        old, new = _old_and_new(desk, name)
        desk.do(SurfaceRenamed(surface=old, to=new_name(new)))
    elif verb == "drop":
        return _drop(desk, existing(desk, name) if name else here)
    elif rest:
        existing(desk, rest)
    else:
        show(_surfaces(desk))
        return None
    desk.picked = None
    return None


def existing(desk: Desk, text: str) -> str:
    """The surface that is meant. Raises Misread: what there is, as it can be typed."""
    found = meant(desk, text)
    if found is None:
        there = ", ".join(quoted(s.name) for s in desk.state.piece.surfaces[:9])
        raise Misread(
            f"There is no surface {text[:40]}; there is {there}. Or: surface add NAME, rename NAME, copy NAME, drop."
        )
    return found


def meant(desk: Desk, text: str) -> str | None:
    """The surface that a name or a number in the list means, if any; in quotes it is a name."""
    names = [s.name for s in desk.state.piece.surfaces]
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(names):
        return names[int(text) - 1]
    name = text[1:-1] if len(text) > 2 and text[0] == text[-1] == '"' else text
    return name if name in names else next((n for n in names if n.lower() == name.lower()), None)


def _shared_wood(desk: Desk) -> str:
    """The wood of the piece, if all its surfaces share it."""
    woods = {s.wood for s in desk.state.piece.surfaces}
    return woods.pop() if len(woods) == 1 else UNKNOWN


def _old_and_new(desk: Desk, text: str) -> tuple[str, str]:
    """A surface and its new name: OLD NEW, or NEW alone for the surface here."""
    for at in range(len(text) - 1, 0, -1):
        old = meant(desk, text[:at]) if text[at] == " " else None
        if old is not None:
            return old, text[at:].strip()
    if text.startswith('"') and text.count('"') > 1 and not text.endswith('"'):
        existing(desk, text[: text.index('"', 1) + 1])
    return desk.state.surface, text


def _drop(desk: Desk, name: str) -> Page:
    count = next((told_count(s) for s in desk.state.piece.surfaces if s.name == name), 0)
    desk.do(SurfaceDropped(surface=name))
    desk.picked = None
    return [Row(f"Dropped {quoted(name)} ({count} answer{'s' if count != 1 else ''}); back restores it.", style="dim")]


def told_count(surface: Surface) -> int:
    """How many answers, removers tried and stains were told of a surface."""
    return answered(surface) + len(surface.tried) + len(surface.stains)


def _surfaces(desk: Desk) -> Question:
    here = desk.state.surface
    rows = []
    for surface in desk.state.piece.surfaces:
        count = answered(surface)
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
            'A number goes there. surface add NAME, copy NAME; drop NAME; rename OLD NEW; or "IN QUOTES".', style="dim"
        ),
    ]
    return Question("surface", page, take, rows, enter=here)
