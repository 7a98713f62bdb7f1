"""The engine: knowledge, belief, removal, planning. A library without a terminal.

from oldcoat.engine import open_knowledge, read_piece, assess
knowledge = open_knowledge()
print(assess(read_piece(Path("table.yaml"), knowledge), knowledge).surfaces[0].ranking[0])

Names are fetched when first asked for, so that a prompt need not wait for all of it.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .assessing import assess, examine_all
    from .examine import Examiner
    from .opening import open_knowledge
    from .piece.reader import parse_piece, read_piece
    from .problems import BadInput, Problem
    from .version import VERSION

_FROM = {
    "assess": ".assessing",
    "examine_all": ".assessing",
    "Examiner": ".examine",
    "open_knowledge": ".opening",
    "parse_piece": ".piece.reader",
    "read_piece": ".piece.reader",
    "BadInput": ".problems",
    "Problem": ".problems",
    "VERSION": ".version",
}

__all__ = [
    "VERSION",
    "BadInput",
    "Examiner",
    "Problem",
    "assess",
    "examine_all",
    "open_knowledge",
    "parse_piece",
    "read_piece",
]


def __getattr__(name: str) -> Any:
    if name not in _FROM:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(_FROM[name], __name__), name)
    return value
