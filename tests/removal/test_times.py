"""Thicker, colder, older: the time of a remover never gets shorter."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.film import Told
from oldcoat.engine.removal.predict import Clock, Times

REMOVERS = ["acetone", "benzyl-alcohol-gel", "caustic-soda", "card-scraper", "hot-air", "sanding", "denatured-alcohol"]
FINISHES = ["shellac", "nitrocellulose-lacquer", "oil-paint", "conversion-varnish", "epoxy", "drying-oil"]
um = st.floats(min_value=1, max_value=900)
pairs = st.tuples(st.sampled_from(REMOVERS), st.sampled_from(FINISHES))


@pytest.fixture(scope="module")
def clock(knowledge: Knowledge) -> Clock:
    """Times by the book."""
    return Clock(Tables(knowledge))


def not_less(more: Times, less: Times) -> bool:
    """Whether every end of every range is at least as long."""
    return all(
        a >= b - 1e-9
        for field in ("dwell_minutes", "coats", "hours_m2")
        for a, b in zip(getattr(more, field), getattr(less, field), strict=True)
    )


@given(pairs, um, um, st.floats(min_value=0, max_value=35))
def test_more_film_never_takes_fewer_hours(
    clock: Clock, pair: tuple[str, str], one: float, other: float, celsius: float
) -> None:
    """Contact, coats and hours only grow with the thickness."""
    remover, finish = pair
    thin, thick = (clock.times(remover, Told(um=x), celsius)[finish] for x in sorted((one, other)))
    assert not_less(thick, thin)


@given(pairs, st.integers(min_value=1, max_value=12), st.integers(min_value=1, max_value=12))
def test_more_coats_on_the_wood_never_take_fewer_hours(
    clock: Clock, pair: tuple[str, str], one: int, other: int
) -> None:
    """Coats counted stand for thickness."""
    remover, finish = pair
    few, many = (clock.times(remover, Told(coats=x), 20)[finish] for x in sorted((one, other)))
    assert not_less(many, few)


@given(pairs, st.floats(min_value=0, max_value=40), st.floats(min_value=0, max_value=40))
def test_colder_never_takes_less_time(clock: Clock, pair: tuple[str, str], one: float, other: float) -> None:
    """Rates rise with the temperature."""
    remover, finish = pair
    cold, warm = (clock.times(remover, Told(um=100), x)[finish] for x in sorted((one, other)))
    assert not_less(cold, warm)


@given(pairs, st.floats(min_value=0, max_value=300), st.floats(min_value=0, max_value=300))
def test_older_never_takes_less_time(clock: Clock, pair: tuple[str, str], one: float, other: float) -> None:
    """A film that has knit takes longer, at its long end."""
    remover, finish = pair
    young, old = (clock.times(remover, Told(years=x), 20)[finish] for x in sorted((one, other)))
    assert not_less(old, young)


def test_old_shellac_wants_a_covered_pad_for_half_an_hour_or_more(clock: Clock) -> None:
    """Finishers give aged shellac 20 to 40 minutes under a covered pad (woodmagazine.com, stripping a finish)."""
    low, high = clock.times("denatured-alcohol", Told(years=120), 20)["shellac"].dwell_minutes
    assert low <= 20
    assert 25 <= high <= 60


def test_ten_degrees_warmer_halve_the_time(clock: Clock) -> None:
    """The rule of thumb of Arrhenius near room temperature, where the open time does not cut it short."""
    cool, warm = (clock.times("benzyl-alcohol-gel", Told(um=60), c)["alkyd-varnish"].dwell_minutes[0] for c in (15, 25))
    assert cool / warm == pytest.approx(2.0, abs=0.12)
