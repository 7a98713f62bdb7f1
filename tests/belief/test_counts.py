"""The book and the cases joined: against Polya's urn, drawn one case at a time, and sums done by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.belief.counts import Trust, departure, leaning, trust_in, usual

Row = dict[str, float]
HALF = {"a": 0.5, "b": 0.5}
RARE = {"a": 0.99, "b": 0.01}


def urn(book: Row, counts: dict[str, int], weight: float) -> float:
    """How much likelier draws are from an urn of `weight` balls coloured as the book says, to which each draw adds one, than from the book."""
    ratio, drawn = 1.0, 0
    for key, n in counts.items():
        for before in range(n):
            ratio *= (weight * book[key] + before) / (weight + drawn) / book[key]
            drawn += 1
    return ratio


counted = st.fixed_dictionaries({"a": st.integers(0, 12), "b": st.integers(0, 12)})
weights = st.floats(0.5, 60)


@given(st.floats(0.02, 0.98), counted, weights)
def test_departing_is_the_urn_against_the_book(p: float, counts: dict[str, int], weight: float) -> None:
    """The Bayes factor is that of an urn whose draws reinforce themselves (Eggenberger and Polya, 1923)."""
    book = {"a": p, "b": 1 - p}
    assert 2.718281828459045 ** departure(book, counts, weight) == pytest.approx(urn(book, counts, weight))


@given(st.lists(st.tuples(st.floats(0.05, 0.95), counted), min_size=1, max_size=4), weights)
def test_trust_is_learnt_from_all_lines_together(drawn: list[tuple[float, dict[str, int]]], weight: float) -> None:
    """Chance of each share of departing lines and each weight: the product over lines of (1 - share) + share x urn."""
    lines = [({"a": p, "b": 1 - p}, counts) for p, counts in drawn]
    lighter, departing = (0.5, 2.0), (0.1, 0.7)
    wanted = {}
    for times in lighter:
        for share in departing:
            fits = 1.0
            for book, counts in lines:
                fits *= 1 - share + share * urn(book, counts, weight * times)
            wanted[share, weight * times] = fits
    found = trust_in(lines, weight, lighter, departing)
    assert {(share, cases): chance for chance, share, cases in found.rows} == pytest.approx(
        {key: fits / sum(wanted.values()) for key, fits in wanted.items()}
    )
    assert found.departing == pytest.approx(sum(c * fits for (c, _), fits in wanted.items()) / sum(wanted.values()))


def test_without_cases_nothing_is_learnt_of_the_book() -> None:
    """Lines that no case speaks of leave shares and weights level."""
    found = trust_in([(HALF, {})], 10.0, (1.0, 3.0), (0.2, 0.6))
    assert [chance for chance, _, _ in found.rows] == pytest.approx([0.25] * 4)
    assert found.departing == pytest.approx(0.4)


@given(st.floats(0.02, 0.98), counted, weights, weights)
def test_chances_after_counts(p: float, counts: dict[str, int], light: float, heavy: float) -> None:
    """The book as it stands and the urn's next draw, mixed by how the counts speak for either, under each weight."""
    book, n = {"a": p, "b": 1 - p}, sum(counts.values())
    rows = ((0.3, 0.2, light), (0.7, 0.6, heavy + 61))
    wanted = dict.fromkeys(book, 0.0)
    for chance, share, weight in rows:
        speaks = share * urn(book, counts, weight)
        departs = chance * speaks / (speaks + 1 - share)
        for key in book:
            urns = (weight * book[key] + counts[key]) / (weight + n)
            wanted[key] += departs * urns + (chance - departs) * book[key]
    assert leaning(book, counts, Trust(rows)) == pytest.approx(wanted)


def test_one_odd_case_by_hand() -> None:
    """One case of what the book gives one in a hundred, with ten pseudo-cases, of which the rare one holds a whole case.

    The urn gives it one in a hundred too, so the book is as likely to stand as not. If not,
    each mass is raised by its cases: a 0.99 x 9.9 / (9.9 + 0.99) = 0.9, b 0.01 x 2 / 1.01.
    """
    a, b = 0.9, 0.02 / 1.01
    found = leaning(RARE, {"b": 1.0}, usual(10.0), least=1.0)
    assert found == pytest.approx({"a": 0.495 + a / (a + b) / 2, "b": 0.005 + b / (a + b) / 2})
    plain = leaning(RARE, {"b": 1.0}, usual(10.0))
    assert plain["b"] == pytest.approx(0.005 + 1.1 / 11 / 2)
    assert RARE["b"] < found["b"] < plain["b"]


def test_a_least_that_binds_nothing_changes_nothing() -> None:
    """Where every line weighs more than one case already, two cases of one half by hand: 12 to 11 that it departs."""
    departs = 12 / 23
    wanted = departs * 7 / 12 + (1 - departs) / 2
    assert leaning(HALF, {"a": 2.0}, usual(10.0), least=1.0)["a"] == pytest.approx(wanted)
    assert leaning(HALF, {"a": 2.0}, usual(10.0))["a"] == pytest.approx(wanted)
