"""The form of a case file: one finished piece, what was confirmed, and its history.

Format 1. A file of a newer format is refused with advice; an older one is migrated
with a backup beside it (there is none yet).
"""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, datetime
from typing import Annotated

from msgspec import Meta, Struct

from ..piece.form import Piece

FORMAT = 1
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class Change(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One thing that happened to a case; nothing is ever taken out of the history."""

    when: str
    what: Annotated[str, Meta(max_length=20_000)]


class Case(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One case: the piece as it was examined, with confirmations and removals on its surfaces."""

    format: int
    id: Annotated[str, Meta(pattern=ID.pattern[:-2] + "$", max_length=80)]
    added: str
    withdrawn: bool = False
    history: list[Change] = []
    piece: Piece


def now_text() -> str:
    """The time now, UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def slug(text: str, most: int = 40) -> str:
    """A name as an id: plain lower-case words and hyphens, never a path."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain)
    return "-".join(words)[:most].strip("-") or "piece"
