"""What the knowledge base may say: one type for each kind of YAML file.

These types are the only definition of the format. The JSON Schemas in
knowledge/schema are generated from them, the loader converts YAML into them, and
the rest of the engine reads nothing else. Field names are the YAML keys.

Units: millimetres, micrometres, minutes, hours, degrees Celsius, litres per
square metre, megapascal to the half (Hansen parameters), unless a name says
otherwise. A two-element list is a range, low end first.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal

from msgspec import Meta, Struct

Id = Annotated[str, Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", description="lower-case words joined by hyphens")]
Text = Annotated[str, Meta(min_length=3)]
Band = Literal["almost-always", "usually", "often", "sometimes", "rarely", "almost-never"]
Status = Literal["draft", "tested", "reviewed"]
Sources = Annotated[list[str], Meta(min_length=1, description="ids of sources.yaml, or common-practice, or memory")]
Range = tuple[float, float]
Effect = Literal["dissolves", "lifts", "softens", "no-effect"]
EFFECTS: tuple[Effect, ...] = ("dissolves", "lifts", "softens", "no-effect")
Level = Literal["none", "low", "medium", "high"]
Meaning = Literal["works", "after-cure", "barrier", "test", "remove", "no"]
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
    "bare-wood",
    "keep-film",
    "sealed",
    "coated",
    "stain-any",
    "wet-treatment",
    "water-used",
    "oily-wood",
    "colour",
    "open-pores",
    "toner",
    "wax-final",
)  # what a step of the work may need, beside over:CONTAMINATION and stain:TREATMENT


class Row(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Base of everything that stands in a knowledge file: no unknown key passes."""


class Entry(Row, frozen=True, kw_only=True):
    """What every one-file entry carries beside its own matter."""

    name: Text
    status: Status
    about: Text
    source: Sources
    wrong_if: Annotated[list[Text], Meta(min_length=1, description="known ways in which this entry misleads")]


# ---------------------------------------------------------------- sources and words


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


class Vocabulary(Row, frozen=True, kw_only=True):
    """vocabulary.yaml: the words that a piece file may use."""

    regions: dict[Id, Named]
    styles: dict[Id, Named]
    kinds: dict[Id, Named]
    places: dict[Id, Named]
    tools: dict[Id, Named]


class Caution(Row, frozen=True, kw_only=True):
    """A warning in full words; shown wherever a step names its id. `after`: it is about clearing up."""

    text: Text
    grave: bool = False
    after: bool = False
    source: Sources


# ---------------------------------------------------------------- belief


class LatentState(Row, frozen=True, kw_only=True):
    """One state of a hidden condition: how common, and how far it tilts a response."""

    share: Annotated[float, Meta(gt=0, lt=1)]
    tilt: float


class LatentGroup(Row, frozen=True, kw_only=True):
    """Tests of one group read one hidden property, so they move together."""

    about: Text
    states: dict[Id, LatentState]
    source: Sources


class Contamination(Row, frozen=True, kw_only=True):
    """What may lie over any film: clean, wax or polish, grime or silicone."""

    about: Text
    share: Annotated[float, Meta(gt=0, lt=1)]
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


# ---------------------------------------------------------------- finishes


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
    recoat_row: Id
    lead_before: int | None = None
    cautions: list[Id] = []


# ---------------------------------------------------------------- tests


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


class Outcome(Row, frozen=True, kw_only=True):
    """One thing that may be seen; `response` is its place on the hidden property."""

    id: Id
    sees: Text
    response: float = 0.0
    drawing: Drawing | None = None


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


class Test(Entry, frozen=True, kw_only=True):
    """One field test: how to do it, what it costs, what may be seen, how often."""

    __test__ = False

    ask: Text
    stage: Literal["looking", "touching", "mild-solvent", "strong-solvent", "cutting", "patch"]
    group: Id | None = None
    minutes: Annotated[float, Meta(gt=0)]
    wait_minutes: float = 0.0
    mark: Annotated[int, Meta(ge=0, le=3, description="0 none, 1 polishes out, 2 small repair, 3 sample lost")]
    tools: list[Id]
    cautions: list[Id] = []
    how: Text
    watch: Text
    distrust: Annotated[list[Text], Meta(min_length=1)]
    outcomes: Annotated[list[Outcome], Meta(min_length=2)]
    bands: list[Likelihood] = []
    origin_bands: list[OriginRow] = []
    masked_by: dict[Id, Mask] = {}
    not_on: list[Text] = []


# ---------------------------------------------------------------- priors


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
    """How a later owner changed the surface: rate per year of age, and with what."""

    rate_per_decade: Annotated[float, Meta(gt=0, lt=1)]
    overcoat_share: Annotated[float, Meta(gt=0, lt=1)]
    less_on: dict[Id, Annotated[float, Meta(gt=0, lt=2)]] = {}
    eras: list[Context]
    source: Sources


class Priors(Row, frozen=True, kw_only=True):
    """priors.yaml: what the maker put on and what a later owner put on since."""

    makers: list[Context]
    refinish: Refinish
    floor: Annotated[float, Meta(gt=0, lt=0.1)]
    mismatch: Annotated[float, Meta(gt=0, lt=1, description="weight of a context that a known fact contradicts")]
    specific: Annotated[float, Meta(ge=1, description="how much a context gains by each fact that it names and fits")]


# ---------------------------------------------------------------- removal


class Air(Row, frozen=True, kw_only=True):
    """Most that may be in the air at work, over a shift and over a quarter of an hour."""

    unit: Literal["ppm", "mg/m3"]
    shift: Annotated[float, Meta(gt=0)]
    short: Annotated[float, Meta(gt=0)]
    by: Text
    source: Sources


class Solvent(Row, frozen=True, kw_only=True):
    """A liquid: Hansen parameters in MPa^0.5, flash point in degrees C, evaporation rate, limit in the air."""

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
    """What a place says of a remover sold to or used by a consumer."""

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
    """What one coat or pass costs on one square metre."""

    dwell_minutes: Range
    open_minutes: Annotated[float, Meta(gt=0, description="how long it stays wet enough to work, covered if it is")]
    coats: Range
    active_hours_m2: Range
    litres_m2: Range = (0.0, 0.0)
    cost_litre: Range = (0.0, 0.0)
    dry_hours: Range = (0.0, 0.0)
    source: Sources


class Remover(Entry, frozen=True, kw_only=True):
    """One way to take a finish off: chemistry, traits that rules see, cost, law, cautions."""

    action: Literal["solvent", "alkali", "acid", "heat", "cutting", "abrasion"]
    traits: list[
        Literal[
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
    ]
    blend: dict[Id, float] = {}
    work: Work
    hazard: Annotated[int, Meta(ge=0, le=5, description="0 harmless to the person, 5 can kill")]
    harm: Annotated[float, Meta(ge=0, le=1, description="chance of spoiling sound wood or its colour, done with care")] = 0.0
    how: Text
    after: Text
    residue: Text
    law: list[Law] = []
    cautions: list[Id]
    tools: list[Id] = []
    never_with: Annotated[list[Id], Meta(description="treatments and removers that it must not meet")] = []
    ceiling_c: Annotated[float | None, Meta(description="hotter than this it must not be used")] = None
    exceptions: list[RemoverException] = []


# ---------------------------------------------------------------- wood and substrate


class Wood(Entry, frozen=True, kw_only=True):
    """A wood: what it does under alkali, oil, bleach, light and a tool."""

    latin: str
    tannin: Level
    oily: bool = False
    sensitiser: bool = False
    pores: Literal["open", "semi-open", "closed", "none"]
    janka_n: float | None = None
    shrinkage: Annotated[list[float], Meta(min_length=2, max_length=3)] | None = None
    movement: Annotated[list[float], Meta(min_length=2, max_length=2)] | None = None
    bleaches: Literal["easy", "resists", "avoid", "not-known"]
    light: Text
    usually: Literal["solid", "veneer", "either"]


class VeneerEra(Row, frozen=True, kw_only=True):
    """Thickness of veneer when it was not measured, by years of making."""

    years: Annotated[list[int], Meta(min_length=2, max_length=2)]
    mm: Range
    source: Sources


class Glue(Row, frozen=True, kw_only=True):
    """An adhesive of an era and what it fears."""

    name: Text
    years: Annotated[list[int], Meta(min_length=2, max_length=2)]
    water: Level
    alkali: Level
    heat_limit_c: float
    solvent: Level
    source: Sources


class Grit(Row, frozen=True, kw_only=True):
    """One abrasive: most it should take in a pass, least the next must follow with."""

    max_pass_mm: float
    must_follow_mm: float


class Drying(Row, frozen=True, kw_only=True):
    """How wet wood gets under a treatment and how fast water leaves it; per cent of dry weight, mm, mm2/h."""

    soaked_percent: float
    near_points: Annotated[float, Meta(gt=0, description="how near the room's own moisture counts as dry")]
    most_percent: Annotated[float, Meta(description="above this no coat goes on")]
    depth_mm: Annotated[float, Meta(gt=0, description="how deep a flooded face is wetted")]
    diffusion_mm2_h: Annotated[float, Meta(gt=0, description="across the grain, at 20 degrees C")]
    activation_j_mol: Annotated[float, Meta(gt=0)]
    source: Sources


class Substrate(Row, frozen=True, kw_only=True):
    """substrate.yaml: veneer by era, glue by era, sanding figures, reserves, drying."""

    veneers: list[VeneerEra]
    glues: dict[Id, Glue]
    grits: dict[str, Grit]
    grits_source: Sources
    reserve_mm: dict[Literal["veneer", "solid"], float]
    unsure_mm: dict[Literal["measured", "guessed"], float]
    levelling_mm: float
    drying: Drying
    source: Sources


# ---------------------------------------------------------------- rules

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
    """Something the user should be told about the surface."""

    id: Id
    text: Text


class Conclusion(Row, frozen=True, kw_only=True):
    """What a rule says when it fires; more than one part may be given."""

    facts: dict[str, Literalish] = {}
    gives: dict[Effect, Band] = {}
    veto: Veto | None = None
    harm: Harm | None = None
    caution: Id | None = None
    flag: Flag | None = None
    contamination: dict[Id, Band] = {}


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


# ---------------------------------------------------------------- stains, recoat, work


class Solute(Row, frozen=True, kw_only=True):
    """How much of a dry substance a kilogram of water takes, by degrees C; molar masses turn it into crystals."""

    name: Text
    g_per_kg: Annotated[list[tuple[float, float]], Meta(min_length=2, description="pairs of degrees C and grams")]
    molar_dry: Annotated[float, Meta(gt=0)]
    molar_crystals: Annotated[float, Meta(gt=0)]
    air: Air | None = None
    source: Sources


class Solution(Row, frozen=True, kw_only=True):
    """What is dissolved for a treatment: grams of crystals to the litre of water, by attempt, the last one repeated."""

    solute: Id
    g_l: Annotated[list[float], Meta(min_length=1)]
    source: Sources


class StainStep(Row, frozen=True, kw_only=True):
    """One rung of a treatment ladder; `chance` is how often it brings the planned result, if never tried."""

    treatment: Id
    tries: Annotated[int, Meta(ge=1, le=6)]
    chance: Band = "often"
    when: str | None = None


class Stain(Entry, frozen=True, kw_only=True):
    """A stain: where it sits, how to know it, the ladder of treatments, when to stop."""

    sits: Literal["in-film", "in-wood", "either"]
    know_by: Text
    ladder: Annotated[list[StainStep], Meta(min_length=1)]
    last: Text
    whole_face: bool = True
    iron: Annotated[bool, Meta(description="iron makes it, so iron comes out of the wood first")] = False


class Treatment(Entry, frozen=True, kw_only=True):
    """One treatment: mix, dwell, rinse, dry, limits, what it must not meet."""

    how: Text
    mix: str | None = None
    solution: Solution | None = None
    dwell_hours: Range
    active_hours_m2: Range
    dry_hours: Range
    rinse: str | None = None
    max_cycles: Annotated[int, Meta(ge=1)]
    needs_bare: bool
    whole_face: bool
    litres_m2: Range = (0.0, 0.0)
    needs_mm: float = 0.0
    water: bool = False
    alkali: bool = False
    abrasive: Annotated[bool, Meta(description="takes the stain out with the wood: never on veneer")] = False
    work: Annotated[
        str | None, Meta(description="the condition of work.yaml that it makes, if it is done with other work later")
    ] = None
    on_finishes: list[Id] = []
    never_with: list[Id] = []
    avoid_woods: list[Id] = []
    metal: str | None = None
    veneer: str | None = None
    colour: str | None = None
    cautions: list[Id]
    tools: list[Id] = []


class Coat(Row, frozen=True, kw_only=True):
    """Something that may be put on: times, coverage, wear, way back."""

    name: Text
    recoat_hours: Range
    use_hours: float
    cure_days: float
    coats: Annotated[int, Meta(ge=1)]
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
    bonds: Annotated[bool, Meta(description="false for what only lies on top: crazed or thick film is no matter")] = (
        True
    )
    as_under: Annotated[Id, Meta(description="the row of `under` that it makes once it has cured")]
    cautions: list[Id] = []
    source: Sources


class RecoatCell(Row, frozen=True, kw_only=True):
    """The source of one under-over pair, where it is better than the matrix as a whole."""

    under: Id
    over: Id
    note: str | None = None
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
    wood. Every word falls one class over a film thicker than `thick_um` and where a
    test showed an outcome of `lowered_by`.
    """

    words: dict[str, Word]
    bare: dict[Literal["clean", "oily"], Id]
    residue: dict[Id, Residue]
    thick_um: float
    lowered_by: dict[Id, list[Id]]
    shaded: Advice
    coats: dict[Id, Coat]
    under: dict[Id, dict[Id, str]]
    cells: list[RecoatCell] = []
    source: Sources


class Step(Row, frozen=True, kw_only=True):
    """A step of the work: when it applies, who does it, hours, waits, cautions."""

    name: Text
    each: Literal["piece", "surface"]
    needs: list[str] = []
    hours: Range = (0.0, 0.0)
    hours_m2: Range = (0.0, 0.0)
    wait_hours: Annotated[float, Meta(ge=0)] = 0.0
    takes: Annotated[
        Literal["route", "residue", "treatment", "drying", "first-coat", "more-coats", "use", "cure"] | None,
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
    cautions: list[Id] = []
    how: Text
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
    """Something a step uses up: so much by the square metre or the piece, each grit anew if it is abrasive."""

    name: Text
    step: Id
    unit: Literal["L", "g", "kg", "m2", "pieces", "sheets", "discs"]
    per_m2: Range = (0.0, 0.0)
    per_piece: Range = (0.0, 0.0)
    each_grit: bool = False
    source: Sources


class WorkOrder(Row, frozen=True, kw_only=True):
    """work.yaml: steps, their precedence, what they use up, areas by kind of object."""

    steps: dict[Id, Step]
    order: list[Before]
    session_hours: Annotated[float, Meta(gt=0, le=24, description="hours worked on one day")]
    consumables: list[Consumable] = []
    areas_m2: dict[Id, Range] = {}
    areas_source: Sources


# ---------------------------------------------------------------- decisions


class Taste(Row, frozen=True, kw_only=True):
    """How much a user minds time, harm, hazard and money, against the usual."""

    time: float = 1.0
    harm: float = 1.0
    hazard: float = 1.0
    money: float = 1.0


class Decide(Row, frozen=True, kw_only=True):
    """decide.yaml: what things cost, all in minutes of the user's time, and when to stop asking."""

    patch_minutes: float
    fallback_minutes_m2: float
    fallback_harm: Annotated[float, Meta(ge=0, le=1, description="chance that cutting the film away spoils the wood")]
    damage_minutes: Annotated[float, Meta(description="what spoiling one square metre costs")]
    hazard_minutes: Annotated[list[float], Meta(min_length=6, max_length=6, description="by hazard 0 to 5")]
    mark_minutes: Annotated[list[float], Meta(min_length=4, max_length=4, description="by mark 0 to 3 of a test")]
    minutes_per_money: float
    watch_share: Annotated[float, Meta(ge=0, le=1, description="share of a dwell that is lost to looking after it")]
    watch_most_minutes: float
    not_knowing_minutes: Annotated[float, Meta(ge=0, description="what a wrong name costs beside the removal")]
    settled: Annotated[float, Meta(gt=0.5, lt=1)]
    possible: Annotated[float, Meta(gt=0, lt=0.5)]
    same_route_minutes: float
    harmless: Annotated[float, Meta(gt=0, lt=1, description="a way with no more harm than this counts as harmless")]
    same_result: Annotated[float, Meta(gt=0, lt=1, description="chances of working this near are the same result")]
    usual_coats: Annotated[float, Meta(gt=0, description="coats that the usual thickness of a film stands for")]
    harm_by_effect: dict[Effect, float]
    works_by_effect: dict[Effect, Annotated[float, Meta(ge=0, le=1)]]
    tastes: dict[Id, Taste]
    ease: Annotated[dict[str, float], Meta(description="time factor by stage of a test")]
    source: Sources
