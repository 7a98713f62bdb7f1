"""Which test is proposed, and what is said of it beside the others."""

from __future__ import annotations

import re

import pytest
from bench_helpers import Bench

from oldcoat.engine.deciding.nexttest import Worth
from oldcoat.shell.bench.desk import Desk


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (Worth("colour-cast", 3.0, 2.0, {}), Worth("coin-edge", 4.0, 1.0, {}), "looking before cutting"),
        (Worth("colour-cast", 3.0, 2.0, {}), Worth("acetone-rub", 3.4, 4.0, {}), ""),
        (Worth("colour-cast", 3.0, 2.0, {}), Worth("acetone-rub", 2.0, 4.0, {}), ""),
        (Worth("lead-swab", 3.0, 2.0, {}, safety="invented"), Worth("coin-edge", 9.0, 1.0, {}), ""),
    ],
)
def test_a_test_that_saves_less_says_why_it_goes_first(
    working: Bench, monkeypatch: pytest.MonkeyPatch, first: Worth, second: Worth, said: str
) -> None:
    """Where another saves notably more, both kinds are named, on the screen and under why; else nothing of it is said."""
    monkeypatch.setattr(Desk, "tests", lambda _: [first, second])
    working.dialogue.fresh()
    assert working.dialogue.question.test == first.test
    assert (f"(gentler first: {said})" if said else "") in working.asked
    assert ("gentler first" in working.asked) == bool(said)
    assert ("gentler first" in working.say("why")) == bool(said)


def test_of_the_other_tests_the_one_that_saves_most_stands_first(working: Bench) -> None:
    """Line by line: the figures fall."""
    working.say("alcohol drop")
    figures = [int(n) for n in re.findall(r"\(saves (\d+)\)", working.asked)]
    assert len(figures) >= 2
    assert figures == sorted(figures, reverse=True)
