"""Treatments at the bench: where one is named, its cautions stand beside it, as `assess` tells them."""

from __future__ import annotations

from io import StringIO

import pytest
from bench_helpers import Bench, text_of

from oldcoat.engine import assess
from oldcoat.shell.bench.view import draw
from oldcoat.shell.tell.figures import first_sentence
from oldcoat.shell.tell.screen import Screen


def drawn(bench: Bench, line: str) -> str:
    """What a line shows, as one line of text."""
    screen = Screen(plain=True)
    screen.console.file = StringIO()
    draw(bench.dialogue.reply(line), screen, bench.desk.knowledge)
    return " ".join(screen.console.file.getvalue().split())


@pytest.mark.parametrize("kind", ["black-ring", "mould", "dye-or-ink", "rust", "grease", "light"])
def test_each_treatment_that_comes_next_warns_wherever_it_is_told(working: Bench, kind: str) -> None:
    """In `result` in each of its forms, in `cautions`, and where it is asked what was tried on the stain."""
    working.say("about", "plan", "strip", "")
    working.say("stain", kind)
    book = working.desk.knowledge
    ladder = {step.treatment for step in book.stains[kind].ladder}
    asked = working.asked
    report = assess(working.state.piece, book, examiner=working.desk.book.get()).surfaces[0]
    ahead = [rung for rung in report.stains[0].ladder if rung.state == "next"]
    here = {line.partition(": ")[0] for line in report.cautions}
    warned = [book.cautions[name] for rung in ahead for name in rung.cautions if name in here]
    assert warned
    for caution in warned:
        assert caution.text in asked, ladder
    working.say("")
    short, piece = working.say("result"), drawn(working, "result piece")
    for caution in warned:
        assert (caution.short or first_sentence(caution.text)) in short
        assert not caution.grave or first_sentence(caution.short or caution.text).rstrip(".") in piece
    for told in (working.say("cautions"), drawn(working, "result all")):
        for caution in warned:
            assert caution.text in told


def test_the_coat_that_was_chosen_warns_beside_its_name(working: Bench) -> None:
    """Oil: rags that light themselves, in the short result and in the full one."""
    working.say("about", "next_coat", "oil", "")
    rags = working.desk.knowledge.cautions["self-heating-rags"]
    short = text_of(working.dialogue.reply("result"))
    assert (rags.short or rags.text) in short
    assert rags.text in drawn(working, "result all")
