"""What going on brings, by the user's own figures: gain, break-even, the chance that it pays.

    gain = p V (1 - f) + (1 - p) F (1 - f) - H w - M - S - V0

p the chance of the planned result, V its price, F the price of the fallback, f the
seller's fee, H hours left at w, M material, S delivery, V0 what it fetches as it
stands. The buying price is spent either way and is not in it. With spreads on the
figures the chance of a gain above 0 is counted over draws from triangular
distributions, with a fixed seed.
"""

from __future__ import annotations

from random import Random
from typing import Literal

from msgspec import Struct

from ..piece.form import Money, Spread

Decision = Literal["go", "go-to-usable", "stop"]
DRAWS = 2000
SEED = 20240229
Three = tuple[float, float, float]  # low, likely, high


class Figures(Struct, frozen=True, kw_only=True):
    """The user's figures with what the plan adds; money in the user's currency, hours as (low, likely, high)."""

    p: float
    sells: Three
    fallback: Three
    hours: Three
    usable_hours: Three
    material: Three
    rate_hour: float
    fee_share: float
    delivery: float
    as_it_stands: float


class Verdict(Struct, frozen=True, kw_only=True):
    """Go, go to usable, or stop, with the figures behind it. Gains in money, against selling it as it stands.

    chance_of_gain: that the whole job pays. break_even: as the function. most_bid: what the piece
    may cost before the whole job brings nothing, never below 0. hours: means, of work.
    """

    decision: Decision
    gain: float
    gain_if_it_works: float
    gain_if_not: float
    usable_gain: float
    chance_of_gain: float
    break_even: float | None
    most_bid: float
    gain_per_hour: float
    hours: float
    usable_hours: float


class EarlyStep(Struct, frozen=True, kw_only=True):
    """Steps of the worst surface taken before the decision, against the usual order, and what that costs.

    chance: that it comes out; then: the gain of the whole job if it does; lost: what its hours cost if it
    does not. All but the chance and the hours in the user's money.
    """

    surface: str
    steps: list[str]
    hours: float
    costs: list[str]
    extra_hours: float
    worth: float
    chance: float
    then: float
    lost: float


def gain(
    p: float,
    sells: float,
    fallback: float,
    hours: float,
    rate_hour: float,
    material: float,
    fee_share: float = 0.0,
    delivery: float = 0.0,
    as_it_stands: float = 0.0,
) -> float:
    """Expected gain of going on, against selling the piece as it stands, by the formula at the head of this module.

    All in the user's money, but `p` and `fee_share`, which are shares, and `hours`.
    """
    kept = 1 - fee_share
    return p * sells * kept + (1 - p) * fallback * kept - hours * rate_hour - material - delivery - as_it_stands


def break_even(
    sells: float,
    fallback: float,
    hours: float,
    rate_hour: float,
    material: float,
    fee_share: float = 0.0,
    delivery: float = 0.0,
    as_it_stands: float = 0.0,
) -> float | None:
    """The chance of success at which going on pays nothing; arguments as for `gain`.

    None if success fetches no more than the fallback: then the chance does not matter.
    Below 0: it pays in any case. Above 1: it never does.
    """
    step = (sells - fallback) * (1 - fee_share)
    if step <= 0:
        return None
    return (as_it_stands + hours * rate_hour + material + delivery - fallback * (1 - fee_share)) / step


def figures(
    money: Money, p: float, hours: tuple[float, float], usable: tuple[float, float], material: Three
) -> Figures:
    """The user's figures joined with the plan's hours; the user's own material counts before the plan's."""
    return Figures(
        p=p,
        sells=_three(money.sells),
        fallback=_three(money.fallback),
        hours=_middle(hours),
        usable_hours=_middle(usable),
        material=material if money.material is None else _three(money.material),
        rate_hour=money.rate_hour,
        fee_share=money.fee_share,
        delivery=money.delivery,
        as_it_stands=money.as_it_stands,
    )


def decide(given: Figures) -> Verdict:
    """The best of: the whole job, only to usable, and stopping (which gains 0 by definition)."""
    mean = _Draw(*(sum(part) / 3 for part in (given.sells, given.fallback, given.hours, given.material)))
    works, fails = _gain(1.0, mean, given), _gain(0.0, mean, given)
    expected = given.p * works + (1 - given.p) * fails
    usable = _usable(given)
    best = max((expected, usable, 0.0))
    decision: Decision = "stop" if best <= 0 else "go" if expected == best else "go-to-usable"
    return Verdict(
        decision=decision,
        gain=expected,
        gain_if_it_works=works,
        gain_if_not=fails,
        usable_gain=usable,
        chance_of_gain=chance_of_gain(given),
        break_even=break_even(
            mean.sells,
            mean.fallback,
            mean.hours,
            given.rate_hour,
            mean.material,
            given.fee_share,
            given.delivery,
            given.as_it_stands,
        ),
        most_bid=max(0.0, expected + given.as_it_stands),
        gain_per_hour=expected / mean.hours if mean.hours > 0 else 0.0,
        hours=mean.hours,
        usable_hours=sum(given.usable_hours) / 3,
    )


def chance_of_gain(given: Figures, draws: int = DRAWS) -> float:
    """Chance that the whole job ends above 0, over the spreads and over success and failure."""
    random = Random(SEED)
    total = 0.0
    for _ in range(draws):
        draw = _Draw(*(_drawn(part, random) for part in (given.sells, given.fallback, given.hours, given.material)))
        total += given.p * (_gain(1.0, draw, given) > 0) + (1 - given.p) * (_gain(0.0, draw, given) > 0)
    return total / draws


def gain_after_trial(verdict: Verdict, chance: float) -> float:
    """Gain of the whole job once the deciding surface came out, which it does with this chance.

    The rest may still fail: p of the whole is no more than `chance`, and where the trial
    fails the whole does. So it is what the gain before the trial leaves for this half.
    """
    return (verdict.gain - (1 - chance) * verdict.gain_if_not) / chance if chance > 0 else verdict.gain_if_not


def early_gain(verdict: Verdict, chance: float, trial_hours: float, extra_hours: float, rate_hour: float) -> float:
    """What it is worth to do the deciding surface first and only then decide on the rest.

    Usual: decide now, the best of the whole job, of usable only and of stopping. Early:
    with `chance` it comes out and all goes on; else go on with the fallback. After either
    one may stop, with the trial's hours lost. The hours that the unusual order costs are
    paid in any case.
    """
    usual = max(verdict.gain, verdict.usable_gain, 0.0)
    stopped = -trial_hours * rate_hour
    early = chance * max(gain_after_trial(verdict, chance), stopped)
    early += (1 - chance) * max(verdict.gain_if_not, stopped)
    return early - extra_hours * rate_hour - usual


class _Draw(Struct, frozen=True):
    sells: float
    fallback: float
    hours: float
    material: float


def _gain(p: float, draw: _Draw, given: Figures) -> float:
    return gain(
        p,
        draw.sells,
        draw.fallback,
        draw.hours,
        given.rate_hour,
        draw.material,
        given.fee_share,
        given.delivery,
        given.as_it_stands,
    )


def _usable(given: Figures) -> float:
    """Gain of doing only what makes it usable: the fallback's price for the fewer hours, no new coats of material."""
    price, hours = sum(given.fallback) / 3, sum(given.usable_hours) / 3
    return gain(0.0, 0.0, price, hours, given.rate_hour, 0.0, given.fee_share, given.delivery, given.as_it_stands)


def _drawn(part: Three, random: Random) -> float:
    low, likely, high = part
    return likely if low == high else random.triangular(low, high, likely)


def _three(value: float | Spread) -> Three:
    if isinstance(value, Spread):
        return tuple(sorted((value.low, value.likely, value.high)))  # type: ignore[return-value]
    return value, value, value


def _middle(span: tuple[float, float]) -> Three:
    return span[0], (span[0] + span[1]) / 2, span[1]
