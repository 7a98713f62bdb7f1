"""Checks that see the whole collection: what the types alone cannot refuse.

Faults make the check fail. Notes are places to look: allowed, but thin.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from ..knowledge.entries import Bounds, Condition, Literalish, Rule, Test
from ..knowledge.facts import Values, known_facts
from ..knowledge.fire import BURNS, FUMES, fires, flash, says_fire, warmest
from ..knowledge.layout import RESERVED_SOURCES
from ..knowledge.loader import Layer, Loaded, read_layers
from ..knowledge.references import references_of
from ..planning.order import Circle, check_circles
from ..problems import Problem, nearest
from ..reading.yamltext import Document, Place
from ..reasoning.network import Network

EMPTY_PHRASES = {"unknown", "none", "n/a", "not known", "nothing", "tbd", "todo", "never", "no"}


class Findings(Struct):
    """What the lint found: faults fail the check, notes do not."""

    faults: list[Problem]
    notes: list[Problem]
    counts: dict[str, int]


def lint(layers: Sequence[Layer]) -> Findings:
    """Check every entry of every layer, and all of them together."""
    loaded = read_layers(layers)
    faults: list[Problem] = [*loaded.problems, *loaded.refused]
    notes: list[Problem] = []
    if not any(p.code == "no-topic" for p in faults):
        for check in _FAULTS:
            faults += check(loaded)
        for check in _NOTES:
            notes += check(loaded)
    counts = {kind: len(entries) for kind, entries in loaded.entries.items()}
    counts["rules"] = sum(1 for _ in _rules(loaded))
    order = {(p.path, p.line, p.column, p.message): p for p in faults}
    return Findings([order[key] for key in sorted(order)], sorted(notes, key=lambda p: (p.path, p.line)), counts)


def _empty_phrases(loaded: Loaded) -> Iterator[Problem]:
    for kind, entries in loaded.entries.items():
        for name, entry in entries.items():
            document = loaded.documents[f"{kind}/{name}"]
            for place, phrase in _wrong_ifs(entry):
                if phrase.strip(" .").lower() in EMPTY_PHRASES:
                    yield document.problem(
                        place,
                        "empty-phrase",
                        f"wrong_if says only {phrase!r}",
                        "name a real way in which this misleads",
                    )


def _wrong_ifs(entry: Any) -> Iterator[tuple[tuple[str | int, ...], str]]:
    for index, phrase in enumerate(getattr(entry, "wrong_if", [])):
        yield ("wrong_if", index), phrase
    for number, rule in enumerate(getattr(entry, "rules", [])):
        for index, phrase in enumerate(rule.wrong_if):
            yield ("rules", number, "wrong_if", index), phrase


def _rules(loaded: Loaded) -> Iterator[tuple[Document, int, Rule, str]]:
    """Every rule in force, with its file, its number there and its scope."""
    gone = loaded.replaced_rules()
    for name, file in loaded.entries["rules"].items():
        for index, rule in enumerate(file.rules):
            if (name, rule.id) in gone:
                continue
            yield loaded.documents[f"rules/{name}"], index, rule, file.scope


def _rule_examples(loaded: Loaded) -> Iterator[Problem]:
    """Each rule fires on its own examples and is silent on the others; chained facts are given in the example."""
    for document, index, rule, _ in _rules(loaded):
        place = ("rules", index)
        for field in ("fires", "silent"):
            if not getattr(rule, field):
                yield document.problem(place, "no-example", f"rule {rule.id} has no `{field}:` example")
        network = Network([rule])
        for field, wanted in (("fires", True), ("silent", False), ("known_miss", False)):
            for number, facts in enumerate(getattr(rule, field)):
                if bool(network.run(facts)) != wanted:
                    message = f"rule {rule.id} {'does not fire' if wanted else 'fires'} on this example"
                    yield document.problem((*place, field, number), "example", message)


def _rule_ids(loaded: Loaded) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for document, index, rule, _ in _rules(loaded):
        if rule.id in seen:
            yield document.problem(
                ("rules", index, "id"), "twice", f"the rule id {rule.id} is used in {seen[rule.id]} too"
            )
        seen[rule.id] = document.path


def _rule_facts(loaded: Loaded) -> Iterator[Problem]:
    """A condition on a fact that nothing states can never hold."""
    known = known_facts(loaded.entries)
    for document, index, rule, scope in _rules(loaded):
        made = {key for _, _, other, s in _rules(loaded) if s == scope for key in other.then.facts}
        for field, conditions in (("when", rule.when), ("unless", rule.unless)):
            for key in (name for name in conditions if name not in made):
                yield from _odd_condition(document, ("rules", index, field, key), rule, conditions[key], known[scope])
        if any(key.startswith("finish.") for key in rule.unless) and not any(
            key.startswith(("finish.", "film.")) for key in rule.when
        ):
            yield document.problem(
                ("rules", index, "unless"), "too-early", f"rule {rule.id} excludes a finish before any is believed"
            )


def _odd_condition(
    document: Document, place: Place, rule: Rule, condition: Condition, known: Mapping[str, Values]
) -> Iterator[Problem]:
    """That nothing states the fact of a condition, or which of its values the fact never has."""
    key = str(place[-1])
    if key not in known:
        message = f"rule {rule.id}: no fact {key!r} is ever stated"
        yield document.problem(place, "unknown-fact", message, nearest(key, known))
        return
    for value in _odd_values(condition, known[key]):
        message = f"rule {rule.id}: {key} is never {value!r}"
        yield document.problem(place, "unknown-value", message, nearest(str(value), map(str, known[key] or ())))


def _odd_values(condition: Any, allowed: frozenset[Literalish] | None) -> list[Literalish]:
    if allowed is None or isinstance(condition, Bounds):
        return []
    values = condition if isinstance(condition, list) else [condition]
    return [v for v in values if v not in allowed]


def _flat_tests(loaded: Loaded) -> Iterator[Problem]:
    """A test whose rows are all the same separates nothing."""
    for name, test in loaded.entries["tests"].items():
        rows = {tuple(sorted(row.gives.items())) for row in test.bands}
        if (
            test.bands
            and len(rows) == 1
            and len({f for row in test.bands for f in row.finishes}) > 1
            and not test.origin_bands
        ):
            yield loaded.documents[f"tests/{name}"].problem(
                ("bands",), "flat", f"test {name} gives the same for every finish: it separates nothing"
            )


def _doubled_outcomes(loaded: Loaded) -> Iterator[Problem]:
    for name, test in loaded.entries["tests"].items():
        ids = [o.id for o in test.outcomes]
        for index, outcome in enumerate(ids):
            if outcome in ids[:index]:
                yield loaded.documents[f"tests/{name}"].problem(
                    ("outcomes", index), "twice", f"outcome {outcome} stands here twice"
                )


def _waits(loaded: Loaded) -> Iterator[Problem]:
    """Waiting is a part of a test's minutes, and what is looked at before it is over comes before it is over, in order."""
    for name, test in loaded.entries["tests"].items():
        document, wait = loaded.documents[f"tests/{name}"], test.wait_minutes
        if wait > test.minutes:
            yield document.problem(
                ("wait_minutes",), "order", f"test {name} waits {wait:g} minutes of {test.minutes:g}: minutes count all"
            )
        if test.looks != sorted({*test.looks}) or any(look >= wait for look in test.looks):
            yield document.problem(
                ("looks",), "order", f"the looks of test {name} rise, and come before minute {wait:g}"
            )
        for index, outcome in enumerate(test.outcomes):
            if outcome.after_minutes is not None and outcome.after_minutes > wait:
                yield document.problem(
                    ("outcomes", index, "after_minutes"),
                    "order",
                    f"test {name} is over after {wait:g} minutes of waiting",
                )


def _sums(loaded: Loaded) -> Iterator[Problem]:
    """Shares that should sum to one, or to no more."""
    priors = loaded.entries["priors"]["all"]
    document = loaded.documents["priors/all"]
    for field, rows in (("makers", priors.makers), ("refinish", priors.refinish.eras)):
        for index, row in enumerate(rows):
            total = sum(row.finishes.values())
            if total > 1.02:
                yield document.problem(
                    (field, index, "finishes"), "sum", f"context {row.id}: the shares sum to {total:.2f}, above 1"
                )
            if row.years[0] > row.years[1]:
                yield document.problem(
                    (field, index, "years"), "backwards", f"context {row.id}: the years run backwards"
                )
    belief = loaded.entries["belief"]["all"]
    for name, total in (
        ("contamination", sum(c.share for c in belief.contamination.values())),
        *((f"group {g}", sum(s.share for s in row.states.values())) for g, row in belief.groups.items()),
    ):
        if abs(total - 1) > 0.01:
            yield loaded.documents["belief/all"].problem((), "sum", f"the shares of {name} sum to {total:.3f}, not 1")
    for name, remover in loaded.entries["removers"].items():
        if remover.blend and abs(sum(remover.blend.values()) - 1) > 0.02:
            yield loaded.documents[f"removers/{name}"].problem(
                ("blend",), "sum", f"the blend sums to {sum(remover.blend.values()):.2f}, not 1"
            )


def _band_order(loaded: Loaded) -> Iterator[Problem]:
    belief = loaded.entries["belief"]["all"]
    order = ["almost-never", "rarely", "sometimes", "often", "usually", "almost-always"]
    missing = [band for band in order if band not in belief.bands]
    if missing:
        yield loaded.documents["belief/all"].problem(("bands",), "bands", f"the band {missing[0]} has no number")
    elif [belief.bands[b] for b in order] != sorted(belief.bands[b] for b in order):
        yield loaded.documents["belief/all"].problem(
            ("bands",), "bands", "the numbers of the bands do not rise with the words"
        )


def _cycles(loaded: Loaded) -> Iterator[Problem]:
    """An order of work that runs in a circle, with the rows that make it."""
    try:
        check_circles(loaded.entries["work"]["all"])
    except Circle as circle:
        yield loaded.documents["work/all"].problem(("order",), "cycle", f"the order of work runs in a circle: {circle}")


def _unused_sources(loaded: Loaded) -> Iterator[Problem]:
    used = {
        ref.name
        for kind, entries in loaded.entries.items()
        for name, entry in entries.items()
        for ref in references_of(kind, entry, loaded.entries)
        if ref.what == "source"
    }
    for name in sorted(loaded.entries["sources"].keys() - used - set(RESERVED_SOURCES)):
        yield loaded.documents[f"sources/{name}"].problem((name,), "unused", f"no entry uses the source {name}")


def _silent_finishes(loaded: Loaded) -> Iterator[Problem]:
    """A finish that a test says nothing of: no information, which may be meant."""
    for name, test in loaded.entries["tests"].items():
        told = _told_of(test, loaded)
        missing = sorted(set(loaded.entries["finishes"]) - told)
        if test.bands and missing:
            yield loaded.documents[f"tests/{name}"].problem(
                ("bands",), "no-row", f"test {name} says nothing of {', '.join(missing)}"
            )


def _told_of(test: Test, loaded: Loaded) -> set[str]:
    named = {f for row in test.bands for f in row.finishes}
    return {f for f, entry in loaded.entries["finishes"].items() if f in named or entry.family in named}


def _silent_removers(loaded: Loaded) -> Iterator[Problem]:
    """A solvent that burns as readily as one that is called flammable, or of which it is not known, without a word of it."""
    removers, cautions = loaded.entries["removers"], loaded.entries["cautions"]
    most, taken = max(warmest(loaded).values(), default=0.0), fires(loaded)
    for name, entry in removers.items():
        lowest, fire = flash(entry, loaded), taken.get(name)
        told = says_fire(entry) or not set(FUMES).isdisjoint(entry.traits) or (lowest is not None and lowest[0] > most)
        warned = told and any(not cautions[c].after for c in entry.cautions)
        if fire or (entry.action == "solvent" and not warned):
            message = f"remover {name} says nothing of fire or vapour"
            if fire:
                message = f"remover {name} says nothing of fire and is taken as {fire.trait}, {fire.why}"
            hint = f"name a trait, {', '.join((*BURNS, *FUMES))}, and the caution for it"
            yield loaded.documents[f"removers/{name}"].problem(("traits",), "no-warning", message, hint)


def _unheard_finishes(loaded: Loaded) -> Iterator[Problem]:
    """A finish that no maker's context lists and that states no share of its own hardly comes first."""
    listed = {finish for row in loaded.entries["priors"]["all"].makers for finish in row.finishes}
    for name, entry in loaded.entries["finishes"].items():
        if name not in listed and not entry.share:
            message = f"finish {name} is hardly thought of: nothing says how common it is"
            hint = "share: [{years: [1900, 1940], share: 0.1}]"
            yield loaded.documents[f"finishes/{name}"].problem((), "no-share", message, hint)


_Check = Callable[[Loaded], Iterator[Problem]]
_FAULTS: list[_Check] = [
    _empty_phrases,
    _rule_ids,
    _rule_examples,
    _rule_facts,
    _flat_tests,
    _doubled_outcomes,
    _waits,
    _sums,
    _band_order,
    _cycles,
]
_NOTES: list[_Check] = [_unused_sources, _silent_finishes, _silent_removers, _unheard_finishes]
