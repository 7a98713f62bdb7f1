"""What to buy: litres, grams, sheets, from areas, coats and coverage.

Spread rates: a litre over a square metre is 1 mm, so square metres to the litre =
1000 / wet um, and a wet film of V per cent solids by volume dries to V/100 of itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..knowledge.entries import Coat, Consumable, Gear, Remover
from ..words import Span, or_span, times
from .facing import Facing
from .jobs import Task
from .order import Node
from .stains import Rung
from .treatments import on_film

LEAST_GRITS = 3  # a run of grits that is worth the name


class Item(Struct, frozen=True, kw_only=True):
    """One line of the list: a range of how much, and what for."""

    what: str
    amount: Span
    unit: str
    surfaces: list[str]
    why: str


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
    """Names of the tools that the steps, routes and treatments in `nodes` ask for, without what is bought."""
    put_on = _put_on(facings, nodes, knowledge)
    met, at = {name for _, name in put_on}, {one.name: one for one in facings}
    names = {tool for node in nodes for tool in knowledge.work.steps[node.step].tools}
    books: list[Mapping[str, Remover | Coat]] = [knowledge.removers, knowledge.recoat.coats]
    names |= {tool for book, name in product(books, met) if name in book for tool in book[name].tools}
    treated = [(at[where], name) for where, name in put_on if name in knowledge.treatments]
    names |= {tool for one, name in treated for tool in on_film(name, one.done, one.how, knowledge).tools}
    bought = {gear.tool for gear, _ in worn(facings, nodes, tasks, knowledge)}
    used = (row for row in knowledge.work.consumables if any(_consumable(row, facings, nodes, knowledge)))
    bought |= {row.tool for row in used}
    bought |= {name for name in met & set(knowledge.removers) if knowledge.removers[name].work.litres_m2[1] > 0}
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
    return [*((node.surface, node.step) for node in nodes), *_put_on(facings, nodes, knowledge)]


def _put_on(facings: Sequence[Facing], nodes: Sequence[Node], knowledge: Knowledge) -> list[tuple[str, str]]:
    """(surface, id) of each remover, treatment and coat that comes into the steps in `nodes`."""
    doing, met = _doing(nodes, knowledge), list[tuple[str, str]]()
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
    whole = Item(what=name, amount=litres, unit="L", surfaces=[one.name], why="to take the finish off")
    yield whole if one.name in doing.stripped else _for_patch(whole, one, knowledge)


def _for_patch(whole: Item, one: Facing, knowledge: Knowledge) -> Item:
    """The share of a trial patch in what the whole face takes; litres as millilitres."""
    share, unit = knowledge.work.patch_m2 / one.area_m2, whole.unit
    share, unit = (1000 * share, "ml") if unit == "L" else (share, unit)
    amount = whole.amount[0] * share, whole.amount[1] * share
    return replace(whole, amount=amount, unit=unit, why="for the trial, no more yet")


def _treatments(one: Facing, doing: _Doing, knowledge: Knowledge) -> Iterable[Item]:
    if one.name in doing.treated:
        for rung in one.rungs:
            yield from _made_of(rung, rung.left, one, knowledge)
    elif one.name in doing.stain_patched:
        for rung in one.rungs:
            for made in _made_of(rung, 1, one, knowledge):
                yield _for_patch(made, one, knowledge)


def _made_of(rung: Rung, rounds: int, one: Facing, knowledge: Knowledge) -> Iterable[Item]:
    """What is bought for so many rounds of a treatment: what it is mixed of, and not the mix."""
    treatment, (low, high) = on_film(rung.treatment, one.done, one.how, knowledge), rung.litres
    why = f"for {rung.name}, {times(rounds)}"
    for row in treatment.buy:
        amount = row.per_litre[0] * low, row.per_litre[1] * high * rounds
        limit = " ".join(["", *rung.law]) if row.limited else ""
        yield Item(
            what=row.name, amount=amount, unit=row.unit, surfaces=[one.name], why=f"{why}.{limit}" if limit else why
        )
    if treatment.solution is not None:
        strong = treatment.solution.g_l
        strengths = [strong[min(n, len(strong) - 1)] for n in range(rung.tried, rung.tried + rounds)]
        name = knowledge.solutes[treatment.solution.solute].name
        grams = strengths[0] * low, sum(strengths) * high
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
    here = [one for one in here if needed <= one.conditions and not one.conditions & {*row.unless}]
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
