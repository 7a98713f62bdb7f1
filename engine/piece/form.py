"""The form of a piece file. Field names are the YAML keys.

Units: millimetres, square metres, minutes, hours, degrees Celsius, per cent relative
humidity; money in whatever the user counts in.
"""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct

Text = Annotated[str, Meta(max_length=20_000)]
Name = Annotated[str, Meta(min_length=1, max_length=200)]
Positive = Annotated[float, Meta(gt=0, le=1000)]
NotNegative = Annotated[float, Meta(ge=0, le=1_000_000_000)]
Feature = Literal[
    "inlay",
    "metal-inlay",
    "bone-or-shell",
    "gilding",
    "decal",
    "label",
    "makers-mark",
    "leather",
    "glass",
    "carving",
    "composite-core",
]  # what is let in, laid on or stuck on, and what the face is built on
Repair = Literal["veneer-loose", "edge-missing", "joints-loose", "dents", "filler"]
Result = Literal["works", "lifts", "softens", "no-effect", "harms"]
How = Literal["laboratory", "makers-record", "removal", "opinion"]  # the surest first
NOT_DONE = "could-not-do"
UNKNOWN = "unknown"


class Row(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, omit_defaults=True):
    """Base of everything in a piece file: no unknown key passes."""


class Answer(Row, frozen=True, kw_only=True):
    """What a test showed; `sure: false` softens it; could-not-do says nothing."""

    outcome: str
    sure: bool = True
    note: Text = ""


def as_answer(answer: str | Answer) -> Answer:
    """An answer in its full form; one that was given as a word alone is sure."""
    return answer if isinstance(answer, Answer) else Answer(outcome=answer)


def told_outcome(answer: str | Answer) -> str:
    """The outcome id of an answer in either of its two forms."""
    return answer if isinstance(answer, str) else answer.outcome


class Tried(Row, frozen=True, kw_only=True):
    """A remover that was tried and what it did."""

    remover: str
    result: Result
    minutes: NotNegative | None = None
    note: Text = ""


class Removed(Row, frozen=True, kw_only=True):
    """How the removal ended, for the casebook; without a result it was used, and what it did is not told."""

    remover: str
    result: Result | None = None
    coats: NotNegative | None = None
    hours: NotNegative | None = None
    note: Text = ""


class StainSeen(Row, frozen=True, kw_only=True):
    """A stain, and how many times each treatment was tried on it."""

    kind: str
    tried: dict[str, Annotated[int, Meta(ge=0, le=100)]] = {}
    where: Text = ""


class Known(Row, frozen=True, kw_only=True):
    """A finish that is known from outside the bench, used as evidence."""

    finish: str
    how: How


class Confirmed(Row, frozen=True, kw_only=True):
    """The truth found afterwards; never used as evidence for the same piece."""

    finish: str
    how: How
    when: str = ""


class Surface(Row, frozen=True, kw_only=True):
    """One face or set of like faces of the piece.

    `plan`: strip the film, keep it and coat over it, seal a bare face, or leave it as it
    is; without it a hidden face is left and any other is stripped if there is a way.
    `keep_under`: the top film is to come off and the one below it to stay; `under` names
    the film below if it was seen. `film_coats`: coats counted, where nobody measured.
    """

    name: Name
    wood: str = "unknown"
    build: Literal["solid", "veneer", "unknown"] = "unknown"
    veneer_mm: Positive | None = None
    film_um: Annotated[float, Meta(gt=0, le=20_000)] | None = None
    film_coats: Annotated[int, Meta(ge=1, le=50)] | None = None
    features: list[Feature] = []
    area_m2: Positive | None = None
    tests: dict[str, str | Answer] = {}
    stains: list[StainSeen] = []
    tried: list[Tried] = []
    known: Known | None = None
    keep_under: bool = False
    under: str | None = None
    repairs: list[Repair] = []
    hidden: bool = False
    shaded: bool = False
    next_coat: str | None = None
    plan: Literal["strip", "keep", "seal", "leave"] | None = None
    colour: Literal["stain", "toner"] | None = None
    fill_pores: bool = False
    note: Text = ""
    confirmed: Confirmed | None = None
    removed: list[Removed] = []


class Screws(Row, frozen=True, kw_only=True):
    """One group of screws: how many, how long, which holes."""

    count: Annotated[int, Meta(ge=1, le=10_000)]
    mm: Positive
    holes: Text = ""


class Part(Row, frozen=True, kw_only=True):
    """One part in the ledger: where it belongs and what belongs to it."""

    label: Name
    what: Text
    where: Text = ""
    up: Text = ""
    surface: Name | None = None
    screws: list[Screws] = []
    hardware: list[Text] = []
    marks: list[Text] = []
    matched: bool | None = None


class Spread(Row, frozen=True, kw_only=True):
    """A figure and how far it may be off, low and high."""

    likely: NotNegative
    low: NotNegative
    high: NotNegative


class Money(Row, frozen=True, kw_only=True):
    """The user's own figures for go or stop; one currency throughout."""

    sells: float | Spread
    rate_hour: NotNegative
    bought: NotNegative = 0.0
    material: float | Spread | None = None
    fallback: float | Spread = 0.0
    as_it_stands: NotNegative = 0.0
    fee_share: Annotated[float, Meta(ge=0, lt=1)] = 0.0
    delivery: NotNegative = 0.0


class Room(Row, frozen=True, kw_only=True):
    """Where the work is done."""

    ventilation: Literal["good", "poor", "unknown"] = "unknown"
    flame: bool | None = None
    respirator: bool = False
    temperature_c: Annotated[float, Meta(ge=-20, le=50)] = 20.0
    humidity: Annotated[float, Meta(ge=1, le=100)] = 50.0


class CaseNote(Row, frozen=True, kw_only=True):
    """Where a reference or demo case is from."""

    id: str
    told: Text
    how_known: Text
    invented: bool = False
    source: list[str] = []
    cite: Text = ""


class Piece(Row, frozen=True, kw_only=True):
    """A whole piece: context, room, surfaces, parts, figures."""

    piece: Annotated[str, Meta(min_length=1, max_length=2000)]
    surfaces: Annotated[list[Surface], Meta(min_length=1, max_length=200)]
    made: int | str = "unknown"
    region: str = "unknown"
    style: str | None = None
    kind: str = "unknown"
    place: str = "other"
    room: Room = Room()
    have: list[str] | None = None
    prefer: Literal["balanced", "fast", "gentle", "cheap", "low-fume"] = "balanced"
    next_coat: str | None = None
    wax_last: bool = False
    parts: list[Part] = []
    money: Money | None = None
    note: Text = ""
    case: CaseNote | None = None
