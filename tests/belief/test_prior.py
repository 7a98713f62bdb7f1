"""What age, place and kind say before any test: the mixture worked out on invented contexts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from oldcoat.engine.belief.counts import Counts, departure, leaning, usual
from oldcoat.engine.belief.prior import Setting, candidates, demanded, prior, responsible, shares_under
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Context

NOW = 2026


def context(name: str, years: tuple[int, int], share: float = 1.0, **more: object) -> Context:
    """An invented context with one finish that nearly all makers used."""
    finishes = {"shellac": 0.9} if name == "old" else {"waterborne": 0.9}
    return Context(
        id=name,
        about="invented",
        years=list(years),
        share=share,
        finishes=finishes,
        source=["memory"],
        **more,  # type: ignore[arg-type]
    )


def book(knowledge: Knowledge, makers: list[Context], rate: float = 0.05, **less_on: float) -> Knowledge:
    """The shipped book with these makers, and owners who used nitrocellulose lacquer only."""
    era = replace(context("owners", (1900, NOW)), finishes={"nitrocellulose-lacquer": 0.9})
    refinish = replace(
        knowledge.priors.refinish, eras=[era], rate_per_decade=rate, overcoat_share=0.25, less_on=less_on
    )
    return replace(
        knowledge,
        priors=replace(knowledge.priors, makers=makers, refinish=refinish, floor=1e-4, specific=4.0, mismatch=0.1),
    )


def weights(setting: Setting, knowledge: Knowledge) -> dict[str, float]:
    """Context -> its weight for a setting."""
    return dict(prior(setting, knowledge).contexts)


def test_sums_to_one_everywhere(knowledge: Knowledge) -> None:
    """Joint and maker's chances are chances, for known and unknown settings."""
    for setting in (
        Setting(now=NOW),
        Setting(years=(1700, 1720), now=NOW),
        Setting(years=(2020, 2026), region="east-asia", kind="box", wood="teak", style="shaker", now=NOW),
    ):
        found = prior(setting, knowledge)
        assert sum(map(sum, found.joint.values())) == pytest.approx(1)
        assert sum(found.maker.values()) == pytest.approx(1)
        assert all(p > 0 for row in found.joint.values() for p in row)


def test_years_weigh_by_overlap(knowledge: Knowledge) -> None:
    """Each context counts by how much of the years it covers, five soft years at either end."""
    made = book(knowledge, [context("old", (1800, 1895)), context("new", (1960, 2000))])
    found = weights(Setting(years=(1890, 1909), now=NOW), made)
    assert found["old"] / found["new"] == pytest.approx((1900 - 1890 + 1) / 0.05)
    made = book(knowledge, [context("old", (1800, 1950)), context("new", (1900, 1950))])
    found = weights(Setting(years=(1880, 1899), now=NOW), made)
    assert found["new"] / found["old"] == pytest.approx((1899 - 1895 + 1) / 20)


def test_a_context_that_names_what_is_there_gains(knowledge: Knowledge) -> None:
    """By `specific` for a match, `mismatch` for none, 0.15 a name where nothing is known, and 1 if it names none."""
    makers = [
        context("old", (1900, 1950), regions=["britain"]),
        context("new", (1900, 1950), regions=["north-america", "scandinavia"]),
        context("any", (1900, 1950)),
    ]
    made = book(knowledge, makers)
    found = weights(Setting(years=(1920, 1930), region="britain", now=NOW), made)
    assert found["old"] / found["any"] == pytest.approx(4.0)
    assert found["new"] / found["any"] == pytest.approx(0.1)
    blind = weights(Setting(years=(1920, 1930), region="unknown", now=NOW), made)
    assert blind["old"] / blind["any"] == pytest.approx(0.15)
    assert blind["new"] / blind["any"] == pytest.approx(0.3)
    many = context("old", (1900, 1950), regions=list(knowledge.vocabulary.regions))
    assert len(many.regions) > 7
    wide = weights(Setting(years=(1920, 1930), now=NOW), book(knowledge, [many, context("any", (1900, 1950))]))
    assert wide["old"] / wide["any"] == pytest.approx(1.0)
    for field, value in (("styles", "shaker"), ("kinds", "table"), ("woods", "oak")):
        rows = [context("old", (1900, 1950), **{field: [value]}), context("any", (1900, 1950))]
        told = weights(
            Setting(years=(1920, 1930), now=NOW, **{field[:-1]: value}),  # type: ignore[arg-type]
            book(knowledge, rows),
        )
        assert told["old"] / told["any"] == pytest.approx(4.0), field


def test_chance_of_an_owners_hand(knowledge: Knowledge) -> None:
    """1 - (1 - rate)^decades since the middle of the making, a quarter of it a coat over the old."""
    made = book(knowledge, [context("old", (1800, 1950))], rate=0.05)
    found = prior(Setting(years=(1916, 1936), now=NOW), made)
    original = sum(row[0] for row in found.joint.values())
    assert original == pytest.approx(0.95**10, abs=2e-4)
    redone = 1 - original
    assert sum(row[2] for row in found.joint.values()) / redone == pytest.approx(0.25, abs=2e-3)
    less = book(knowledge, [context("old", (1800, 1950))], rate=0.05, piano=0.2)
    piano = prior(Setting(years=(1916, 1936), kind="piano", now=NOW), less)
    assert sum(row[0] for row in piano.joint.values()) == pytest.approx(0.99**10, abs=2e-4)


def test_a_named_wood_speaks_against_what_hides_it(knowledge: Knowledge) -> None:
    """By the share in `wood_told`, for a finish or its family; a wood that nobody named says nothing."""
    made = book(knowledge, [context("old", (1900, 1950))])
    made = replace(made, priors=replace(made.priors, wood_told={"water-paint": 0.5, "casein-paint": 0.25}))
    named, blind = (prior(Setting(years=(1920, 1930), wood=wood, now=NOW), made).joint for wood in ("oak", "unknown"))
    for hider, kept in (("latex-paint", 0.5), ("casein-paint", 0.25)):
        shift = (sum(named[hider]) / sum(named["shellac"])) / (sum(blind[hider]) / sum(blind["shellac"]))
        assert shift == pytest.approx(kept), hider


def test_owners_use_what_owners_used(knowledge: Knowledge) -> None:
    """The maker's shellac stands under original, the owner's lacquer under the other two; nobody coats over with nothing."""
    found = prior(Setting(years=(1916, 1936), now=NOW), book(knowledge, [context("old", (1800, 1950))]))
    assert found.joint["shellac"][0] > 50 * found.joint["nitrocellulose-lacquer"][0]
    assert found.joint["nitrocellulose-lacquer"][1] > 50 * found.joint["shellac"][1]


def test_nobody_coats_over_with_nothing(knowledge: Knowledge) -> None:
    """Where owners strip to bare wood it is found bare, but not as a coat over the old one."""
    made = book(knowledge, [context("old", (1800, 1950))])
    era = replace(made.priors.refinish.eras[0], finishes={"bare-wood": 0.9})
    made = replace(made, priors=replace(made.priors, refinish=replace(made.priors.refinish, eras=[era])))
    bare = prior(Setting(years=(1916, 1936), now=NOW), made).joint["bare-wood"]
    assert bare[2] < 1e-3 * bare[1]


def test_what_was_made_this_year_no_owner_redid(knowledge: Knowledge) -> None:
    """No decade has gone by, so every film is the maker's."""
    joint = prior(Setting(years=(NOW, NOW), now=NOW), knowledge).joint
    assert sum(row[1] + row[2] for row in joint.values()) == 0


def test_the_bare_share_of_a_hidden_face_is_split(knowledge: Knowledge) -> None:
    """Two kinds of bare wood in the book share what is left bare between them; the rest keep their odds."""
    bare = knowledge.finishes["bare-wood"]
    book_ = replace(knowledge, finishes={**knowledge.finishes, "limed-bare": bare})
    inside, shown = (
        prior(Setting(years=(1900, 1910), now=NOW, hidden=hidden), book_).maker for hidden in (True, False)
    )
    share = book_.priors.hidden.bare
    assert sum(inside.values()) == pytest.approx(1)
    for kind in ("bare-wood", "limed-bare"):
        assert inside[kind] == pytest.approx((1 - share) * shown[kind] + share / 2)
    assert inside["shellac"] / inside["wax"] == pytest.approx(shown["shellac"] / shown["wax"])


def test_what_comes_to_this_workshop_weighs_by_how_much_oftener(knowledge: Knowledge) -> None:
    """Odds of two finishes are those of the book times those of how much oftener each comes here (Bayes)."""
    counts = Counts(found={"shellac": 30.0}, expected={"shellac": 3.0, "wax": 27.0})
    setting, demand = Setting(years=(1900, 1920), now=NOW), demanded(knowledge, counts)
    here, book_ = prior(setting, knowledge, shares_under(knowledge, counts)).joint, prior(setting, knowledge).joint
    assert demand["shellac"] > 2 > 1 > demand["wax"]
    for origin in range(3):
        odds = [j["shellac"][origin] / j["wax"][origin] for j in (here, book_)]
        assert odds[0] == pytest.approx(odds[1] * demand["shellac"] / demand["wax"])


def test_an_owner_came_after_the_maker(knowledge: Knowledge) -> None:
    """Eras count by how much they cover of the years since five after the middle of the making."""
    made = book(knowledge, [context("old", (1800, 1950))])
    era = made.priors.refinish.eras[0]
    eras = [
        replace(era, id="early", years=[1800, 1940], finishes={"shellac": 0.9}),
        replace(era, id="late", years=[1946, NOW], finishes={"waterborne": 0.9}),
    ]
    made = replace(made, priors=replace(made.priors, refinish=replace(made.priors.refinish, eras=eras)))
    joint = prior(Setting(years=(1916, 1936), now=NOW), made).joint
    assert joint["shellac"][1] / joint["waterborne"][1] == pytest.approx((1945 - 1931 + 1) / (NOW - 1941 + 1), rel=0.02)


def test_no_finish_before_its_time(knowledge: Knowledge) -> None:
    """A maker of 1800 has next to no waterborne coat, though a context says so; one of 1990 has."""
    makers = [context("new", (1750, 2000)), context("old", (1750, 2000), share=0.1)]
    old, new = (
        prior(Setting(years=years, now=NOW), book(knowledge, makers)).maker for years in ((1790, 1810), (1990, 1992))
    )
    assert old["waterborne"] < 0.01 < 0.8 < new["waterborne"]


def test_an_undated_piece_takes_its_age_from_what_fits(knowledge: Knowledge) -> None:
    """A region whose makers are old makes the chance of a later hand greater than one whose makers are new."""
    makers = [context("old", (1850, 1870), regions=["britain"]), context("new", (1990, 2010), regions=["scandinavia"])]
    made = book(knowledge, makers)
    old, new = (
        sum(row[0] for row in prior(Setting(region=region, now=NOW), made).joint.values())
        for region in ("britain", "scandinavia")
    )
    assert old == pytest.approx(0.95 ** ((NOW - 1860) / 10), abs=5e-3)
    assert new == pytest.approx(0.95 ** ((NOW - 2000) / 10), abs=5e-3)


def test_the_middle_half_of_what_fits(knowledge: Knowledge) -> None:
    """Of contexts at 1850, 1900 and 2000 by 3 : 4 : 3 the quartiles are 1850 and 2000, their middle 1925."""
    rows = [
        context("old", (1840, 1860), share=0.3),
        replace(context("old", (1890, 1910), share=0.4), id="mid"),
        context("new", (1990, 2010), share=0.3),
    ]
    found = prior(Setting(now=NOW), book(knowledge, rows))
    assert sum(row[0] for row in found.joint.values()) == pytest.approx(0.95 ** ((NOW - 1925) / 10), abs=5e-3)


def test_contexts_answer_for_a_finish(knowledge: Knowledge) -> None:
    """Responsibilities sum to one, and go to makers and owners by the chance of either origin."""
    setting = Setting(years=(1916, 1936), now=NOW)
    later = replace(context("old", (1990, 2000)), id="later")
    made = book(knowledge, [context("old", (1800, 1950)), context("new", (1900, 1950)), later])
    found = dict(responsible(candidates(setting, made, shares_under(made)), "shellac", 0.7))
    assert sum(found.values()) == pytest.approx(1)
    assert found["owners"] == pytest.approx(0.3)
    assert found["old"] > 100 * found["new"]
    assert found.get("later", 0.0) < 0.01 * found["old"]


@given(
    st.lists(st.floats(0.01, 1), min_size=3, max_size=3),
    st.lists(st.floats(0, 30), min_size=3, max_size=3),
    st.floats(1, 40),
)
def test_leaning_stays_a_chance(raw: list[float], found: list[float], weight: float) -> None:
    """Shares after counts sum to one; what was found oftener than the book says does not fall."""
    shares = {str(i): p / sum(raw) for i, p in enumerate(raw)}
    counts = {str(i): n for i, n in enumerate(found)}
    after = leaning(shares, counts, usual(weight))
    assert sum(after.values()) == pytest.approx(1)
    assert all(0 < p < 1 for p in after.values())
    ratio = {f: (counts[f] / max(sum(found), 1e-9)) / shares[f] for f in shares}
    most = max(ratio, key=lambda f: ratio[f])
    if sum(found) > 1 and ratio[most] > 1 and weight * min(shares.values()) >= 1:
        assert after[most] >= shares[most] - 1e-9


def test_departure_by_hand() -> None:
    """One case of a finish that the book gives one half: Polya's urn gives one half too, so neither is favoured."""
    half = {"a": 0.5, "b": 0.5}
    assert departure(half, {"a": 1.0}, 10.0) == pytest.approx(0.0)
    # Two of the same: (5/10 x 6/11) over (1/2)^2 = 12/11, by Polya's urn.
    assert departure(half, {"a": 2.0}, 10.0) == pytest.approx(0.0870113769896299)
    assert departure(half, {"a": 1.0, "b": 1.0}, 10.0) < 0


def test_demand_follows_the_cases(knowledge: Knowledge) -> None:
    """What comes to a workshop oftener than the book expects gains; without cases nothing is said."""
    assert demanded(knowledge, Counts()) == {}
    expected = dict.fromkeys(knowledge.finishes, 1.0)
    found = demanded(knowledge, Counts(found={"wax": 20.0, "shellac": 5.0}, expected=expected))
    assert found["wax"] > found["shellac"] > 1 > found["epoxy"]


@settings(max_examples=20)
@given(st.integers(1500, 2020), st.integers(0, 120))
def test_any_years(knowledge: Knowledge, first: int, length: int) -> None:
    """Whatever the years, chances are chances."""
    found = prior(Setting(years=(first, min(first + length, NOW)), now=NOW), knowledge)
    assert sum(map(sum, found.joint.values())) == pytest.approx(1)
