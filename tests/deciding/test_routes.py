"""Routes: harmless first, small trees that end, what a try changes, what the user prefers."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from oldcoat.engine.deciding.routes import WORTH_A_TRY, Plan, safest_first, to_be_tried
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.layers import loss_below

Examine = Callable[..., Examination]
ALCOHOL = ["dissolves-fast", "softens-slow", "no-effect"]
THINNER = ["dissolves", "gels-wrinkles", "no-effect"]


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(ALCOHOL),
    st.sampled_from(THINNER),
    st.sampled_from(["solid", "veneer", "unknown"]),
    st.sampled_from(["oak", "walnut", "maple", "pine"]),
    st.sampled_from(["balanced", "fast", "gentle", "cheap", "low-fume"]),
    st.sampled_from([1890, 1935, 1965, 2005]),
)
def test_a_harmful_step_never_ranks_first_where_a_harmless_one_does_as_well(
    examine: Examine,
    knowledge: Knowledge,
    alcohol: str,
    thinner: str,
    build: str,
    wood: str,
    prefer: str,
    made: int,
) -> None:
    """Over invented answers, woods, builds and tastes."""
    tests = {"alcohol-drop": alcohol, "lacquer-thinner-drop": thinner}
    done = examine({"made": made, "prefer": prefer}, wood=wood, build=build, tests=tests)
    book = knowledge.decide
    if not done.routes or done.routes[0].harm <= book.harmless:
        return
    first = done.routes[0]
    better = [
        p.remover
        for p in done.predictions
        if p.allowed
        and p.works >= WORTH_A_TRY
        and p.harm <= book.harmless
        and p.works >= first.works - book.same_result
    ]
    assert not better, (first.remover, better)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["shellac", "nitrocellulose-lacquer", "alkyd-varnish", "latex-paint", "epoxy", "wax"]),
    st.sampled_from(["solid", "veneer"]),
    st.sampled_from(["oak", "walnut", "pine"]),
    st.sampled_from([[], ["inlay"], ["decal"], ["leather"], ["carving"]]),
    st.sampled_from(["balanced", "fast", "cheap"]),
    st.sampled_from([None, "shellac", "oil-resin-varnish"]),
)
def test_nor_where_features_or_a_film_to_be_kept_make_the_harm(
    examine: Examine,
    knowledge: Knowledge,
    finish: str,
    build: str,
    wood: str,
    features: list[str],
    prefer: str,
    under: str | None,
) -> None:
    """The same over known finishes, what is let into the face, and a film that is to stay."""
    kept = {"keep_under": True, "under": under} if under and under != finish else {}
    known = {"finish": finish, "how": "laboratory"}
    done = examine({"made": 1985, "prefer": prefer}, wood=wood, build=build, features=features, known=known, **kept)
    book = knowledge.decide
    for route in done.routes[:1]:
        better = [
            p.remover
            for p in done.predictions
            if p.allowed and p.works >= max(WORTH_A_TRY, route.works - book.same_result) and p.harm <= book.harmless
        ]
        assert route.harm <= book.harmless or not better, (route.remover, better)
        assert route.harm <= book.most_harm


@settings(max_examples=25, deadline=None)
@given(
    st.floats(min_value=5, max_value=600),
    st.floats(min_value=5, max_value=600),
    st.sampled_from([None, "shellac", "oil-paint", "conversion-varnish"]),
)
def test_more_film_never_takes_fewer_hours_on_a_surface(
    examine: Examine, one: float, other: float, finish: str | None
) -> None:
    """Hours, coats, contact, litres of every remover, whatever is believed of the film."""
    known = {"known": {"finish": finish, "how": "laboratory"}} if finish else {"tests": {"alcohol-drop": "no-effect"}}
    thin, thick = (examine({"made": 1960}, build="solid", film_um=um, **known) for um in sorted((one, other)))
    for less, more in zip(thin.predictions, thick.predictions, strict=True):
        for field in ("hours", "coats", "dwell_minutes", "litres"):
            assert all(b >= a - 1e-9 for a, b in zip(getattr(less, field), getattr(more, field), strict=True)), field
        assert more.dwell_likely >= less.dwell_likely - 1e-9


# ---------------------------------------------------------------- a film that is to stay

LACQUER_OVER = {"build": "veneer", "veneer_mm": 0.8, "wood": "walnut", "keep_under": True}
LACQUER_OVER |= {"known": {"finish": "nitrocellulose-lacquer", "how": "laboratory"}, "under": "shellac"}


def test_what_may_take_the_film_that_stays_is_no_route(examine: Examine, knowledge: Knowledge) -> None:
    """Lacquer over shellac that is to stay: solvents are forbidden, a scraper is a gamble, so no route stands."""
    done = examine({"made": 1932}, **LACQUER_OVER)
    assert done.routes == []
    risky = to_be_tried(done.predictions)
    assert risky is not None
    assert loss_below(risky.harms) > knowledge.decide.most_loss
    assert not risky.vetoes
    assert examine({"made": 1932}, **{**LACQUER_OVER, "keep_under": False}).routes


def test_a_coat_that_peels_is_lifted_off_the_film_below(examine: Examine, knowledge: Knowledge) -> None:
    """A top coat with no hold parts from the lower film under a scraper (common practice, no source)."""
    held = examine({"made": 1932}, **LACQUER_OVER, tests={"wear-pattern": "gradual-thinning"})
    peels = examine({"made": 1932}, **LACQUER_OVER, tests={"wear-pattern": "peels-sheets"})
    assert held.routes == []
    assert [r.remover for r in peels.routes] == ["card-scraper"]
    scraper = next(p for p in peels.predictions if p.remover == "card-scraper")
    assert loss_below(scraper.harms) <= knowledge.decide.most_loss


def test_wax_on_a_film_that_was_seen_is_taken_off_and_the_film_stays(examine: Examine) -> None:
    """Wax over the shellac that is to stay: mineral spirits takes the one and spares the other (common practice)."""
    seen = {"mineral-spirits-rub": "residue-yellow-brown", "fingernail": "smears-waxy", "scraper": "waxy-smear"}
    done = examine({"made": 1890}, wood="mahogany", build="solid", under="shellac", keep_under=True, tests=seen)
    assert done.posterior.top == "wax"
    assert done.routes[0].remover == "mineral-spirits"
    without = examine({"made": 1890}, wood="mahogany", build="solid", tests=seen)
    assert without.posterior.finishes["wax"] < done.posterior.finishes["wax"]


def test_a_trial_that_spared_the_lower_film_opens_the_way(examine: Examine, knowledge: Knowledge) -> None:
    """`works` on a face whose lower film stays says it stayed: the scraper is a route then; `harms` shuts it out."""
    good = examine({"made": 1932}, **LACQUER_OVER, tried=[{"remover": "card-scraper", "result": "works"}])
    assert [r.remover for r in good.routes] == ["card-scraper"]
    assert "Stop as soon as the shellac below shows" in " ".join(s.text for s in good.routes[0].stages)
    bad = examine({"made": 1932}, **LACQUER_OVER, tried=[{"remover": "card-scraper", "result": "harms"}])
    assert bad.routes == []
    assert "card-scraper" in {p.remover for p in bad.predictions if p.vetoes}
    acetone = examine({"made": 1932}, **LACQUER_OVER, tried=[{"remover": "acetone", "result": "works"}])
    assert "acetone" in {p.remover for p in acetone.predictions if p.vetoes}


def test_nothing_strips_a_sheet(examine: Examine) -> None:
    """Printed paper, foil, laminate: no route, no remover worth a try, and the rules say what to do instead."""
    known = {"finish": "plastic-laminate", "how": "laboratory"}
    done = examine({"made": 1962}, build="unknown", known=known, tests={"loupe-edge": "printed-or-sheet-edge"})
    assert done.routes == []
    assert all(p.works < 0.1 for p in done.predictions)
    assert "nothing-to-strip" in {f.rule.then.flag.id for f in done.firings if f.rule.then.flag}


def plans(examine: Examine, *rows: tuple[float, float, float]) -> list[Plan]:
    """Invented plans of given cost, chance of working and harm."""
    any_one = examine(build="solid").predictions[0]
    return [Plan(cost, replace(any_one, works=works, harm=harm), None, works) for cost, works, harm in rows]


def test_the_harmless_plan_goes_first_however_dear(examine: Examine, knowledge: Knowledge) -> None:
    """Of a cheap harmful and two dear harmless plans the cheaper harmless one leads, the rest keep their order."""
    made = plans(examine, (10, 0.9, 0.5), (20, 0.5, 0.0), (900, 0.9, 0.01), (950, 0.95, 0.0))
    assert [p.minutes for p in safest_first(made, knowledge)] == [900, 10, 20, 950]


def test_a_harmless_plan_that_does_worse_stays_behind(examine: Examine, knowledge: Knowledge) -> None:
    """Harmless and useless is no answer."""
    made = plans(examine, (10, 0.9, 0.5), (20, 0.5, 0.0))
    assert safest_first(made, knowledge) == made


def test_a_milder_plan_with_the_same_result_goes_before_a_grave_hazard(examine: Examine, knowledge: Knowledge) -> None:
    """What can maim or poison an unborn child is no first choice for being quicker."""
    by_name = {p.remover: p for p in examine(build="solid").predictions}
    grave = next(n for n, r in knowledge.removers.items() if r.hazard >= knowledge.decide.grave_hazard)
    mild = next(n for n, r in knowledge.removers.items() if r.hazard <= 1)
    one, other = replace(by_name[grave], harm=0.4, works=0.8), replace(by_name[mild], harm=0.4, works=0.8)
    made = [Plan(10, one, None, 0.8), Plan(90, other, None, 0.8)]
    assert [p.first.remover for p in safest_first(made, knowledge)] == [mild, grave]
    worse = [made[0], Plan(90, replace(other, works=0.5), None, 0.5)]
    assert safest_first(worse, knowledge) == worse


def test_soft_before_its_time_is_no_failure(examine: Examine) -> None:
    """Benzyl alcohol that softened an old varnish in an hour is left on; soft after a day it is changed (invented)."""
    known = {"finish": "oil-resin-varnish", "how": "laboratory"}
    fields = {"build": "solid", "wood": "maple", "known": known}
    early, late = (
        examine({"made": 1890}, **fields, tried=[{"remover": "benzyl-alcohol-gel", "result": "softens", "minutes": m}])
        for m in (60, 1400)
    )
    works = [next(p.works for p in done.predictions if p.remover == "benzyl-alcohol-gel") for done in (early, late)]
    assert works[0] > 0.5 > works[1]
    assert early.routes[0].remover == "benzyl-alcohol-gel"


@pytest.mark.parametrize("finish", ["shellac", "nitrocellulose-lacquer", "alkyd-varnish", "oil-paint", "epoxy"])
def test_a_route_is_a_tree_that_ends(examine: Examine, knowledge: Knowledge, finish: str) -> None:
    """Every number leads to a stage, failure leads on to the next attempt and then to the stop."""
    done = examine({"made": 1960}, build="solid", wood="maple", known={"finish": finish, "how": "laboratory"})
    assert done.routes
    for route in done.routes:
        kinds = [stage.kind for stage in route.stages]
        assert kinds[:2] == ["patch", "coats"]
        assert kinds[-1] == "stop"
        assert {"stop-when", "after", "dry", "recoat"} <= set(kinds)
        assert all(1 <= n <= len(kinds) for s in route.stages for n in (s.then, s.otherwise) if n is not None)
        fails = route.stages[0].otherwise
        assert fails is not None
        assert kinds[fails - 1] == ("if-not" if route.then else "stop")
        named = [int(n) for s in route.stages for n in re.findall(r"step (\d+)", s.text)]
        assert all(n <= len(kinds) for n in named)
        shown = {c for stage in route.stages for c in stage.cautions}
        assert shown == set(route.cautions) >= set(knowledge.removers[route.remover].cautions)


def test_cautions_stand_at_the_step_where_they_matter(examine: Examine) -> None:
    """Fire and skin at the trial patch, waste at the clearing up."""
    done = examine({"made": 1900}, build="solid", known={"finish": "shellac", "how": "laboratory"})
    by_kind = {stage.kind: stage.cautions for stage in done.routes[0].stages}
    assert done.routes[0].remover == "denatured-alcohol"
    assert "flammable-solvent" in by_kind["patch"]
    assert "flammable-solvent" in by_kind["coats"]
    assert "waste-disposal" in by_kind["after"]
    assert "waste-disposal" not in by_kind["patch"]


def test_a_cold_room_dries_slower(examine: Examine) -> None:
    """The wait after a wet remover follows from the room; in damp air it is never shorter than the book's."""

    def waits(humidity: float, celsius: float) -> dict[str, float]:
        room = {"humidity": humidity, "temperature_c": celsius}
        known = {"finish": "oil-paint", "how": "laboratory"}
        done = examine({"made": 1990, "room": room}, build="solid", wood="maple", known=known)
        return {r.remover: r.dry_hours[1] for r in done.routes}

    warm, cold, damp = waits(50, 22), waits(50, 6), waits(90, 20)
    wet = {"benzyl-alcohol-gel", "benzyl-alcohol-acid", "nmp-gel", "dibasic-ester-gel"} & warm.keys() & cold.keys()
    assert wet
    assert all(cold[name] > 1.3 * warm[name] for name in wet)
    assert all(damp[name] >= warm[name] for name in damp.keys() & warm.keys())


def test_a_settled_route_may_cover_two_finishes(examine: Examine) -> None:
    """Alkyd or oil varnish: which it is does not matter, one remover takes both, and the route says so."""
    tests = {"alcohol-drop": "no-effect", "lacquer-thinner-drop": "gels-wrinkles", "sandpaper": "powders"}
    done = examine({"made": "1925-1940"}, build="solid", wood="maple", tests={k: tests[k] for k in list(tests)[:2]})
    possible = {f for f, p in done.posterior.finishes.items() if p >= 0.05}
    assert len(possible) >= 2
    assert any(len(route.covers) >= 2 and set(route.covers) <= possible for route in done.routes)


def test_a_fume_averse_user_gets_no_more_hazard(examine: Examine) -> None:
    """Weights of the user: minding fumes never brings a more hazardous first remover here."""
    known = {"finish": "conversion-varnish", "how": "laboratory"}

    def hazard(prefer: str) -> int:
        return examine({"prefer": prefer, "made": 1990}, build="solid", wood="maple", known=known).routes[0].hazard

    assert hazard("low-fume") <= hazard("balanced") <= max(hazard("fast"), hazard("balanced"))


def test_expected_hours_do_not_depend_on_taste(examine: Examine) -> None:
    """What the user minds ranks the routes; the hours of one and the same route stay what they are."""
    known = {"finish": "alkyd-varnish", "how": "laboratory"}

    def hours(prefer: str) -> dict[tuple[str, str | None], float]:
        routes = examine({"prefer": prefer, "made": 1960}, build="solid", wood="maple", known=known).routes
        return {(r.remover, r.then): r.expected_hours for r in routes}

    plain, eager = hours("balanced"), hours("fast")
    same = plain.keys() & eager.keys()
    assert same
    assert all(plain[key] == pytest.approx(eager[key]) for key in same)


def change(examine: Examine, tried: dict[str, Any], **surface: Any) -> tuple[Examination, Any]:
    """A surface with one try, and what that changed."""
    done = examine({"made": "1915-1935", "region": "north-america"}, build="solid", tried=[tried], **surface)
    (only,) = done.changes
    return done, only


def test_a_failed_try_moves_belief_and_route_and_says_so(examine: Examine) -> None:
    """Alcohol that did nothing for half an hour: not shellac, and no alcohol any more."""
    before = examine({"made": "1915-1935", "region": "north-america"}, build="solid")
    done, only = change(examine, {"remover": "denatured-alcohol", "result": "no-effect", "minutes": 30})
    assert done.posterior.finishes["shellac"] < 0.4 * before.posterior.finishes["shellac"]  # wax may excuse it
    assert only.fell == "shellac"
    assert "shellac" in only.text
    assert "after 30 min: no effect" in only.text
    assert done.routes[0].remover != "denatured-alcohol"


def test_a_try_that_was_cut_short_says_less(examine: Examine) -> None:
    """Two minutes of a gel that wants an hour hardly count, and that is said."""
    gel = {"remover": "benzyl-alcohol-gel", "result": "no-effect"}
    known = {"alcohol-drop": "no-effect"}
    short, told = change(examine, {**gel, "minutes": 2}, tests=known)
    long, _ = change(examine, {**gel, "minutes": 600}, tests=known)
    works = {name: _works(done, "benzyl-alcohol-gel") for name, done in (("short", short), ("long", long))}
    assert works["short"] > works["long"] + 0.2
    assert "as a rule, so it counts for" in told.text


@pytest.mark.parametrize("build", ["unknown", "veneer"])
def test_no_route_turns_to_sanding_where_nothing_may_be_sanded_away(examine: Examine, build: str) -> None:
    """Neither first nor as the next attempt; solid wood bears it. A piano lid of 1985, veneer guessed from the years."""
    known = {"finish": "polyester", "how": "laboratory"}
    lid = examine({"made": 1985, "kind": "piano"}, build=build, known=known)
    assert not lid.under.sequences
    assert "sanding" not in {name for route in lid.routes for name in (route.remover, route.then)}
    solid = examine({"made": 1985, "kind": "piano"}, build="solid", known=known)
    assert any("sanding" in (route.remover, route.then) for route in solid.routes)


def test_half_a_success_lies_between(examine: Examine) -> None:
    """What only softened is expected to soften again: less than lifted, more than nothing."""
    works = {}
    for result in ("lifts", "softens", "no-effect"):
        done, _ = change(examine, {"remover": "benzyl-alcohol-gel", "result": result, "minutes": 600})
        works[result] = _works(done, "benzyl-alcohol-gel")
    assert works["lifts"] > works["softens"] > works["no-effect"]


def test_a_patch_told_as_a_test_changes_the_same(examine: Examine) -> None:
    """stripper-patch answers are tries too."""
    done = examine(build="solid", tests={"stripper-patch/acetone": "dissolves"})
    assert [c.remover for c in done.changes] == ["acetone"]
    assert _works(done, "acetone") > 0.85


def _works(done: Examination, remover: str) -> float:
    return next(p.works for p in done.predictions if p.remover == remover)
