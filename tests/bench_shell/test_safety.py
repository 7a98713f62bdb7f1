"""What the bench warns of on old paint, and tests that safety asks for though their kit is not there."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from bench_helpers import Bench

from oldcoat.engine import Examiner
from oldcoat.engine.deciding.nexttest import stage_name
from oldcoat.shell.bench.page import Caution
from oldcoat.shell.bench.view import parts

Make = Callable[[], Bench]
DOOR = ["painted door", "", "1920s", "", "", "pine", "1", "other", "all", "unknown"]  # an invented piece, one surface


def on_screen(bench: Bench, columns: int = 60, lines: int = 20) -> list[str]:
    """The cautions in sight on a screen of this size."""
    return [item.text for item in parts(bench.dialogue.question.page, columns, lines)[0] if isinstance(item, Caution)]


def test_every_test_that_touches_old_paint_shows_the_lead_caution(make: Make, examiner: Examiner) -> None:
    """Opaque film of the 1920s, no swab: in sight at 60 x 20 for each test that does more than look, and in `cautions`."""
    bench, book = make(), examiner.knowledge
    bench.say(*DOOR, "colour-cast", "opaque")
    lead = book.cautions["lead-until-tested"]
    for test in (t for t in book.tests if t != "colour-cast"):
        bench.say("tests", test)
        assert bench.dialogue.question.test == test
        shown = bool({lead.text, lead.short} & set(on_screen(bench)))
        assert shown or stage_name(test, book) == "looking", test
    bench.say("fingernail")
    assert lead.text in bench.say("cautions")


def test_a_negative_swab_ends_it_and_a_positive_one_says_so(make: Make, examiner: Examiner) -> None:
    """After no, a nail press warns of nothing; after yes, it says that lead is there, and not that it might be."""
    book = examiner.knowledge.cautions
    bench = make()
    bench.say(*DOOR, "colour-cast", "opaque", "lead-swab", "negative", "fingernail")
    assert on_screen(bench, 80, 50) == []
    bench.say("lead-swab", "positive", "fingernail")
    assert on_screen(bench, 80, 50) == [book["lead-is-there"].text]


def test_powder_on_the_finger_warns_at_once(make: Make, examiner: Examiner) -> None:
    """Right after that answer, though the next test only looks; a piece of 1990 is spared."""
    lead = examiner.knowledge.cautions["lead-until-tested"].text
    for made, warned in (("1920s", True), ("1990s", False)):
        bench = make()
        if "new" in [c.value for c in bench.dialogue.question.choices]:
            bench.say("new")
        bench.say("door", *DOOR[1:2], made, *DOOR[3:], "surface-feel", "dry-chalky", "colour-cast")
        assert (lead in on_screen(bench, 80, 50)) is warned


def test_the_kit_to_get_is_named_where_safety_asks_for_it(make: Make) -> None:
    """No lead kit at hand: the swab is asked all the same and says what to get; left out, the stop still names it."""
    bench = make()
    bench.say(*DOOR[:-2], "white-cloth, coin", *DOOR[-1:])
    bench.say("colour-cast", "opaque")
    assert bench.dialogue.question.test == "lead-swab"
    assert "First get: lead test kit" in bench.asked
    bench.say("skip", "skip")
    while bench.dialogue.question.test:
        bench.say("skip")
    assert "STOP" in bench.asked
    assert "Get lead test kit" in bench.asked
    assert any("lead" in text for text in on_screen(bench))


def test_nothing_is_to_be_got_where_nothing_is_missing(make: Make) -> None:
    """Everything at hand: the swab is asked first without a word of getting anything."""
    bench = make()
    bench.say(*DOOR, "colour-cast", "opaque")
    assert bench.dialogue.question.test == "lead-swab"
    assert "First get" not in bench.asked


def test_the_tool_to_get_is_named_where_a_test_is_picked(make: Make) -> None:
    """By name, by number or as a patch: what is not at hand is named; what is at hand is not."""
    bench = make()
    bench.say(*DOOR[:-2], "white-cloth, coin, loupe, gloves", *DOOR[-1:])
    for said, missing in (("acetone rub", "acetone, cotton swabs"), ("lead swab", "lead test kit")):
        bench.say(said)
        assert f"First get: {missing}" in bench.asked, bench.asked
    bench.say("coin scrape")
    assert "First get" not in bench.asked
    book = bench.desk.knowledge
    bench.say("stripper-patch/acetone")
    missing = [
        book.vocabulary.tools[t].name for t in book.removers["acetone"].tools if t not in ("white-cloth", "gloves")
    ]
    assert f"First get: {', '.join(missing)}." in bench.asked
    bench.say("tests")
    bench.say(str([c.value for c in bench.dialogue.question.choices].index("acetone-rub") + 1))
    assert bench.dialogue.question.test == "acetone-rub"
    assert "First get: acetone" in bench.asked


@pytest.mark.parametrize("made", ["1938", "unknown"])
@pytest.mark.parametrize("look", ["colour-cast", "colour-location"])
def test_a_film_that_hides_the_wood_warns_of_lead_at_once(make: Make, examiner: Examiner, made: str, look: str) -> None:
    """Whatever is asked next, in sight on the smallest screen; later on, before a test that only looks, in `cautions`."""
    bench, lead = make(), examiner.knowledge.cautions["lead-until-tested"]
    bench.say(DOOR[0], "", made, *DOOR[3:], look, "opaque", "application-marks")
    assert bench.dialogue.question.test == "application-marks"
    assert {lead.text, lead.short} & set(on_screen(bench))
    assert lead.text in bench.say("cautions")
    bench.say("1", "uv-a")
    assert lead.text in bench.say("cautions")


@pytest.mark.parametrize("made", ["1920s", "1950", "unknown"])
def test_what_the_swab_cannot_tell_is_said_once(make: Make, made: str) -> None:
    """After a no on a film that hides the wood, whichever paint it may be."""
    bench = make()
    bench.say(DOOR[0], "", made, *DOOR[3:], "colour-cast", "opaque", "lead-swab", "negative")
    assert bench.say("result").count("tells only of the coats that it wetted") == 1
    flags = bench.dialogue.reply("result all")[0].flags  # type: ignore[union-attr]
    assert len({flag.partition(": ")[0] for flag in flags}) == len(flags)
