"""Whether two pieces are one and the same: told twice, told anew, or quite another piece.

Compared is what the file says of the piece and of the faces that both have: place, time,
kind, style, woods and answers. How it ended is left out, since that is told later.
"""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import blake2b

from msgspec import json, structs

from ..piece.form import Piece, told_outcome

UNTOLD = (None, "", "unknown")
ENOUGH = 0.5  # of the facts that both tell must agree in one and the same piece


def same(one: Piece, other: Piece) -> bool:
    """Whether both say the same of everything but how it ended."""
    return _without_ends(one) == _without_ends(other)


def print_of(piece: Piece) -> bytes:
    """A digest that is equal for pieces that are the same, so that one is found among thousands."""
    return blake2b(json.encode(_without_ends(piece), order="deterministic"), digest_size=16).digest()


def likely_same(one: Piece, other: Piece) -> bool:
    """Whether they may be one piece, told anew: the same name, a face in common, no more told otherwise than alike."""
    return one.piece == other.piece and agreement(one, other) >= ENOUGH


def agreement(one: Piece, other: Piece) -> float:
    """Share of what both tell that is told alike, names included; 0 if they have no face in common."""
    ours, theirs = dict(_facts(one)), dict(_facts(other))
    both = ours.keys() & theirs.keys()
    if not {s.name for s in one.surfaces} & {s.name for s in other.surfaces}:
        return 0.0
    return sum(ours[key] == theirs[key] for key in both) / len(both)


def _facts(piece: Piece) -> Iterator[tuple[tuple[str, ...], object]]:
    rows: list[tuple[tuple[str, ...], object]] = [
        (("piece",), piece.piece),
        (("made",), str(piece.made)),
        (("region",), piece.region),
        (("style",), piece.style),
        (("kind",), piece.kind),
    ]
    for face in piece.surfaces:
        rows.append(((face.name, "wood"), face.wood))
        rows += [((face.name, test), told_outcome(answer)) for test, answer in face.tests.items()]
    return ((key, value) for key, value in rows if value not in UNTOLD)


def _without_ends(piece: Piece) -> Piece:
    surfaces = [structs.replace(face, confirmed=None, removed=[]) for face in piece.surfaces]
    return structs.replace(piece, surfaces=surfaces)
