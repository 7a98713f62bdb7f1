"""Woods, and substrate.yaml: veneer, glue, grits, drying."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from .base import Entry, Id, Level, Range, Row, Sources, Text


class Wood(Entry, frozen=True, kw_only=True):
    """A wood: what it does under alkali, oil, bleach, light and a tool.

    janka_n: hardness in newtons. shrinkage: per cent from green to oven-dry, radial, tangential
    and of the volume. movement: change of width for 1 per cent of moisture, radial, tangential.
    """

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
    """One abrasive: most it should take in a pass, least the next must follow with; mm of wood."""

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
