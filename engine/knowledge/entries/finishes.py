"""A finish: what it is, its chemistry, its film."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Band, Entry, Id, Range, Row, Sources, Text


class Neighbour(Row, frozen=True, kw_only=True):
    """A finish that is easily mistaken for this one, and what tells them apart."""

    finish: Id
    tell: Text
    tests: list[Id]


class Chemistry(Row, frozen=True, kw_only=True):
    """What decides removal: network, bonds, resin sphere, heat."""

    network: Literal["none", "light", "dense"]
    bonds: list[
        Literal[
            "ester", "nitrate-ester", "urethane", "ether", "aminal", "carbon", "peptide", "hydrocarbon", "cellulose"
        ]
    ]
    resin: Id | None = None
    softens_c: Range | None = None
    source: Sources


class Knits(Row, frozen=True, kw_only=True):
    """How age tightens a film: from so many years on a liquid may take so many times as long."""

    years: Annotated[float, Meta(gt=0)]
    slower: Annotated[float, Meta(ge=1)]
    source: Sources


class Film(Row, frozen=True, kw_only=True):
    """What the film is as a body: thickness, hiding, hold on the wood, how it tightens with age."""

    typical_um: Range
    opaque: bool = False
    in_wood: bool = False
    brittle_when_old: bool = False
    knits: Knits | None = None
    source: Sources


class Share(Row, frozen=True, kw_only=True):
    """How common work in a finish is on the bench, on the scale of `share` in priors.yaml.

    There 0.5 is the usual work of its years, 0.1 is met now and then, 0.02 is a rarity.
    """

    years: Annotated[list[int], Meta(min_length=2, max_length=2)]
    regions: list[Id] = []
    kinds: list[Id] = []
    share: Annotated[float, Meta(gt=0, le=1)]


class Finish(Entry, frozen=True, kw_only=True):
    """One finish: what it is, when it was used, how it looks and ages, its chemistry."""

    family: Id
    introduced: Annotated[int, Meta(description="year before which a maker cannot have used it")]
    used: Text
    looks: Text
    ages: Text
    neighbours: Annotated[list[Neighbour], Meta(min_length=1)]
    takes_off: Text
    harmed_by: Text
    chemistry: Chemistry
    film: Film
    ageing: dict[Id, dict[Id, Band]] = {}  # hidden group -> state -> how common in this finish
    over: dict[Id, Band] = {}  # finishes that a maker commonly laid under it
    share: Annotated[list[Share], Meta(description="for a finish of your own, which no row of priors.yaml lists")] = []
    recoat_row: Id
    lead_before: int | None = None
    cautions: list[Id] = []
