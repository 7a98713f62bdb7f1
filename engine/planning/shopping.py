"""What to buy: litres, grams, sheets, from areas, coats and coverage.

Spread rates: a litre over a square metre is 1 mm, so square metres to the litre =
1000 / wet um, and a wet film of V per cent solids by volume dries to V/100 of itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Consumable
from ..words import times
from .facing import Facing, Span
from .order import Node

LEAST_GRITS = 3  # a run of grits that is worth the name


class Item(Struct, frozen=True, kw_only=True):
    """One line of the list: a range of how much, and what for."""

    what: str
    amount: Span
    unit: str
    surfaces: list[str]
    why: str


def spread(solids_percent: float, dry_um: float) -> float:
    """Square metres that a litre covers at this dry film: 10 x solids by volume / um."""
    return 10 * solids_percent / dry_um


def wet_um(m2_l: float) -> float:
    """Wet film in um of a spread of so many square metres to the litre."""
    return 1000 / m2_l


def dry_um(wet: float, solids_percent: float) -> float:
    """What a wet film of so many um dries to, with solids by volume."""
    return wet * solids_percent / 100


def coat_litres(area_m2: float, coats: int, coverage_m2_l: Span) -> Span:
    """Litres for so many coats, least and most."""
    return area_m2 * coats / coverage_m2_l[1], area_m2 * coats / coverage_m2_l[0]


def shopping(facings: Sequence[Facing], nodes: Sequence[Node], knowledge: Knowledge) -> list[Item]:
    """Everything that the steps in `nodes` use up, alike things joined, by name within their sort."""
    lines = [*_removers(facings, knowledge), *_treatments(facings, knowledge), *_coats(facings, knowledge)]
    used = [item for row in knowledge.work.consumables for item in _consumable(row, facings, nodes, knowledge)]
    return _joined([*lines, *used])


def tools(facings: Sequence[Facing], knowledge: Knowledge) -> list[str]:
    """Names of the tools and protection that the routes and treatments ask for."""
    names: list[str] = []
    for one in facings:
        if one.how == "strip":
            names += [t for route in one.done.routes[:1] for t in knowledge.removers[route.remover].tools]
        names += [t for rung in one.rungs for t in knowledge.treatments[rung.treatment].tools]
    return [knowledge.vocabulary.tools[name].name for name in sorted(set(names))]


def usual_run(facing: Facing) -> list[str]:
    """The finest run of at least three grits that the sanding budget allows, else the longest there is."""
    runs = [name.split("-") for name, _ in facing.done.under.sequences]
    long = [run for run in runs if len(run) >= LEAST_GRITS]
    return long[-1] if long else runs[0] if runs else []


def _removers(facings: Sequence[Facing], knowledge: Knowledge) -> Iterable[Item]:
    for one in facings:
        if one.route is not None and one.route.litres[1] > 0:
            name, litres = knowledge.removers[one.route.remover].name, one.scaled(one.route.litres)
            yield Item(what=name, amount=litres, unit="L", surfaces=[one.name], why="to take the finish off")


def _treatments(facings: Sequence[Facing], knowledge: Knowledge) -> Iterable[Item]:
    for one in facings:
        for rung in one.rungs:
            why = f"for the stain, {times(rung.left)}"
            low, high = rung.litres[0], rung.litres[1] * rung.left
            if high > 0:
                what = f"{rung.name}, mixed" if rung.mix else rung.name
                yield Item(what=what, amount=(low, high), unit="L", surfaces=[one.name], why=why)
            solution = knowledge.treatments[rung.treatment].solution
            if solution is not None:
                strengths = [
                    solution.g_l[min(n, len(solution.g_l) - 1)] for n in range(rung.tried, rung.tried + rung.left)
                ]
                grams = (strengths[0] * rung.litres[0], sum(strengths) * rung.litres[1])
                name = knowledge.solutes[solution.solute].name
                yield Item(what=name, amount=grams, unit="g", surfaces=[one.name], why=why)


def _coats(facings: Sequence[Facing], knowledge: Knowledge) -> Iterable[Item]:
    for one in facings:
        chosen = one.coat
        if chosen is None:
            continue
        coat = knowledge.recoat.coats[chosen.over]
        litres = coat_litres(one.area_m2, coat.coats, coat.coverage_m2_l)
        yield Item(what=coat.name, amount=litres, unit="L", surfaces=[one.name], why=f"{coat.coats} coats")
        if chosen.between not in (None, chosen.over):
            first = knowledge.recoat.coats[chosen.between or ""]
            litres = coat_litres(one.area_m2, 1, first.coverage_m2_l)
            yield Item(what=first.name, amount=litres, unit="L", surfaces=[one.name], why="one coat between")


def _consumable(
    row: Consumable, facings: Sequence[Facing], nodes: Sequence[Node], knowledge: Knowledge
) -> Iterable[Item]:
    places = [node.surface for node in nodes if node.step == row.step]
    if not places:
        return
    step = knowledge.work.steps[row.step]
    why = step.name.lower()
    here = [one for one in facings if one.name in places or "" in places]
    held = frozenset().union(*(one.conditions for one in here))
    bars = [bar for name in step.cautions if (bar := knowledge.cautions[name].barred) and held & set(bar.where)]
    why += "; not in this room, see the step" if bars else ""
    for grit in sorted({g for one in here for g in usual_run(one)}, key=int) if row.each_grit else [""]:
        area = sum(one.area_m2 for one in here if not grit or grit in usual_run(one))
        low, high = (p + a * area for p, a in zip(row.per_piece, row.per_m2, strict=True))
        what = f"{row.name}, grit {grit}" if grit else row.name
        yield Item(what=what, amount=(low, high), unit=row.unit, surfaces=[p for p in places if p], why=why)


def _joined(items: Iterable[Item]) -> list[Item]:
    """Alike things on one line, their amounts added."""
    found: dict[tuple[str, str], list[Item]] = {}
    for item in items:
        found.setdefault((item.what, item.unit), []).append(item)
    return [
        Item(
            what=what,
            unit=unit,
            amount=(round(sum(i.amount[0] for i in rows), 3), round(sum(i.amount[1] for i in rows), 3)),
            surfaces=list(dict.fromkeys(name for i in rows for name in i.surfaces)),
            why="; ".join(dict.fromkeys(i.why for i in rows)),
        )
        for (what, unit), rows in found.items()
    ]
