"""The deep check finds what was planted: twins, a useless test, a weak line, an idle rule."""

from __future__ import annotations

import json
import subprocess
import sys
from math import log
from pathlib import Path
from random import Random

import pytest
from msgspec.structs import replace

from oldcoat import cases
from oldcoat.engine import Examiner, read_piece
from oldcoat.engine.belief.evidence import answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.prior import Prior
from oldcoat.engine.belief.tables import ORIGINS, Tables
from oldcoat.engine.checking.deep import Deep, deep
from oldcoat.engine.checking.imagined import Imagined
from oldcoat.engine.checking.pairs import separation
from oldcoat.engine.checking.walks import FIRM, Walks, row_of, spread_out
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Piece, Surface


@pytest.fixture(scope="module")
def planted(knowledge: Knowledge) -> Knowledge:
    """The shipped book with a twin of epoxy under another name, and with a test that says nothing at a high price."""
    twin = knowledge.finishes["epoxy"]
    tests = {
        name: replace(
            test,
            bands=[
                replace(row, finishes=[*row.finishes, "twin"]) if "epoxy" in row.finishes else row for row in test.bands
            ],
        )
        for name, test in knowledge.tests.items()
    }
    dull = replace(
        tests["uv-a"], bands=[replace(tests["uv-a"].bands[0], finishes=list(knowledge.families))], minutes=90
    )
    return replace(
        knowledge,
        finishes={**knowledge.finishes, "twin": twin},
        pairs={**knowledge.pairs, "twin": knowledge.pairs["epoxy"]},
        tests={**tests, "dull": dull},
    )


@pytest.fixture(scope="module")
def found(planted: Knowledge) -> Deep:
    """A short deep check of the planted book, with one case."""
    piece = read_piece(Path(cases.__file__).parent / "demo" / "oak-table.yaml", planted)
    return deep(planted, [piece], draws=8, contexts=6)


def test_twins_are_not_told_apart(found: Deep) -> None:
    """Two finishes with the same lines everywhere are a toss of a coin, and cost nothing to mix up."""
    pair = next(pair for pair in found.pairs if pair.finishes == ("epoxy", "twin"))
    assert pair.confused == pytest.approx(0.5)
    assert pair.loses_minutes == 0
    assert found.pairs[0].confused >= found.pairs[-1].confused


def test_clear_cases_are_told_apart(found: Deep) -> None:
    """Shellac is not mixed up with epoxy, nor wax with paint."""
    pairs = {frozenset(pair.finishes) for pair in found.pairs}
    assert not pairs & {frozenset(p) for p in (("shellac", "epoxy"), ("wax", "oil-paint"), ("latex-paint", "shellac"))}


def test_a_dull_test_never_pays(found: Deep) -> None:
    """It separates nothing, so it saves nothing; what is best for a test's pay is not named."""
    idle = {row.test: row for row in found.idle_tests}
    assert idle["dull"].saves_at_most < 5  # it says a little of wax over it, and of a spot that speaks for no film
    assert idle["dull"].costs > 20
    assert "alcohol-drop" not in idle
    assert "application-marks" not in idle


def test_weak_lines_have_no_firm_source(found: Deep, planted: Knowledge) -> None:
    """Each line named has none of the firm grades, and they stand by how much they moved."""
    assert found.weak_rows
    moves = [row.moves for row in found.weak_rows]
    assert moves == sorted(moves, reverse=True)
    assert 0 < moves[0] < 1
    for row in found.weak_rows:
        grades = {planted.sources[s].grade for s in row.source if s in planted.sources}
        assert not grades & set(FIRM)


def test_rules_that_fire_in_the_case_are_not_idle(found: Deep, planted: Knowledge) -> None:
    """What one examination of the case fires is not in the list; most of the rest is."""
    piece = read_piece(Path(cases.__file__).parent / "demo" / "oak-table.yaml", planted)
    examiner = Examiner(planted, this_year=2025)
    fired = {f.rule.id for surface in piece.surfaces for f in examiner.examine(piece, surface).firings}
    idle = {rule for rules in found.unused_rules.values() for rule in rules}
    assert fired
    assert not fired & idle
    assert len(idle) > 50


def test_separation_is_symmetric_and_none_for_the_same(knowledge: Knowledge) -> None:
    """Jeffreys' divergence: 0 for one finish, the same both ways, great where a test sorts."""
    tables = Tables(knowledge)
    assert separation("alcohol-drop", "shellac", "shellac", tables) == 0
    one, other = (separation("alcohol-drop", *p, tables) for p in (("shellac", "epoxy"), ("epoxy", "shellac")))
    assert one == pytest.approx(other)
    assert one > 20 * separation("alcohol-drop", "epoxy", "polyester", tables)
    assert separation("application-marks", "shellac", "latex-paint", tables) > 0.1


@pytest.mark.parametrize("test", ["alcohol-drop", "film-build", "lead-swab", "stripper-patch/acetone"])
def test_separation_by_its_definition(knowledge: Knowledge, test: str) -> None:
    """Sum of (p - q) ln(p / q) (H. Jeffreys, 1946), where p and q are what the model expects of a maker's film."""
    tables = Tables(knowledge)
    names = tables.finishes
    asked = Model(tables, Prior(dict.fromkeys(names, (1 / len(names), 0.0, 0.0)), {}, [])).prepared([])

    def shown(finish: str) -> list[float]:
        raw = [asked.with_outcome(test, o)[names.index(finish)] for o in knowledge.outcomes_of(test)]
        return [w / sum(raw) for w in raw]

    for one, other in (("shellac", "epoxy"), ("oil-paint", "nitrocellulose-lacquer"), ("wax", "latex-paint")):
        wanted = sum((p - q) * log(p / q) for p, q in zip(shown(one), shown(other), strict=True))
        assert separation(test, one, other, tables) == pytest.approx(wanted)


def test_what_a_mistake_costs(found: Deep, planted: Knowledge) -> None:
    """Mean over both ways round of taking one off by the other's best way instead of its own, on a plain solid face."""
    face = Surface(name="face", build="solid")
    examiner = Examiner(planted)
    costs, names = examiner.examine(Piece(piece="invented", surfaces=[face]), face).costs, examiner.tables.finishes
    for pair in found.pairs:
        a, b = (names.index(f) for f in pair.finishes)
        ways = {i: min(range(len(costs.rows)), key=lambda r, i=i: costs.rows[r][i]) for i in (a, b)}  # type: ignore[misc]
        lost = [costs.rows[ways[j]][i] - costs.rows[ways[i]][i] for i, j in ((a, b), (b, a))]
        assert pair.loses_minutes == pytest.approx(sum(lost) / 2, abs=0.051), pair.finishes
    assert any(pair.loses_minutes > 0 for pair in found.pairs)


def test_contexts_are_taken_evenly(knowledge: Knowledge) -> None:
    """Four of ten at equal steps; all where there are fewer."""
    ten = knowledge.priors.makers[:10]
    assert list(spread_out(ten, 4)) == [ten[i] for i in (0, 2, 5, 7)]
    assert list(spread_out(ten, 50)) == ten


def test_what_an_answer_moved_goes_to_the_lines_that_spoke(examiner: Examiner, knowledge: Knowledge) -> None:
    """Half the sum of what each finish gained or lost (total variation), by line; what no line speaks of goes to none."""
    names = examiner.tables.finishes
    model = Model(examiner.tables, Prior(dict.fromkeys(names, (1 / len(names), 0.0, 0.0)), {}, []))
    given = [
        answer_evidence("alcohol-drop", "no-effect", knowledge),
        answer_evidence("film-build", "medium", knowledge),
    ]
    walks = Walks(examiner)
    walks._credit(model, given)
    whole = model.posterior(given).finishes
    for item in given:
        rest = model.posterior([e for e in given if e is not item]).finishes
        spoken = [f for f in names if row_of(item.test, f, knowledge) is not None]
        moved = sum(part for (test, _), part in walks._moved.items() if test == item.test)
        assert moved == pytest.approx(sum(abs(whole[f] - rest[f]) for f in spoken) / 2)


def test_a_walk_is_through_its_context(knowledge: Knowledge) -> None:
    """The invented piece has the years, region, style, kind and wood that the context names first, solid once and veneered once."""

    seen: list[Piece] = []

    class Watched(Examiner):
        def examine(self, piece: Piece, surface: Surface, skip: frozenset[str] = frozenset()) -> Examination:
            seen.append(piece)
            return super().examine(piece, surface, skip)

    named = replace(
        knowledge.priors.makers[0],
        years=[1901, 2900],
        regions=["britain", "scandinavia"],
        styles=["shaker"],
        kinds=["chair"],
        woods=["maple", "oak"],
    )
    walks = Walks(Watched(knowledge, this_year=2025))
    walks.most_tests = 1
    walks.walk(named)
    walks.walk(replace(named, regions=[], styles=[], kinds=[], woods=[]))
    found = [(p.made, p.region, p.style, p.kind, p.surfaces[0].wood, p.surfaces[0].build) for p in seen]
    told = ("1901-2025", "britain", "shaker", "chair", "maple")
    blank = ("1901-2025", "unknown", None, "unknown", "unknown")
    assert found == [(*told, "solid"), (*told, "veneer"), (*blank, "solid"), (*blank, "veneer")]
    assert walks.count == 4


def test_an_imagined_owners_film_looks_like_one(knowledge: Knowledge) -> None:
    """How the film came there shows by the lines of its origin."""
    tables, rng = Tables(knowledge), Random(5)
    for index, origin in enumerate(ORIGINS):
        shown = [Imagined("shellac", tables, rng, origin).show("refinish-signs") for _ in range(800)]
        for outcome, row in tables.origin_likelihood("refinish-signs").items():
            wanted = row[tables.finishes.index("shellac") * 3 + index]
            assert shown.count(outcome) / 800 == pytest.approx(wanted, abs=0.06), (origin, outcome)


def test_the_line_that_speaks_of_a_finish(planted: Knowledge) -> None:
    """By its own name before its family, the last of either; none where the test is silent."""
    for test, entry in planted.tests.items():
        for finish in ("shellac", "twin", "bare-wood"):
            index, row = row_of(test, finish, planted), Tables(planted).book_row(test, finish)
            assert (index is None) == (row is None)
            if index is not None:
                assert {finish, planted.finishes[finish].family} & set(entry.bands[index].finishes)


def test_imagined_surfaces_follow_the_tables(knowledge: Knowledge) -> None:
    """Over many surfaces of shellac alcohol dissolves as often as the tables say; asked again it is the same."""
    tables, rng = Tables(knowledge), Random(1)
    surfaces = [Imagined("shellac", tables, rng) for _ in range(600)]
    share = sum(s.show("alcohol-drop") == "dissolves-fast" for s in surfaces) / 600
    width = len(tables.contaminations) * 3
    start = tables.finishes.index("shellac") * width
    weights = [
        tables.belief.contamination[c].share
        * tables.state_shares("solubility")[tables.finishes.index("shellac") * 3 + i]
        for c in tables.contaminations
        for i in range(3)
    ]
    row = tables.likelihood("alcohol-drop")["dissolves-fast"][start : start + width]
    wanted = sum(w * p for w, p in zip(weights, row, strict=True))
    assert share == pytest.approx(wanted, abs=0.08)
    assert all(s.show("alcohol-drop") == s.show("alcohol-drop") for s in surfaces[:20])


def test_at_the_command_line(tmp_path: Path) -> None:
    """`--deep` adds its findings, as JSON too; without it the check says nothing of them."""
    call = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"
    words = [sys.executable, "-c", call, "--home", str(tmp_path), "knowledge", "check"]
    whole = subprocess.run([*words, "--deep", "--json"], capture_output=True, text=True, check=False, timeout=120)
    assert whole.returncode == 0, whole.stderr
    assert json.loads(whole.stdout)["deep"].keys() >= {"pairs", "idle_tests", "weak_rows", "unused_rules"}
    plain = subprocess.run(words, capture_output=True, text=True, check=False, timeout=120)
    assert "TELL APART" not in plain.stdout
