"""The pages of woods, stains, treatments, rules and cautions, in the trade's words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from ...engine.knowledge.base import Knowledge
from ...engine.knowledge.entries import Bought, Caution, Law, Rule, Stain, Treatment, Wood
from ...engine.words import listed, times
from .fields import told_field
from .figures import span
from .screen import Screen

Rows = Iterable[tuple[str, str | None]]
NAMED = ("finishes", "families", "removers", "treatments", "stains", "woods", "tests", "solvents", "resins")
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")
SITS = {"in-film": "in the film", "in-wood": "in the wood", "either": "in the film or in the wood"}
BLEACHES = {
    "easy": "easily",
    "resists": "hardly",
    "avoid": "do not: it goes blotchy or off colour",
    "not-known": "not known",
}
PORES = {"open": "open", "semi-open": "half open", "closed": "closed", "none": "none, a softwood"}
USUALLY = {"solid": "solid", "veneer": "veneer", "either": "solid or veneer"}


def named(word: str, knowledge: Knowledge) -> str:
    """What an id of the book is called; another word of ids with blanks for hyphens."""
    for field in NAMED:
        entry = getattr(knowledge, field).get(word)
        if entry is not None:
            return str(entry.name)
    if word in knowledge.vocabulary.tools:
        return knowledge.vocabulary.tools[word].name
    return word.replace("-", " ") if ID.fullmatch(word) else word


def wood_page(_name: str, entry: Wood, _knowledge: Knowledge, screen: Screen) -> None:
    """What a wood does under water, lye, oil, bleach and light."""
    figures = [(f, getattr(entry, f)) for f in ("janka_n", "shrinkage", "movement")]
    _tell(
        [
            ("What it is", entry.about),
            ("Latin", entry.latin),
            ("Tannin", f"{entry.tannin} (lye, ammonia and iron darken it by its tannin)"),
            ("Oily", "yes: finishes may not dry or hold" if entry.oily else "no"),
            ("Dust", "makes some people allergic" if entry.sensitiser else None),
            ("Pores", PORES[entry.pores]),
            ("Bleaches", BLEACHES[entry.bleaches]),
            ("Light", entry.light),
            ("On furniture", USUALLY[entry.usually]),
            *(_upper(told_field(f, v)) for f, v in figures if v),
        ],
        screen,
    )


def stain_page(_name: str, entry: Stain, knowledge: Knowledge, screen: Screen) -> None:
    """Where a stain sits, how to know it, what is tried in which order, when to stop."""
    _tell([("What it is", entry.about), ("Sits", SITS[entry.sits]), ("Know it by", entry.know_by)], screen)
    screen.line("What to try, in this order", "bold", indent=2)
    for number, step in enumerate(entry.ladder, 1):
        name = knowledge.treatments[step.treatment].name
        when = f" {step.when}" if step.when else ""
        screen.marked(f"{number}.", f"{name}, {times(step.tries)}: {step.chance.replace('-', ' ')} helps.{when}", 4)
    iron = "Take all iron out of the wood first, or it comes back." if entry.iron else None
    where = "The whole face, edge to edge, never the spot alone." if entry.whole_face else "The spot alone will do."
    _tell([("If nothing helps", entry.last), ("Treat", where), ("Iron", iron)], screen)


def treatment_page(_name: str, entry: Treatment, knowledge: Knowledge, screen: Screen) -> None:
    """How a treatment is done, for how long, how often, and what it must not meet."""
    least = max(entry.least_veneer_mm, entry.needs_mm)
    _tell(
        [
            ("What it does", entry.about),
            ("How", entry.how),
            ("Mix", entry.mix),
            ("Made of", "; ".join(map(_made_of, entry.buy))),
            ("On for", _hours(entry.dwell_hours)),
            ("Rinse", entry.rinse),
            ("Dry", _hours(entry.dry_hours)),
            ("Repeat", times(entry.max_cycles)),
            ("Where", _where(entry)),
            ("Liquid", f"{span(entry.litres_m2)} l a square metre" if entry.litres_m2[1] else None),
            ("Work", f"{span(entry.active_hours_m2)} h a square metre"),
            ("On veneer", " ".join(filter(None, [entry.veneer, entry.on_veneer]))),
            ("Least veneer", f"{least:g} mm" if least else None),
            ("Old glue", "it goes for hide and casein glue" if entry.eats_glue else None),
            ("Metal", entry.metal),
            ("Colour", entry.colour),
            ("On these finishes", _names(entry.on_finishes, knowledge)),
            ("Not on", _names(entry.avoid_woods, knowledge)),
            ("Never with", _names(entry.never_with, knowledge)),
            ("Tools", _names(entry.tools, knowledge)),
        ],
        screen,
    )
    tell_law(entry.law, knowledge, screen)
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)


def _made_of(row: Bought) -> str:
    """What is bought, by the litre that is put on; a liquid by its share, which is the same in all units."""
    low, high = row.per_litre
    share = (
        f"{span((100 * low, 100 * high))} parts in 100" if row.unit == "L" else f"{span((low, high))} g to the litre"
    )
    return f"{row.name}, {share}"


def tell_law(rows: Iterable[Law], knowledge: Knowledge, screen: Screen) -> None:
    """What each place says of it, sold to or used by a private person."""
    for law in rows:
        place = knowledge.vocabulary.places[law.place].name
        screen.marked(f"Law, {place}:", f"{law.status.replace('-', ' ').capitalize()}. {law.text}")


def rule_page(_name: str, entry: Rule, knowledge: Knowledge, screen: Screen) -> None:
    """What a rule says, why, and on which facts; the facts keep their names, by which a rule is written."""
    then = entry.then
    vetoed = [*then.veto.removers, *then.veto.traits] if then.veto else []
    harmful = [*then.harm.removers, *then.harm.traits] if then.harm else []
    _tell(
        [
            ("About", entry.about),
            ("Why", entry.why),
            ("Forbids", _names(vetoed, knowledge)),
            ("Risky", _names(harmful, knowledge)),
            ("Says", then.flag.text if then.flag else None),
            ("Warns", knowledge.cautions[then.caution].text if then.caution else None),
            ("Asks for", knowledge.test_name(then.ask) if then.ask else None),
            *(_upper(told_field(f, getattr(entry, f))) for f in ("when", "unless") if getattr(entry, f)),
            ("Then", told_field("facts", then.facts)[1] if then.facts else None),
            ("Gives", told_field("gives", then.gives)[1] if then.gives else None),
        ],
        screen,
    )


def caution_page(_name: str, entry: Caution, _knowledge: Knowledge, screen: Screen) -> None:
    """A warning in full and in short."""
    barred = entry.barred.text if entry.barred else None
    _tell([("In full", entry.text), ("In short", entry.short), ("Barred", barred)], screen)


def under_page(_name: str, entry: dict[str, str], knowledge: Knowledge, screen: Screen) -> None:
    """What each coat comes to over this."""
    recoat = knowledge.recoat
    _tell([(recoat.coats[coat].name, recoat.words[word].text) for coat, word in entry.items()], screen)


def _where(entry: Treatment) -> str:
    bare = "on bare wood only" if entry.needs_bare else "on the film"
    return f"{bare}, the whole face and not the spot" if entry.whole_face else bare


def _hours(ends: tuple[float, float]) -> str | None:
    low, high = ends
    if not high:
        return None
    if high < 1:
        return f"{span((low * 60, high * 60))} min"
    return f"{span(ends)} h" if high < 48 else f"{span((low / 24, high / 24))} days"


def _names(ids: Sequence[str], knowledge: Knowledge) -> str | None:
    return listed([named(word, knowledge) for word in ids]) or None


def _upper(row: tuple[str, str]) -> tuple[str, str]:
    return row[0][:1].upper() + row[0][1:], row[1]


def _tell(rows: Rows, screen: Screen) -> None:
    for head, text in rows:
        if text:
            screen.marked(f"{head}:", text)


PAGES: dict[str, Callable[[str, Any, Knowledge, Screen], None]] = {
    "wood": wood_page,
    "stain": stain_page,
    "treatment": treatment_page,
    "rule": rule_page,
    "caution": caution_page,
    "under": under_page,
}
