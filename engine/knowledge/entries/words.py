"""Sources, the words of a piece file, cautions."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Id, Row, Sources, Text


class Source(Row, frozen=True, kw_only=True):
    """One line of sources.yaml: where a fact is from and what was checked there."""

    cite: Text
    grade: Literal["standard", "museum", "trade", "forum", "weak"]
    checked: Text
    year: int | None = None
    where: str | None = None


class Named(Row, frozen=True, kw_only=True):
    """A word of the vocabulary: a region, style, kind, tool or place."""

    name: Text
    about: str | None = None


class Meant(Row, frozen=True, kw_only=True):
    """What people mean by a common name: ids of finishes, removers, tests, stains or treatments, the likeliest first."""

    means: Annotated[list[Id], Meta(min_length=1)]
    source: Sources


class Period(Row, frozen=True, kw_only=True):
    """A period that people name for years: its first and last year, and other names for it."""

    years: tuple[int, int]
    also: list[str] = []
    about: str | None = None
    source: Sources


class Vocabulary(Row, frozen=True, kw_only=True):
    """vocabulary.yaml: the words that a piece file may use, and common names that people ask by."""

    regions: dict[Id, Named]
    styles: dict[Id, Named]
    kinds: dict[Id, Named]
    places: dict[Id, Named]
    tools: dict[Id, Named]
    names: dict[str, Meant] = {}
    periods: Annotated[dict[str, Period], Meta(description="in lower case, as people write when a piece was made")] = {}


class Barred(Row, frozen=True, kw_only=True):
    """Where work under a caution may not be done as it stands: any of these conditions, and what then."""

    where: Annotated[list[str], Meta(min_length=1)]
    text: Text


class Caution(Row, frozen=True, kw_only=True):
    """A warning in full words; shown wherever a step names its id. `after`: it is about clearing up.

    `only_if`: a step shows it only where one of these conditions of the work holds.
    """

    text: Text
    short: Annotated[Text | None, Meta(description="what it does and what keeps it off, in a dozen words")] = None
    grave: bool = False
    after: bool = False
    only_if: list[str] = []
    instead: Annotated[
        dict[str, Id], Meta(description="where this condition holds, the caution that is shown for it")
    ] = {}
    on_touch: Annotated[
        bool, Meta(description="every test that does more than look carries it, once a rule warns of it")
    ] = False
    barred: Barred | None = None
    source: Sources
