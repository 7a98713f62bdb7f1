"""Which removers of the user's own burn, where they do not say it: by the flash points in their blends."""

from __future__ import annotations

from typing import Final

from msgspec import Struct, structs

from .entries import Remover, Trait
from .loader import SHIPPED_NAME, Loaded

BURNS: Final[dict[Trait, str]] = {"flammable": "flammable-solvent", "very-flammable": "very-flammable"}  # its caution
FUMES: Final = ("toxic-vapour", "strong-fume")
TRACE = 0.01  # a share that does not count: what the rules for labels of mixtures call a trace (memory)


class Fire(Struct, frozen=True):
    """How a remover burns, and why that is taken to be so."""

    trait: Trait
    why: str


def says_fire(entry: Remover) -> bool:
    """Whether a remover says for itself that it burns."""
    return not BURNS.keys().isdisjoint(entry.traits)


def flash(entry: Remover, loaded: Loaded) -> tuple[float, str] | None:
    """(lowest flash point in degrees C, its solvent) of what is in a blend by more than a trace; None if none is known."""
    solvents = loaded.entries["solvents"]
    known = [(solvents[s].flash_c, s) for s, share in entry.blend.items() if share > TRACE]
    return min((row for row in known if row[0] is not None), default=None)


def warmest(loaded: Loaded) -> dict[Trait, float]:
    """For each word of fire the highest flash point, in degrees C, of a shipped remover that says it."""
    most: dict[Trait, float] = {}
    for name, entry in loaded.entries["removers"].items():
        versions = loaded.beneath.get(f"removers/{name}")
        entry = versions[0].entry if versions else entry
        shipped = (versions[0].origin if versions else loaded.origins[f"removers/{name}"]).layer == SHIPPED_NAME
        lowest = flash(entry, loaded) if shipped else None
        for trait in BURNS if lowest else ():
            if trait in entry.traits and lowest:
                most[trait] = max(most.get(trait, lowest[0]), lowest[0])
    return most


def fires(loaded: Loaded) -> dict[str, Fire]:
    """How the user's own removers burn that do not say it; those of the book were weighed by its reviewers."""
    most = warmest(loaded)
    own = (
        (name, entry)
        for name, entry in loaded.entries["removers"].items()
        if loaded.origins[f"removers/{name}"].layer != SHIPPED_NAME and not says_fire(entry)
    )
    found = {name: _fire(entry, most, loaded) for name, entry in own}
    return {name: fire for name, fire in found.items() if fire is not None}


def _fire(entry: Remover, most: dict[Trait, float], loaded: Loaded) -> Fire | None:
    lowest = flash(entry, loaded)
    for trait in reversed(BURNS):
        if lowest and trait in most and lowest[0] <= most[trait]:
            solvent = loaded.entries["solvents"][lowest[1]].name
            return Fire(trait, f"from its blend: the flash point of {solvent} is {lowest[0]:g} C")
    solvents = loaded.entries["solvents"]
    known = entry.blend and all(solvents[s].flash_c is not None for s, share in entry.blend.items() if share > TRACE)
    if entry.action != "solvent" or known or not set(FUMES).isdisjoint(entry.traits):
        return None
    return Fire("flammable", "it is a solvent, and nothing says that it does not burn")


def burning(entry: Remover, fire: Fire) -> Remover:
    """The remover with the word of fire and its caution."""
    warned = [] if set(BURNS.values()) & set(entry.cautions) else [BURNS[fire.trait]]
    return structs.replace(entry, traits=[*entry.traits, fire.trait], cautions=[*entry.cautions, *warned])
