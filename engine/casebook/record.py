"""The form of a case file: one finished piece, what was confirmed, and its history.

Format 1. A file of a newer format is refused with advice. An older one is read through
its migrations; the first time such a case is written, the old file is kept in `backup/`.
Format 0 is a plain piece file that somebody put into the folder by hand.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Annotated, Any, Final

from msgspec import Meta, Struct

from ..piece.form import Piece

FORMAT = 1
LONGEST_ID = 80
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class Change(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, omit_defaults=True):
    """One thing that happened to a case; nothing is ever taken out of the history.

    `before` is the piece as it stood until then, where the whole of it was replaced.
    """

    when: str
    what: Annotated[str, Meta(max_length=20_000)]
    before: Piece | None = None


class Case(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One case: the piece as it was examined, with confirmations and removals on its surfaces."""

    format: int
    id: Annotated[str, Meta(pattern=ID.pattern[:-2] + "$", max_length=LONGEST_ID)]
    added: str
    withdrawn: bool = False
    history: list[Change] = []
    piece: Piece


class Summary(Struct, frozen=True, kw_only=True):
    """One line of `case list`."""

    id: str
    piece: str
    made: str
    added: str
    withdrawn: bool
    surfaces: int
    confirmed: dict[str, str]
    removed: int


def is_id(name: str) -> bool:
    """Whether a name may stand for a case; nothing else ever reaches a path."""
    return len(name) <= LONGEST_ID and bool(ID.match(name))


def format_of(value: Any) -> int | None:
    """The format that a parsed file says or shows itself to have; None if it is no case at all."""
    if not isinstance(value, dict):
        return None
    found = value.get("format")
    if found is None and isinstance(value.get("piece"), str) and "surfaces" in value:
        return 0
    return found if isinstance(found, int) and not isinstance(found, bool) else None


def migrated(value: dict[str, Any], start: int, name: str) -> dict[str, Any]:
    """A case of an older format as one of this format."""
    for step in range(start, FORMAT):
        value = MIGRATIONS[step](value, name)
    return value


def _from_piece(value: Mapping[str, Any], name: str) -> dict[str, Any]:
    """Format 0: the day it was added is not known, so the history begins without one."""
    history = [{"when": "", "what": "taken over from a plain piece file"}]
    return {"format": 1, "id": name, "added": "", "withdrawn": False, "history": history, "piece": dict(value)}


MIGRATIONS: Final[dict[int, Callable[[dict[str, Any], str], dict[str, Any]]]] = {0: _from_piece}


def now_text() -> str:
    """The time now, UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def slug(text: str, most: int = 40) -> str:
    """A name as an id: plain lower-case words and hyphens, never a path."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain)
    return "-".join(words)[:most].strip("-") or "piece"


def summary_of(case: Case) -> Summary:
    """The line of a case."""
    surfaces = case.piece.surfaces
    return Summary(
        id=case.id,
        piece=case.piece.piece,
        made=str(case.piece.made),
        added=case.added,
        withdrawn=case.withdrawn,
        surfaces=len(surfaces),
        confirmed={s.name: s.confirmed.finish for s in surfaces if s.confirmed},
        removed=sum(len(s.removed) for s in surfaces),
    )
