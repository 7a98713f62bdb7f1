"""Learning: weighted by how the truth is known, shrunk to the book, traceable, never certain."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import REMOVED, case

from oldcoat.engine import Examiner
from oldcoat.engine.belief.counts import Counts
from oldcoat.engine.belief.prior import Setting, prior, shares_under
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.learn import Teacher, counts_of, setting_of
from oldcoat.engine.casebook.trace import (
    against_book,
    contradictions,
    doubted,
    trace_demand,
    trace_effort,
    trace_origins,
    trace_row,
)
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Answer, How, Removed
from oldcoat.engine.removal.clock import Clock
from oldcoat.engine.removal.film import Told

PATCH = "stripper-patch/denatured-alcohol"


def learnt(knowledge: Knowledge, *cases: object) -> tuple[Tables, list[object]]:
    """Tables with what these cases teach, and the lessons."""
    teacher = Teacher(Tables(knowledge))
    lessons = [lesson for one in cases for lesson in teacher.lessons(one)]  # type: ignore[arg-type]
    return Tables(knowledge, counts_of(lessons)), lessons  # type: ignore[return-value]


def test_how_many_cases_weigh_as_much_as_the_book(knowledge: Knowledge) -> None:
    """Against one line a third of `book_weight` laboratory cases take it halfway to what they say at most, `book_weight` of them farther."""
    now = []
    for many in (knowledge.belief.book_weight / 3, knowledge.belief.book_weight):
        cases = [case(f"invented-{n}", tests={"film-build": "thick-filled"}) for n in range(round(many))]
        tables, _ = learnt(knowledge, *cases)
        row = tables.base_row("film-build", "shellac")
        assert row
        now.append(row["thick-filled"])
    book = Tables(knowledge).book_row("film-build", "shellac")
    assert book
    halfway = (book["thick-filled"] + 1) / 2
    assert book["thick-filled"] < now[0] <= halfway < now[1] < 1


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


def test_a_removal_without_result_teaches_nothing_of_the_remover(knowledge: Knowledge) -> None:
    """That it was used is kept with the case; what it does is learnt from results alone."""
    without, _ = learnt(knowledge, case("a"))
    used, _ = learnt(knowledge, case("a", removed=[Removed(remover="acetone", coats=2, hours=3.5)]))
    assert without.counts.seen == used.counts.seen
    assert without.counts == used.counts


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
    """Twenty pieces of one setting that all carried one finish make it probable there, and more probable elsewhere."""
    one = case("x")
    here = setting_of(one.piece, one.piece.surfaces[0])
    elsewhere = msgspec.structs.replace(here, years=(1990, 2000), region="britain")
    tables, lessons = learnt(knowledge, *[case(f"a-{n}", "spirit-varnish") for n in range(20)])
    shares = shares_under(knowledge, tables.counts)
    before, after = (
        [sum(prior(s, knowledge, learnt_shares).joint["spirit-varnish"]) for s in (here, elsewhere)]
        for learnt_shares in (None, shares)
    )
    assert after[0] > after[1] > before[1]
    assert after[0] > 0.3 > before[0]
    told = trace_demand("spirit-varnish", tables, lessons)  # type: ignore[arg-type]
    assert told
    assert len(told.cases) == 20


def test_a_finish_that_comes_oftener_leaves_the_others_in_proportion(knowledge: Knowledge) -> None:
    """P(it comes here | finish) is laid on every setting alike: odds of two other finishes stay as the book has them."""
    counts = Counts(found={"shellac": 30.0}, expected={"shellac": 3.0, "wax": 13.5, "epoxy": 13.5})
    shares = shares_under(knowledge, counts)
    setting = Setting(years=(1900, 1920), region="britain")
    now, book = prior(setting, knowledge, shares).joint, prior(setting, knowledge).joint
    assert sum(now["shellac"]) > sum(book["shellac"])
    odds = [sum(j["wax"]) / sum(j["epoxy"]) for j in (now, book)]
    assert odds[0] == pytest.approx(odds[1])


def test_the_share_of_later_films_is_learnt(knowledge: Knowledge) -> None:
    """Tests that show an owner's later film again and again raise its chance elsewhere; such as show the maker's lower it; a word says why."""
    signs = {t.origin: t.gives for t in knowledge.tests["refinish-signs"].origin_bands}
    later = max(signs["refinished"], key=lambda o: knowledge.belief.bands[signs["refinished"][o]])
    first = max(signs["original"], key=lambda o: knowledge.belief.bands[signs["original"][o]])
    book, chances = None, []
    for outcome in (first, later):
        tables, lessons = learnt(knowledge, *[case(f"a-{n}", tests={"refinish-signs": outcome}) for n in range(40)])
        one = case("x").piece
        setting = setting_of(one, one.surfaces[0])
        book = prior(setting, knowledge).joint["shellac"]
        now = prior(setting, knowledge, shares_under(knowledge, tables.counts)).joint["shellac"]
        chances.append(sum(now[1:]) / sum(now))
        told = trace_origins(tables, lessons)  # type: ignore[arg-type]
        assert told
        assert len(told.cases) == 40
    assert book
    assert chances[0] < sum(book[1:]) / sum(book) < chances[1] < 1


def test_hours_and_coats_are_learnt(knowledge: Knowledge) -> None:
    """Removals that took three times the book's hours raise the hours predicted, for that remover most; the coats follow theirs; a word says why."""
    book = Clock(Tables(knowledge)).times("denatured-alcohol", Told(None, None), 20.0)["shellac"]
    usual_hours = (book.hours_m2[0] * book.hours_m2[1]) ** 0.5
    usual_coats = (book.coats[0] * book.coats[1]) ** 0.5
    slow = Removed(remover="denatured-alcohol", result="works", hours=3 * usual_hours * 0.5, coats=2 * usual_coats)
    tables, lessons = learnt(knowledge, *[case(f"a-{n}", area_m2=0.5, removed=[slow]) for n in range(12)])
    now = Clock(tables).times("denatured-alcohol", Told(None, None), 20.0)["shellac"]
    assert 1.5 < now.hours_m2[1] / book.hours_m2[1] < 3
    assert 1.2 < now.coats[1] / book.coats[1] < 2
    other = [
        Clock(t).times("acetone", Told(None, None), 20.0)["shellac"].hours_m2[1] for t in (Tables(knowledge), tables)
    ]
    assert 1 < other[1] / other[0] < now.hours_m2[1] / book.hours_m2[1]
    told = trace_effort("denatured-alcohol", tables, lessons)  # type: ignore[arg-type]
    assert told
    assert "12 of your removals" in told.text
    assert trace_effort("acetone", tables, lessons) is None  # type: ignore[arg-type]


def test_unfinished_removals_and_unknown_areas_tell_no_hours(knowledge: Knowledge) -> None:
    """A removal that only softened, and hours on a face of no known area, change nothing; coats need no area."""
    softened = Removed(remover="denatured-alcohol", result="softens", hours=9, coats=9)
    tables, _ = learnt(knowledge, case("a", area_m2=0.5, removed=[softened]), case("b", removed=[REMOVED]))
    assert set(tables.counts.effort["denatured-alcohol"]) == {"coats"}


def test_a_label_that_its_answers_deny_counts_less(knowledge: Knowledge) -> None:
    """Shellac's answers under the name of epoxy count a fifth at least and less than half, and are remarked on; the right name counts in full."""
    tests = {"alcohol-drop": "dissolves-fast", "lacquer-thinner-drop": "dissolves-fast", "film-build": "thin-open-pore"}
    _, lessons = learnt(knowledge, case("wrong", "epoxy", tests=tests), case("right", "shellac", tests=tests))
    wrong, right = lessons
    assert 0.2 - 1e-6 <= wrong.weight < 0.5  # type: ignore[attr-defined]
    assert right.weight > 0.95  # type: ignore[attr-defined]
    assert [text.split(",")[0] for text in doubted(lessons, knowledge)] == ["wrong"]  # type: ignore[arg-type]


def test_a_test_that_goes_otherwise_here_is_trusted_less(knowledge: Knowledge) -> None:
    """Cases of three finishes against their lines in one test make the book's word on it weigh less, also for a fourth; other tests keep theirs."""
    finishes = ("shellac", "wax", "nitrocellulose-lacquer")
    against = [case(f"{f}-{n}", f, tests={"film-build": "thick-filled"}) for f in finishes for n in range(10)]
    tables, _ = learnt(knowledge, *against)
    trust = tables.trust("film-build")
    assert sum(chance for chance, _, _ in trust.rows) == pytest.approx(1)
    assert trust.departing > 0.6 > 0.5 >= Tables(knowledge).trust("scraper").departing - 1e-9


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
