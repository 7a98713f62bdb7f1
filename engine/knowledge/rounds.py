"""Further rounds of a treatment: its steps again in the order of work, each round after the one before it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from .entries import Before, Consumable, Step, Treatment, WorkOrder

BETWEEN = "look at it dry before the next round: no change in a round means stop"


def round_condition(treatment: str, number: int) -> str:
    """The condition that holds where this treatment is planned so many times."""
    return f"round-{number}:{treatment}"


def with_rounds(work: WorkOrder, treatments: Mapping[str, Treatment]) -> WorkOrder:
    """The order of work with each row of `rounds` written out up to the most cycles that its treatment bears.

    Whatever comes after the first round comes after the further ones too; what they use up is theirs as well.
    """
    for again in work.rounds:
        treatment = work.steps[again[0]].treatment
        if treatment is not None:
            work = _written_out(work, again, treatment, treatments[treatment].max_cycles)
    return replace(work, rounds=[])


def _written_out(work: WorkOrder, again: Sequence[str], treatment: str, most: int) -> WorkOrder:
    steps, rows, used = dict[str, Step](), list[Before](), list[Consumable]()
    for number in range(2, most + 1):
        name = {first: f"{first}-{number}" for first in again}
        last = again[-1] if number == 2 else f"{again[-1]}-{number - 1}"
        for first in again:
            step = work.steps[first]
            needs = [*step.needs, round_condition(treatment, number)]
            steps[name[first]] = replace(step, name=f"{step.name}, round {number}", needs=needs, round=number)
        rows.append(Before(first=last, then=name[again[0]], why=BETWEEN, source=work.steps[again[0]].source))
        rows += [replace(r, first=name[r.first], then=name.get(r.then, r.then)) for r in work.order if r.first in name]
        used += [replace(row, step=name[row.step]) for row in work.consumables if row.step in name]
    return replace(
        work,
        steps=_behind(work.steps, again[-1], steps),
        order=[*work.order, *rows],
        consumables=[*work.consumables, *used],
    )


def _behind(steps: Mapping[str, Step], place: str, more: Mapping[str, Step]) -> dict[str, Step]:
    """The steps with others put in behind one of them."""
    found: dict[str, Step] = {}
    for name, step in steps.items():
        found[name] = step
        if name == place:
            found |= more
    return found
