"""The whole answer about a piece, as plain typed values.

The field names are the keys of `assess --json`; see README. Chances are 0 to 1, hours
and minutes as ranges [low, high].
"""

from __future__ import annotations

from typing import Any

from msgspec import Struct, field

from ..knowledge.entries import Effect
from ..planning.handling import Handling
from ..planning.ledger import PartLine
from ..planning.recoat import CoatPlan
from ..planning.schedule import Schedule
from ..planning.shopping import Item
from ..planning.stains import StainPlan
from ..planning.triage import Triage

SCHEMA_VERSION = 1
SPOILS_FROM = 0.5


class Ranked(Struct, kw_only=True):
    """One finish in the ranking, with its range and what speaks for and against it."""

    finish: str
    name: str
    p: float
    low: float
    high: float
    supports: list[str] = field(name="for")
    against: list[str]


class Layer(Struct, kw_only=True):
    """Something over or under the top finish."""

    finish: str
    where: str
    p: float
    text: str


class FitReport(Struct, kw_only=True):
    """Whether the answers fit together; `astray`: chance that they speak of no finish of the book.

    surprise_db: decibans, as in belief.weigh. repeat: the answer to repeat, if one is doubtful.
    """

    ok: bool
    surprise_db: float
    clashes: list[tuple[str, str]]
    repeat: str | None
    astray: float


class NextTest(Struct, kw_only=True):
    """The test worth doing next.

    `barred`: why it is not to be done as things stand, with which `how` begins, if so; `not_on`: where it never is.
    """

    test: str
    name: str
    saves_minutes: float
    why: str
    how: str
    not_on: str
    barred: str
    cautions: list[str]


class RemoverReport(Struct, kw_only=True):
    """One remover on this surface. `dwell_minutes` holds four trials in five: look first at its start.

    `coat_minutes`: how long one coat stays on, its share of that, and never until it dries on.
    """

    remover: str
    name: str
    outcome: dict[Effect, float]
    works: float
    harm: float
    vetoed_by: list[str]
    because: list[str]
    hours: tuple[float, float]
    coats: tuple[float, float]
    dwell_minutes: tuple[float, float]
    dwell_likely_minutes: float
    coat_minutes: tuple[float, float]
    exception: bool
    warnings: list[str]
    reason: str
    litres: tuple[float, float]

    @property
    def spoils(self) -> bool:
        """Whether it harms the face every other time, or more often than it works."""
        return self.harm >= SPOILS_FROM or self.harm > self.works


class StageReport(Struct, kw_only=True):
    """One stage of a route; `then` and `otherwise` are numbers of stages, from 1."""

    kind: str
    text: str
    minutes: tuple[float, float]
    then: int | None
    otherwise: int | None
    cautions: list[str]


class RouteReport(Struct, kw_only=True):
    """One ranked way to take the finish off; `covers`: which of the possible finishes it takes.

    trial_done: a trial of it on this surface went well already.
    """

    remover: str
    name: str
    then: str | None
    steps: list[str]
    tree: list[StageReport]
    covers: list[str]
    hazard: int
    expected_hours: float
    expected_minutes: float
    works: float
    harm: float
    litres: tuple[float, float]
    litres_m2: tuple[float, float]
    dry_hours: tuple[float, float]
    cautions: list[str]
    trial_done: bool


class SandingRun(Struct, kw_only=True):
    """A run of grits, the wood it takes in mm, and how often the budget bears it."""

    grits: str
    takes_mm: float
    times: int


class Sanding(Struct, kw_only=True):
    """What may be sanded away in mm, out of what thickness, and the runs of grits that are left."""

    may_go_mm: float
    veneer_mm: tuple[float, float] | None
    measured: bool
    stays_mm: float
    unseen_mm: float
    runs: list[SandingRun]
    text: str


class Reason(Struct, kw_only=True):
    """A rule that fired: what it matched, what it said, where it is from."""

    rule: str
    matched: dict[str, Any]
    why: str
    source: list[str]


class SurfaceReport(Struct, kw_only=True):
    """All that is said of one surface.

    `flags_here`: the flags that bear on what is planned. `before_stripping`: what the rules
    want done before anything comes off a face that is to be stripped; empty if nothing.
    """

    name: str
    ranking: list[Ranked]
    none_of_these: float
    certainty: str
    layers: list[Layer]
    fit: FitReport
    verdict: str
    verdict_why: str
    next_test: NextTest | None
    other_tests: list[NextTest]
    removers: list[RemoverReport]
    routes: list[RouteReport]
    tried: list[str]
    sanding: Sanding
    handling: Handling
    before_stripping: list[str]
    area_m2: float
    stains: list[StainPlan]
    recoat: list[CoatPlan]
    moves: str | None
    flags: list[str]
    flags_here: list[str]
    cautions: list[str]
    reasons: list[Reason]


class Step(Struct, kw_only=True):
    """One step of the order of work; `surface` is empty for the whole piece.

    `after` names the steps that come straight before: on the same surface or of the
    piece, and for a step of the piece on every surface. `early`: taken early on purpose.
    """

    step: str
    name: str
    surface: str
    after: list[str]
    why: str
    how: str
    note: str
    hours: tuple[float, float]
    wait_hours: float
    early: bool
    cautions: list[str]


class Shopping(Struct, kw_only=True):
    """What to buy, and the tools and protection to have at hand."""

    items: list[Item]
    tools: list[str]


class Hazard(Struct, kw_only=True):
    """One caution of the work that is planned, and the surfaces that it meets; none named: the whole piece."""

    caution: str
    text: str
    grave: bool
    surfaces: list[str]


class KnowledgeReport(Struct, kw_only=True):
    """Which knowledge spoke."""

    version: str
    layers: list[str]
    left_out: list[str]


class Assessment(Struct, kw_only=True):
    """The whole answer."""

    schema_version: int
    piece: str
    knowledge: KnowledgeReport
    surfaces: list[SurfaceReport]
    triage: Triage
    order_of_work: list[Step]
    held: list[Step]
    if_anyway: list[Step]
    schedule: Schedule | None
    shopping: Shopping
    parts: list[PartLine]
    flags: list[str]
    cautions: list[str]
    hazards: list[Hazard]
