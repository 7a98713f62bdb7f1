"""What a remover that was tried has changed: in belief, and in the way off."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ..belief.evidence import Evidence
from ..belief.posterior import Posterior
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import Surface
from ..removal.reason import OFF, SEEN
from ..words import listed, sentence, span_told
from .routes import Route

NOTABLE = 0.01
COUNTS_WHOLE = 0.95  # a try that counts for more is not remarked on


class Change(Struct, frozen=True, kw_only=True):
    """One try: remover, what was seen, the finishes that rose and fell most, the best route before and now."""

    remover: str
    seen: str
    rose: str | None
    fell: str | None
    before: str | None
    now: str | None
    text: str


def went_well(changes: Sequence[Change], remover: str) -> str | None:
    """What the last trial of a remover on this face showed, if all of them took the film off; None if not, or without any."""
    seen = [change.seen for change in changes if change.remover == remover]
    return seen[-1] if seen and all(what in OFF for what in seen) else None


def told_change(
    item: Evidence,
    surface: Surface,
    before: Posterior,
    after: Posterior,
    routes_before: Sequence[Route],
    routes: Sequence[Route],
    knowledge: Knowledge,
) -> Change:
    """The change that one try of a remover made; belief and routes with and without it."""
    remover = item.test.removeprefix(PATCH_PREFIX)
    moved = {f: p - before.finishes[f] for f, p in after.finishes.items()}
    up, down = max(moved, key=lambda f: (moved[f], f)), min(moved, key=lambda f: (moved[f], f))
    rose = up if moved[up] >= NOTABLE else None
    fell = down if moved[down] <= -NOTABLE else None
    first_before = routes_before[0].remover if routes_before else None
    first = routes[0].remover if routes else None
    told = [
        _seen(item, remover, surface, knowledge),
        _belief(rose, fell, before, after, knowledge),
        _short(item, knowledge, remover),
        _route(first_before, first, knowledge),
    ]
    return Change(
        remover=remover,
        seen=item.seen,
        rose=rose,
        fell=fell,
        before=first_before,
        now=first,
        text=" ".join(part for part in told if part),
    )


def _seen(item: Evidence, remover: str, surface: Surface, knowledge: Knowledge) -> str:
    times = [t.minutes for t in surface.tried if t.remover == remover and t.minutes is not None]
    after = f" after {span_told(max(times), max(times))}" if times and item.name.startswith("tried/") else ""
    seen = SEEN[item.seen]
    return f"{sentence(knowledge.removers[remover].name + after)[:-1]}: {seen}."


def _belief(rose: str | None, fell: str | None, before: Posterior, after: Posterior, knowledge: Knowledge) -> str:
    told = []
    for name, verb in ((rose, "likelier"), (fell, "less likely")):
        if name is not None:
            was, now = before.finishes[name], after.finishes[name]
            much = "much " if max(was, now) >= 2 * min(was, now) else ""
            told.append(f"{knowledge.finishes[name].name} {much}{verb} ({was:.0%} before, {now:.0%} now)")
    return f"That makes {listed(told)}." if told else "It says nothing new of the finish."


def _short(item: Evidence, knowledge: Knowledge, remover: str) -> str:
    if item.keeps > COUNTS_WHOLE:
        return ""
    usual = span_told(*knowledge.removers[remover].work.dwell_minutes)
    return f"What yields takes {usual} as a rule, so it counts for {item.keeps:.0%}."


def _route(before: str | None, now: str | None, knowledge: Knowledge) -> str:
    if now is None:
        return "Nothing is left that would work and may be used: keep the film, or cut it away."
    name = knowledge.removers[now].name
    if before == now:
        return f"The way off stays {name}."
    was = f", not {knowledge.removers[before].name}" if before is not None else ""
    return f"The way off is now {name}{was}."
