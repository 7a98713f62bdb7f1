"""A veto, a harm or a warning against a remover, and what the law of a place says.

The law is what a private person may buy and use. Where the book has no row for a
place, that is said; it is never taken for leave.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Harm, Law, Remover, Veto
from ..piece.form import Surface
from ..reasoning.network import Firing

CHEMICAL = ("solvent", "alkali", "acid")


class Objection(Struct, frozen=True):
    """A veto, a harm or a warning: the rule that says so, why, and where it is from."""

    rule: str
    why: str
    source: list[str]
    chance: float = 1.0


def objections(
    name: str, remover: Remover, firings: Iterable[Firing], knowledge: Knowledge
) -> tuple[list[Objection], list[Objection]]:
    """Vetoes and harms that the rules of the surface name for this remover."""
    vetoes, harms = [], []
    for firing in firings:
        rule = firing.rule
        if rule.then.veto and speaks_of(rule.then.veto, name, remover):
            vetoes.append(Objection(rule.id, rule.why, rule.source))
        if rule.then.harm and speaks_of(rule.then.harm, name, remover):
            harms.append(Objection(rule.id, rule.why, rule.source, knowledge.belief.bands[rule.then.harm.chance]))
    return vetoes, harms


def speaks_of(part: Veto | Harm, name: str, remover: Remover) -> bool:
    """Whether a veto or harm names this remover or one of its traits."""
    return name in part.removers or bool(set(part.traits) & set(remover.traits))


def law_vetoes(remover: Remover, place: str) -> list[Objection]:
    """What the place forbids a private person."""
    return [Objection(f"law-{place}", row.text, row.source) for row in _rows(remover, place) if row.status == "banned"]


def law_warnings(remover: Remover, place: str) -> list[Objection]:
    """What the place restricts, or what is not known of its law; nothing for tools."""
    if remover.action not in CHEMICAL:
        return []
    rows = _rows(remover, place)
    if not rows:
        unknown = "The law of this place is not known to this book. Ask the seller or the authority before you buy."
        return [Objection(f"law-{place}", unknown, [])]
    return limits(rows)


def limits(rows: Iterable[Law]) -> list[Objection]:
    """What the rows of one place's law restrict, or leave open."""
    head = {"restricted": "Restricted here.", "not-known": "The law of this place is not known to this book."}
    return [
        Objection(f"law-{row.place}", f"{head[row.status]} {row.text}", row.source)
        for row in rows
        if row.status in head
    ]


def told_before(name: str, remover: Remover, surface: Surface, knowledge: Knowledge) -> list[Objection]:
    """What was tried on this surface before: harm is not done twice, and some things must not meet."""
    found = []
    if any(row.remover == name and row.result == "harms" for row in surface.tried):
        found.append(Objection("tried-and-harmed", "It was tried on this surface and did harm.", []))
    for before in dict.fromkeys(row.remover for row in surface.tried):
        if before in remover.never_with or name in knowledge.removers[before].never_with:
            entry = knowledge.removers[before]
            why = f"It must not meet {entry.name}, which was tried here: they react. Rinse until neutral and dry first."
            found.append(Objection("must-not-meet", why, []))
    return found


def _rows(remover: Remover, place: str) -> list[Law]:
    return [row for row in remover.law if row.place == place]
