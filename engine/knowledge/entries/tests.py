"""A field test: how it is done and how often it shows what."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Band, Entry, Id, Row, Sources, Text

Stage = Literal["looking", "touching", "mild-solvent", "strong-solvent", "cutting", "patch"]
Drawing = Literal[
    "alligator",
    "bead",
    "bloom-ring",
    "brittle-flakes",
    "brush-marks",
    "checks",
    "clear-over-clear",
    "clear-over-colour",
    "crazing",
    "curl",
    "dark-ring",
    "dent",
    "dust",
    "film-in-wood",
    "film-medium",
    "film-thick",
    "film-thin",
    "flaking",
    "gummy-roll",
    "hatch-few",
    "hatch-many",
    "hatch-some",
    "orange-peel",
    "paint-stack",
    "plain-face",
    "powder",
    "ribbon",
    "scratch-clear",
    "scratch-white",
    "shaving",
    "smear",
    "soak-in",
    "unchanged",
    "wrinkle",
]  # the small drawings that the sheet and the pages have


class SeenBelow(Row, frozen=True, kw_only=True):
    """What an outcome says of the film under the top one: how often it is of each kind, and whether there is one."""

    clear: Band
    opaque: Band
    there: Annotated[
        Band | None, Meta(description="how often another film lies there at all; unsaid: as by the rest")
    ] = None
    source: Sources


class Outcome(Row, frozen=True, kw_only=True):
    """One thing that may be seen; `response` is its place on the hidden property."""

    id: Id
    sees: Text
    response: float = 0.0
    after_minutes: Annotated[
        Annotated[float, Meta(gt=0)] | None,
        Meta(description="minutes of waiting after which it shows and ends the test"),
    ] = None
    drawing: Drawing | None = None
    below: SeenBelow | None = None


class Likelihood(Row, frozen=True, kw_only=True):
    """How often the finishes named give each outcome; a later row overrides."""

    finishes: Annotated[list[Id], Meta(min_length=1, description="family or finish ids")]
    gives: dict[Id, Band]
    source: Sources
    note: str | None = None
    disputed: bool = False


class Mask(Row, frozen=True, kw_only=True):
    """What a contamination makes of this test: how often it hides the film, and what shows."""

    hides: Band
    gives: dict[Id, Band]
    source: Sources


class OriginRow(Row, frozen=True, kw_only=True):
    """Bands by how the film came there: original, stripped and redone, or coated over."""

    origin: Literal["original", "refinished", "overcoated"]
    gives: dict[Id, Band]
    source: Sources


class Reads(Row, frozen=True, kw_only=True):
    """Another test and the outcomes of it that an answer amounts to, any of them."""

    test: Id
    outcomes: Annotated[list[Id], Meta(min_length=1)]


class AsTrial(Row, frozen=True, kw_only=True):
    """The remover that a test is done with, so that it is a short trial of it too, and what each outcome is as one."""

    remover: Id
    minutes: Annotated[float, Meta(gt=0, description="how long the film is wet with it")]
    shows: dict[Id, Literal["works", "lifts", "softens", "no-effect"]]
    source: Sources


class Test(Entry, frozen=True, kw_only=True):
    """One field test: how to do it, what it costs, what may be seen, how often."""

    __test__ = False

    ask: Text
    stage: Stage
    group: Id | None = None
    minutes: Annotated[float, Meta(gt=0, description="hands and waiting together, to the last look")]
    wait_minutes: Annotated[float, Meta(ge=0, description="of these the waiting")] = 0.0
    looks: Annotated[
        list[Annotated[float, Meta(gt=0)]],
        Meta(description="minutes of waiting after which one looks before the last look"),
    ] = []
    mark: Annotated[int, Meta(ge=0, le=3, description="0 none, 1 polishes out, 2 small repair, 3 sample lost")]
    tools: list[Id]
    helps: Annotated[list[Id], Meta(description="tools that make it easier; eyes and daylight do without")] = []
    only_after: Annotated[
        list[Stage], Meta(description="proposed only once a test of one of these stages was done on the face")
    ] = []
    moot_after: Annotated[
        dict[Id, list[Id]],
        Meta(description="not proposed once a test has surely shown one of these: nothing to look at"),
    ] = {}
    cautions: list[Id] = []
    how: Text
    watch: Text
    distrust: Annotated[list[Text], Meta(min_length=1)]
    outcomes: Annotated[list[Outcome], Meta(min_length=2)]
    bands: list[Likelihood] = []
    origin_bands: list[OriginRow] = []
    masked_by: dict[Id, Mask] = {}
    trial: AsTrial | None = None
    on_hidden: Annotated[
        dict[Id, Reads],
        Meta(description="what an outcome amounts to where the face looked at is itself the hidden one"),
    ] = {}
    not_on: Annotated[list[Text], Meta(description="where it must not be done; told beside how it is done")] = []
