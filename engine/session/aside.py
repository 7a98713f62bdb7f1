"""What a session remembers and the knowledge at hand does not know: set aside, never taken out of the log.

A user's own entry may be broken or not laid on today. What was told of it waits: as soon
as the entry is there again, it counts again.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..piece.aside import set_aside
from .fold import State


class Usable(Struct, frozen=True):
    """A state as far as the knowledge knows what it names, and the names that were set aside."""

    state: State
    aside: tuple[str, ...]


def usable(state: State, book: Knowledge) -> Usable:
    """The state with its piece as far as the book knows what it names."""
    piece, gone = set_aside(state.piece, book)
    if not gone:
        return Usable(state, ())
    told = {s.name: {*s.tests, *(f"tried/{t.remover}" for t in s.tried)} for s in piece.surfaces}
    last = {name: item for name, item in state.last.items() if item in told[name]}
    return Usable(replace(state, piece=piece, last=last), gone)
