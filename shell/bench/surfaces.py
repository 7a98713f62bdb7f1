"""Going from surface to surface, and changing the list of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from difflib import get_close_matches

from ...engine.piece.form import UNKNOWN, Surface
from ...engine.session.events import SurfaceAdded, SurfaceChosen, SurfaceDropped, SurfaceRenamed
from ...engine.session.fold import answered
from .desk import Desk
from .measure import told_size
from .page import Choice, Choices, Misread, Page, Question, Row
from .words import new_name, quoted

SINGLE = re.compile(r"'[^']+'( |\Z)")
Show = Callable[[Question], None]


def surface_words(desk: Desk, rest: str, show: Show) -> Page | None:
    """surface, and what may follow it; what it did, in words. Raises Misread."""
    verb, _, name = rest.partition(" ")
    name, here = name.strip(), desk.state.surface
    there = meant(desk, rest)
    if there is not None:
        desk.do(SurfaceChosen(surface=there))
    elif verb == "add" and name:
        desk.do(SurfaceAdded(surface=_free_name(desk, name), wood=_shared_wood(desk)))
    elif verb == "copy" and name:
        like, new = _like_and_new(desk, name)
        desk.do(SurfaceAdded(surface=_free_name(desk, new), like=like))
        desk.picked = None
        return [_copied(desk, like)]
    elif verb == "rename" and name:
        old, new = _old_and_new(desk, name)
        return _renamed(desk, old, _free_name(desk, new, but=old))
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
        raise Misread(f"{_missing(desk, text)} Or: surface add NAME, rename NAME, copy NAME, drop.")
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


def _nearest(desk: Desk, text: str) -> str | None:
    """The surface whose name is most like a text; None if none is."""
    names = {s.name.lower(): s.name for s in desk.state.piece.surfaces}
    close = get_close_matches(text.strip('"').lower(), names, n=1)
    return names[close[0]] if close else None


def _old_and_new(desk: Desk, text: str) -> tuple[str, str]:
    """A surface and its new name: OLD NEW, or NEW alone for the surface here where it can mean nothing else. Raises Misread."""
    for at in range(len(text) - 1, 0, -1):
        old = meant(desk, text[:at]) if text[at] == " " else None
        if old is not None:
            return old, text[at:].strip()
    first, quoted_new = _parted(text)
    if first and quoted_new:
        existing(desk, first)
    words = text.split()
    if len(words) > 1 and '"' not in text:
        before = [" ".join(words[:n]) for n in range(1, len(words))]
        near = next((word for word in before if _nearest(desk, word) or word.isdigit()), None)
        if near or len(desk.state.piece.surfaces) > 1:
            raise Misread(f'{_missing(desk, near or words[0])} For the surface here, in quotes: rename "{text[:40]}"')
    return desk.state.surface, text


def _like_and_new(desk: Desk, text: str) -> tuple[str, str]:
    """A surface and the name of its copy: the copy's name alone for the surface here, or OLD "NEW". Raises Misread."""
    first, new = _parted(text)
    return (existing(desk, first), new) if first and new else (desk.state.surface, text)


def _parted(text: str) -> tuple[str, str]:
    """What stands before a last name, if one of the two is in quotes; else nothing, nothing. Raises Misread."""
    if SINGLE.match(text):
        raise Misread(f"A name is put in double quotes: {text[:60]}".replace("'", '"'))
    found = re.fullmatch(r'("[^"]+"|[^"]+?) ("[^"]+"|(?<=" )[^"]+)', text)
    return (found[1], found[2]) if found else ("", "")


def _missing(desk: Desk, text: str) -> str:
    """Word that there is no such surface, which is meant perhaps, and what there is as it can be typed."""
    near = _nearest(desk, text)
    hint = f" (did you mean {quoted(near)}?)" if near else ""
    there = ", ".join(quoted(s.name) for s in desk.state.piece.surfaces[:9])
    return f"There is no surface {text[:40]}{hint}; there is {there}."


def _free_name(desk: Desk, text: str, but: str | None = None) -> str:
    """A new name that no other surface has, in capitals or not: titles are in capitals. Raises Misread."""
    name = new_name(text)
    alike = next((s.name for s in desk.state.piece.surfaces if s.name.casefold() == name.casefold()), None)
    if alike not in (None, but):
        raise Misread(f"There is a surface {quoted(alike)} already; capitals alone do not make another name.")
    return name


def _renamed(desk: Desk, old: str, new: str) -> Page:
    desk.do(SurfaceRenamed(surface=old, to=new))
    desk.picked = None
    return [Row(f"Renamed {quoted(old)}: it is {quoted(new)} now; back undoes it.", style="dim", spare=2)]


def _copied(desk: Desk, like: str) -> Row:
    """Word of what the copy, which is the surface here now, shares with its like."""
    new = desk.state.here
    names = {UNKNOWN: "not known"}
    veneer = f", {told_size('veneer_mm', new.veneer_mm, desk.settings.units)}" if new.veneer_mm is not None else ""
    told = f"wood ({names.get(new.wood, new.wood)}) and build ({names.get(new.build, new.build)}{veneer})"
    return Row(f"{quoted(new.name)} has the {told} of {quoted(like)}, none of its answers.", style="dim", spare=2)


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
