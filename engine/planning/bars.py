"""What the room forbids of work that is planned: the words of its cautions for a room where it may not be done."""

from __future__ import annotations

from collections.abc import Iterable

from ..knowledge.base import Knowledge


def not_in_this_room(cautions: Iterable[str], held: frozenset[str], knowledge: Knowledge) -> list[str]:
    """The word of each caution that bars its work under the conditions held, each once."""
    bars = (knowledge.cautions[name].barred for name in cautions)
    return list(dict.fromkeys(bar.text for bar in bars if bar is not None and held & set(bar.where)))
