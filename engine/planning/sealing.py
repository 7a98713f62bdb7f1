"""Whether what is in the bare wood has to be sealed in before the coat, why, and whether the coat bears it."""

from __future__ import annotations

from typing import Literal

from ..examine import Examination
from ..knowledge.base import Knowledge
from .handling import Handling, ends_bare
from .recoat import NOTED, CoatPlan, meaning

Sealing = Literal[
    "none", "step", "first-coat", "refused"
]  # its own step, what the first coat does, not under this coat
SEAL = "note.seal-in"  # what the rules of the book conclude for the planner
SEAL_UNDER_WATER = "note.seal-under-water"


def seal_reasons(done: Examination, how: Handling, coat: CoatPlan | None, knowledge: Knowledge) -> list[str]:
    """Why: the rules that say so, and residues that outlive the film and that this coat does not go over as they are.

    Empty where the film stays or nothing comes up.
    """
    if not ends_bare(how) and how != "seal":
        return []
    wet = coat is not None and knowledge.recoat.coats[coat.over].water
    asked = {SEAL, SEAL_UNDER_WATER} if wet else {SEAL}
    why = [firing.rule.why for firing in done.firings if asked & set(firing.rule.then.facts)]
    recoat, over = knowledge.recoat, done.posterior.contamination
    left = [r for name, r in recoat.residue.items() if r.in_wood and over.get(name, 0.0) >= NOTED]
    return why + [r.text for r in left if coat is None or meaning(recoat, r.row, coat.over) != "works"]


def sealing(reasons: list[str], coat: CoatPlan | None, knowledge: Knowledge) -> Sealing:
    """What becomes of the seal under the coat that goes on; where none was named it is a step."""
    recoat, seal = knowledge.recoat, knowledge.work.seal
    if not reasons or seal is None:
        return "none"
    if coat is None:
        return "step"
    if seal in (coat.between, coat.over):
        return "first-coat"
    bears = meaning(recoat, recoat.coats[seal].as_under, coat.between or coat.over)
    return "step" if bears in ("works", "after-cure") else "refused"
