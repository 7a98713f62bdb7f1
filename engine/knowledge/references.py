"""Every place where one entry names another, so that no id is left dangling."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, get_args

from msgspec import Struct

from ..piece.form import Feature
from ..problems import nearest
from ..reading.yamltext import Place
from .base import PATCH_PREFIX
from .entries import (
    CONDITIONS,
    EFFECTS,
    Belief,
    Caution,
    Context,
    Finish,
    Priors,
    Recoat,
    Remover,
    RuleFile,
    Stain,
    Test,
    Treatment,
    Vocabulary,
    WorkOrder,
)
from .layout import RESERVED_SOURCES


class Reference(Struct, frozen=True):
    """One use of an id at a place: what kind it should be and which names are allowed."""

    place: Place
    what: str
    name: str
    allowed: frozenset[str]

    def found(self) -> bool:
        """Whether the name exists."""
        return self.name in self.allowed

    def message(self) -> str:
        """What is wrong, in words."""
        return f"there is no {self.what} {self.name!r}"

    def hint(self) -> str:
        """The nearest valid name."""
        return nearest(self.name, self.allowed)


def references_of(kind: str, entry: Any, entries: dict[str, dict[str, Any]]) -> Iterator[Reference]:
    """All references that an entry makes, its sources and cautions first."""
    look = _Look(entries)
    yield from _sources(entry, (), look)
    maker = _BY_KIND.get(kind)
    if maker is not None:
        yield from maker(entry, look)


class _Look:
    """The names that are defined, by kind."""

    def __init__(self, entries: dict[str, dict[str, Any]]) -> None:
        self.entries = entries

    def __call__(self, kind: str, extra: Iterable[str] = ()) -> frozenset[str]:
        return frozenset((*self.entries[kind], *extra))

    def words(self, field: str) -> frozenset[str]:
        vocabulary = self.entries["vocabulary"].get("all")
        return frozenset(getattr(vocabulary, field, ())) | {"unknown"}

    def belief(self, field: str) -> frozenset[str]:
        return frozenset(getattr(self.entries["belief"].get("all"), field, ()))

    def conditions(self) -> frozenset[str]:
        """What may hold on a surface for a step or a caution: the closed list, residues, treatments, notes."""
        return frozenset(
            (
                *CONDITIONS,
                *(f"stain:{name}" for name in self.entries["treatments"]),
                *(f"over:{name}" for name in self.belief("contamination")),
                *self.concluded(),
            )
        )

    def concluded(self) -> frozenset[str]:
        """Every fact that a rule concludes."""
        return frozenset(key for file in self.entries["rules"].values() for r in file.rules for key in r.then.facts)

    def flags(self) -> frozenset[str]:
        """Every flag that a rule raises."""
        rules = [rule for file in self.entries["rules"].values() for rule in file.rules]
        return frozenset(rule.then.flag.id for rule in rules if rule.then.flag is not None)

    def recoat(self, field: str) -> frozenset[str]:
        return frozenset(getattr(self.entries["recoat"].get("all"), field, ()))


def _each(place: Place, what: str, names: Iterable[str], allowed: frozenset[str]) -> Iterator[Reference]:
    for index, name in enumerate(names):
        yield Reference((*place, index), what, name, allowed)


def _keys(place: Place, what: str, names: Iterable[str], allowed: frozenset[str]) -> Iterator[Reference]:
    for name in names:
        yield Reference((*place, name), what, name, allowed)


def _sources(value: Any, place: Place, look: _Look) -> Iterator[Reference]:
    """Walks an entry for `source` and `cautions`, wherever they stand."""
    if isinstance(value, Struct):
        for field in value.__struct_fields__:
            inner = getattr(value, field)
            if (field == "source" or field.endswith("_source")) and isinstance(inner, list):
                yield from _each((*place, field), "source", inner, look("sources", RESERVED_SOURCES))
            elif field == "cautions" and isinstance(inner, list):
                yield from _each((*place, field), "caution", inner, look("cautions"))
            elif field in ("tools", "helps") and isinstance(inner, list):
                yield from _each((*place, field), "tool", inner, look.words("tools"))
            else:
                yield from _sources(inner, (*place, field), look)
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _sources(inner, (*place, key), look)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _sources(inner, (*place, index), look)


def _finish(entry: Finish, look: _Look) -> Iterator[Reference]:
    yield Reference(("family",), "family", entry.family, look("families"))
    yield Reference(("recoat_row",), "row of recoat.yaml", entry.recoat_row, look.recoat("under"))
    yield from _keys(("over",), "finish", entry.over, look("finishes"))
    yield from _keys(("ageing",), "hidden group", entry.ageing, look.belief("groups"))
    if entry.chemistry.resin is not None:
        yield Reference(("chemistry", "resin"), "resin", entry.chemistry.resin, look("resins"))
    for index, share in enumerate(entry.share):
        for field in ("regions", "kinds"):
            yield from _each(("share", index, field), field[:-1], getattr(share, field), look.words(field))
    for index, row in enumerate(entry.neighbours):
        yield Reference(("neighbours", index, "finish"), "finish", row.finish, look("finishes"))
        patches = (f"{PATCH_PREFIX}{remover}" for remover in look.entries["removers"])
        yield from _each(("neighbours", index, "tests"), "test", row.tests, look("tests", patches))


def _test(entry: Test, look: _Look) -> Iterator[Reference]:
    outcomes = frozenset(outcome.id for outcome in entry.outcomes)
    finishes = look("finishes", look.entries["families"])
    if entry.group is not None:
        yield Reference(("group",), "hidden group", entry.group, look.belief("groups"))
    for index, row in enumerate(entry.bands):
        yield from _each(("bands", index, "finishes"), "finish or family", row.finishes, finishes)
        yield from _keys(("bands", index, "gives"), "outcome", row.gives, outcomes)
    for index, origin in enumerate(entry.origin_bands):
        yield from _keys(("origin_bands", index, "gives"), "outcome", origin.gives, outcomes)
    yield from _keys(("on_hidden",), "outcome", entry.on_hidden, outcomes)
    for outcome, reads in entry.on_hidden.items():
        yield Reference(("on_hidden", outcome, "test"), "test", reads.test, look("tests"))
        other = look.entries["tests"].get(reads.test)
        allowed = frozenset(o.id for o in other.outcomes) if isinstance(other, Test) else frozenset()
        yield from _each(("on_hidden", outcome, "outcomes"), "outcome", reads.outcomes, allowed)
    if entry.trial is not None:
        yield Reference(("trial", "remover"), "remover", entry.trial.remover, look("removers"))
        yield from _keys(("trial", "shows"), "outcome", entry.trial.shows, outcomes)
    yield from _keys(("moot_after",), "test", entry.moot_after, look("tests"))
    for test, shown in entry.moot_after.items():
        other = look.entries["tests"].get(test)
        allowed = frozenset(o.id for o in other.outcomes) if isinstance(other, Test) else frozenset(shown)
        yield from _each(("moot_after", test), "outcome", shown, allowed)
    yield from _keys(("masked_by",), "contamination", entry.masked_by, look.belief("contamination"))
    for name, mask in entry.masked_by.items():
        yield from _keys(("masked_by", name, "gives"), "outcome", mask.gives, outcomes)


def _remover(entry: Remover, look: _Look) -> Iterator[Reference]:
    others = look("treatments", look.entries["removers"])
    yield from _each(("never_with",), "treatment or remover", entry.never_with, others)
    yield from _keys(("blend",), "solvent", entry.blend, look("solvents"))
    yield from _keys(("masked_by",), "contamination", entry.masked_by, look.belief("contamination"))
    for name, mask in entry.masked_by.items():
        yield from _keys(("masked_by", name, "gives"), "effect", mask.gives, frozenset(EFFECTS))
    for index, law in enumerate(entry.law):
        yield Reference(("law", index, "place"), "place", law.place, look.words("places"))
    for index, row in enumerate(entry.exceptions):
        yield from _each(
            ("exceptions", index, "finishes"),
            "finish or family",
            row.finishes,
            look("finishes", look.entries["families"]),
        )


def _context(place: Place, row: Context, look: _Look) -> Iterator[Reference]:
    yield from _keys((*place, "finishes"), "finish", row.finishes, look("finishes"))
    yield from _each((*place, "woods"), "wood", row.woods, look("woods"))
    for field in ("regions", "styles", "kinds"):
        yield from _each((*place, field), field[:-1], getattr(row, field), look.words(field))


def _priors(entry: Priors, look: _Look) -> Iterator[Reference]:
    for index, row in enumerate(entry.makers):
        yield from _context(("makers", index), row, look)
    for index, row in enumerate(entry.refinish.eras):
        yield from _context(("refinish", "eras", index), row, look)
    yield from _keys(("refinish", "less_on"), "kind", entry.refinish.less_on, look.words("kinds"))
    hiders = look("finishes", look.entries["families"])
    yield from _keys(("wood_told",), "finish or family", entry.wood_told, hiders)


def _rules(entry: RuleFile, look: _Look) -> Iterator[Reference]:
    removers = look("removers")
    for index, rule in enumerate(entry.rules):
        place: Place = ("rules", index, "then")
        for field in ("veto", "harm", "spares"):
            part = getattr(rule.then, field)
            if part is not None:
                yield from _each((*place, field, "removers"), "remover", part.removers, removers)
        yield from _each((*place, "bars"), "caution", rule.then.bars, look("cautions"))
        if rule.then.flag is not None:
            flag = rule.then.flag
            yield from _each((*place, "flag", "only_if"), "condition", flag.only_if, look.conditions())
            yield from _each((*place, "flag", "removers"), "remover", flag.removers, removers)
            yield from _each((*place, "flag", "covers"), "flag", flag.covers, look.flags())
        if rule.then.ask is not None:
            yield Reference((*place, "ask"), "test", rule.then.ask, look("tests"))
        if rule.then.caution is not None:
            yield Reference((*place, "caution"), "caution", rule.then.caution, look("cautions"))
        yield from _keys(
            (*place, "contamination"), "contamination", rule.then.contamination, look.belief("contamination")
        )


def _caution(entry: Caution, look: _Look) -> Iterator[Reference]:
    yield from _each(("only_if",), "condition", entry.only_if, look.conditions())
    yield from _keys(("instead",), "condition", entry.instead, look.conditions())
    for held, name in entry.instead.items():
        yield Reference(("instead", held), "caution", name, look("cautions"))
    if entry.barred is not None:
        yield from _each(("barred", "where"), "condition", entry.barred.where, look.conditions())


def _stain(entry: Stain, look: _Look) -> Iterator[Reference]:
    for index, step in enumerate(entry.ladder):
        yield Reference(("ladder", index, "treatment"), "treatment", step.treatment, look("treatments"))


def _treatment(entry: Treatment, look: _Look) -> Iterator[Reference]:
    for index, law in enumerate(entry.law):
        yield Reference(("law", index, "place"), "place", law.place, look.words("places"))
    if entry.solution is not None:
        yield Reference(("solution", "solute"), "solute", entry.solution.solute, look("solutes"))
    yield from _each(("on_finishes",), "finish", entry.on_finishes, look("finishes", look.entries["families"]))
    yield from _each(("avoid_woods",), "wood", entry.avoid_woods, look("woods"))
    rules = frozenset(rule.id for file in look.entries["rules"].values() for rule in file.rules)
    yield from _each(("despite",), "rule", entry.despite, rules)
    if entry.work is not None:
        yield Reference(("work",), "condition", entry.work, frozenset(CONDITIONS))
    for index, row in enumerate(entry.by_film):
        yield from _each(("by_film", index, "families"), "family", row.families, look("families"))
        yield from _each(("by_film", index, "tools"), "tool", row.tools, look.words("tools"))
    others = look("treatments", look.entries["removers"])
    yield from _each(("never_with",), "treatment or remover", entry.never_with, others)


def _recoat(entry: Recoat, look: _Look) -> Iterator[Reference]:
    coats, words, rows = frozenset(entry.coats), frozenset(entry.words), frozenset(entry.under)
    for name, word in entry.words.items():
        yield Reference(("words", name, "lower"), "word", word.lower, words)
        if word.between is not None:
            yield Reference(("words", name, "between"), "coat", word.between, coats)
    yield Reference(("mixed",), "word", entry.mixed, words)
    for name, coat in entry.coats.items():
        yield Reference(("coats", name, "as_under"), "row", coat.as_under, rows)
    yield Reference(("toner",), "coat", entry.toner, coats)
    yield Reference(("toner_over",), "coat", entry.toner_over, coats)
    yield from _each(("toner_under",), "coat", entry.toner_under, coats)
    for clean, row in entry.bare.items():
        yield Reference(("bare", clean), "row", row, rows)
    yield from _keys(("residue",), "contamination", entry.residue, look.belief("contamination"))
    for name, residue in entry.residue.items():
        yield Reference(("residue", name, "row"), "row", residue.row, rows)
    yield from _keys(("risen",), "fact", entry.risen, look.concluded())
    for fact, row in entry.risen.items():
        yield Reference(("risen", fact), "row", row, rows)
    for test, outcomes in entry.lowered_by.items():
        yield Reference(("lowered_by", test), "test", test, look("tests"))
        known = look.entries["tests"].get(test)
        yield from _each(
            ("lowered_by", test),
            "outcome",
            outcomes,
            frozenset(o.id for o in known.outcomes) if known else frozenset(outcomes),
        )
    for under, cells in entry.under.items():
        yield from _keys(("under", under), "coat", cells, coats)
        for over, told in cells.items():
            yield Reference(("under", under, over), "word", told, words)
    for index, cell in enumerate(entry.cells):
        yield Reference(("cells", index, "under"), "row", cell.under, rows)
        yield Reference(("cells", index, "over"), "coat", cell.over, coats)


def _work(entry: WorkOrder, look: _Look) -> Iterator[Reference]:
    steps = frozenset(entry.steps)
    for index, edge in enumerate(entry.order):
        yield Reference(("order", index, "first"), "step", edge.first, steps)
        yield Reference(("order", index, "then"), "step", edge.then, steps)
    conditions = look.conditions()
    for name, step in entry.steps.items():
        yield from _each(("steps", name, "needs"), "condition", step.needs, conditions)
        yield from _each(("steps", name, "unless"), "condition", step.unless, conditions)
        yield from _keys(("steps", name, "where"), "condition", step.where, conditions)
        if step.done_by is not None:
            yield Reference(("steps", name, "done_by"), "test", step.done_by, look("tests"))
        if step.treatment is not None:
            yield Reference(("steps", name, "treatment"), "treatment", step.treatment, look("treatments"))
    yield from _keys(("masks",), "feature", entry.masks, frozenset(get_args(Feature)))
    for index, lasting in enumerate(entry.carried):
        yield Reference(("carried", index, "caution"), "caution", lasting.caution, look("cautions"))
        yield Reference(("carried", index, "where"), "condition", lasting.where, conditions)
        yield from _each(("carried", index, "until"), "step", lasting.until, steps)
    if entry.seal is not None:
        yield Reference(("seal",), "coat", entry.seal, look.recoat("coats"))
    for index, again in enumerate(entry.rounds):
        yield from _each(("rounds", index), "step", again, steps)
    for index, used in enumerate(entry.consumables):
        yield Reference(("consumables", index, "step"), "step", used.step, steps)
        yield from _each(("consumables", index, "needs"), "condition", used.needs, conditions)
        yield from _each(("consumables", index, "unless"), "condition", used.unless, conditions)
        if used.tool is not None:
            yield Reference(("consumables", index, "tool"), "tool", used.tool, look.words("tools"))
    for index, gear in enumerate(entry.gear):
        known = frozenset((*steps, *look("removers"), *look("treatments"), *look.recoat("coats")))
        yield from _each(("gear", index, "by"), "remover, treatment, coat or step", gear.by, known)
        if gear.tool is not None:
            yield Reference(("gear", index, "tool"), "tool", gear.tool, look.words("tools"))
    yield from _keys(("areas_m2",), "kind", entry.areas_m2, look.words("kinds"))


def _belief(entry: Belief, look: _Look) -> Iterator[Reference]:
    for name, soil in entry.contamination.items():
        if soil.film is not None:
            yield Reference(("contamination", name, "film"), "finish", soil.film, look("finishes"))


def _vocabulary(entry: Vocabulary, look: _Look) -> Iterator[Reference]:
    kinds = ("finishes", "removers", "tests", "stains", "treatments")
    pages = frozenset(name for kind in kinds for name in look(kind))
    for name, meant in entry.names.items():
        yield from _each(("names", name, "means"), "entry", meant.means, pages)


_BY_KIND: dict[str, Callable[[Any, _Look], Iterator[Reference]]] = {
    "finishes": _finish,
    "belief": _belief,
    "tests": _test,
    "removers": _remover,
    "priors": _priors,
    "rules": _rules,
    "cautions": _caution,
    "stains": _stain,
    "treatments": _treatment,
    "recoat": _recoat,
    "work": _work,
    "vocabulary": _vocabulary,
}
