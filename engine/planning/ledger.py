"""The parts ledger: what belongs where, which parts stop the work, screws by hole, marks to mask."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from msgspec import Struct

from ..piece.form import Part, Piece, Screws


class PartLine(Struct, frozen=True, kw_only=True):
    """One part of the ledger as it is told. `holds` says why work on it has to wait, if it has."""

    label: str
    what: str
    where: str
    up: str
    surface: str | None
    matched: bool | None
    screws: list[str]
    hardware: list[str]
    mask: list[str]
    holds: str | None
    warnings: list[str]


def ledger(piece: Piece) -> list[PartLine]:
    """A line for each part, in the order of the piece file."""
    labels = Counter(part.label.casefold() for part in piece.parts)
    places = Counter(_place(part) for part in piece.parts)
    return [_line(part, labels[part.label.casefold()] > 1, places[_place(part)] > 1) for part in piece.parts]


def held_surfaces(piece: Piece) -> dict[str, list[str]]:
    """Surface -> labels of its parts that are not matched; a part without a surface holds every surface."""
    held: dict[str, list[str]] = {}
    for part in piece.parts:
        if part.matched is not True:
            for name in [part.surface] if part.surface else [s.name for s in piece.surfaces]:
                held.setdefault(name, []).append(part.label)
    return held


def ledger_flags(piece: Piece) -> list[str]:
    """What the ledger wants said of the whole piece."""
    if not piece.parts:
        return ["no-ledger: no parts are listed. Label every part, screw and fitting before the first screw is out."]
    flags = []
    strangers = [part.label for part in piece.parts if part.matched is False]
    unseen = [part.label for part in piece.parts if part.matched is None]
    if strangers:
        flags.append(f"part-not-matched: {', '.join(strangers)} may be from another piece. Work on it stops here.")
    if unseen:
        flags.append(
            f"part-not-checked: not yet matched to their places: {', '.join(unseen)}. "
            "Check, write `matched: true`, and work on them goes on."
        )
    return flags


def _line(part: Part, label_twice: bool, place_twice: bool) -> PartLine:
    holds = None
    if part.matched is False:
        holds = "it does not match its place"
    elif part.matched is None:
        holds = "nobody has matched it to its place yet"
    return PartLine(
        label=part.label,
        what=part.what,
        where=part.where,
        up=part.up,
        surface=part.surface,
        matched=part.matched,
        screws=[_told_screws(group) for group in part.screws],
        hardware=part.hardware,
        mask=part.marks,
        holds=holds,
        warnings=_warnings(part, label_twice, place_twice),
    )


def _warnings(part: Part, label_twice: bool, place_twice: bool) -> list[str]:
    told = []
    if label_twice:
        told.append("Another part has the same label: give each its own.")
    if place_twice:
        told.append(
            "Another part has the same name and place: they will be mixed up. Write left, right, first, second."
        )
    if len({group.mm for group in part.screws}) > 1:
        told.append("Screws of unlike length: one bag for each hole. The long one in the wrong hole comes through.")
    if any(not group.holes for group in part.screws):
        told.append("Say which holes the screws are from.")
    return told


def _told_screws(group: Screws) -> str:
    holes = f", {group.holes}" if group.holes else ""
    return f"{group.count} of {group.mm:g} mm{holes}"


def _place(part: Part) -> tuple[str, str]:
    return part.what.strip().casefold(), part.where.strip().casefold()


def marks_on(parts: Sequence[Part], surface: str) -> list[str]:
    """Labels and maker's marks on the parts of one surface: photograph, mask, do not strip."""
    return [mark for part in parts if part.surface == surface for mark in part.marks]
