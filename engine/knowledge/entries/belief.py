"""belief.yaml and families: where words become numbers."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from .base import Band, Id, Row, Sources, Text


class LatentState(Row, frozen=True, kw_only=True):
    """One state of a hidden condition: how common, and how far it tilts a response, in nats by unit of response."""

    share: Annotated[float, Meta(gt=0, lt=1)]
    tilt: float


class LatentGroup(Row, frozen=True, kw_only=True):
    """Tests of one group read one hidden property, so they move together."""

    about: Text
    states: dict[Id, LatentState]
    source: Sources


class Contamination(Row, frozen=True, kw_only=True):
    """What may lie over any film: clean, wax or polish, grime or silicone; or the spot does not speak for the film."""

    about: Text
    share: Annotated[float, Meta(gt=0, lt=1)]
    film: Annotated[Id | None, Meta(description="the finish that it is where it counts as a film of its own")] = None
    drowns: Annotated[bool, Meta(description="hides the film from every test: all outcomes are alike")] = False
    source: Sources


class Belief(Row, frozen=True, kw_only=True):
    """belief.yaml: the one place where words become numbers."""

    bands: dict[Band, Annotated[float, Meta(gt=0, lt=1)]]
    unlisted: Band
    groups: dict[Id, LatentGroup]
    contamination: dict[Id, Contamination]
    unsure_keeps: Annotated[float, Meta(gt=0, lt=1, description="weight of an answer that is not sure")]
    slip: Annotated[float, Meta(gt=0, lt=1, description="chance that an answer is simply wrong")]
    other: Annotated[float, Meta(gt=0, lt=1, description="prior of a finish that is not in the book")]
    known: dict[Id, Annotated[float, Meta(gt=0, lt=1, description="trust by how the truth is known")]]
    learn: dict[Id, Annotated[float, Meta(gt=0, description="weight of a confirmed case by how it is known")]]
    book_weight: Annotated[float, Meta(gt=0, description="cases that weigh as much as a band of the book")]


class Family(Row, frozen=True, kw_only=True):
    """A family of finishes that most tests cannot tell apart."""

    name: Text
    about: Text
    source: Sources
