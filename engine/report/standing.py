"""Where an examination stands after the last answer: what rose, what fell, what is still open."""

from __future__ import annotations

from msgspec import Struct

from ..deciding.changes import NOTABLE
from ..deciding.routes import COVERED
from ..examine import Examination
from ..knowledge.base import Knowledge
from ..removal.effects import takes_off
from ..words import listed


class Move(Struct, frozen=True, kw_only=True):
    """One finish: its chance now, and by how much the last answer moved it."""

    finish: str
    p: float
    change: float


def moves(done: Examination, last: str | None) -> list[Move]:
    """All finishes, most probable first; `last` names the answer whose effect is asked for."""
    before = _without(done, last)
    now = done.posterior.finishes
    rows = [Move(finish=f, p=p, change=p - before.get(f, p)) for f, p in now.items()]
    return sorted(rows, key=lambda m: (-m.p, m.finish))


def rose_and_fell(rows: list[Move]) -> tuple[Move | None, Move | None]:
    """The one that rose most and the one that fell most, if any moved notably."""
    up = max(rows, key=lambda m: m.change)
    down = min(rows, key=lambda m: m.change)
    return up if up.change >= NOTABLE else None, down if down.change <= -NOTABLE else None


def between(done: Examination, knowledge: Knowledge) -> str:
    """What still stands between us and a decision: possible finishes that want different routes."""
    if not done.costs.rows or not done.routes:
        return "Nothing in the book that would work may be used on this surface."
    wants: dict[str, list[str]] = {}
    for index, finish in enumerate(sorted(knowledge.finishes)):
        if done.posterior.finishes[finish] >= knowledge.decide.possible:
            wants.setdefault(_wanted(index, finish, done), []).append(finish)
    first = knowledge.removers[done.routes[0].remover].name  # the one that is told as the way off
    if len(wants) == 1:
        return f"One way off serves all that it may still be: {first}."
    if done.verdict == "same-route":
        return f"Nothing that would change the beginning: {first}."
    order = sorted(wants.items(), key=lambda pair: -max(done.posterior.finishes[f] for f in pair[1]))
    return "; ".join(_told(names, remover, done, knowledge) for remover, names in order[:3]) + "."


def _wanted(index: int, finish: str, done: Examination) -> str:
    """The cheapest remover of those that mostly take a finish off here; empty if none does."""
    takes = {p.remover for p in done.predictions if takes_off(p.effects_by[finish]) >= COVERED}
    rows = {r: row[index] for r, row in zip(done.costs.removers, done.costs.rows, strict=True) if r in takes}
    return min(rows, key=lambda r: (rows[r], r), default="")


def _told(names: list[str], remover: str, done: Examination, knowledge: Knowledge) -> str:
    names = sorted(names, key=lambda f: (-done.posterior.finishes[f], f))[:3]
    told = listed([knowledge.finishes[f].name for f in names], "or")
    return f"{told} wants {knowledge.removers[remover].name}" if remover else f"nothing here is likely to take {told}"


def _without(done: Examination, last: str | None) -> dict[str, float]:
    """Chances as they would stand without the answer `last`; empty if there is no such answer."""
    names = [item.name for item in done.weighed.evidence]
    if last not in names:
        return {}
    weights = done.weighed.without[names.index(last)][:-1]
    return {f: w / sum(weights) for f, w in zip(done.posterior.finishes, weights, strict=True)}
