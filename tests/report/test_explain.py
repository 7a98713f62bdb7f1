"""Why and why not: the figures told are those of examinations made again, and what is left out is left out for a reason."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import log10

import pytest
from msgspec.structs import replace

from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.objection import Objection
from oldcoat.engine.report.explain import how_ranking, why_finish, why_remover, why_test

Examine = Callable[..., Examination]
ANSWERS = {"alcohol-drop": "no-effect", "lacquer-thinner-drop": "dissolves", "uv-a": "orange"}
FACE = {"build": "solid", "wood": "maple"}
FINISHES = ("nitrocellulose-lacquer", "shellac", "epoxy")


@pytest.fixture
def done(examine: Examine) -> Examination:
    """An American face of the thirties with three answers."""
    return examine({"made": "1930-1940"}, **FACE, tests=ANSWERS)


def _weighs(done: Examination, examine: Examine, finish: str, test: str) -> float:
    """Decibans of one answer for a finish, by an examination that never had it."""
    without = examine({"made": "1930-1940"}, **FACE, tests={t: o for t, o in ANSWERS.items() if t != test})

    def odds(one: Examination) -> float:
        p = one.posterior.finishes[finish] * (1 - one.posterior.other)
        return p / (1 - p)

    return 10 * log10(odds(done) / odds(without))


@pytest.mark.parametrize("finish", FINISHES)
def test_what_speaks_for_a_finish_and_what_against(
    done: Examination, examine: Examine, knowledge: Knowledge, finish: str
) -> None:
    """The worst first, each with its decibans and on its side; then the prior, and what tells it from the first."""
    told = why_finish(done, finish, knowledge)
    rows = [row.text for row in told.rests_on[:3]]
    found = [float(match[1]) for row in rows if (match := re.match(r"(?:for|against), ([+-][0-9.]+) dB", row))]
    assert found == pytest.approx(sorted(_weighs(done, examine, finish, test) for test in ANSWERS), abs=0.06)
    assert all(row.startswith("for" if db >= 0 else "against") for row, db in zip(rows, found, strict=True))
    bare = examine({"made": "1930-1940"}, **FACE).posterior.finishes[finish]
    before = re.search(r"before any test ([0-9.]+)% of such", told.rests_on[3].text)
    assert before is not None
    assert float(before[1]) == pytest.approx(100 * bare, abs=0.06)
    first = finish == done.posterior.top
    assert (" stands first:" in told.text) == first
    assert (f"is not first ({knowledge.finishes[done.posterior.top].name} is)" in told.text) != first
    tells = [n.tell for n in knowledge.finishes[finish].neighbours if n.finish == done.posterior.top]
    assert [row.text.split(": ", 1)[1] for row in told.rests_on if row.text.startswith("told from")] == tells
    misleads = [row for row in told.rests_on if row.text.startswith("this entry misleads")]
    assert len(misleads) == len(knowledge.finishes[finish].wrong_if)


def test_how_the_first_two_came_to_be(done: Examination, examine: Examine, knowledge: Knowledge) -> None:
    """Both by name and chance; a line for the prior, one for each answer; apart, the rules but those on removers."""
    told = how_ranking(done, knowledge)
    (one, p), (two, q) = sorted(done.posterior.finishes.items(), key=lambda pair: -pair[1])[:2]
    names = [knowledge.finishes[f].name for f in (one, two)]
    assert told.text == f"face: {names[0]} {p:.0%}, then {names[1]} {q:.0%}."
    assert len(told.rests_on) == 1 + len(ANSWERS) + 1
    on_removers = {f.rule.id for f in done.firings if f.rule.then.veto or f.rule.then.harm}
    assert on_removers
    assert [row.rule for row in told.rests_on[-1].rests_on] == [
        f.rule.id for f in done.firings if f.rule.id not in on_removers
    ]
    for row, test in zip(told.rests_on[1:], ANSWERS, strict=False):
        found = [float(db) for db in re.findall(r"([+-][0-9.]+) dB for", row.text)]
        assert found == pytest.approx([_weighs(done, examine, f, test) for f in (one, two)], abs=0.06), test


def test_what_forbids_a_remover_comes_first(done: Examination, knowledge: Knowledge) -> None:
    """A veto in capitals with its reason; risks with their chance; without either the text starts with how it works."""
    row = next(p for p in done.predictions if p.remover == "acetone")
    veto, risk = Objection("r", "Invented reason.", ["memory"]), Objection("s", "Invented risk.", [], 0.3)
    others = [p for p in done.predictions if p.remover != "acetone"]
    plain, barred = (
        why_remover(replace(done, predictions=[*others, one]), "acetone", "us", knowledge)
        for one in (replace(row, vetoes=[], harms=[]), replace(row, vetoes=[veto], harms=[risk]))
    )
    assert "FORBIDDEN" not in plain.text
    assert "FORBIDDEN here. Invented reason. Were it not: works" in barred.text
    assert [r.text for r in barred.rests_on[:2]] == ["forbidden here: Invented reason.", "risk 30%: Invented risk."]
    assert len(barred.rests_on) == len(plain.rests_on) + 2
    (work,) = (r for r in plain.rests_on if "of work" in r.text)
    assert work.source == knowledge.removers["acetone"].work.source


def test_a_remover_is_told_on_the_finishes_that_count(done: Examination, knowledge: Knowledge) -> None:
    """The four most probable, none below two in a hundred, in their order; law is told where it holds."""
    finishes = dict.fromkeys(sorted(knowledge.finishes), 0.0)
    for share in ([0.3, 0.25, 0.2, 0.15, 0.1], [0.97, 0.02, 0.01]):
        names = sorted(knowledge.finishes)[: len(share)]
        believed = replace(done.posterior, finishes=finishes | dict(zip(names, share, strict=True)))
        told = why_remover(replace(done, posterior=believed), "dichloromethane", "us", knowledge)
        rows = [row.text for row in told.rests_on if row.text.startswith("if it is ")]
        wanted = [(knowledge.finishes[f].name, p) for f, p in zip(names, share, strict=True) if p >= 0.02][:4]
        assert [row.split(": ")[0] for row in rows] == [f"if it is {name} ({p:.0%})" for name, p in wanted]
    law = knowledge.removers["dichloromethane"].law
    for place in {row.place for row in law} | {"elsewhere"}:
        told = why_remover(done, "dichloromethane", place, knowledge)
        found = [row.text.removeprefix("law here: ") for row in told.rests_on if row.text.startswith("law here")]
        assert found == [row.text for row in law if row.place == place]


def test_what_a_test_said_of_the_first_six(done: Examination, examine: Examine, knowledge: Knowledge) -> None:
    """Of the first two in one line, of the next four in a line each, with the decibans of its answer."""
    order = sorted(done.posterior.finishes, key=lambda f: -done.posterior.finishes[f])
    told = why_test(done, "uv-a", None, knowledge)
    found = re.findall(r"([+-][0-9.]+) dB for ([^,]+)", ", ".join(row.text for row in told.rests_on[:5]))
    assert [name for _, name in found] == [knowledge.finishes[f].name for f in order[:6]]
    wanted = [_weighs(done, examine, f, "uv-a") for f in order[:6]]
    assert [float(db) for db, _ in found] == pytest.approx(wanted, abs=0.06)


def test_where_a_test_stands_in_the_order(done: Examination, knowledge: Knowledge) -> None:
    """Next, first but stopped, later with what is before it, and not worth its minutes: each in its words."""
    first, second = (
        replace(w, safety="", saves=s, costs=3.0) for w, s in zip(done.worths[:2], (40.0, 9.0), strict=True)
    )

    def told(test: str, verdict: str, *worths: object) -> str:
        return why_test(replace(done, verdict=verdict, worths=list(worths)), test, None, knowledge).text  # type: ignore[arg-type]

    name, other = knowledge.test_name(first.test), knowledge.test_name(second.test)
    figures = "expected to save 40 minutes, its own 3 already taken off."
    assert told(first.test, "test-more", first, second) == f"{name} is the next test: {figures}"
    stopped = f"{name} would come first, but the verdict is to stop testing: {figures}"
    assert told(first.test, "go", first, second) == stopped
    assert told(second.test, "go", first, second).startswith(
        f"{other} is number 2 in the order, after {name} (40 minutes)"
    )
    safe = replace(first, safety="Invented.")
    assert (
        told(first.test, "go", safe, second)
        == f"{name} comes before all others, for safety and not for time. Invented."
    )
    assert "which comes first for safety" in told(second.test, "go", safe, second)
    idle = replace(second, saves=-2.0)
    assert told(second.test, "go", first, idle) == f"{other} is not asked: its 3 min are 2 more than it can save."
    assert "is not asked" in told(second.test, "go", first)
