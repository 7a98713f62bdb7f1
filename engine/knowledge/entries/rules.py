"""rules/*.yaml: if these facts hold, then that."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Band, Effect, Id, Row, Sources, Status, Text

Literalish = str | int | float | bool


class Bounds(Row, frozen=True, kw_only=True):
    """A numeric condition on a fact."""

    at_least: float | None = None
    below: float | None = None


Condition = Literalish | list[Literalish] | Bounds


class Veto(Row, frozen=True, kw_only=True):
    """Forbids removers by id or trait on this surface."""

    removers: list[Id] = []
    traits: list[str] = []


class Harm(Row, frozen=True, kw_only=True):
    """Raises the chance that a remover does damage here."""

    removers: list[Id] = []
    traits: list[str] = []
    chance: Band


class Flag(Row, frozen=True, kw_only=True):
    """Something the user should be told about the surface; its first sentence stands alone where room is short.

    `{lead}` in the text becomes the chance that the film is a paint of the lead years.
    """

    id: Id
    only_if: Annotated[
        list[str], Meta(description="it bears on the work where one of these conditions of it holds")
    ] = []
    removers: Annotated[
        list[Id], Meta(description="it bears on the work where one of these may be used and works")
    ] = []
    covers: Annotated[list[Id], Meta(description="flags that need not be said beside this one")] = []
    text: Text


class Conclusion(Row, frozen=True, kw_only=True):
    """What a rule says when it fires; more than one part may be given."""

    facts: dict[str, Literalish] = {}
    gives: dict[Effect, Band] = {}
    veto: Veto | None = None
    harm: Harm | None = None
    spares: Annotated[
        Harm | None,
        Meta(description="how often these take a film that is to stay below, where the top one has no hold on it"),
    ] = None
    caution: Id | None = None
    flag: Flag | None = None
    contamination: dict[Id, Band] = {}
    bars: Annotated[list[Id], Meta(description="cautions: no test that carries one of them is proposed here")] = []
    ask: Annotated[Id | None, Meta(description="a test that goes before all others, for safety's sake")] = None


class Rule(Row, frozen=True, kw_only=True):
    """If all of `when` hold and none of `unless`, then `then`; with its own examples."""

    id: Id
    about: Text
    status: Status
    priority: int = 0
    when: Annotated[dict[str, Condition], Meta(min_length=1)]
    unless: dict[str, Condition] = {}
    then: Conclusion
    why: Text
    source: Sources
    wrong_if: Annotated[list[Text], Meta(min_length=1)]
    fires: list[dict[str, Literalish]] = []
    silent: list[dict[str, Literalish]] = []
    known_miss: list[dict[str, Literalish]] = []


class RuleFile(Row, frozen=True, kw_only=True):
    """rules/*.yaml: rules of one topic, all about one scope."""

    topic: Text
    scope: Literal["surface", "pair"]
    rules: list[Rule]
