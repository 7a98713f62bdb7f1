"""What a try on this very face tells of time and success, on invented surfaces."""

from __future__ import annotations

from collections.abc import Callable
from math import log
from statistics import NormalDist
from typing import Any

import pytest

from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.predict import Prediction

Examine = Callable[..., Examination]
GEL = "benzyl-alcohol-gel"


def tried(examine: Examine, finish: str, result: str | None = None, minutes: float | None = None) -> Prediction:
    """The gel on a face whose film a laboratory has named, after one try of it or untried."""
    tries: list[dict[str, Any]] = [{"remover": GEL, "result": result, "minutes": minutes}] if result else []
    done = examine(build="solid", known={"finish": finish, "how": "laboratory"}, tried=tries)
    return next(p for p in done.predictions if p.remover == GEL)


def test_what_worked_in_a_known_time_takes_that_time(examine: Examine) -> None:
    """The middle of the contact is the one that was told, as wide about it as before; a late look makes it no slower."""
    usual, now = (tried(examine, "nitrocellulose-lacquer", r, 12) for r in (None, "works"))
    assert now.dwell_likely == pytest.approx(12)
    assert usual.dwell_likely > 40
    ratio = usual.dwell_minutes[1] / usual.dwell_minutes[0]
    assert now.dwell_minutes[1] / now.dwell_minutes[0] == pytest.approx(ratio, rel=0.05)
    assert now.hours[1] <= usual.hours[1] * (1 + 1e-9)
    for minutes in (None, 2000):
        late = tried(examine, "nitrocellulose-lacquer", "works", minutes)
        assert late.dwell_likely == pytest.approx(usual.dwell_likely, rel=0.05)


def test_what_softened_early_is_ready_soon_after(examine: Examine, knowledge: Knowledge) -> None:
    """A few times as long as it took to go soft; what was late to soften is no sooner ready than usual."""
    usual = tried(examine, "nitrocellulose-lacquer").dwell_likely
    early = tried(examine, "nitrocellulose-lacquer", "softens", 10).dwell_likely
    assert early == pytest.approx(10 * knowledge.decide.soft_to_ready)
    late = tried(examine, "nitrocellulose-lacquer", "softens", 0.9 * usual).dwell_likely
    assert late <= usual * 1.05


@pytest.mark.parametrize("finish", ["nitrocellulose-lacquer", "two-component-polyurethane"])
def test_a_try_in_vain_is_judged_by_the_film(examine: Examine, finish: str) -> None:
    """It says as much as the share of a lognormal of this film's own contact that is over by then, so it falls with time."""
    untried = tried(examine, finish)
    low, high = untried.dwell_minutes
    spread = log(high / low) / (2 * NormalDist().inv_cdf(0.9))
    works = []
    for share in (0.1, 0.5, 0.9):
        minutes = (low * high) ** 0.5 * 2.718281828 ** (NormalDist().inv_cdf(share) * spread)
        works.append(tried(examine, finish, "no-effect", minutes).effects_by[finish]["no-effect"])
    assert untried.effects_by[finish]["no-effect"] < works[0] < works[1] < works[2]


def test_an_hour_in_vain_says_more_of_a_film_that_takes_an_hour(examine: Examine) -> None:
    """Lacquer goes under the gel in an hour or so, a two-part film in many: the same try costs lacquer more."""
    lost = {}
    for finish in ("nitrocellulose-lacquer", "two-component-polyurethane"):
        before, after = (tried(examine, finish, r, 120).effects_by[finish] for r in (None, "no-effect"))
        gone = {e: before[e] for e in ("dissolves", "lifts", "softens")}
        lost[finish] = 1 - sum(after[e] for e in gone) / sum(gone.values())
    assert lost["nitrocellulose-lacquer"] > 2 * lost["two-component-polyurethane"]


def test_wax_excuses_a_try_as_it_excuses_a_test(examine: Examine) -> None:
    """Alcohol in vain through wax speaks less against shellac than on a clean film."""
    fell = {}
    for name, tests in (
        ("clean", {"mineral-spirits-rub": "no-change"}),
        ("waxed", {"mineral-spirits-rub": "residue-yellow-brown"}),
    ):
        whole = {"made": 1880, "region": "britain"}
        vain = [{"remover": "denatured-alcohol", "result": "no-effect", "minutes": 15}]
        before, after = (examine(whole, build="solid", tests=tests, tried=t).posterior for t in ([], vain))
        fell[name] = after.finishes["shellac"] / before.finishes["shellac"]
    assert fell["waxed"] > 1.3 * fell["clean"]


@pytest.mark.parametrize("made", [1940, 1958, 1970])
def test_an_opaque_coat_of_the_lead_years_is_swabbed_first(examine: Examine, made: int) -> None:
    """Whatever its binder is thought to be, and on a bed as on anything (16 CFR 1303, 42 FR 44192: banned in 1978)."""
    done = examine({"made": made, "region": "britain", "kind": "bed"}, wood="beech", tests={"colour-cast": "opaque"})
    assert done.worths[0].test == "lead-swab"
    assert done.worths[0].safety


@pytest.mark.parametrize(("place", "made", "asked"), [("uk", 1985, True), ("eu", 1980, True), ("us", 1985, False)])
def test_where_lead_was_sold_longer_it_is_swabbed_for_longer(
    examine: Examine, place: str, made: int, asked: bool
) -> None:
    """In Britain and Europe until about 1992 (council directive 89/677/EEC; from memory), in the United States to 1978."""
    whole = {"made": made, "kind": "bed", "place": place}
    done = examine(whole, wood="beech", build="solid", tests={"colour-cast": "opaque"})
    assert (done.worths[0].test == "lead-swab") == asked
    dry = {p.remover for p in done.predictions if not p.allowed} & {"sanding", "card-scraper"}
    assert (dry == {"sanding", "card-scraper"}) == asked
