"""Solvents, resins, and the ways to take a finish off."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Band, Effect, Entry, Id, Range, Row, Sources, Text
from .tests import Mask


class Air(Row, frozen=True, kw_only=True):
    """Most that may be in the air at work, over a shift and over a quarter of an hour."""

    unit: Literal["ppm", "mg/m3"]
    shift: Annotated[float, Meta(gt=0)]
    short: Annotated[float, Meta(gt=0)]
    by: Text
    source: Sources


class Solvent(Row, frozen=True, kw_only=True):
    """A liquid: Hansen parameters in MPa^0.5, flash point in degrees C, evaporation (butyl acetate: 1), air limit."""

    name: Text
    cas: str | None = None
    hansen: Annotated[list[float], Meta(min_length=3, max_length=3)]
    flash_c: float | None = None
    evaporation: float | None = None
    swells_networks: Annotated[bool, Meta(description="a small or strong molecule that swells crosslinked films")] = (
        False
    )
    air: Air | None = None
    source: Sources


class Resin(Row, frozen=True, kw_only=True):
    """A film former's Hansen sphere: centre and radius in MPa^0.5."""

    name: Text
    hansen: Annotated[list[float], Meta(min_length=3, max_length=3)]
    radius: Annotated[float, Meta(gt=0)]
    trust: Literal["good", "fair", "poor"]
    source: Sources


class Law(Row, frozen=True, kw_only=True):
    """What a place says of a remover or a treatment sold to or used by a consumer."""

    place: Id
    status: Literal["banned", "restricted", "allowed", "not-known"]
    text: Text
    source: Sources


class RemoverException(Row, frozen=True, kw_only=True):
    """A sourced outcome that overrides the derived one; shown as an exception."""

    finishes: list[Id]
    gives: dict[Effect, Band]
    why: Text
    source: Sources


class Work(Row, frozen=True, kw_only=True):
    """What one coat or pass costs on one square metre: time, litres, money for a litre in what the user counts in.

    dwell_minutes: contact on a film of 100 um at 20 degrees C, all coats together.
    """

    dwell_minutes: Range
    open_minutes: Annotated[float, Meta(gt=0, description="how long it stays wet enough to work, covered if it is")]
    coats: Range
    active_hours_m2: Range
    litres_m2: Range = (0.0, 0.0)
    cost_litre: Range = (0.0, 0.0)
    dry_hours: Range = (0.0, 0.0)
    source: Sources


Trait = Literal[
    "water",
    "alkali",
    "acid",
    "heat",
    "dry-heat",
    "abrasive",
    "edge-tool",
    "flammable",
    "very-flammable",
    "toxic-vapour",
    "skin-burn",
    "long-dwell",
    "fast-drying",
    "oily-residue",
    "wax-residue",
    "strong-fume",
    "dust",
]


class Remover(Entry, frozen=True, kw_only=True):
    """One way to take a finish off: chemistry, traits that rules see, cost, law, cautions."""

    action: Literal["solvent", "alkali", "acid", "heat", "cutting", "abrasion"]
    traits: list[Trait]
    blend: dict[Id, float] = {}
    work: Work
    hazard: Annotated[int, Meta(ge=0, le=5, description="0 harmless to the person, 5 can kill")]
    harm: Annotated[
        float, Meta(ge=0, le=1, description="chance of spoiling sound wood or its colour, done with care")
    ] = 0.0
    before: Annotated[str, Meta(description="what must be done before the first trial of it")] = ""
    how: Annotated[str, Meta(min_length=3, description="names no time that a route reckons, and nothing that it bares")]
    after: Text
    residue: Text
    law: list[Law] = []
    cautions: list[Id]
    tools: list[Id] = []
    never_with: Annotated[list[Id], Meta(description="treatments and removers that it must not meet")] = []
    ceiling_c: Annotated[float | None, Meta(description="hotter than this it must not be used")] = None
    exceptions: list[RemoverException] = []
    masked_by: Annotated[
        dict[Id, Mask], Meta(description="what wax or grime makes of a try of it; gives: effects")
    ] = {}
