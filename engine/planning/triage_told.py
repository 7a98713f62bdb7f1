"""The decision told so that it is understood at a glance: what to do, what it brings or loses, how likely, what hours.

Money is in whatever the user counts in, and always against selling the piece as it stands.
"""

from __future__ import annotations

from ..piece.form import Money
from .money import Decision, EarlyStep, Verdict

CLOSE = (0.4, 0.6)  # a chance of paying between these is as good as even
SEEN = 0.005  # a smaller chance is none
HALF = 0.5  # of a unit of money: less is nothing

DO: dict[Decision, str] = {
    "go": "go on with the whole job",
    "go-to-usable": "make it usable and no more",
    "stop": "stop",
}


def told_triage(money: Money | None, verdict: Verdict | None, p: float, early: EarlyStep | None) -> str:
    """The decision first, then the figures behind it, then where it turns; `p`: chance of the planned result."""
    if money is None or verdict is None:
        return "No figures were given (`money:`), so whether it pays is not reckoned. Try the worst surface first all the same."
    first = _now(verdict) if early is None else _after_trial(verdict, early)
    return " ".join([*first, _figures(money, verdict), _turns(verdict, p)])


def _now(verdict: Verdict) -> list[str]:
    if verdict.decision != "go-to-usable":
        return [f"{DO[verdict.decision].capitalize()}."]
    return [
        "Make it usable and no more: keep the film, clean, repair, coat over.",
        "The order of work is that shorter job.",
    ]


def _after_trial(verdict: Verdict, early: EarlyStep) -> list[str]:
    """The deciding surface first, and what follows from how it comes out."""
    loss = -early.lost
    fails = f"stop there: that {_brings(loss)}"
    if verdict.gain_if_not >= loss:
        fails = f"go on all the same: the whole job then {_brings(verdict.gain_if_not)}"
    return [
        f"First {early.surface} alone ({_h(early.hours)} of work), then decide.",
        f"If it comes out ({early.chance:.0%}), go on: the whole job then {_brings(early.then)} on average.",
        f"If not, {fails}.",
        f"Without that trial: {DO[verdict.decision]}.",
    ]


def _figures(money: Money, verdict: Verdict) -> str:
    """What the whole job and the shorter one bring, on average over success and failure."""
    stands = f"selling it as it stands for {money.as_it_stands:.0f}" if money.as_it_stands else "leaving it as it is"
    whole = f"the whole job ({_h(verdict.hours)}) {_brings(verdict.gain)}"
    usable = f"making it usable ({_h(verdict.usable_hours)}) {_brings(verdict.usable_gain)}"
    return f"On average {whole}, {usable}: in your money, your hours paid, against {stands}."


def _turns(verdict: Verdict, p: float) -> str:
    """How likely the whole job pays, and what would turn the answer."""
    even, pays = verdict.break_even, verdict.chance_of_gain
    if even is not None and even >= 1:
        some = f"; only at the best end of your figures it does ({pays:.0%})" if pays >= SEEN else ""
        return f"At your likely figures not even full success of the whole job pays{some}."
    told = f"Chance that the whole job pays: {pays:.0%}."
    told += " That is close: a small surprise turns it." if CLOSE[0] <= pays <= CLOSE[1] else ""
    if even is None or even <= 0:
        return told
    return f"{told} It pays from a {even:.0%} chance of the planned result up; today that is {p:.0%}."


def _brings(gain: float) -> str:
    if abs(gain) < HALF:
        return "breaks even"
    return f"{'gains' if gain > 0 else 'loses'} {abs(gain):.0f}"


def _h(hours: float) -> str:
    return f"{hours:.0f} h" if hours >= 10 else f"{hours:.1f} h"
