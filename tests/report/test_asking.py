"""Whether to go on asking, in a sentence: each verdict on an invented belief."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine.deciding.nexttest import Worth
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.report.asking import told_test, verdict_why
from oldcoat.engine.report.warned import on_touch

BELIEVED = {"shellac": 0.5, "wax": 0.3, "epoxy": 0.2}


@pytest.fixture
def done(examine: Callable[..., Examination], knowledge: Knowledge) -> Examination:
    """Shellac, wax or epoxy; acetone is the best way off and serves shellac and wax, a scraper comes after it."""
    done = examine(build="solid", plan="strip", tests={"uv-a": "orange"})
    finishes = dict.fromkeys(sorted(knowledge.finishes), 0.0) | BELIEVED
    route = replace(done.routes[0], remover="acetone", then="card-scraper", covers=["shellac", "wax"])
    fit = replace(done.fit, ok=True, doubtful=None)
    return replace(done, posterior=replace(done.posterior, finishes=finishes), routes=[route], fit=fit, worths=[])


@pytest.fixture
def names(knowledge: Knowledge) -> dict[str, str]:
    """What the finishes, removers and tests of these sentences are called."""
    called = {f: knowledge.finishes[f].name for f in BELIEVED}
    called |= {r.replace("-", "_"): knowledge.removers[r].name for r in ("acetone", "card-scraper")}
    return called | {"drop": knowledge.test_name("alcohol-drop"), "lamp": knowledge.test_name("uv-a")}


@pytest.mark.parametrize(
    ("verdict", "safety", "told"),
    [
        ("settled", None, "Settled: {shellac}. No further test would change what to do."),
        ("test-more", "", "Not settled: {shellac}, {wax} or {epoxy}. One more test is worth its time: {drop}."),
        ("test-more", "Invented.", "Not settled: {shellac}, {wax} or {epoxy}. First, for safety: {drop}."),
        ("settled", "", "Settled: {shellac}. No further test would change what to do."),
        (
            "unknown",
            "",
            "Undecided, and no test at hand would settle it for less than it costs: treat a hidden patch as the test.",
        ),
    ],
)
def test_each_verdict_in_its_words(
    done: Examination, knowledge: Knowledge, names: dict[str, str], verdict: Any, safety: str | None, told: str
) -> None:
    """The most probable finish, or the first three and the test that is worth most."""
    worths = [] if safety is None else [Worth("alcohol-drop", 30.0, 2.0, {}, safety=safety)]
    assert verdict_why(replace(done, verdict=verdict, worths=worths), knowledge) == told.format(**names)


def test_the_same_way_off(done: Examination, knowledge: Knowledge, names: dict[str, str]) -> None:
    """What the route does not cover is what it is if nothing moves; one finish, all covered, no route, a film that stays."""
    same = replace(done, verdict="same-route")
    may = f"It may be {names['shellac']}, {names['wax']} or {names['epoxy']}"
    assert verdict_why(same, knowledge) == (
        f"{may}. Stop testing: either way a trial patch with {names['acetone']} comes first. "
        f"If nothing moves it is {names['epoxy']}, and then {names['card_scraper']}."
    )
    whole = [replace(done.routes[0], covers=list(BELIEVED))]
    assert (
        verdict_why(replace(same, routes=whole), knowledge)
        == f"{may}, but the way off is the same ({names['acetone']}): stop testing."
    )
    assert verdict_why(replace(same, routes=[]), knowledge) == f"{may}; stop testing."
    kept = replace(same, surface=replace(same.surface, plan="keep"))
    assert verdict_why(kept, knowledge) == f"{may}; it is not stripped either way: stop testing."
    sure = dict.fromkeys(done.posterior.finishes, 0.0) | {"shellac": 1.0}
    one = replace(same, posterior=replace(done.posterior, finishes=sure))
    assert verdict_why(one, knowledge) == f"Probably {names['shellac']}: {names['acetone']} takes it off. Stop testing."


@pytest.mark.parametrize("doubtful", [None, "uv-a"])
def test_answers_that_fit_nothing(
    done: Examination, knowledge: Knowledge, names: dict[str, str], doubtful: str | None
) -> None:
    """The most doubtful answer is to be repeated, with what was seen, if there is one."""
    told = verdict_why(replace(done, verdict="unknown", fit=replace(done.fit, ok=False, doubtful=doubtful)), knowledge)
    assert told.startswith("The answers do not fit any finish in the book.")
    sees = knowledge.outcome("uv-a", "orange").sees.rstrip(".")
    again = f" Clean the spot and repeat the most doubtful: {names['lamp']}: {sees}."
    assert told.endswith(again) == bool(doubtful)
    assert ("repeat" in told) == bool(doubtful)


def test_a_test_is_told_with_how_and_why(done: Examination, knowledge: Knowledge) -> None:
    """A patch by its remover, another test by its own entry; what it saves, what it costs, or safety and what to get."""
    quiet = replace(done, firings=[])
    patch = told_test(Worth("stripper-patch/acetone", 30.0, 5.0, {}), quiet, knowledge)
    assert knowledge.removers["acetone"].how in patch.how
    assert patch.name == knowledge.test_name("stripper-patch/acetone")
    drop = told_test(Worth("alcohol-drop", 1.0, 2.0, {}), quiet, knowledge)
    assert knowledge.tests["alcohol-drop"].how in drop.how
    assert drop.why == "It is expected to save 1 minute of work on the removal, its own 2 already taken off."
    assert (drop.saves_minutes, drop.barred) == (1.0, "")
    idle = told_test(Worth("alcohol-drop", -1.0, 2.0, {}), quiet, knowledge)
    assert idle.why == "It would cost about 2 minutes, more than it is expected to save."
    tool = knowledge.tests["alcohol-drop"].tools[0]
    safe = told_test(Worth("alcohol-drop", 9.0, 2.0, {}, safety="Invented.", lacks=(tool,)), quiet, knowledge)
    assert safe.why == f"Safety first. First get: {knowledge.vocabulary.tools[tool].name}. Invented."
    assert safe.saves_minutes == 0


def test_cautions_of_a_test_on_its_face(examine: Callable[..., Examination], knowledge: Knowledge) -> None:
    """Its own and those of the film that it touches, each once; those of veneer not on wood that was told to be solid."""
    of_veneer = next(name for name, entry in knowledge.cautions.items() if entry.only_if == ["veneer"])
    plain = next(n for n, e in knowledge.cautions.items() if not (e.only_if or e.instead or e.on_touch))
    entry = replace(knowledge.tests["alcohol-drop"], cautions=[of_veneer, plain])
    book = replace(knowledge, tests={**knowledge.tests, "alcohol-drop": entry})
    for build, own in (("solid", {plain}), ("veneer", {of_veneer, plain}), ("unknown", {of_veneer, plain})):
        done = examine({"made": 1920}, build=build)
        told = [row.split(": ")[0] for row in told_test(Worth("alcohol-drop", 9.0, 2.0, {}), done, book).cautions]
        assert set(told) == own | set(on_touch(done, "alcohol-drop", book)), build
        assert len(told) == len(set(told))
