"""Explanations on a terminal: a tree, each line with its rule and sources."""

from __future__ import annotations

from ...engine.knowledge.base import Knowledge
from ...engine.report.explain import Because
from .screen import Screen

RESERVED = {"common-practice": "common practice, no source", "memory": "from memory, not re-read"}


def tell_because(reason: Because, knowledge: Knowledge, screen: Screen, depth: int = 0) -> None:
    """The tree below one statement, and at the end the sources that it names."""
    _branch(reason, screen, depth)
    if depth == 0:
        names = list(dict.fromkeys(_sources(reason)))
        if names:
            screen.heading("Sources")
        for name in names:
            cite = RESERVED.get(name) or (knowledge.sources[name].cite if name in knowledge.sources else "")
            screen.marked(f"[{name}]", cite)


def _branch(reason: Because, screen: Screen, depth: int) -> None:
    tail = f" [{', '.join(reason.source)}]" if reason.source else ""
    rule = f" (rule {reason.rule})" if reason.rule else ""
    if depth == 0:
        screen.line(reason.text, "bold")
    else:
        screen.marked(screen.bullet, f"{reason.text}{rule}{tail}", indent=2 * (depth - 1))
    for below in reason.rests_on:
        _branch(below, screen, depth + 1)


def _sources(reason: Because) -> list[str]:
    return [*reason.source, *(name for below in reason.rests_on for name in _sources(below))]
