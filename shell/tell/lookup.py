"""Looking an entry of the knowledge base up by its id or by what people call it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from ...engine.knowledge.base import Knowledge, Origin
from ...engine.knowledge.yours import MARK

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
RECOAT = ("coat", "under")  # found by their own names only where nothing else is meant
ASKED_FIRST = ("finish", "test", "remover")
MOST_HINTS = 4


def by_kind(knowledge: Knowledge) -> dict[str, dict[str, Any]]:
    """Everything that has a page: kind -> id -> entry, what one asks for most first."""
    rules = {rule.id: rule for file in knowledge.rules.values() for rule in file.rules}
    recoat = {"coat": knowledge.recoat.coats, "under": knowledge.recoat.under}
    return {**{kind: getattr(knowledge, field) for kind, field in KINDS.items()}, "rule": rules, **recoat}


def origin_of(kind: str, name: str, knowledge: Knowledge) -> Origin | None:
    """Which layer and file an entry is from."""
    if kind in RECOAT:
        return knowledge.origins.get("recoat/all")
    if kind == "rule":
        files = (f for f, rows in knowledge.rules.items() if any(rule.id == name for rule in rows.rules))
        return knowledge.origins.get(f"rules/{next(files, '')}")
    return knowledge.origins.get(f"{KINDS[kind]}/{name}")


def find(told: str, knowledge: Knowledge) -> tuple[str, str, Any] | None:
    """(kind, id, entry) of what a person means by `told`; None if nothing, or more than one thing, goes by that name.

    KIND/ID is taken as such: coats and what they go over bear the names of finishes.
    """
    kind, _, name = told.partition("/")
    row = by_kind(knowledge).get(kind, {}).get(name)
    if row is not None:
        return kind, name, row
    found = meant(told, knowledge)
    return found[0] if len(found) == 1 else None


def meant(told: str, knowledge: Knowledge, kinds: Sequence[str] = ()) -> list[tuple[str, str, Any]]:
    """(kind, id, entry) of everything that a person may mean by `told`, of these kinds or all.

    The id counts before the name, that before a common name of the vocabulary, and all of
    them before a phrase in a name or a description, as `French polish` is.
    """
    pages = {
        kind: rows for kind, rows in by_kind(knowledge).items() if (kind in kinds if kinds else kind not in RECOAT)
    }
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
    return [] if kinds else meant(told, knowledge, RECOAT)


def nearest_entries(
    told: str, knowledge: Knowledge, kinds: Sequence[str] = (), see: str = "oldcoat knowledge list"
) -> str:
    """A hint: what of another kind goes by that name, or the few nearest ids of these kinds or all, or `see`."""
    other = meant(told, knowledge) if kinds else []
    if other:
        return f"{other[0][1]} is a {other[0][0]}"
    pages, wanted = by_kind(knowledge), _folded(told)
    asked = {name: entry for kind in kinds or ASKED_FIRST for name, entry in pages[kind].items()}
    everything = {} if kinds else {name: entry for rows in pages.values() for name, entry in rows.items()}
    for rows in (asked, everything):
        spelt = {text: name for name, e in rows.items() for text in (_folded(name), _folded(getattr(e, "name", "")))}
        close = [spelt[text] for text in get_close_matches(wanted, spelt, n=MOST_HINTS, cutoff=0.6)]
        parts = [name for text, name in spelt.items() if wanted and wanted in text]
        if close or parts:
            return f"did you mean {', '.join(list(dict.fromkeys([*close, *parts]))[:MOST_HINTS])}?"
    return f"see: {see}"


def _holds(text: str, wanted: str) -> bool:
    return bool(wanted) and f" {wanted} " in f" {_folded(text)} "


def _folded(text: str) -> str:
    """Letters and figures only, in lower case, words apart by one blank; without the mark of one's own."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.removesuffix(MARK).casefold()).split())
