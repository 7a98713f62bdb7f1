"""Learning: weighted by how the truth is known, shrunk to the book, traceable, never certain."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import REMOVED, case

from oldcoat.engine import Examiner
from oldcoat.engine.belief.prior import prior, shares_under
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.learn import Teacher, counts_of, setting_of
from oldcoat.engine.casebook.trace import against_book, contradictions, trace_demand, trace_row
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Answer, How, Removed

PATCH = "stripper-patch/denatured-alcohol"


def learnt(knowledge: Knowledge, *cases: object) -> tuple[Tables, list[object]]:
    """Tables with what these cases teach, and the lessons."""
    teacher = Teacher(Tables(knowledge))
    lessons = [lesson for one in cases for lesson in teacher.lessons(one)]  # type: ignore[arg-type]
    return Tables(knowledge, counts_of(lessons)), lessons  # type: ignore[return-value]


def test_book_weight_cases_weigh_as_much_as_the_book(knowledge: Knowledge) -> None:
    """With `book_weight` laboratory cases all showing one outcome, it lands about halfway from the book to one."""
    many = [
        case(f"invented-{n}", tests={"film-build": "thick-filled"}) for n in range(round(knowledge.belief.book_weight))
    ]
    tables, _ = learnt(knowledge, *many)
    book, now = tables.book_row("film-build", "shellac"), tables.base_row("film-build", "shellac")
    assert book
    assert now
    halfway = (book["thick-filled"] + 1) / 2
    assert book["thick-filled"] < now["thick-filled"] <= halfway + 1e-9


def test_better_known_truths_teach_more(knowledge: Knowledge) -> None:
    """Laboratory before maker's record before removal before opinion, for the same answers."""
    moved = []
    hows: tuple[How, ...] = ("laboratory", "makers-record", "removal", "opinion")
    for how in hows:
        tables, _ = learnt(knowledge, *[case(f"invented-{n}", how=how) for n in range(5)])
        row = tables.base_row("alcohol-drop", "shellac")
        assert row
        moved.append(row["dissolves-fast"])
    assert moved == sorted(moved, reverse=True)
    assert len(set(moved)) == 4


def test_an_unsure_answer_teaches_less(knowledge: Knowledge) -> None:
    """An answer that was not sure moves its row less than one that was."""
    sure, _ = learnt(knowledge, case("a"))
    doubt, _ = learnt(knowledge, case("a", tests={"alcohol-drop": Answer(outcome="dissolves-fast", sure=False)}))
    assert (
        0
        < sum(doubt.counts.seen["shellac"]["alcohol-drop"].values())
        < sum(sure.counts.seen["shellac"]["alcohol-drop"].values())
    )


def test_removals_teach_the_remover(knowledge: Knowledge) -> None:
    """A removal that worked raises the chance that it works; one that did nothing lowers it; the last result of a remover counts."""
    start = Tables(knowledge).base_row(PATCH, "shellac")
    assert start
    works, _ = learnt(knowledge, *[case(f"a-{n}", removed=[REMOVED]) for n in range(3)])
    nothing = Removed(remover="denatured-alcohol", result="no-effect")
    fails, _ = learnt(knowledge, *[case(f"a-{n}", removed=[nothing]) for n in range(3)])
    both, _ = learnt(knowledge, *[case(f"a-{n}", removed=[nothing, REMOVED]) for n in range(3)])
    chances = [row["dissolves"] + row["lifts"] for row in (t.base_row(PATCH, "shellac") for t in (works, fails)) if row]
    assert chances[0] > start["dissolves"] + start["lifts"] > chances[1]
    assert both.base_row(PATCH, "shellac") == works.base_row(PATCH, "shellac")


def test_withdrawn_and_unconfirmed_cases_teach_nothing(knowledge: Knowledge) -> None:
    """They are kept, and change no number."""
    tables, lessons = learnt(knowledge, case("a", None), msgspec.structs.replace(case("b"), withdrawn=True))
    assert lessons == []
    assert tables.base_row("alcohol-drop", "shellac") == Tables(knowledge).base_row("alcohol-drop", "shellac")


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 3000), st.sampled_from(["shellac", "epoxy", "bare-wood"]))
def test_nothing_becomes_certain(knowledge: Knowledge, number: int, finish: str) -> None:
    """However many cases agree, no chance of an outcome or of a finish reaches 0 or 1."""
    _, one = learnt(knowledge, case("invented", finish))
    counts = counts_of(one * number)  # type: ignore[operator]
    tables = Tables(knowledge, counts)
    row = tables.base_row("alcohol-drop", finish)
    assert row
    assert all(0 < p < 1 for p in row.values())
    assert sum(row.values()) == pytest.approx(1)
    start = prior(setting_of(case("x").piece, case("x").piece.surfaces[0]), knowledge, shares_under(knowledge, counts))
    assert all(0 < sum(origins) < 1 for origins in start.joint.values())


def test_priors_learn_what_comes_to_this_workshop(knowledge: Knowledge) -> None:
    """Twenty pieces of one setting that all carried one finish make it more probable there, and a little elsewhere."""
    one = case("x")
    here = setting_of(one.piece, one.piece.surfaces[0])
    elsewhere = msgspec.structs.replace(here, years=(1990, 2000), region="britain")
    tables, lessons = learnt(knowledge, *[case(f"a-{n}", "spirit-varnish") for n in range(20)])
    gains = [
        sum(prior(s, knowledge, shares_under(knowledge, tables.counts)).joint["spirit-varnish"])
        / sum(prior(s, knowledge).joint["spirit-varnish"])
        for s in (here, elsewhere)
    ]
    assert gains[0] > gains[1] > 1
    told = trace_demand("spirit-varnish", tables, lessons)  # type: ignore[arg-type]
    assert told
    assert len(told.cases) == 20


def test_every_changed_row_names_its_cases(knowledge: Knowledge) -> None:
    """The sentence counts the cases for the outcome, the list holds each of them, and the weights add up to the counts."""
    many = [case(f"a-{n}") for n in range(4)] + [case("odd", tests={"alcohol-drop": "no-effect"})]
    tables, lessons = learnt(knowledge, *many)
    told = trace_row("shellac", "alcohol-drop", tables, lessons)  # type: ignore[arg-type]
    assert told
    assert "the book says usually" in told.text or "the book says almost always" in told.text
    assert "4 of your 5 cases say" in told.text
    assert {seen.case for seen in told.cases} == {"a-0", "a-1", "a-2", "a-3", "odd"}
    assert told.weight == pytest.approx(sum(seen.weight for seen in told.cases))
    assert trace_row("wax", "alcohol-drop", tables, lessons) is None  # type: ignore[arg-type]


def test_contradictions_need_evidence(knowledge: Knowledge) -> None:
    """Twenty cases against the book are named, two are not, and twenty that agree with it are not."""
    against = [case(f"a-{n}", tests={"film-build": "thick-filled"}) for n in range(20)]
    rows = contradictions(*learnt(knowledge, *against))  # type: ignore[arg-type]
    assert [row.about for row in rows] == ["film-build"]
    assert contradictions(*learnt(knowledge, *against[:1])) == []  # type: ignore[arg-type]


def test_weight_of_evidence_against_a_fair_coin() -> None:
    """Ten heads against a fair coin with a flat alternative: 2^10 / 11, so 19.7 dB (beta integral 1/11, worked by hand)."""
    assert against_book({"h": 0.5, "t": 0.5}, {"h": 10.0}, 2.0) == pytest.approx(19.69, abs=0.01)


def test_ranges_narrow_with_cases(knowledge: Knowledge) -> None:
    """What a step of judgement in the bands would change shrinks as cases take the place of judgement."""
    asked = case("x", None)
    surface = asked.piece.surfaces[0]
    _, lessons = learnt(
        knowledge,
        *[case(f"a-{n}", finish) for n, finish in enumerate(["shellac", "waterborne", "nitrocellulose-lacquer"])],
    )
    book = Tables(knowledge)
    widths = []
    for many in (1, 300):
        counts = counts_of(lessons * many)  # type: ignore[operator]
        rows = [Tables(knowledge, counts, power).base_row("alcohol-drop", "waterborne") for power in (0.65, 1.35)]
        assert rows[0]
        assert rows[1]
        widths.append(max(abs(rows[0][o] - rows[1][o]) for o in rows[0]))
    assert widths[1] < 0.2 * widths[0]
    low, high = Examiner(knowledge, counts_of(lessons * 300)).examine(asked.piece, surface).ranges["shellac"]  # type: ignore[operator]
    wide_low, wide_high = Examiner(knowledge).examine(asked.piece, surface).ranges["shellac"]
    assert high - low < wide_high - wide_low
    assert book.counts.cases == {}
