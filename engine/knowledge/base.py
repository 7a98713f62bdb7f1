"""The whole knowledge base as one immutable value."""

from __future__ import annotations

from msgspec import Struct

from ..problems import Problem
from .entries import (
    EFFECTS,
    Belief,
    Caution,
    Decide,
    Drawing,
    Effect,
    Family,
    Finish,
    Outcome,
    Priors,
    Recoat,
    Remover,
    Resin,
    RuleFile,
    Solute,
    Solvent,
    Source,
    Stain,
    Substrate,
    Test,
    Treatment,
    Vocabulary,
    Wood,
    WorkOrder,
)

PATCH_PREFIX = "stripper-patch/"


class Origin(Struct, frozen=True):
    """Which layer an entry is from and where it stands."""

    layer: str
    path: str
    line: int


class PairPrediction(Struct, frozen=True, kw_only=True):
    """What one remover does to one finish: chances of each effect, and the rules that said so."""

    gives: dict[Effect, float]
    rule: str
    because: list[str]
    why: list[str]
    exception: bool
    source: list[str]


class Knowledge(Struct, frozen=True, kw_only=True):
    """Every entry by id, where each is from, and what was left out and why.

    `pairs` holds finish -> remover -> prediction, derived once by the removal rules;
    `burn` why a remover has a word of fire among its traits that its file does not say.
    """

    version: str
    layers: list[str]
    sources: dict[str, Source]
    vocabulary: Vocabulary
    cautions: dict[str, Caution]
    belief: Belief
    families: dict[str, Family]
    finishes: dict[str, Finish]
    tests: dict[str, Test]
    priors: Priors
    solvents: dict[str, Solvent]
    resins: dict[str, Resin]
    solutes: dict[str, Solute]
    removers: dict[str, Remover]
    woods: dict[str, Wood]
    substrate: Substrate
    rules: dict[str, RuleFile]
    stains: dict[str, Stain]
    treatments: dict[str, Treatment]
    recoat: Recoat
    work: WorkOrder
    decide: Decide
    origins: dict[str, Origin] = {}
    pairs: dict[str, dict[str, PairPrediction]] = {}
    left_out: list[Problem] = []
    burn: dict[str, str] = {}

    def outcomes_of(self, test: str) -> list[str]:
        """Outcome ids of a test, of a patch test of any remover too; empty if there is none."""
        if test.startswith(PATCH_PREFIX):
            return list(EFFECTS) if test[len(PATCH_PREFIX) :] in self.removers else []
        found = self.tests.get(test)
        return [outcome.id for outcome in found.outcomes] if found else []

    def outcome(self, test: str, outcome: str) -> Outcome:
        """What an outcome looks like. Raises KeyError for an unknown pair."""
        if test.startswith(PATCH_PREFIX):
            return Outcome(id=outcome, sees=PATCH_SEES[outcome], drawing=PATCH_DRAWN[outcome])
        for row in self.tests[test].outcomes:
            if row.id == outcome:
                return row
        raise KeyError(outcome)

    def test_name(self, test: str) -> str:
        """The name of a test in words. Raises KeyError for a test that is not in the book."""
        if test.startswith(PATCH_PREFIX):
            return f"trial patch of {self.removers[test[len(PATCH_PREFIX) :]].name}"
        return self.tests[test].name


PATCH_SEES = {
    "dissolves": "The film under the patch is liquid and wipes off.",
    "lifts": "The film wrinkles or swells and lifts with a scraper.",
    "softens": "The film is soft or tacky but stays on the wood.",
    "no-effect": "Nothing has changed under the patch.",
}
PATCH_DRAWN: dict[str, Drawing] = {
    "dissolves": "smear",
    "lifts": "wrinkle",
    "softens": "dent",
    "no-effect": "unchanged",
}
