"""What the user's own entries bring with them: a word of fire, a share among makers' work, and a mark that they are his."""

from __future__ import annotations

from typing import Any

from msgspec import structs

from .base import Knowledge
from .entries import Context, Finish, Rule
from .fire import burning, fires
from .loader import SHIPPED_NAME, Loaded

MARK = "(yours)"
NAMED = ("finishes", "tests", "removers")
NEARLY_ALL = 0.99  # of a context that stands for one finish; the floor for all others is the rest


def with_own(knowledge: Knowledge, loaded: Loaded) -> Knowledge:
    """The same knowledge with what follows from the entries that are not shipped; itself if there are none."""
    own = {key for key, origin in knowledge.origins.items() if origin.layer != SHIPPED_NAME}
    if not own:
        return knowledge
    burn = fires(loaded)
    removers = {n: burning(e, burn[n]) if n in burn else e for n, e in knowledge.removers.items()}
    whole = structs.replace(knowledge, removers=removers, burn={name: fire.why for name, fire in burn.items()})
    fields: dict[str, Any] = {kind: _named(kind, getattr(whole, kind), own) for kind in NAMED}
    fields["rules"] = {
        file: structs.replace(entry, rules=list(map(_marked_rule, entry.rules))) if f"rules/{file}" in own else entry
        for file, entry in whole.rules.items()
    }
    makers = [*whole.priors.makers, *(row for n, e in whole.finishes.items() for row in _contexts(n, e))]
    return structs.replace(whole, priors=structs.replace(whole.priors, makers=makers), **fields)


def _named(kind: str, entries: dict[str, Any], own: set[str]) -> dict[str, Any]:
    return {
        name: structs.replace(entry, name=f"{entry.name} {MARK}") if f"{kind}/{name}" in own else entry
        for name, entry in entries.items()
    }


def _marked_rule(rule: Rule) -> Rule:
    flag = rule.then.flag and structs.replace(rule.then.flag, text=_marked(rule.then.flag.text))
    return structs.replace(rule, why=_marked(rule.why), then=structs.replace(rule.then, flag=flag))


def _marked(text: str) -> str:
    """A sentence or more with the mark within its last one."""
    return text if text.endswith(f"{MARK}.") else f"{text.rstrip('. ')} {MARK}."


def _contexts(name: str, finish: Finish) -> list[Context]:
    """The contexts of makers' work that a finish states of itself."""
    return [
        Context(
            id=f"{name}-share-{number}",
            about=f"Work in {finish.name}.",
            years=row.years,
            share=row.share,
            regions=row.regions,
            kinds=row.kinds,
            finishes={name: NEARLY_ALL},
            source=finish.source,
        )
        for number, row in enumerate(finish.share, 1)
    ]
