"""priors.yaml: what makers and later owners put on."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from .base import Id, Row, Sources, Text


class Context(Row, frozen=True, kw_only=True):
    """Where and when a maker used which finishes; unlisted finishes share the rest."""

    id: Id
    about: Text
    years: Annotated[list[int], Meta(min_length=2, max_length=2)]
    share: Annotated[float, Meta(gt=0)] = 1.0
    regions: list[Id] = []
    styles: list[Id] = []
    kinds: list[Id] = []
    woods: list[Id] = []
    finishes: dict[Id, Annotated[float, Meta(gt=0, lt=1)]]
    source: Sources


class Refinish(Row, frozen=True, kw_only=True):
    """How a later owner changed the surface: chance per decade of age, and with what."""

    rate_per_decade: Annotated[float, Meta(gt=0, lt=1)]
    overcoat_share: Annotated[float, Meta(gt=0, lt=1)]
    less_on: dict[Id, Annotated[float, Meta(gt=0, lt=2)]] = {}
    eras: list[Context]
    source: Sources


class HiddenFaces(Row, frozen=True, kw_only=True):
    """Insides, backs and undersides: how often the maker left them bare, and how often owners redo them."""

    bare: Annotated[float, Meta(gt=0, lt=1)]
    redone: Annotated[float, Meta(gt=0, le=1, description="for 1 on a face that shows")]
    source: Sources


class Priors(Row, frozen=True, kw_only=True):
    """priors.yaml: what the maker put on and what a later owner put on since."""

    makers: list[Context]
    refinish: Refinish
    hidden: HiddenFaces
    floor: Annotated[float, Meta(gt=0, lt=0.1)]
    mismatch: Annotated[float, Meta(gt=0, lt=1, description="weight of a context that a known fact contradicts")]
    specific: Annotated[float, Meta(ge=1, description="how much a context gains by each fact that it names and fits")]
    wood_told: Annotated[
        dict[Id, Annotated[float, Meta(gt=0, le=1)]],
        Meta(description="by finish or family: how often the wood under it can be named, against under a clear film"),
    ] = {}
