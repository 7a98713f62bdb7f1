"""What can happen in a bench session: one typed event for each thing that is told or taken back.

Events are facts of the past: they name surfaces and tests by the names that held then.
Adding a field with a default keeps old logs readable; a change of meaning needs a new
kind and a new FORMAT in log.py.
"""

from __future__ import annotations

from typing import Any, Literal

from msgspec import Struct

from ..piece.form import Name, Piece, StainSeen, Text, Tried

PieceField = Literal[
    "piece",
    "made",
    "region",
    "style",
    "kind",
    "place",
    "room",
    "have",
    "prefer",
    "next_coat",
    "wax_last",
    "money",
    "note",
]
SurfaceField = Literal[
    "wood",
    "build",
    "veneer_mm",
    "film_um",
    "film_coats",
    "features",
    "area_m2",
    "known",
    "keep_under",
    "under",
    "repairs",
    "hidden",
    "shaded",
    "next_coat",
    "plan",
    "colour",
    "fill_pores",
    "note",
    "confirmed",
    "removed",
]


class Event(Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True, tag_field="event"):
    """Base of all events."""


class Started(Event, frozen=True, kw_only=True, tag="started"):
    """A piece came on the bench, new or from `file`; `asked` names the intake questions that need no asking."""

    piece: Piece
    asked: list[str] = []
    file: str = ""


class PieceTold(Event, frozen=True, kw_only=True, tag="piece-told"):
    """Something about the whole piece was told or corrected; `value` as in a piece file."""

    field: PieceField
    value: Any = None


class SurfacesNamed(Event, frozen=True, kw_only=True, tag="surfaces-named"):
    """The surfaces at intake; those that were there keep what is known of them."""

    names: list[Name]


class SurfaceTold(Event, frozen=True, kw_only=True, tag="surface-told"):
    """Something about a surface was told or corrected; without `surface`, about all of them.

    half: how it is known was not told yet and is still to be asked; till then the value has the weakest way.
    """

    surface: Name | None = None
    field: SurfaceField
    value: Any = None
    half: bool = False


class SurfaceAdded(Event, frozen=True, kw_only=True, tag="surface-added"):
    """A new surface; `like` names one whose wood and build it shares, never its answers; else `wood` is its wood."""

    surface: Name
    like: Name | None = None
    wood: Name = "unknown"


class SurfaceRenamed(Event, frozen=True, kw_only=True, tag="surface-renamed"):
    """A surface has another name."""

    surface: Name
    to: Name


class SurfaceDropped(Event, frozen=True, kw_only=True, tag="surface-dropped"):
    """A surface is no longer looked at."""

    surface: Name


class SurfaceChosen(Event, frozen=True, kw_only=True, tag="surface-chosen"):
    """The surface that is worked on now; not something to undo."""

    surface: Name


class Answered(Event, frozen=True, kw_only=True, tag="answered"):
    """What a test showed; a later answer to the same test replaces it."""

    surface: Name
    test: Name
    outcome: Name
    sure: bool = True
    note: Text = ""


class NotDone(Event, frozen=True, kw_only=True, tag="not-done"):
    """A test that was skipped or could not be done: it says nothing and is not proposed again."""

    surface: Name
    test: Name
    why: Text = ""


class Withdrawn(Event, frozen=True, kw_only=True, tag="withdrawn"):
    """An answer no longer counts; nor does a remover tried, `tried/REMOVER`, or a stain, `stain/KIND`."""

    surface: Name
    test: Name


class TriedTold(Event, frozen=True, kw_only=True, tag="tried"):
    """A remover was tried on a surface; told again, it replaces the try of that remover."""

    surface: Name
    tried: Tried


class StainTold(Event, frozen=True, kw_only=True, tag="stain"):
    """A stain was seen on a surface; told again, it replaces the stain of that kind."""

    surface: Name
    stain: StainSeen


class Noted(Event, frozen=True, kw_only=True, tag="noted"):
    """A note on an answer, on a surface, or on the piece."""

    text: Text
    surface: Name | None = None
    test: Name | None = None


class CaseKept(Event, frozen=True, kw_only=True, tag="case-kept"):
    """The piece was put into the casebook as `case`; not something to undo here."""

    case: Name


class Undone(Event, frozen=True, kw_only=True, tag="undone"):
    """The last thing that was told is taken back."""


AnyEvent = (
    Started
    | PieceTold
    | SurfacesNamed
    | SurfaceTold
    | SurfaceAdded
    | SurfaceRenamed
    | SurfaceDropped
    | SurfaceChosen
    | Answered
    | NotDone
    | Withdrawn
    | TriedTold
    | StainTold
    | Noted
    | CaseKept
    | Undone
)
