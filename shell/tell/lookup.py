"""Looking an entry of the knowledge base up by its id or by what people call it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from ...engine.knowledge.base import Knowledge

KINDS = {
    "finish": "finishes",
    "test": "tests",
    "remover": "removers",
    "wood": "woods",
    "stain": "stains",
    "treatment": "treatments",
    "family": "families",
    "solvent": "solvents",
    "resin": "resins",
    "source": "sources",
    "caution": "cautions",
}
ASKED_FIRST = ("finish", "test", "remover")
MOST_HINTS = 4


def by_kind(knowledge: Knowledge) -> dict[str, dict[str, Any]]:
    """Everything that has a page: kind -> id -> entry, what one asks for most first."""
    rules = {rule.id: rule for file in knowledge.rules.values() for rule in file.rules}
    return {**{kind: getattr(knowledge, field) for kind, field in KINDS.items()}, "rule": rules}


def find(told: str, knowledge: Knowledge) -> tuple[str, str, Any] | None:
    """(kind, id, entry) of what a person means by `told`; None if nothing, or more than one thing, goes by that name."""
    found = meant(told, knowledge)
    return found[0] if len(found) == 1 else None


def meant(told: str, knowledge: Knowledge, kinds: Sequence[str] = ()) -> list[tuple[str, str, Any]]:
    """(kind, id, entry) of everything that a person may mean by `told`, of these kinds or all.

    The id counts before the name, that before a common name of the vocabulary, and all of
    them before a phrase in a name or a description, as `French polish` is.
    """
    pages = {kind: rows for kind, rows in by_kind(knowledge).items() if not kinds or kind in kinds}
    wanted = _folded(told)
    same = [(k, n, e) for k, rows in pages.items() for n, e in rows.items() if told == n]
    same = same or [
        (k, n, e)
        for k, rows in pages.items()
        for n, e in rows.items()
        if wanted in (_folded(n), _folded(getattr(e, "name", "")))
    ]
    if same:
        return same[:1]
    common = next((m.means for name, m in knowledge.vocabulary.names.items() if _folded(name) == wanted), [])
    named = [next(((k, n, rows[n]) for k, rows in pages.items() if n in rows), None) for n in common]
    if any(named):
        return [row for row in named if row is not None]
    for field in ("name", "about"):
        for kind in (kind for kind in ASKED_FIRST if kind in pages):
            held = [(kind, n, e) for n, e in pages[kind].items() if _holds(getattr(e, field, ""), wanted)]
            if held:
                return held
    return []


def nearest_entries(told: str, knowledge: Knowledge) -> str:
    """A hint: the few nearest ids, those one asks for most first."""
    kinds, wanted = by_kind(knowledge), _folded(told)
    asked = {name: entry for kind in ASKED_FIRST for name, entry in kinds[kind].items()}
    everything = {name: entry for rows in kinds.values() for name, entry in rows.items()}
    for rows in (asked, everything):
        spelt = {text: name for name, e in rows.items() for text in (_folded(name), _folded(getattr(e, "name", "")))}
        close = [spelt[text] for text in get_close_matches(wanted, spelt, n=MOST_HINTS, cutoff=0.6)]
        parts = [name for text, name in spelt.items() if wanted and wanted in text]
        if close or parts:
            return f"did you mean {', '.join(list(dict.fromkeys([*close, *parts]))[:MOST_HINTS])}?"
    return "see: oldcoat knowledge list"


def _holds(text: str, wanted: str) -> bool:
    return bool(wanted) and f" {wanted} " in f" {_folded(text)} "


def _folded(text: str) -> str:
    """Letters and figures only, in lower case, words apart by one blank."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.casefold()).split())
