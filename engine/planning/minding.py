"""What to mind in a step on the face where it stands: cautions that matter there, traits it does not bear, masking."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..knowledge.base import Knowledge
from ..knowledge.entries import Step
from .facing import Facing
from .handling import objections_to
from .order import Node, applies, comes_before
from .stains import Rung
from .treatments import named, stop_short

WETTING = {"patch", "stain-patch", "route", "treatment", "rinse", "dry-marks", "seal"}  # steps that lay liquid on


def minding(step: Step, one: Facing, knowledge: Knowledge) -> list[str]:
    """Traits of the step that this surface does not bear, what is masked, what is other here, what waits for this step."""
    work, held = knowledge.work, one.conditions
    told = [f"For the {named(r.treatment, knowledge)} of a stain: {r.how}" for r in _done_here(step, one, knowledge)]
    against = {trait: objections_to([trait], one.done, knowledge) for trait in step.traits if trait in work.minding}
    told += dict.fromkeys(found.why for rows in against.values() for found in rows)
    told += [work.minding[trait] for trait, rows in against.items() if rows]
    if step.takes in WETTING or "water" in step.traits:
        told += stop_short(one.done.surface, knowledge)
    return told + [text for condition, text in step.where.items() if condition in held]


def _done_here(step: Step, one: Facing, knowledge: Knowledge) -> Sequence[Rung]:
    return [r for r in one.rungs if knowledge.treatments[r.treatment].work in step.needs]


def cautions_here(names: Iterable[str], held: frozenset[str], knowledge: Knowledge) -> list[str]:
    """The cautions that say nothing of where they matter, and those whose condition holds; in the words for here."""
    book = knowledge.cautions
    kept = [name for name in names if not book[name].only_if or held & set(book[name].only_if)]
    told = [next((other for where, other in book[name].instead.items() if where in held), name) for name in kept]
    return list(dict.fromkeys(told))


def carried(node: Node, held: frozenset[str], knowledge: Knowledge) -> list[str]:
    """Cautions that every step on a face carries, until a step that ends them has been done there."""
    work = knowledge.work
    lasting = [row for row in work.carried if row.where in held]
    here = {found.step for found in applies(work, {node.surface: held})} if lasting else set()
    return [
        row.caution
        for row in lasting
        if not any(last in here and comes_before(work, last, node.step) for last in row.until)
    ]
