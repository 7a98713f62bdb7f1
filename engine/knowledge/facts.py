"""Every fact that the engine states, and which values it may have; None means any.

Rules are checked against this, so that a misspelt fact does not lie silent for ever.
"""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

from ..piece.form import Feature, Repair
from .base import PATCH_PREFIX
from .entries import EFFECTS, Chemistry, Level, Literalish, Remover

Values = frozenset[Literalish] | None
_BOOL: Values = frozenset({True, False})


def known_facts(entries: dict[str, dict[str, Any]]) -> dict[str, dict[str, Values]]:
    """scope -> fact key -> allowed values."""
    return {"surface": _surface(entries), "pair": _pair(entries)}


def _surface(entries: dict[str, dict[str, Any]]) -> dict[str, Values]:
    words = entries["vocabulary"]["all"]
    finishes = frozenset(entries["finishes"])
    levels: Values = frozenset(get_args(Level))
    facts: dict[str, Values] = {
        "piece.place": frozenset(words.places),
        "piece.region": frozenset({*words.regions, "unknown"}),
        "piece.kind": frozenset({*words.kinds, "unknown"}),
        "piece.style": frozenset({*words.styles, "unknown"}),
        "piece.year-from": None,
        "piece.year-to": None,
        "surface.wood": frozenset({*entries["woods"], "unknown"}),
        "surface.build": frozenset({"solid", "veneer", "unknown"}),
        "surface.veneer-mm": None,
        "surface.veneer-known": frozenset({"measured", "guessed"}),
        "surface.hidden": _BOOL,
        "surface.keep-under": _BOOL,
        **{f"surface.feature.{name}": _BOOL for name in get_args(Feature)},
        **{f"surface.repair.{name}": _BOOL for name in get_args(Repair)},
        "wood.tannin": levels,
        "wood.oily": _BOOL,
        "wood.sensitiser": _BOOL,
        "wood.pores": frozenset({"open", "semi-open", "closed", "none"}),
        "glue.water": levels,
        "glue.alkali": levels,
        "glue.solvent": levels,
        "glue.heat-limit": None,
        "room.ventilation": frozenset({"good", "poor", "unknown"}),
        "room.flame": frozenset({True, False, "unknown"}),
        "room.respirator": _BOOL,
        "budget.mm": None,
        "finish.top": finishes,
        "finish.family": frozenset(entries["families"]),
        "finish.sure": None,
        "film.opaque": _BOOL,
        "film.network": frozenset({"none", "light", "dense"}),
        "film.lead-risk": _BOOL,
        "film.lead-below": _BOOL,
        "origin.overcoated": None,
        "origin.refinished": None,
    }
    facts |= {f"finish.possible.{name}": _BOOL for name in finishes}
    facts |= {f"test.{name}": frozenset(o.id for o in test.outcomes) for name, test in entries["tests"].items()}
    facts |= {f"test.{PATCH_PREFIX}{name}": frozenset(EFFECTS) for name in entries["removers"]}
    facts |= {
        f"tried.{name}": frozenset({"works", "lifts", "softens", "no-effect", "harms"}) for name in entries["removers"]
    }
    return facts | {f"stain.{name}": _BOOL for name in entries["stains"]}


def _pair(entries: dict[str, dict[str, Any]]) -> dict[str, Values]:
    bonds = _choices(Chemistry, "bonds")
    traits = _choices(Remover, "traits")
    facts: dict[str, Values] = {
        "film.id": frozenset(entries["finishes"]),
        "film.family": frozenset(entries["families"]),
        "film.network": frozenset({"none", "light", "dense"}),
        "film.in-wood": _BOOL,
        "film.opaque": _BOOL,
        "film.thick": _BOOL,
        "film.softens": None,
        "remover.id": frozenset(entries["removers"]),
        "remover.action": frozenset(_choices(Remover, "action")),
        "remover.red": None,
        "remover.red-trust": frozenset({"good", "fair", "poor"}),
        "remover.fast": _BOOL,
        "remover.strong": _BOOL,
    }
    facts |= {f"film.bond.{name}": _BOOL for name in bonds}
    return facts | {f"remover.trait.{name}": _BOOL for name in traits}


def _choices(form: type, field: str) -> tuple[str, ...]:
    """The words that a Literal field allows."""
    hint = get_type_hints(form)[field]
    inner = get_args(hint)
    return inner if all(isinstance(i, str) for i in inner) else get_args(inner[0])
