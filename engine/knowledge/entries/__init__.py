"""What the knowledge base may say: one type for each kind of YAML file.

These types are the only definition of the format. The JSON Schemas in
knowledge/schema are generated from them, the loader converts YAML into them, and
the rest of the engine reads nothing else. Field names are the YAML keys.

Units: millimetres, micrometres, minutes, hours, degrees Celsius, litres per
square metre, megapascal to the half (Hansen parameters), unless a name says
otherwise. A two-element list is a range, low end first.
"""

from __future__ import annotations

from .base import EFFECTS, Band, Effect, Entry, Id, Level, Meaning, Range, Row, Sources, Status, Text
from .belief import Belief, Contamination, Family, LatentGroup, LatentState
from .decisions import Decide, Taste
from .finishes import Chemistry, Film, Finish, Knits, Neighbour, Share
from .priors import Context, Priors, Refinish
from .removal import Air, Law, Remover, RemoverException, Resin, Solvent, Trait, Work
from .rules import Bounds, Conclusion, Condition, Flag, Harm, Literalish, Rule, RuleFile, Veto
from .substrate import Drying, Glue, Grit, Substrate, VeneerEra, Wood
from .tests import Drawing, Likelihood, Mask, OriginRow, Outcome, Reads, SeenBelow, Test
from .treating import Bought, ByFilm, Solute, Solution, Stain, StainStep, Treatment
from .words import Caution, Named, Period, Source, Vocabulary
from .work import CONDITIONS, Advice, Before, Coat, Consumable, Gear, Recoat, RecoatCell, Residue, Step, Word, WorkOrder

__all__ = [
    "CONDITIONS",
    "EFFECTS",
    "Advice",
    "Air",
    "Band",
    "Before",
    "Belief",
    "Bought",
    "Bounds",
    "ByFilm",
    "Caution",
    "Chemistry",
    "Coat",
    "Conclusion",
    "Condition",
    "Consumable",
    "Contamination",
    "Context",
    "Decide",
    "Drawing",
    "Drying",
    "Effect",
    "Entry",
    "Family",
    "Film",
    "Finish",
    "Flag",
    "Gear",
    "Glue",
    "Grit",
    "Harm",
    "Id",
    "Knits",
    "LatentGroup",
    "LatentState",
    "Law",
    "Level",
    "Likelihood",
    "Literalish",
    "Mask",
    "Meaning",
    "Named",
    "Neighbour",
    "OriginRow",
    "Outcome",
    "Period",
    "Priors",
    "Range",
    "Reads",
    "Recoat",
    "RecoatCell",
    "Refinish",
    "Remover",
    "RemoverException",
    "Residue",
    "Resin",
    "Row",
    "Rule",
    "RuleFile",
    "SeenBelow",
    "Share",
    "Solute",
    "Solution",
    "Solvent",
    "Source",
    "Sources",
    "Stain",
    "StainStep",
    "Status",
    "Step",
    "Substrate",
    "Taste",
    "Test",
    "Text",
    "Trait",
    "Treatment",
    "VeneerEra",
    "Veto",
    "Vocabulary",
    "Wood",
    "Word",
    "Work",
    "WorkOrder",
]
