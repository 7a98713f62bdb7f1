"""recoat.yaml and work.yaml: what may go over what, steps and their order."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from msgspec import Meta

from .base import Id, Meaning, Range, Row, Sources, Text
from .removal import Trait

CONDITIONS: Final = (
    "labels",
    "joints-loose",
    "veneer-loose",
    "edge-missing",
    "dents",
    "filler",
    "paint-old",
    "iron-present",
    "strip",
    "uncovered",
    "nothing-to-dry",
    "bare-wood",
    "keep-film",
    "sealed",
    "coated",
    "wash-first",
    "alkali-left",
    "neutral-check",
    "masked",
    "stain-any",
    "stain-spot",
    "stain-patch",
    "dry-marks",
    "seal-in",
    "no-water",
    "no-heat",
    "wet-treatment",
    "water-used",
    "oily-wood",
    "colour",
    "open-pores",
    "toner",
    "wax-final",
    "veneer",
    "left-alone",
    "worked-on",
    "sanding-barred",
    "bare-wet",
    "bare-unsanded",
    "keep-film-wet",
    "left-hidden",
    "slow-remover",
    "trial-done",
    "under-cover",
    "more-coats",
    "coat-doubtful",
    "coat-wash",
    "cold-room",
    "damp-room",
    "film-forming",
    "soaks-in",
)  # what a step may need, beside over:CONTAMINATION, stain:TREATMENT and the notes (note.NAME) that rules conclude


class Coat(Row, frozen=True, kw_only=True):
    """Something that may be put on: times, coverage, wear, way back."""

    name: Text
    recoat_hours: Range
    use_hours: float
    cure_days: float
    coats: Annotated[int, Meta(ge=1, description="on bare wood")]
    over_film: Annotated[tuple[int, int], Meta(description="coats, least and most, on a film or an oil that stays")]
    how: Text
    coverage_m2_l: Range
    max_dry_um: Annotated[float | None, Meta(description="built thicker than this, all coats together, it cracks")] = (
        None
    )
    min_c: float
    active_hours_m2_coat: float
    wears: Text
    back_off: Text
    rags: bool = False
    water: bool = False
    soaks: Annotated[bool, Meta(description="goes into the wood: nothing that closes the wood goes before it")] = False
    bonds: Annotated[bool, Meta(description="false for what only lies on top: crazed or thick film is no matter")] = (
        True
    )
    as_under: Annotated[Id, Meta(description="the row of `under` that it makes once it has cured")]
    cautions: list[Id] = []
    tools: list[Id] = []
    source: Sources


class RecoatCell(Row, frozen=True, kw_only=True):
    """The source of one under-over pair, where it is better than the matrix as a whole."""

    under: Id
    over: Id
    note: str | None = None
    seal: Annotated[bool, Meta(description="the seal goes on first, once what is under it is washed off")] = False
    source: Sources


class Advice(Row, frozen=True, kw_only=True):
    """A piece of advice in full words."""

    text: Text
    source: Sources


class Word(Row, frozen=True, kw_only=True):
    """A word of the matrix: what to do, what it comes to, what goes between, the word one class lower."""

    text: Text
    means: Meaning
    between: Annotated[Id, Meta(description="the coat that goes between")] | None = None
    lower: str


class Residue(Row, frozen=True, kw_only=True):
    """What a contamination leaves: the row that it makes, and whether it is still there on stripped wood."""

    row: Id
    in_wood: bool
    text: Text


class Recoat(Row, frozen=True, kw_only=True):
    """recoat.yaml: what may go over what.

    `bare` names the rows of stripped wood, `residue` what lies over a film or in the
    wood, `risen` what the wood itself gives off. Every word falls one class over a film thicker than `thick_um` and where a
    test showed an outcome of `lowered_by`.
    """

    words: dict[str, Word]
    mixed: Annotated[Id, Meta(description="the word where only some of the films that it may be forbid the coat")]
    bare: dict[Literal["clean", "oily"], Id]
    residue: dict[Id, Residue]
    risen: Annotated[
        dict[str, Id], Meta(description="fact of the rules about the wood: the row that it makes where wood is open")
    ] = {}
    thick_um: float
    lowered_by: dict[Id, list[Id]]
    shaded: Advice
    toner: Annotated[Id, Meta(description="the coat that carries colour between clear ones")]
    toner_over: Annotated[
        Id, Meta(description="the coat that goes under the toner where the next one would not hold it")
    ]
    toner_under: Annotated[
        list[Id],
        Meta(min_length=1, description="clear coats that may go over a toner asked for as the last coat, best first"),
    ]
    coats: dict[Id, Coat]
    under: dict[Id, dict[Id, str]]
    cells: list[RecoatCell] = []
    source: Sources


class Step(Row, frozen=True, kw_only=True):
    """A step of the work: when it applies, who does it, hours, waits, cautions."""

    name: Text
    each: Literal["piece", "surface"]
    needs: list[str] = []
    unless: Annotated[list[str], Meta(description="conditions that rule the step out, each by itself")] = []
    hours: Range = (0.0, 0.0)
    hours_m2: Range = (0.0, 0.0)
    wait_hours: Annotated[float, Meta(ge=0)] = 0.0
    takes: Annotated[
        Literal[
            "worst",
            "patch",
            "stain-patch",
            "route",
            "lift",
            "masks",
            "residue",
            "treatment",
            "active",
            "dwell",
            "rinse",
            "dry-marks",
            "drying",
            "seal",
            "warm",
            "air",
            "coat-patch",
            "first-coat",
            "more-coats",
            "use",
            "cure",
        ]
        | None,
        Meta(description="where better hours or waits are from, once the route, treatment or coat is chosen"),
    ] = None
    gate: Annotated[
        Literal["parts", "worth"] | None, Meta(description="what has to be answered here before work goes on")
    ] = None
    shows: Annotated[
        Literal["film", "stain"] | None,
        Meta(description="the doubt that this step settles: will the film, the stain go"),
    ] = None
    done_by: Annotated[Id, Meta(description="the test whose answer makes this step done")] | None = None
    traits: Annotated[list[Trait], Meta(description="what of it the vetoes and harms of a surface speak of")] = []
    treatment: Annotated[Id, Meta(description="the treatment that this step is, or that it rinses out")] | None = None
    round: Annotated[int, Meta(ge=1, description="which time it is done; further ones are made from `rounds`")] = 1
    cautions: list[Id] = []
    tools: Annotated[list[Id], Meta(description="what is used and not used up")] = []
    prepares: Annotated[
        bool, Meta(description="only for work on the faces that follows: not done where none is touched")
    ] = False
    how: Text
    where: Annotated[dict[str, Text], Meta(description="what is other in it where this condition holds")] = {}
    source: Sources


class Before(Row, frozen=True, kw_only=True):
    """`first` must be finished before `then`, and why; `early` says what it costs to break that on one surface."""

    first: Id
    then: Id
    why: Text
    early: Text | None = None
    early_hours: Annotated[float, Meta(ge=0)] = 0.0
    source: Sources


class Consumable(Row, frozen=True, kw_only=True):
    """Something a step uses up: so much by the square metre or the piece, each grit anew if it is abrasive.

    `needs`: conditions that hold on the surfaces that it is for; `unless`: those that must
    not. `tool`: the tool of the vocabulary that it is, so that it is not told twice.
    """

    name: Text
    tool: Id | None = None
    step: Id
    needs: list[str] = []
    unless: list[str] = []
    unit: Literal["L", "g", "kg", "m2", "pieces", "sheets", "discs"]
    per_m2: Range = (0.0, 0.0)
    per_piece: Range = (0.0, 0.0)
    each_grit: bool = False
    source: Sources


class Gear(Row, frozen=True, kw_only=True):
    """Protection for the person: what it is, against which removers, treatments, coats, steps and cautions.

    `tool`: the plain tool of the vocabulary that it stands for.
    """

    name: Text
    tool: Id | None = None
    by: list[Id] = []
    cautions: list[Id] = []
    unit: Literal["pairs", "pieces"]
    per_piece: Range
    why: Text
    source: Sources


class Masked(Row, frozen=True, kw_only=True):
    """Something in a face that liquids spoil: what it goes by, how it is kept dry, until when."""

    name: Text
    how: Text
    source: Sources


class Carried(Row, frozen=True, kw_only=True):
    """A caution that every step shows on a face where a condition holds, until one of these steps is done there."""

    caution: Id
    where: str
    until: Annotated[list[Id], Meta(min_length=1)]
    source: Sources


class WorkOrder(Row, frozen=True, kw_only=True):
    """work.yaml: steps, their precedence, what they use up, areas by kind of object."""

    steps: dict[Id, Step]
    order: list[Before]
    rounds: Annotated[
        list[list[Id]],
        Meta(description="steps, first to last, that come again in each further round of their treatment"),
    ] = []
    session_hours: Annotated[float, Meta(gt=0, le=24, description="hours worked on one day")]
    seal: Annotated[Id | None, Meta(description="the coat that seals in what would come up from the wood")] = None
    minding: Annotated[
        dict[Trait, Text], Meta(description="what to do in a step with this trait where the surface does not bear it")
    ] = {}
    masks: Annotated[
        dict[Id, Masked], Meta(description="by feature of a face: what no remover, acid or water may reach")
    ] = {}
    carried: Annotated[
        list[Carried], Meta(description="cautions that hold on a face from the first touch until a step ends them")
    ] = []
    least_c: Annotated[
        float, Meta(description="a colder room is warmed before anything is glued, washed or stripped")
    ] = 0.0
    contact_hours: Annotated[
        float | None, Meta(description="a remover that stays on so long is waited for while other faces are worked")
    ] = None
    laying_share: Annotated[
        float, Meta(ge=0, le=1, description="share of a slow removal's hours that goes into laying it on")
    ] = 0.0
    patch_m2: Annotated[float, Meta(ge=0, description="area of a trial patch")] = 0.0
    consumables: list[Consumable] = []
    gear: list[Gear] = []
    areas_m2: dict[Id, Range] = {}
    areas_source: Sources
    faces: Annotated[dict[str, float], Meta(description="word in a face's name: its usual share of the whole")] = {}
    faces_source: Sources = []
