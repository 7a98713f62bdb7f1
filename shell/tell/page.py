"""The page of one knowledge entry on a terminal."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from msgspec import Struct

from ...engine.knowledge.base import Knowledge
from ...engine.knowledge.entries import EFFECTS, Finish, Remover, Test
from .miniatures import miniature
from .screen import Screen

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


def find(name: str, knowledge: Knowledge) -> tuple[str, Any] | None:
    """(kind, entry) of the first entry called `name`, rules too."""
    return next(((kind, rows[name]) for kind, rows in by_kind(knowledge).items() if name in rows), None)


def by_kind(knowledge: Knowledge) -> dict[str, dict[str, Any]]:
    """Everything that has a page: kind -> id -> entry, what one asks for most first."""
    rules = {rule.id: rule for file in knowledge.rules.values() for rule in file.rules}
    return {**{kind: getattr(knowledge, field) for kind, field in KINDS.items()}, "rule": rules}


def id_of(told: str, knowledge: Knowledge) -> str | None:
    """The id that a person means: the id itself, or the name in any spelling of case; None if nothing is called so.

    A part of a name is enough if only one entry has it, as in `french polish` for `shellac (French polish)`.
    """
    kinds = by_kind(knowledge)
    if any(told in rows for rows in kinds.values()):
        return told
    wanted = _folded(told)
    for rows in kinds.values():
        for name, entry in rows.items():
            if wanted in (_folded(name), _folded(getattr(entry, "name", ""))):
                return name
    words = [w for w in wanted.split() if w]
    for kind in ASKED_FIRST:
        rows = kinds[kind]
        for text in (lambda n, e: f"{n} {e.name}", lambda _n, e: f"{e.name} {e.about}"):
            found = [n for n, e in rows.items() if f" {' '.join(words)} " in f" {_folded(text(n, e))} "]
            if len(found) == 1:
                return found[0]
    return None


def _folded(text: str) -> str:
    """Letters and figures only, in lower case, words apart by one blank."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.casefold()).split())


def tell_page(kind: str, name: str, entry: Any, knowledge: Knowledge, screen: Screen) -> None:
    """The whole page, with its layer and its sources."""
    screen.heading(f"{getattr(entry, 'name', name)} ({kind})")
    page = _PAGES.get(kind, _any)
    page(name, entry, knowledge, screen)
    origin = next((o for key, o in knowledge.origins.items() if key.split("/", 1)[1] == name), None)
    if hasattr(entry, "status"):
        screen.line(f"Status: {entry.status}.", indent=2)
    for phrase in getattr(entry, "wrong_if", []):
        screen.marked("misleads if", phrase)
    names = [s for s in getattr(entry, "source", []) if isinstance(s, str)]
    for source in names:
        cite = knowledge.sources[source].cite if source in knowledge.sources else source
        screen.marked(f"[{source}]", cite)
    if origin:
        screen.line(f"Layer: {origin.layer}.", "dim", indent=2)


def _finish(name: str, entry: Finish, knowledge: Knowledge, screen: Screen) -> None:
    family = knowledge.families[entry.family].name
    rows = (
        ("What it is", entry.about),
        ("Family", family),
        ("Used", entry.used),
        ("Looks", entry.looks),
        ("Ages", entry.ages),
        ("Comes off", entry.takes_off),
        ("Harmed by", entry.harmed_by),
    )
    for head, text in rows:
        screen.marked(f"{head}:", text)
    low, high = entry.film.typical_um
    screen.marked(
        "Film:", f"{low:.0f}-{high:.0f} um, network {entry.chemistry.network}, bonds {', '.join(entry.chemistry.bonds)}"
    )
    screen.line("How to tell it from its neighbours", "bold", indent=2)
    for row in entry.neighbours:
        tests = ", ".join(knowledge.test_name(t) for t in row.tests)
        screen.marked(screen.bullet, f"{knowledge.finishes[row.finish].name}: {row.tell} Tests: {tests}.", 4)
    screen.line("What takes it off, by rule", "bold", indent=2)
    pairs = sorted(
        knowledge.pairs[name].items(), key=lambda pair: -(pair[1].gives["dissolves"] + pair[1].gives["lifts"])
    )
    for remover, pair in pairs:
        told = ", ".join(f"{e.replace('-', ' ')} {pair.gives[e]:.0%}" for e in EFFECTS if pair.gives[e] >= 0.1)
        screen.marked(screen.bullet, f"{knowledge.removers[remover].name}: {told}", 4)


def _test(_name: str, entry: Test, knowledge: Knowledge, screen: Screen) -> None:
    screen.marked("Asks:", entry.ask)
    screen.marked("How:", entry.how)
    screen.marked("Watch:", entry.watch)
    screen.marked("Cost:", f"{entry.minutes:g} min, mark {entry.mark} of 3, stage {entry.stage.replace('-', ' ')}")
    screen.marked("Tools:", ", ".join(knowledge.vocabulary.tools[t].name for t in entry.tools) or "none")
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)
    for distrust in entry.distrust:
        screen.marked("distrust if", distrust)
    for outcome in entry.outcomes:
        screen.line(outcome.id, "bold", indent=2)
        screen.line(outcome.sees, indent=4)
        if outcome.drawing and not screen.plain:
            screen.lines(miniature(outcome.drawing), indent=6)
        for row in entry.bands:
            if outcome.id in row.gives:
                disputed = ", sources disagree" if row.disputed else ""
                screen.marked(
                    f"{row.gives[outcome.id]}:", f"{', '.join(row.finishes)} [{', '.join(row.source)}{disputed}]", 4
                )


def _remover(name: str, entry: Remover, knowledge: Knowledge, screen: Screen) -> None:
    for head, text in (
        ("What it is", entry.about),
        ("How", entry.how),
        ("After", entry.after),
        ("Residue", entry.residue),
    ):
        screen.marked(f"{head}:", text)
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)
    for law in entry.law:
        screen.marked(f"law, {law.place}:", f"{law.status}. {law.text}")
    screen.line("On each finish", "bold", indent=2)
    for finish, pairs in sorted(knowledge.pairs.items()):
        pair = pairs[name]
        told = ", ".join(f"{e.replace('-', ' ')} {pair.gives[e]:.0%}" for e in EFFECTS if pair.gives[e] >= 0.1)
        mark = " (exception)" if pair.exception else ""
        screen.marked(screen.bullet, f"{knowledge.finishes[finish].name}: {told}{mark}", 4)


def _any(_name: str, entry: Any, _knowledge: Knowledge, screen: Screen) -> None:
    for field in entry.__struct_fields__:
        if field not in ("name", "status", "wrong_if", "source"):
            value = getattr(entry, field)
            if value not in (None, [], {}, ""):
                screen.marked(f"{field.replace('_', ' ')}:", _plain(value))


def _plain(value: Any) -> str:
    if isinstance(value, Struct):
        return "; ".join(
            f"{f.replace('_', ' ')} {_plain(getattr(value, f))}"
            for f in value.__struct_fields__
            if getattr(value, f) not in (None, [], {})
        )
    if isinstance(value, dict):
        return ", ".join(f"{k}: {_plain(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(map(_plain, value))
    return str(value)


_PAGES: dict[str, Callable[[str, Any, Knowledge, Screen], None]] = {
    "finish": _finish,
    "test": _test,
    "remover": _remover,
}
