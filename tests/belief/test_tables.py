"""Words to numbers, worked out by hand on invented lines of a table."""

from __future__ import annotations

from math import exp

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.counts import Counts
from oldcoat.engine.belief.tables import Tables, scaled, spread, stepped, tilted
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Likelihood, Mask, OriginRow, Outcome, Test

OUTCOMES = [Outcome(id="gives", sees="it gives", response=1.0), Outcome(id="holds", sees="it holds", response=-0.5)]


@pytest.fixture
def invented(knowledge: Knowledge) -> Knowledge:
    """The shipped book with one test more, of invented lines, in the group solubility."""
    shellac = knowledge.finishes["shellac"].family
    test = replace(
        knowledge.tests["alcohol-drop"],
        group="solubility",
        outcomes=OUTCOMES,
        bands=[
            Likelihood(finishes=["shellac"], gives={"gives": "usually", "holds": "rarely"}, source=["memory"]),
            Likelihood(finishes=[shellac], gives={"holds": "often"}, source=["memory"]),
            Likelihood(finishes=["epoxy"], gives={"gives": "often", "holds": "often"}, source=["memory"]),
            Likelihood(finishes=["epoxy"], gives={"holds": "almost-always"}, source=["memory"]),
        ],
        masked_by={"waxed": Mask(hides="often", gives={"holds": "usually"}, source=["memory"])},
    )
    return replace(knowledge, tests={**knowledge.tests, "invented": test})


def test_a_row_of_words(knowledge: Knowledge) -> None:
    """What is not listed takes its band too, and the row is scaled to one."""
    bands = knowledge.belief.bands
    row = spread({"a": "usually"}, ["a", "b", "c"], knowledge.belief)
    least = bands[knowledge.belief.unlisted]
    assert row["a"] == pytest.approx(bands["usually"] / (bands["usually"] + 2 * least))
    assert row["b"] == row["c"] == pytest.approx(least / (bands["usually"] + 2 * least))


def test_steps_and_tilts() -> None:
    """A power acts on the odds; a tilt multiplies them by e to the difference in response."""
    row = {"a": 0.8, "b": 0.2}
    assert stepped(row, 0.5)["a"] / stepped(row, 0.5)["b"] == pytest.approx(2.0)
    assert stepped(row, 1.0) == pytest.approx(row)
    leaned = tilted(row, 0.7, {"a": 1.0, "b": -1.0})
    assert leaned["a"] / leaned["b"] == pytest.approx(4 * exp(1.4))
    assert sum(leaned.values()) == pytest.approx(1)
    assert tilted(row, 0.0, {}) == row


def test_a_name_goes_before_a_family_and_a_later_line_before_an_earlier(invented: Knowledge) -> None:
    """Shellac keeps its own line though its family's stands later; the second epoxy line holds."""
    tables = Tables(invented)
    assert tables.base_row("invented", "shellac") == pytest.approx(scaled({"gives": 0.75, "holds": 0.12}))
    assert tables.base_row("invented", "spirit-varnish") == pytest.approx(scaled({"gives": 0.025, "holds": 0.55}))
    assert tables.base_row("invented", "epoxy") == pytest.approx(scaled({"gives": 0.025, "holds": 0.93}))
    assert tables.base_row("invented", "plastic-laminate") is None


def test_one_cell_by_hand(invented: Knowledge) -> None:
    """(1 - slip) ((1 - hides) tilted row + hides what shows) + slip / outcomes, for shellac under wax."""
    tables = Tables(invented)
    belief = invented.belief
    tilt = belief.groups["solubility"].states["harder"].tilt
    odds = 0.75 / 0.12 * exp(tilt * 1.5)
    gives, hidden = odds / (1 + odds), 0.025 / (0.025 + 0.75)
    hides = belief.bands["often"]
    wanted = (1 - belief.slip) * ((1 - hides) * gives + hides * hidden) + belief.slip / 2
    width = len(tables.contaminations) * 3
    cell = tables.finishes.index("shellac") * width + tables.contaminations.index("waxed") * 3
    cell += tables.states_of("solubility").index("harder")
    assert tables.likelihood("invented")["gives"][cell] == pytest.approx(wanted)


def test_silence_is_flat(invented: Knowledge) -> None:
    """A finish that no line speaks of, and "none of these", give every outcome alike, unless wax hides it."""
    tables = Tables(invented)
    width = len(tables.contaminations) * 3
    start, clean = tables.finishes.index("plastic-laminate") * width, tables.contaminations.index("clean") * 3
    row = tables.likelihood("invented")["gives"]
    assert row[start + clean : start + clean + 3] == pytest.approx([0.5] * 3)
    assert row[-width:] == [0.5] * width
    assert len(row) == (len(tables.finishes) + 1) * width


def test_a_spot_astray_says_nothing(knowledge: Knowledge) -> None:
    """Every outcome alike for every finish and state, in a test at the bench and in a patch of a remover."""
    tables = Tables(knowledge)
    astray, names = tables.contaminations.index("astray"), tables.contaminations
    for test in ("alcohol-drop", "fingernail", "stripper-patch/acetone"):
        table, width = tables.likelihood(test), len(tables.states_of(tables.group_of(test)))
        for row in table.values():
            for finish in range(len(tables.finishes)):
                start = (finish * len(names) + astray) * width
                assert row[start : start + width] == pytest.approx([1 / len(table)] * width)


def test_every_cell_is_a_chance(knowledge: Knowledge) -> None:
    """Over the whole shipped book: strictly between 0 and 1, and outcomes sum to 1."""
    tables = Tables(knowledge)
    for test in (*knowledge.tests, "stripper-patch/acetone"):
        rows = list(tables.likelihood(test).values())
        assert all(0 < p < 1 for row in rows for p in row)
        assert [sum(cell) for cell in zip(*rows, strict=True)] == pytest.approx([1.0] * len(rows[0]))


def test_the_average_over_states(invented: Knowledge) -> None:
    """`over_states` is the mean of the tilted rows by how common each state is in the finish."""
    tables = Tables(invented)
    row = {"gives": 0.6, "holds": 0.4}
    start = tables.finishes.index("shellac") * 3
    shares = tables.state_shares("solubility")[start : start + 3]
    tilts = [invented.belief.groups["solubility"].states[s].tilt for s in tables.states_of("solubility")]
    odds = [1.5 * exp(1.5 * tilt) for tilt in tilts]
    wanted = sum(share * o / (1 + o) for share, o in zip(shares, odds, strict=True))
    assert tables.over_states("invented", "shellac", row)["gives"] == pytest.approx(wanted)
    assert tables.over_states("lead-swab", "shellac", row) == row


def test_states_of_a_finish(knowledge: Knowledge) -> None:
    """Shares follow the finish's own words on ageing where it has them, else the group's; each set sums to 1."""
    tables = Tables(knowledge)
    for group in tables.groups:
        names, flat = tables.states_of(group), tables.state_shares(group)
        default = [knowledge.belief.groups[group].states[name].share for name in names]
        assert flat[-len(names) :] == pytest.approx(default)
        for index, finish in enumerate(tables.finishes):
            mine = flat[index * len(names) : (index + 1) * len(names)]
            assert sum(mine) == pytest.approx(1)
            words = knowledge.finishes[finish].ageing.get(group)
            wanted = spread(words, names, knowledge.belief) if words else dict(zip(names, default, strict=True))
            assert mine == pytest.approx([wanted[name] for name in names])


def test_cases_join_the_book(invented: Knowledge) -> None:
    """What was seen pulls the line towards it, more with more cases; where the book is silent, one pseudo-case an outcome."""

    def gives(count: float) -> float:
        seen = {"shellac": {"invented": {"holds": count}}, "plastic-laminate": {"invented": {"holds": 3.0}}}
        tables = Tables(invented, Counts(seen=seen))
        assert tables.base_row("invented", "plastic-laminate") == pytest.approx({"gives": 1 / 5, "holds": 4 / 5})
        assert tables.book_row("invented", "shellac") == pytest.approx(scaled({"gives": 0.75, "holds": 0.12}))
        row = tables.base_row("invented", "shellac")
        assert row is not None
        assert sum(row.values()) == pytest.approx(1)
        return row["gives"]

    assert 0.75 / 0.87 > gives(1.0) > gives(5.0) > gives(50.0) > 0
    assert gives(50.0) < 0.3


def test_leaving_cases_out_equals_starting_anew(invented: Knowledge) -> None:
    """Tables patched for the finishes touched are those that would have been built with the same trust in the book."""
    both = Counts(seen={"shellac": {"invented": {"gives": 2.0}}, "epoxy": {"invented": {"holds": 1.0}}})
    one = Counts(seen={"epoxy": {"invented": {"holds": 1.0}}})
    patched = Tables(invented, both).without(one, {"invented": {"shellac"}})
    anew = Tables(invented, one)
    anew._trusts["invented"] = patched.trust("invented")
    for outcome, row in anew.likelihood("invented").items():
        assert patched.likelihood("invented")[outcome] == pytest.approx(row)
    assert patched.likelihood("xylene-drop") == anew.likelihood("xylene-drop")


def test_a_patch_reads_the_removal_table(knowledge: Knowledge) -> None:
    """Its row is the derived prediction, its group solubility; its outcomes are leaned by the hidden state."""
    tables = Tables(knowledge)
    gives = knowledge.pairs["shellac"]["denatured-alcohol"].gives
    assert tables.base_row("stripper-patch/denatured-alcohol", "shellac") == pytest.approx(gives)
    assert tables.group_of("stripper-patch/denatured-alcohol") == "solubility"
    width = len(tables.contaminations) * 3
    start = tables.finishes.index("shellac") * width + tables.contaminations.index("clean") * 3
    table = tables.likelihood("stripper-patch/denatured-alcohol")
    states = tables.states_of("solubility")
    easy, hard = start + states.index("easier"), start + states.index("harder")
    assert table["dissolves"][easy] > table["dissolves"][hard]
    assert table["no-effect"][easy] < table["no-effect"][hard]
    assert table["lifts"][hard] / table["softens"][hard] < table["lifts"][easy] / table["softens"][easy]


def test_origins(knowledge: Knowledge) -> None:
    """Lines by origin: slipped as all lines are; an origin that no line names is flat; other tests have none."""
    rows = [OriginRow(origin="refinished", gives={"gives": "usually"}, source=["memory"])]
    test: Test = replace(knowledge.tests["alcohol-drop"], outcomes=OUTCOMES, origin_bands=rows, bands=[])
    book = replace(knowledge, tests={**knowledge.tests, "invented": test})
    table, slip = Tables(book).origin_likelihood("invented"), book.belief.slip
    usual = 0.75 / 0.775
    assert table["gives"][:3] == pytest.approx([0.5, (1 - slip) * usual + slip / 2, 0.5])
    assert table["gives"] == pytest.approx(table["gives"][:3] * len(book.finishes) + [0.5] * 3)
    assert table["holds"][1] == pytest.approx(1 - table["gives"][1])
    assert Tables(book).origin_likelihood("xylene-drop") == {}
    assert Tables(book).origin_likelihood("stripper-patch/acetone") == {}


def test_film_and_origin_in_one_test(invented: Knowledge) -> None:
    """A test with lines of both kinds: P(o | f, r) goes with their product, scaled to one and slipped."""
    rows = [OriginRow(origin="refinished", gives={"holds": "usually"}, source=["memory"])]
    test = replace(invented.tests["invented"], group=None, masked_by={}, origin_bands=rows)
    book = replace(invented, tests={**invented.tests, "invented": test})
    tables, slip = Tables(book), book.belief.slip
    cell = tables.finishes.index("shellac") * 3 + 1
    odds = 0.75 / 0.12 * (0.025 / 0.75)
    wanted = (1 - slip) * odds / (1 + odds) + slip / 2
    assert tables.origin_likelihood("invented")["gives"][cell] == pytest.approx(wanted)
    assert tables.origin_likelihood("invented")["gives"][cell - 1] == pytest.approx((1 - slip) * 0.75 / 0.87 + slip / 2)


def test_flatter_tables(invented: Knowledge) -> None:
    """`power` acts on the odds of every line, of patches too."""
    row = Tables(invented, power=0.5).base_row("invented", "shellac")
    assert row is not None
    assert row["gives"] / row["holds"] == pytest.approx((0.75 / 0.12) ** 0.5)
    sure, flat = (Tables(invented, power=p).base_row("stripper-patch/acetone", "shellac") for p in (1.0, 0.5))
    assert sure is not None
    assert flat is not None
    assert max(flat.values()) < max(sure.values())
