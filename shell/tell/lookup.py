"""Looking an entry of the knowledge base up by its id or by what people call it."""

from __future__ import annotations

import re
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
    """(kind, id, entry) of what a person means by `told`, or None.

    The id counts before the name, and the name before a phrase in the description,
    which has to stand in one entry of its kind only, as `French polish` does.
    """
    kinds = by_kind(knowledge)
    for kind, rows in kinds.items():
        if told in rows:
            return kind, told, rows[told]
    wanted = _folded(told)
    for kind, rows in kinds.items():
        for name, entry in rows.items():
            if wanted in (_folded(name), _folded(getattr(entry, "name", ""))):
                return kind, name, entry
    for field in ("name", "about"):
        for kind in ASKED_FIRST:
            found = [row for row in kinds[kind].items() if _holds(getattr(row[1], field, ""), wanted)]
            if len(found) == 1:
                return kind, *found[0]
    return None


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
