"""Questions and answers in words: what was seen, whether to go on asking, and the next test."""

from __future__ import annotations

from ..deciding.nexttest import Worth, barred
from ..deciding.tree import on_a_spot
from ..examine import Examination
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import Surface
from ..planning.handling import handling
from ..words import listed
from .assessment import NextTest
from .warned import of_the_film, on_touch, possible_here, told_cautions


def told_evidence(name: str, seen: str, knowledge: Knowledge) -> str:
    """An answer in words: the test and what was seen."""
    if name.startswith("tried/"):
        return f"{knowledge.removers[name.removeprefix('tried/')].name} was tried: {seen.replace('-', ' ')}"
    return f"{knowledge.test_name(name)}: {knowledge.outcome(name, seen).sees.rstrip('.')}"


def verdict_why(done: Examination, knowledge: Knowledge) -> str:
    """The verdict as one sentence."""
    top = knowledge.finishes[done.posterior.top].name
    best = done.worths[0] if done.worths else None
    possible = [knowledge.finishes[f].name for f, p in possible_here(done, knowledge)]
    if done.verdict == "settled":
        return f"Settled: {top}. No further test would change what to do."
    if done.verdict == "same-route":
        return _same_route(done, knowledge)
    if done.verdict == "test-more" and best is not None and best.safety:
        return f"Not settled: {listed(possible[:3], 'or')}. First, for safety: {knowledge.test_name(best.test)}."
    if done.verdict == "test-more" and best is not None:
        one = knowledge.test_name(best.test)
        return f"Not settled: {listed(possible[:3], 'or')}. One more test is worth its time: {one}."
    if not done.fit.ok:
        doubtful = told_evidence(*_named(done, done.fit.doubtful), knowledge) if done.fit.doubtful else ""
        return "The answers do not fit any finish in the book." + (
            f" Clean the spot and repeat the most doubtful: {doubtful}." if doubtful else ""
        )
    return "Undecided, and no test at hand would settle it for less than it costs: treat a hidden patch as the test."


def _same_route(done: Examination, knowledge: Knowledge) -> str:
    """Why to stop testing though it may be one of several: the work begins the same, and a patch tells what it takes."""
    found = [f for f, _ in possible_here(done, knowledge)][:4]
    names = listed([knowledge.finishes[f].name for f in found], "or")
    if handling(done, knowledge) != "strip":
        return f"It may be {names}; it is not stripped either way: stop testing."
    if not done.routes:
        return f"It may be {names}; stop testing."
    best = done.routes[0]
    first = knowledge.removers[best.remover].name
    if len(found) < 2:
        return f"Probably {names}: {first} takes it off. Stop testing."
    others = [f for f in found if f not in best.covers]
    if not others:
        return f"It may be {names}, but the way off is the same ({first}): stop testing."
    then = f", and then {knowledge.removers[best.then].name}" if best.then else ""
    named = listed([knowledge.finishes[f].name for f in others], "or")
    return (
        f"It may be {names}. Stop testing: either way a trial patch with {first} comes first. "
        f"If nothing moves it is {named}{then}."
    )


def _named(done: Examination, name: str) -> tuple[str, str]:
    return name, next(item.seen for item in done.evidence if item.name == name)


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} minute{'' if round(minutes) == 1 else 's'}"


NOT_HERE = "Not here as things stand"


def told_test(worth: Worth, done: Examination, knowledge: Knowledge) -> NextTest:
    """A test worth doing, with how to do it and its cautions, but those of veneer on solid wood."""
    name = knowledge.test_name(worth.test)
    if worth.test.startswith(PATCH_PREFIX):
        remover = knowledge.removers[worth.test.removeprefix(PATCH_PREFIX)]
        spot = on_a_spot(next(p for p in done.predictions if worth.test == f"{PATCH_PREFIX}{p.remover}"), remover)
        how, warned = " ".join(filter(None, [remover.before, spot, remover.how])), remover.cautions
        places: list[str] = []
    else:
        entry = knowledge.tests[worth.test]
        how, warned, places = entry.how, entry.cautions, entry.not_on
    against = "" if worth.safety else barred(worth.test, done.firings, knowledge)
    if worth.safety:
        lacks = listed([knowledge.vocabulary.tools[tool].name for tool in worth.lacks])
        why = f"Safety first. {f'First get: {lacks}. ' if lacks else ''}{worth.safety}"
    elif worth.saves > 0:
        saved = f"{_minutes(worth.saves)} of work on the removal, its own {worth.costs:.0f} already taken off"
        why = f"It is expected to save {saved}."
    else:
        why = f"It would cost about {_minutes(worth.costs)}, more than it is expected to save."
    return NextTest(
        test=worth.test,
        name=name,
        saves_minutes=0.0 if worth.safety else round(worth.saves, 1),
        why=why,
        how=f"{NOT_HERE}: {against} {how}" if against else how,
        not_on=f"Not on {listed(places, 'or')}." if places else "",
        barred=against,
        cautions=told_cautions(_warned(worth.test, warned, done, knowledge), knowledge),
    )


def _warned(test: str, own: list[str], done: Examination, knowledge: Knowledge) -> list[str]:
    """The cautions of a test itself that may matter here, and those of the film, in the words for here."""
    film = of_the_film(done, knowledge)
    told_otherwise = {name for name in own if set(knowledge.cautions[name].instead.values()) & set(film)}
    kept = [name for name in own if name not in told_otherwise and _fits(name, done.surface, knowledge)]
    return [*kept, *on_touch(done, test, knowledge)]


def _fits(caution: str, surface: Surface, knowledge: Knowledge) -> bool:
    """Whether a caution may matter before a test: all may, but those of veneer alone on wood that was told to be solid."""
    return knowledge.cautions[caution].only_if != ["veneer"] or surface.build != "solid"
