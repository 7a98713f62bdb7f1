"""How long a test takes: what its screen says, its instructions, its answers and the countdown agree."""

from __future__ import annotations

import re

import pytest
from bench_helpers import Bench, pick

from oldcoat.engine import Examiner
from oldcoat.shell.bench.countdown import next_look

WORDS = {"half": 0.5, "one": 1, "a": 1, "two": 2, "three": 3, "five": 5, "eight": 8, "ten": 10, "twelve": 12}


def test_no_answer_comes_after_the_last_look(examiner: Examiner) -> None:
    """The most minutes that an answer names in words are waited, and the waiting is a part of the whole."""
    for name, test in examiner.knowledge.tests.items():
        for outcome in test.outcomes:
            named = re.findall(r"(half|one|two|three|five|eight|ten|twelve) (?:a )?minutes?", outcome.sees)
            assert max((WORDS[word] for word in named), default=0) <= test.wait_minutes, (name, outcome.id)
        assert test.wait_minutes < test.minutes, name


def test_the_drop_is_looked_at_as_its_instructions_say(working: Bench) -> None:
    """One, two, five and ten minutes from the drop, whenever `time` is typed; then a new drop begins anew."""
    now = [1000.0]
    working.dialogue.clock = lambda: now[0]
    pick(working, "alcohol-drop")
    assert "at most 12 min, of it 10 waiting" in working.asked
    assert "two, five and ten minutes" in working.asked
    counted = []
    for late in (0, 0, 20, 0):  # seconds from the bell to the next `time`
        now[0] += late
        told = working.say("time")
        counted.append(working.dialogue.timer)
        assert ("time, to the look at" in told) == (len(counted) < 4)
        now[0] += working.dialogue.timer * 60
    assert counted == pytest.approx([1, 1, 3 - 20 / 60, 5])
    working.say("time")
    assert working.dialogue.timer == pytest.approx(1)


def test_a_countdown_that_was_left_goes_on(working: Bench) -> None:
    """Enter after half a minute: the look does not come later for it; another test has a clock of its own."""
    now = [0.0]
    working.dialogue.clock = lambda: now[0]
    pick(working, "alcohol-drop")
    working.say("time")
    now[0] += 30
    working.say("time")
    assert working.dialogue.timer == pytest.approx(0.5)
    pick(working, "water-drop")
    assert working.say("time") == ""
    assert working.dialogue.timer == pytest.approx(12)
    assert "at most 1440" in working.say("time 99999")
    assert working.dialogue.timer == 0


def test_the_next_look() -> None:
    """The first that is still to come; none after the last."""
    assert [next_look([1, 2, 5], passed) for passed in (0, 0.5, 1, 4.9, 5, 9)] == [1, 1, 2, 5, None, None]
