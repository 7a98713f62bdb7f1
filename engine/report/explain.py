"""Why, how and why not, as trees of rule, facts and source.

The tree is data: a line of text, where it is from, and what it rests on. The shell
prints it, JSON carries it.
"""

from __future__ import annotations

from msgspec import Struct

from ..deciding.nexttest import barred
from ..examine import Examination
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import EFFECTS
from ..removal.predict import Prediction
from ..words import coats_told, dwell_told, likely, span_told
from .asking import told_evidence

SHOWN_FINISH = 0.02
OF_THE_WORK = (
    "The rules that hold here. They speak of the work and move no chance; those on a remover are told with it."
)
CHANCES = {
    "finish.sure": "chance of the first finish",
    "origin.overcoated": "chance that it was coated over",
    "origin.refinished": "chance that it was refinished",
}


class Because(Struct, frozen=True, kw_only=True):
    """One statement and what it rests on."""

    text: str
    rule: str = ""
    source: list[str] = []
    rests_on: list[Because] = []


def how_ranking(done: Examination, knowledge: Knowledge) -> Because:
    """How the ranking came to be: prior, each answer with its weight for the first two; apart, what the rules say of it."""
    order = sorted(done.posterior.finishes, key=lambda f: (-done.posterior.finishes[f], f))
    first, second = order[0], order[1]
    one, two = knowledge.finishes[first].name, knowledge.finishes[second].name
    rows = [_answer_line(i, done, first, second, knowledge) for i in range(len(done.evidence))]
    p, q = done.posterior.finishes[first], done.posterior.finishes[second]
    text = f"{done.surface.name}: {one} {p:.0%}, then {two} {q:.0%}."
    return Because(text=text, rests_on=[_prior_line(done, first, second, knowledge), *rows, *_rules(done)])


def why_finish(done: Examination, finish: str, knowledge: Knowledge) -> Because:
    """Why a finish stands where it does: what speaks for it and what against.

    Raises KeyError if it is not in the book.
    """
    p = done.posterior.finishes[finish]
    low, high = done.ranges[finish]
    top = done.posterior.top
    name = knowledge.finishes[finish].name
    rows = []
    for item, pulls in sorted(
        zip(done.weighed.evidence, done.weighed.decibans, strict=True), key=lambda pair: pair[1][finish]
    ):
        word = "for" if pulls[finish] >= 0 else "against"
        rows.append(
            Because(
                text=f"{word}, {pulls[finish]:+.1f} dB: {told_evidence(item.name, item.seen, knowledge)}",
                source=_band_source(item.test, finish, knowledge),
            )
        )
    before = sum(done.prior.joint[finish])
    rows.append(
        Because(
            text=f"before any test {before:.1%} of such surfaces carry it", source=_context_sources(done, knowledge)
        )
    )
    entry = knowledge.finishes[finish]
    tells = [n for n in entry.neighbours if n.finish == top]
    rows += [
        Because(text=f"told from {knowledge.finishes[n.finish].name}: {n.tell}", source=entry.source) for n in tells
    ]
    rows += [Because(text=f"this entry misleads if: {w}") for w in entry.wrong_if]
    verb = "stands first" if finish == top else f"is not first ({knowledge.finishes[top].name} is)"
    return Because(text=f"{name} {verb}: {likely(p)}, {p:.1%} (range {low:.0%}-{high:.0%}).", rests_on=rows)


def why_remover(done: Examination, remover: str, place: str, knowledge: Knowledge) -> Because:
    """What a remover would do here, from which rules, and what forbids it; `place`: whose law counts.

    Raises KeyError if it is not in the book.
    """
    entry = knowledge.removers[remover]
    prediction = next(p for p in done.predictions if p.remover == remover)
    rows = [
        Because(text=f"forbidden here: {v.why}", rule=v.rule, source=v.source, rests_on=_matched(done, v.rule))
        for v in prediction.vetoes
    ]
    rows += [
        Because(text=f"risk {h.chance:.0%}: {h.why}", rule=h.rule, source=h.source, rests_on=_matched(done, h.rule))
        for h in prediction.harms
    ]
    rows += [Because(text=f"mind: {w.why}", rule=w.rule, source=w.source) for w in prediction.warnings]
    for finish, p in sorted(done.posterior.finishes.items(), key=lambda pair: -pair[1])[:4]:
        if p >= SHOWN_FINISH:
            rows.append(_on_finish(finish, p, prediction, knowledge))
    rows += [Because(text=change.text) for change in done.changes if change.remover == remover]
    rows.append(_work(prediction, knowledge))
    rows += [_air(name, knowledge) for name in entry.blend if knowledge.solvents[name].air]
    rows += [Because(text=f"law here: {law.text}", source=law.source) for law in entry.law if law.place == place]
    rows += [Because(text=f"this entry misleads if: {w}") for w in entry.wrong_if]
    told = f"works {prediction.works:.0%}, harm {prediction.harm:.0%}. {prediction.reason(knowledge)}"
    if prediction.vetoes:
        told = f"FORBIDDEN here. {prediction.vetoes[0].why} Were it not: {told}"
    return Because(text=f"{entry.name} on {done.surface.name}: {told}", rests_on=rows)


def why_test(done: Examination, test: str, have: list[str] | None, knowledge: Knowledge) -> Because:
    """What a test said here and how much it weighed; if it was not done, what it is worth now and why.

    `test` is the id of a test, or stripper-patch/REMOVER; `have`: the tools at hand, None for all.
    """
    name = knowledge.test_name(test)
    entry = knowledge.tests.get(test)
    misleads = [Because(text=f"this entry misleads if: {w}") for w in entry.wrong_if] if entry else []
    order = sorted(done.posterior.finishes, key=lambda f: (-done.posterior.finishes[f], f))
    said = [i for i, item in enumerate(done.evidence) if test in (item.test, item.name)]
    if said:
        rows = [_answer_line(i, done, order[0], order[1], knowledge) for i in said]
        rows += [_pull_line(i, f, done, knowledge) for i in said for f in order[2:6]]
        return Because(text=f"{name} was done on {done.surface.name}.", rests_on=[*rows, *misleads])
    if test in done.surface.tests:
        return Because(text=f"{name} could not be done on {done.surface.name}: it says nothing.", rests_on=misleads)
    return Because(
        text=_standing(done, test, name, have, knowledge), rests_on=[*_forecast(done, test, knowledge), *misleads]
    )


def _pull_line(index: int, finish: str, done: Examination, knowledge: Knowledge) -> Because:
    """What one answer does to one finish."""
    item, pull = done.weighed.evidence[index], done.weighed.decibans[index][finish]
    return Because(
        text=f"{pull:+.1f} dB for {knowledge.finishes[finish].name}", source=_band_source(item.test, finish, knowledge)
    )


def _standing(done: Examination, test: str, name: str, have: list[str] | None, knowledge: Knowledge) -> str:
    """Whether a test that was not done is asked next, and what keeps it back if not."""
    order = [worth.test for worth in done.worths]
    if test not in order:
        missing = sorted(set(knowledge.tests[test].tools) - set(have or [])) if test in knowledge.tests else []
        tools = ", ".join(knowledge.vocabulary.tools[tool].name for tool in missing)
        if have is not None and missing:
            return f"{name} is not asked: not at hand: {tools}."
        against = barred(test, done.firings, knowledge)
        if against:
            return f"{name} is not asked here as things stand: {against}"
        if test in knowledge.tests and not done.costs.rows:
            return f"{name} is not asked: no remover is left here, so no answer can change the work."
        if test in knowledge.tests and knowledge.tests[test].only_after:
            return f"{name} is not asked: it looks at a spot where a drop or a patch took film off. Do one first."
        return f"{name} is not asked: only patches of the removers that are likely to be used are."
    place = order.index(test)
    worth = done.worths[place]
    if worth.safety:
        return f"{name} comes before all others, for safety and not for time. {worth.safety}"
    figures = f"expected to save {worth.saves:.0f} minutes, its own {worth.costs:.0f} already taken off"
    if worth.saves <= 0:
        return f"{name} is not asked: its {worth.costs:.0f} min are {-worth.saves:.0f} more than it can save."
    if place == 0 and done.verdict == "test-more":
        return f"{name} is the next test: {figures}."
    if place == 0:
        return f"{name} would come first, but the verdict is to stop testing: {figures}."
    first = done.worths[0]
    why = "which comes first for safety" if first.safety else f"{first.saves:.0f} minutes"
    return f"{name} is number {place + 1} in the order, after {knowledge.test_name(first.test)} ({why}): {figures}."


def _forecast(done: Examination, test: str, knowledge: Knowledge) -> list[Because]:
    """How likely each outcome of a test is now."""
    splits = next((worth.splits for worth in done.worths if worth.test == test), {})
    return [
        Because(text=f"{p:.0%} expected: {knowledge.outcome(test, outcome).sees}")
        for outcome, p in sorted(splits.items(), key=lambda pair: -pair[1])
    ]


def _on_finish(finish: str, p: float, prediction: Prediction, knowledge: Knowledge) -> Because:
    """What it would do if the finish were this one, with the rules that say so."""
    pair, effects = knowledge.pairs[finish][prediction.remover], prediction.effects_by[finish]
    told = ", ".join(f"{e.replace('-', ' ')} {effects[e]:.0%}" for e in EFFECTS)
    kind = "An exception of the book: " if pair.exception else ""
    because = [Because(text=f"{kind}{pair.why[0]}", source=pair.source)] + [Because(text=why) for why in pair.why[1:]]
    text = f"if it is {knowledge.finishes[finish].name} ({p:.0%}): {told}"
    return Because(text=text, rule=pair.rule, rests_on=because)


def _work(prediction: Prediction, knowledge: Knowledge) -> Because:
    """Hours, coats, liquid and contact; a screening estimate."""
    low, high = prediction.hours
    liquid = f", {prediction.litres[0]:.1f}-{prediction.litres[1]:.1f} l" if prediction.litres[1] >= 0.05 else ""
    told = f"{span_told(60 * low, 60 * high)} of work, {coats_told(prediction.coats)}{liquid}, "
    minutes = dwell_told(prediction.dwell_likely, prediction.dwell_minutes)
    contact = f"{minutes} of contact, four times in five, over all it may be (a screening estimate)"
    return Because(text=told + contact, source=knowledge.removers[prediction.remover].work.source)


def _air(name: str, knowledge: Knowledge) -> Because:
    """How much of a solvent may be in the air at work."""
    solvent = knowledge.solvents[name]
    assert solvent.air is not None
    air = solvent.air
    most = f"{air.shift:g} {air.unit} over a shift, {air.short:g} for a quarter of an hour"
    text = f"{solvent.name} in the air, {air.by}: {most}"
    return Because(text=text, source=air.source)


def _answer_line(index: int, done: Examination, first: str, second: str, knowledge: Knowledge) -> Because:
    item, pulls = done.weighed.evidence[index], done.weighed.decibans[index]
    one, two = knowledge.finishes[first].name, knowledge.finishes[second].name
    answer = told_evidence(item.name, item.seen, knowledge)
    text = f"{answer}: {pulls[first]:+.1f} dB for {one}, {pulls[second]:+.1f} dB for {two}"
    return Because(text=text, source=_band_source(item.test, first, knowledge))


def _prior_line(done: Examination, first: str, second: str, knowledge: Knowledge) -> Because:
    chances = [f"{knowledge.finishes[f].name} {sum(done.prior.joint[f]):.0%}" for f in (first, second)]
    contexts = {c.id: c for c in knowledge.priors.makers}
    rows = [
        Because(text=f"{weight:.0%} {contexts[name].about}", source=contexts[name].source)
        for name, weight in done.prior.contexts
    ]
    return Because(text="Before any test, from age, place and kind: " + ", ".join(chances), rests_on=rows)


def _rules(done: Examination) -> list[Because]:
    """The rules that hold here, apart from what moved the ranking; those on removers are told by why_remover."""
    rows = [
        Because(text=f.rule.why, rule=f.rule.id, source=f.rule.source, rests_on=_facts(f.facts))
        for f in done.firings
        if not (f.rule.then.veto or f.rule.then.harm)
    ]
    return [Because(text=OF_THE_WORK, rests_on=rows)] if rows else []


def _matched(done: Examination, rule: str) -> list[Because]:
    return [fact for f in done.firings if f.rule.id == rule for fact in _facts(f.facts)]


def _facts(facts: dict[str, str | int | float | bool]) -> list[Because]:
    return [
        Because(
            text=f"{CHANCES[key]}: {value:.0%}"
            if key in CHANCES and isinstance(value, float)
            else f"{_in_words(key)}: {_in_words(value)}"
        )
        for key, value in sorted(facts.items())
    ]


def _in_words(term: str | int | float | bool) -> str:
    """A key or value of a fact as a reader says it."""
    if isinstance(term, bool):
        return "yes" if term else "no"
    return term.replace(".", ", ").replace("-", " ") if isinstance(term, str) else f"{term:g}"


def _band_source(test: str, finish: str, knowledge: Knowledge) -> list[str]:
    if test.startswith(PATCH_PREFIX):
        return knowledge.pairs[finish][test.removeprefix(PATCH_PREFIX)].source
    family = knowledge.finishes[finish].family
    rows = knowledge.tests[test].bands
    named = [r for r in rows if finish in r.finishes] or [r for r in rows if family in r.finishes]
    return named[-1].source if named else []


def _context_sources(done: Examination, knowledge: Knowledge) -> list[str]:
    contexts = {c.id: c for c in knowledge.priors.makers}
    return list(dict.fromkeys(s for name, _ in done.prior.contexts[:2] for s in contexts[name].source))
