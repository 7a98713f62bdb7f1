"""What to buy: litres, grams, sheets, from areas, coats and coverage.

Spread rates: a litre over a square metre is 1 mm, so square metres to the litre =
1000 / wet um, and a wet film of V per cent solids by volume dries to V/100 of itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Consumable, Gear
from ..words import or_span, times
from .facing import Facing, Span
from .jobs import Task
from .order import Node
from .stains import Rung

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


def shopping(
    facings: Sequence[Facing], nodes: Sequence[Node], tasks: Mapping[Node, Task], knowledge: Knowledge
) -> list[Item]:
    """Everything that the steps in `nodes` use up, alike things joined; what protects the person comes last."""
    doing = _doing(nodes, knowledge)
    lines = [item for one in facings for item in _removers(one, doing, knowledge)]
    lines += [item for one in facings for item in _treatments(one, doing, knowledge)]
    lines += [item for one in facings if one.name in doing.coated for item in _coats(one, knowledge)]
    lines += [item for row in knowledge.work.consumables for item in _consumable(row, facings, nodes, knowledge)]
    for gear, where in worn(facings, nodes, tasks, knowledge):
        lines.append(Item(what=gear.name, amount=gear.per_piece, unit=gear.unit, surfaces=where, why=gear.why))
    return _joined(lines)


def tools(
    facings: Sequence[Facing], nodes: Sequence[Node], tasks: Mapping[Node, Task], knowledge: Knowledge
) -> list[str]:
    """Names of the tools that the routes and treatments in `nodes` ask for, without what is bought for protection."""
    names: set[str] = set()
    met_here = _met(facings, nodes, knowledge)
    for _, met in met_here:
        entry = knowledge.removers.get(met) or knowledge.treatments.get(met)
        names |= set(entry.tools) if entry is not None else set()
    steps = {node.step for node in nodes}
    bought = {gear.tool for gear, _ in worn(facings, nodes, tasks, knowledge)}
    bought |= {row.tool for row in knowledge.work.consumables if row.step in steps} | {met for _, met in met_here}
    return [knowledge.vocabulary.tools[name].name for name in sorted(names - bought)]


def worn(
    facings: Sequence[Facing], nodes: Sequence[Node], tasks: Mapping[Node, Task], knowledge: Knowledge
) -> list[tuple[Gear, list[str]]]:
    """Protection that the work in `nodes` asks for, with the surfaces that it is for (none: the whole piece)."""
    met = _met(facings, nodes, knowledge)
    warned = [(node.surface, caution) for node in nodes for caution in tasks[node].cautions]
    found = []
    for gear in knowledge.work.gear:
        rows = [where for where, name in met if name in gear.by] + [w for w, c in warned if c in gear.cautions]
        if rows:
            found.append((gear, [name for name in dict.fromkeys(rows) if name]))
    return found


def usual_run(facing: Facing) -> list[str]:
    """The finest run of at least three grits that the sanding budget allows, else the longest there is."""
    runs = [name.split("-") for name, _ in facing.done.under.sequences]
    long = [run for run in runs if len(run) >= LEAST_GRITS]
    return long[-1] if long else runs[0] if runs else []


class _Doing(Struct, frozen=True, kw_only=True):
    """Surfaces by what is done on them in the steps that are bought for."""

    patched: set[str]
    stripped: set[str]
    stain_patched: set[str]
    treated: set[str]
    coated: set[str]


def _doing(nodes: Sequence[Node], knowledge: Knowledge) -> _Doing:
    taken: dict[str | None, set[str]] = {}
    showing: set[str] = set()
    for node in nodes:
        step = knowledge.work.steps[node.step]
        taken.setdefault(step.takes, set()).add(node.surface)
        if step.shows == "stain" and step.takes != "stain-patch":
            showing.add(node.surface)
    coated = taken.get("first-coat", set())
    return _Doing(
        patched=taken.get("patch", set()),
        stripped=taken.get("route", set()),
        stain_patched=taken.get("stain-patch", set()),
        treated=showing | coated,
        coated=coated,
    )


def _met(facings: Sequence[Facing], nodes: Sequence[Node], knowledge: Knowledge) -> list[tuple[str, str]]:
    """(surface, id) of each step in `nodes`, and of each remover, treatment and coat that comes into it."""
    doing, met = _doing(nodes, knowledge), [(node.surface, node.step) for node in nodes]
    for one in facings:
        if one.route is not None and one.name in doing.patched | doing.stripped:
            met.append((one.name, one.route.remover))
        if one.name in doing.treated | doing.stain_patched:
            met += [(one.name, rung.treatment) for rung in one.rungs]
        if one.coat is not None and one.name in doing.coated:
            names = [one.coat.between, one.coat.over, knowledge.recoat.toner if one.coat.toned else None]
            met += [(one.name, name) for name in names if name is not None]
    return met


def _removers(one: Facing, doing: _Doing, knowledge: Knowledge) -> Iterable[Item]:
    """The remover for the whole face; where only its trial is done, for the patch."""
    if one.route is None or one.route.litres[1] <= 0 or one.name not in doing.patched | doing.stripped:
        return
    name, litres = knowledge.removers[one.route.remover].name, one.scaled(one.route.litres)
    if one.name in doing.stripped:
        yield Item(what=name, amount=litres, unit="L", surfaces=[one.name], why="to take the finish off")
    else:
        yield _for_patch(name, litres, one, knowledge)


def _for_patch(name: str, litres: Span, one: Facing, knowledge: Knowledge) -> Item:
    share = 1000 * knowledge.work.patch_m2 / one.area_m2
    amount = litres[0] * share, litres[1] * share
    return Item(what=name, amount=amount, unit="ml", surfaces=[one.name], why="for the trial, no more yet")


def _treatments(one: Facing, doing: _Doing, knowledge: Knowledge) -> Iterable[Item]:
    if one.name in doing.treated:
        for rung in one.rungs:
            yield from _treatment(rung, one, knowledge)
    elif one.name in doing.stain_patched:
        for rung in one.rungs:
            if rung.litres[1] > 0:
                yield _for_patch(f"{rung.name}, mixed" if rung.mix else rung.name, rung.litres, one, knowledge)


def _treatment(rung: Rung, one: Facing, knowledge: Knowledge) -> Iterable[Item]:
    why = f"for the stain, {times(rung.left)}"
    low, high = rung.litres[0], rung.litres[1] * rung.left
    if high > 0:
        what = f"{rung.name}, mixed" if rung.mix else rung.name
        yield Item(what=what, amount=(low, high), unit="L", surfaces=[one.name], why=why)
    solution = knowledge.treatments[rung.treatment].solution
    if solution is not None:
        strengths = [solution.g_l[min(n, len(solution.g_l) - 1)] for n in range(rung.tried, rung.tried + rung.left)]
        grams = (strengths[0] * rung.litres[0], sum(strengths) * rung.litres[1])
        name = knowledge.solutes[solution.solute].name
        yield Item(what=name, amount=grams, unit="g", surfaces=[one.name], why=why)


def _coats(one: Facing, knowledge: Knowledge) -> Iterable[Item]:
    chosen, book = one.coat, knowledge.recoat.coats
    if chosen is None:
        return
    rows = [(chosen.over, chosen.coats, f"{or_span(chosen.coats)} coat{'s' if chosen.coats[1] > 1 else ''}")]
    if chosen.between not in (None, chosen.over):
        rows.append((chosen.between or "", (1, 1), "one coat between"))
    if chosen.toned:
        toner = knowledge.recoat.toner
        rows.append((toner, (1, book[toner].coats), "between the coats, until the colour is nearly there"))
    for name, (least, most), why in rows:
        low, high = (coat_litres(one.area_m2, count, book[name].coverage_m2_l) for count in (least, most))
        yield Item(what=book[name].name, amount=(low[0], high[1]), unit="L", surfaces=[one.name], why=why)


def _consumable(
    row: Consumable, facings: Sequence[Facing], nodes: Sequence[Node], knowledge: Knowledge
) -> Iterable[Item]:
    places = [node.surface for node in nodes if node.step == row.step]
    if not places:
        return
    step = knowledge.work.steps[row.step]
    why = step.name.lower()
    here = [one for one in facings if one.name in places or "" in places]
    needed = frozenset(row.needs)
    here = [one for one in here if needed <= one.conditions]
    if not here:
        return
    held = frozenset().union(*(one.conditions for one in here))
    bars = [bar for name in step.cautions if (bar := knowledge.cautions[name].barred) and held & set(bar.where)]
    why += "; not in this room, see the step" if bars else ""
    for grit in sorted({g for one in here for g in usual_run(one)}, key=int) if row.each_grit else [""]:
        area = sum(one.area_m2 for one in here if not grit or grit in usual_run(one))
        low, high = (p + a * area for p, a in zip(row.per_piece, row.per_m2, strict=True))
        what = f"{row.name}, grit {grit}" if grit else row.name
        yield Item(
            what=what,
            amount=(low, high),
            unit=row.unit,
            surfaces=[p for p in places if p and p in {one.name for one in here}],
            why=why,
        )


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
