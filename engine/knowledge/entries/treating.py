"""Stains and their treatments."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Band, Entry, Id, Range, Row, Sources, Text
from .removal import Air, Law, Trait


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


class Bought(Row, frozen=True, kw_only=True):
    """Something that a treatment is made of, as it is sold: so much for each litre that is put on."""

    name: Text
    unit: Literal["L", "g"]
    per_litre: Range
    limited: Annotated[bool, Meta(description="it is what the treatment's law speaks of")] = False


class ByFilm(Row, frozen=True, kw_only=True):
    """How a treatment is done, and what of, where all that the film may be is of these families."""

    families: Annotated[list[Id], Meta(min_length=1)]
    how: Text
    buy: list[Bought] = []
    tools: list[Id] = []


class StainStep(Row, frozen=True, kw_only=True):
    """One rung of a treatment ladder; `chance` is how often it brings the planned result, if never tried."""

    treatment: Id
    tries: Annotated[int, Meta(ge=1, le=6)]
    chance: Band = "often"
    when: str | None = None
    in_film: Annotated[
        bool, Meta(description="works on what lies in the film only: nothing to do once that is off")
    ] = False


class Stain(Entry, frozen=True, kw_only=True):
    """A stain: where it sits, how to know it, the ladder of treatments, when to stop."""

    sits: Literal["in-film", "in-wood", "either"]
    know_by: Text
    ladder: Annotated[list[StainStep], Meta(min_length=1)]
    last: Text
    whole_face: bool = True
    iron: Annotated[bool, Meta(description="iron makes it, so iron comes out of the wood first")] = False
    alkali: Annotated[bool, Meta(description="lye or soap made it and may still be there: it is rinsed out first")] = (
        False
    )


class Treatment(Entry, frozen=True, kw_only=True):
    """One treatment: mix, dwell, rinse, dry, limits, what it must not meet."""

    how: Text
    by_film: Annotated[list[ByFilm], Meta(description="in place of how, buy and tools, where the film is known")] = []
    mix: str | None = None
    solution: Solution | None = None
    buy: Annotated[list[Bought], Meta(description="what it is made of, beside water and the solute")] = []
    law: list[Law] = []
    dwell_hours: Range
    active_hours_m2: Range
    dry_hours: Range
    rinse: str | None = None
    max_cycles: Annotated[int, Meta(ge=1)]
    needs_bare: bool
    whole_face: bool
    litres_m2: Range = (0.0, 0.0)
    needs_mm: float = 0.0
    iron_first: Annotated[bool, Meta(description="iron comes out of the wood before it, whatever the stain is")] = False
    water: bool = False
    alkali: bool = False
    abrasive: Annotated[bool, Meta(description="takes the stain out with the wood: never on veneer")] = False
    traits: Annotated[list[Trait], Meta(description="what else of it the vetoes of a surface speak of")] = []
    despite: Annotated[
        list[Id], Meta(description="rules whose veto or harm is told and does not bar it: it undoes that itself")
    ] = []
    work: Annotated[
        str | None, Meta(description="the condition of work.yaml that it makes, if it is done with other work later")
    ] = None
    trial: Annotated[bool, Meta(description="whether a patch of it is tried before the whole")] = True
    on_finishes: list[Id] = []
    never_with: list[Id] = []
    avoid_woods: list[Id] = []
    metal: str | None = None
    veneer: str | None = None
    on_veneer: Annotated[str | None, Meta(description="how it is done on veneer, in place of `how`")] = None
    eats_glue: Annotated[bool, Meta(description="not on veneer laid with a glue that alkali harms")] = False
    least_veneer_mm: Annotated[float, Meta(ge=0, description="thinner veneer than this is left alone")] = 0.0
    colour: str | None = None
    cautions: list[Id]
    tools: list[Id] = []

    @property
    def met_by(self) -> frozenset[str]:
        """The traits that a veto or a harm may speak of."""
        flags = {"water": self.water, "alkali": self.alkali, "abrasive": self.abrasive}
        return frozenset((*self.traits, *(name for name, true in flags.items() if true)))
