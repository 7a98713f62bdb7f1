"""All that a piece file may say can be said at the bench, and does there what it does in a file."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_helpers import INTAKE, Bench

from oldcoat.engine import Examiner, assess, read_piece
from oldcoat.engine.piece.form import Confirmed, Known, Money, Piece, Removed, StainSeen, Surface, Tried
from oldcoat.shell.bench.fields import FACE, PIECE
from oldcoat.shell.bench.measure import celsius, hours, micrometres, minutes
from oldcoat.shell.bench.page import Choices, Misread
from oldcoat.shell.bench.view import lines_of, parts

SAID = (
    ("about", "build", "veneer"),
    ("about", "on or in it", "3 decal"),
    ("about", "coats counted", "4"),
    ("about", "film measured", "3 mil"),
    ("about", "film below", "shellac"),
    ("about", "keep film below", "yes"),
    ("about", "repairs", "veneer-loose"),
    ("about", "what to do", "keep"),
    ("about", "next coat", "wax"),
    ("about", "new colour", "toner"),
    ("about", "fill pores", "yes"),
    ("about", "hidden face", "yes"),
    ("about", "kept from light", "2"),
    ("about", "finish known", "polyester", "makers-record"),
    ("about", "veneer", "0.7"),
    ("about", "area", "1.5 m2"),
    ("piece", "warmth", "50 F"),
    ("piece", "damp", "65"),
    ("piece", "what counts", "gentle"),
    ("piece", "next coat", "oil"),
    ("piece", "wax on top", "yes"),
    ("piece", "money", "400 25 60"),
    ("piece", "style", "art-deco"),
)
NOT_AT_THE_BENCH = {
    "surface": {"name", "tests", "stains", "note", "confirmed", "removed"},  # words of their own
    "piece": {"surfaces", "note", "parts", "case"},  # a parts list and a case's origin are written in a file
}


def test_everything_that_changes_the_advice_can_be_told(working: Bench) -> None:
    """Each line of `about` and `piece`, by its name: the piece is then what a file would say."""
    for lines in SAID:
        working.say(*lines)
    here, piece = working.state.here, working.state.piece
    assert here == Surface(
        name="top",
        wood="oak",
        build="veneer",
        features=["bone-or-shell", "decal"],
        film_coats=4,
        film_um=76.2,
        under="shellac",
        keep_under=True,
        repairs=["veneer-loose"],
        plan="keep",
        next_coat="wax",
        colour="toner",
        fill_pores=True,
        hidden=True,
        shaded=True,
        known=Known(finish="polyester", how="makers-record"),
        veneer_mm=0.7,
        area_m2=1.5,
    )
    assert (piece.room.temperature_c, piece.room.humidity, piece.prefer) == (10.0, 65.0, "gentle")
    assert (piece.next_coat, piece.wax_last, piece.style) == ("oil", True, "art-deco")
    assert piece.money == Money(sells=400, rate_hour=25, bought=60)


def test_no_field_of_a_piece_file_is_out_of_reach() -> None:
    """A field that is added to the form must be sayable here, or be named as one that is not."""
    assert set(Surface.__struct_fields__) - set(FACE) == NOT_AT_THE_BENCH["surface"]
    assert set(Piece.__struct_fields__) - set(PIECE) == NOT_AT_THE_BENCH["piece"]


def test_what_no_file_may_say_is_refused(working: Bench) -> None:
    """Solid wood has no veneer thickness: told at once, and kept out of the log."""
    assert working.desk.session is not None
    before = working.desk.session.path.read_bytes()
    assert "solid wood has no veneer thickness" in working.say("about", "veneer", "0.7")
    assert "at most 6 mm" in working.say("back", "about", "build", "veneer", "veneer", "60")
    assert working.state.here.veneer_mm is None
    assert working.desk.session.path.read_bytes().startswith(before)


@pytest.mark.parametrize(
    ("units", "field", "typed", "shown"),
    [  # 1 sq ft is 0.09290304 m2, 1 in is 25.4 mm, 1 mil is 25.4 um, all exactly (yard and pound agreement, 1959)
        ("us", "area_m2", "12", "12 sq ft"),
        ("us", "area_m2", "1 m2", "10.76 sq ft"),
        ("us", "veneer_mm", "1/32", "1/32 in"),
        ("us", "veneer_mm", "0.6 mm", "0.02362 in"),
        ("us", "film_um", "3", "3 mil"),
        ("metric", "area_m2", "12 sq ft", "1.115 m2"),
        ("metric", "veneer_mm", "0.6", "0.6 mm"),
        ("metric", "film_um", "80", "80 um"),
    ],
)
def test_a_size_is_told_with_its_unit_as_it_is_typed(
    working: Bench, units: str, field: str, typed: str, shown: str
) -> None:
    """In the list of `about` and behind Enter; what Enter keeps is not changed by that."""
    working.say(f"units {units}", "about", "build", "veneer", field, typed)
    label = FACE[field].label
    assert f"{label}: {shown}" in working.asked
    kept = getattr(working.state.here, field)
    working.say(field)
    assert f"as told, {shown}." in working.asked
    working.say("")
    assert getattr(working.state.here, field) == kept


@pytest.mark.parametrize(
    ("units", "field", "typed", "limit"),
    [
        ("us", "veneer_mm", "50", "at most 0.2362 in"),  # 6 mm
        ("metric", "veneer_mm", "50", "at most 6 mm"),
        ("us", "area_m2", "0", "at most 10,760 sq ft"),  # 1000 m2
        ("us", "film_um", "900", "at most 787.4 mil"),  # 20 mm
        ("metric", "film_coats", "51", "at most 50."),
        ("metric", "film_um", "0", "at most 20,000 um"),
    ],
)
def test_what_is_out_of_range_names_the_range(working: Bench, units: str, field: str, typed: str, limit: str) -> None:
    """In the units that are typed."""
    told = working.say(f"units {units}", "about", "build", "veneer", field, typed)
    assert "More than 0" in told
    assert limit in told


def test_features_forbid_removers_at_once(working: Bench) -> None:
    """Shell inlay told at the bench rules out removers that were open before."""
    before = {p.remover for p in working.desk.examined().predictions if p.vetoes}
    working.say("about", "on or in it", "bone-or-shell")
    assert {p.remover for p in working.desk.examined().predictions if p.vetoes} > before


def test_several_are_added_and_taken_out(working: Bench) -> None:
    """Numbers set the list, `not` takes out, Enter leaves it, none empties it; the list of lines comes back each time."""
    working.say("about", "5", "1 4")
    assert working.state.here.features == ["inlay", "gilding"]
    working.say("5", "not 1")
    assert working.state.here.features == ["gilding"]
    working.say("5", "")
    assert working.state.here.features == ["gilding"]
    working.say("5", "none")
    assert working.state.here.features == []
    assert working.dialogue.question.label == "about"
    assert "no 'x'" in working.say("5", "x")


def test_about_another_surface_goes_there(working: Bench) -> None:
    """about and a name opens the list of that surface."""
    working.say("about legs", "wood", "pine")
    assert [s.wood for s in working.state.piece.surfaces] == ["oak", "pine"]
    assert "no surface" in working.say("about nonsense")


def test_stains_carry_what_was_tried_on_them(working: Bench, examiner: Examiner) -> None:
    """A treatment that failed is counted, and the plan goes on with the next one."""
    working.say("stain", "black-ring", "")
    first = assess(working.state.piece, examiner.knowledge, examiner=examiner).surfaces[0].stains[0]
    assert first.next is not None
    tries = [first.next] * first.repeats_left
    working.say("stain", "black-ring", *tries, "")
    assert working.state.here.stains == [StainSeen(kind="black-ring", tried={first.next: len(tries)})]
    now = assess(working.state.piece, examiner.knowledge, examiner=examiner).surfaces[0].stains[0]
    assert now.next != first.next


def test_a_try_tells_what_it_changed_in_belief_and_route(working: Bench) -> None:
    """Remover, result, minutes: the next screen names what rose, what fell, and the way off now."""
    working.say("tried", "denatured-alcohol", "no-effect", "30")
    change = working.desk.examined().changes[-1]
    assert change.remover == "denatured-alcohol"
    assert change.text in working.asked
    assert "after 30 min: no effect" in working.asked
    assert "less likely" in working.asked
    assert "The way off" in working.asked


def test_a_patch_tells_what_it_changed_too(working: Bench) -> None:
    """A trial patch is a try, whichever way it was told."""
    working.say("stripper-patch/acetone", "4")
    assert working.desk.examined().changes[-1].text in working.asked


def test_a_try_cut_short_weighs_less(make: object, working: Bench) -> None:
    """Two minutes of a remover that needs twenty says less than the whole time."""
    working.say("tried", "denatured-alcohol", "no-effect", "1 min")
    short = working.desk.examined().posterior.finishes["shellac"]
    working.say("tried", "denatured-alcohol", "no-effect", "")
    assert working.desk.examined().posterior.finishes["shellac"] < short


@pytest.mark.parametrize(
    ("read", "value"),
    [
        (micrometres("80", "metric"), 80.0),
        (micrometres("3", "us"), 76.2),  # a mil is a thousandth of an inch, 25.4 um, by definition
        (minutes("1.5 h"), 90.0),
        (minutes("20"), 20.0),
        (hours("30 min"), 0.5),
        (celsius("-4 F", "metric"), -20.0),
        (celsius("68", "us"), 20.0),
        (celsius("18", "metric"), 18.0),
    ],
)
def test_sizes_times_and_warmth_are_read(read: float, value: float) -> None:
    """Bare numbers in the user's units, others in their own."""
    assert read == pytest.approx(value)


@pytest.mark.parametrize("line", ["warm", "20 K", "", "1e9"])
def test_nonsense_of_warmth_is_refused(line: str) -> None:
    """What is no temperature is not taken for one."""
    with pytest.raises(Misread):
        celsius(line, "metric")


def test_common_names_are_understood_and_several_are_asked_back(working: Bench) -> None:
    """What people call things: one meaning answers, several are named, none gets the nearest."""
    asked = working.asked
    for name, several in (
        ("polyurethane", "oil-modified-polyurethane"),
        ("lye", "caustic-soda"),
        ("stripper", "nmp-gel"),
    ):
        working.say(f"why not {name}")
        assert several in [choice.value for choice in working.dialogue.question.choices]
        assert working.say("1")
        assert working.say("") == ""
        assert working.asked == asked
    assert "shellac" in working.say("whynot French polish")
    assert "denatured alcohol on top" in working.say("whynot meths")
    assert "finish or a remover" in working.say("whynot")
    assert "denatured-alcohol" in working.say("find methylated spirits")
    working.say("find bleach")
    assert len(working.dialogue.question.choices) == 3


def test_what_if_in_two_words(working: Bench) -> None:
    """what if 1 is whatif 1."""
    working.say("alcohol-drop")
    assert working.say("what if 1") == working.say("whatif 1")
    assert "Nothing was answered" in working.say("what if 1")


def test_a_skipped_test_is_no_answer(working: Bench) -> None:
    """It counts nowhere: not on the screen, not in the list of surfaces, not among the pieces that are kept."""
    working.say("alcohol-drop", "skip", "uv-a", "1", "fingernail", "cannot")
    assert "1 answer)" in working.asked
    working.say("surface")
    assert "oak wood, 1 answer, here" in working.asked
    assert working.state.answers == 1


def test_reading_a_page_and_enter_answers_nothing(bench: Bench) -> None:
    """Enter after why at intake brings the question back; it does not take the answer that Enter would give."""
    bench.say("hall table")
    asked = bench.asked
    bench.say("why", "")
    assert bench.asked == asked
    assert "kind" not in bench.state.asked
    bench.say("")
    assert bench.asked != asked


def test_result_is_short_and_says_the_main_thing_first(working: Bench) -> None:
    """The first line has the finish and the way off; all and piece give more."""
    working.say("alcohol-drop", "1", "uv-a", "1", "lacquer-thinner-drop", "2")
    first = working.say("result").splitlines()[0]
    assert "shellac" in first
    assert "Off with denatured alcohol" in first
    assert "result all" in working.say("result")
    assert len(working.dialogue.reply("result all")) == 1
    assert len(working.dialogue.reply("result piece")) == 1


def ended(bench: Bench) -> None:
    """An oak table whose top was shellac and came off with alcohol, and whose legs were left."""
    bench.say("alcohol-drop", "1", "done", "shellac", "removal", "denatured-alcohol", "works", "2 3.5", "", "", "")


def test_the_end_of_a_piece_goes_into_the_casebook(working: Bench) -> None:
    """What was really there, how it is known, what was used and how it went; then one case with all of it."""
    ended(working)
    assert working.dialogue.question.label == "casebook"
    assert "Kept in the casebook as hall-table-" in working.say("")
    book = working.desk.casebook()
    case = book.get(book.ids()[0])
    assert case.piece == working.state.piece
    top, legs = case.piece.surfaces
    assert top.confirmed == Confirmed(finish="shellac", how="removal")
    assert top.removed == [Removed(remover="denatured-alcohol", result="works", coats=2, hours=3.5)]
    assert (legs.confirmed, legs.removed) == (None, [])
    assert working.state.case == case.id


def test_told_again_amends_the_same_case(working: Bench) -> None:
    """A second done corrects the case that is there, also after something was taken back, and never adds a twin."""
    ended(working)
    working.say("", "back", "done", "", "", "again", "shellac", "removal")
    assert working.dialogue.question.label == "used"
    working.say("denatured-alcohol", "softens", "", "", "", "", "keep")
    book = working.desk.casebook()
    assert len(book.ids()) == 1
    case = book.get(book.ids()[0])
    assert case.piece.surfaces[0].removed[0].result == "softens"
    assert len(case.history) == 2


def test_the_end_can_be_left_and_taken_up(working: Bench) -> None:
    """Every answer stands at once: done goes on where it was left, and no keeps nothing in the casebook."""
    working.say("done", "shellac", "opinion")
    working.dialogue.cancel()
    working.say("done")
    assert working.dialogue.question.label == "used"
    working.say("another", "acetone", "softens", "", "", "", "", "none")
    assert working.state.piece.surfaces[0].removed == [Removed(remover="acetone", result="softens")]
    assert working.desk.casebook().ids() == []


def test_done_is_offered_when_nothing_is_open(bench: Bench) -> None:
    """At the stop of the last surface the casebook is one of the choices."""
    bench.say(*INTAKE[:4], "top", *INTAKE[5:])
    bench.say("alcohol-drop", "1", "uv-a", "1", "lacquer-thinner-drop", "2")
    for _ in range(12):
        if bench.dialogue.question.test is None:
            break
        bench.say("skip")
    assert "done" in [choice.value for choice in bench.dialogue.question.choices]


def test_the_truth_is_no_evidence_for_itself(working: Bench) -> None:
    """What was confirmed afterwards moves nothing in the ranking of the same piece."""
    working.say("alcohol-drop", "1")
    before = working.desk.examined().posterior.finishes
    working.say("done", "another", "polyester", "laboratory")
    working.dialogue.cancel()
    assert working.state.piece.surfaces[0].confirmed is not None
    assert working.desk.examined().posterior.finishes == before


def test_what_was_told_is_exported_and_read_back(working: Bench, examiner: Examiner, tmp_path: Path) -> None:
    """A file with all of it is the same piece, and is assessed the same."""
    for lines in SAID:
        working.say(*lines)
    ended(working)
    working.say("tried", "acetone", "softens", "2 h", f"save {tmp_path}/t.yaml")
    assert Tried(remover="acetone", result="softens", minutes=120) in working.state.here.tried
    assert read_piece(tmp_path / "t.yaml", examiner.knowledge) == working.state.piece


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
def test_every_menu_stands_whole_or_in_parts(working: Bench, width: int, height: int) -> None:
    """No list runs off a small screen: each part has the question on it, and all parts together have every number."""
    menus = [(word,) for word in ("tests", "list", "piece", "about", "have", "tried", "stain", "surface", "done")]
    asked = [(word, name) for word, names in (("about", FACE), ("piece", PIECE)) for name in names]
    for lines in [*menus, *asked, ("done", "another"), ("tried", "acetone"), ("stain", "mould")]:
        working.dialogue.cancel()
        working.say(*lines)
        question = working.dialogue.question
        found: list[str] = []
        for part in parts(question.page, width, height):
            assert lines_of(part, width) <= height - 2, lines
            assert part[0] == question.page[0]
            found += [choice.value for item in part if isinstance(item, Choices) for choice in item.rows]
        assert found == [choice.value for choice in question.choices], lines


def test_back_asks_the_same_test_again(working: Bench) -> None:
    """After `back` the next number is meant for the test that was taken back, and `back` again goes on back."""
    first = working.dialogue.question.test
    other = next(t for t in ("alcohol-drop", "lacquer-thinner-drop") if t != first)
    working.say("1")
    before = dict(working.state.piece.surfaces[0].tests)
    working.say(other, "2", "back")
    assert working.dialogue.question.test == other
    assert working.state.piece.surfaces[0].tests == before
    working.say("back")
    assert working.state.piece.surfaces[0].tests == {}
    assert working.dialogue.question.test == first


def test_a_letter_by_mischance_is_no_answer(working: Bench) -> None:
    """A key hit by a glove answers nothing; three letters that fit one choice do."""
    for key in "jkxyz":
        assert "Not understood" in working.say(key)
    assert working.state.piece.surfaces[0].tests == {}
