"""Figures of a prediction and of the wood beneath, worked out the long way on invented surfaces."""

from __future__ import annotations

from collections.abc import Callable
from math import exp

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.belief.evidence import Evidence
from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.belief.prior import Prior
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Glue
from oldcoat.engine.piece.form import Surface
from oldcoat.engine.removal.effects import after_trials
from oldcoat.engine.removal.film import Told, slower, thickness, told
from oldcoat.engine.removal.layers import BARE, films_under, kept_films
from oldcoat.engine.wood.substrate import allowed_sequences, most_removed, wooden

Examine = Callable[..., Examination]


def test_harm_works_and_material(examine: Examine, knowledge: Knowledge) -> None:
    """Own harm and that of its effects, then each objection; dissolving and lifting; litres by coats and area."""
    done = examine({"made": 1962}, build="solid", area_m2=3.0, tests={"alcohol-drop": "no-effect"})
    for row in done.predictions:
        entry = knowledge.removers[row.remover]
        safe = 1 - min(entry.harm + sum(p * knowledge.decide.harm_by_effect[e] for e, p in row.effects.items()), 1.0)
        for harm in row.harms:
            safe *= 1 - harm.chance
        assert row.harm == pytest.approx(1 - safe)
        assert row.works == pytest.approx(row.effects["dissolves"] + row.effects["lifts"])
        assert sum(row.effects.values()) == pytest.approx(1)
        for end in (0, 1):
            assert row.litres[end] == pytest.approx(entry.work.litres_m2[end] * row.coats[end] * 3.0)
            assert row.cost[end] == pytest.approx(row.litres[end] * entry.work.cost_litre[end])


def test_chances_are_means_over_belief(examine: Examine) -> None:
    """Each effect is the mean over the finishes as believed, and no finish of less than a ten-thousandth counts."""
    sure = {"alcohol-drop": "dissolves-fast", "lacquer-thinner-drop": "gels-wrinkles", "uv-a": "orange"}
    done = examine({"made": 1890}, build="solid", tests={**sure, "film-build": "thin-open-pore"})
    shares = {f: p for f, p in done.posterior.finishes.items() if p >= 1e-4}
    assert 1 - sum(shares.values()) > 1e-5  # so that it shows whether the rest counts
    for row in done.predictions:
        for effect, chance in row.effects.items():
            mean = sum(p * row.effects_by[f][effect] for f, p in shares.items()) / sum(shares.values())
            assert chance == pytest.approx(mean)


def test_hours_are_those_where_it_moves(examine: Examine) -> None:
    """Mean minutes over the finishes as Bayes has them once the patch moved: P(f) (1 - P(no effect | f)) / sum."""
    done = examine({"made": 1930}, build="solid", tests={"alcohol-drop": "no-effect"})
    shares = {f: p for f, p in done.posterior.finishes.items() if p >= 1e-4}
    differ = 0
    for row in done.predictions:
        moved = {f: p * (1 - row.effects_by[f]["no-effect"]) for f, p in shares.items()}
        wanted = sum(p * row.minutes_on[f] for f, p in moved.items()) / sum(moved.values())
        assert 60 * sum(row.hours) / 2 == pytest.approx(wanted, rel=1e-3), row.remover
        differ += abs(wanted / sum(p * row.minutes_on[f] for f, p in shares.items()) - 1) > 0.01
    assert differ > 3  # so that it shows whether what does not move counts


def test_a_prediction_is_a_mean_over_the_states_of_the_film(examine: Examine, knowledge: Knowledge) -> None:
    """P(effect | finish) = sum of P(state | finish, answers) times the row leaned by the state, summed by hand."""
    known = {"finish": "nitrocellulose-lacquer", "how": "laboratory"}
    done = examine(build="solid", known=known, tests={"lacquer-thinner-drop": "no-effect"})
    group = knowledge.belief.groups["solubility"]
    at = sorted(knowledge.finishes).index("nitrocellulose-lacquer") * len(group.states)
    names, before = sorted(group.states), Tables(knowledge).state_shares("solubility")[at:]
    believed = dict(zip(names, done.posterior.states["solubility"][at:], strict=False))
    assert believed["harder"] > 1.3 * before[names.index("harder")]
    gives = knowledge.pairs["nitrocellulose-lacquer"]["acetone"].gives
    lean = {"dissolves": 1.0, "lifts": 0.3, "softens": 0.0, "no-effect": -1.0}
    wanted = dict.fromkeys(gives, 0.0)
    for state, p in believed.items():
        raw = {e: gives[e] * exp(group.states[state].tilt * lean[e]) for e in gives}
        for e in gives:
            wanted[e] += p * raw[e] / sum(raw.values())
    found = next(p for p in done.predictions if p.remover == "acetone").effects_by["nitrocellulose-lacquer"]
    assert found == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("test", "outcome", "remover"),
    [
        ("alcohol-drop", "no-effect", "denatured-alcohol"),
        ("lacquer-thinner-drop", "no-effect", "lacquer-thinner"),
        ("acetone-rub", "no-effect-sheds", "acetone"),
    ],
)
def test_a_test_is_a_trial_of_the_liquid_it_is_done_with(
    examine: Examine, test: str, outcome: str, remover: str
) -> None:
    """Kept wet with it in vain, a film will not go into it whatever its name; wax in between is an excuse for it."""
    known = {"finish": "nitrocellulose-lacquer" if remover != "denatured-alcohol" else "shellac", "how": "laboratory"}
    before = examine(build="solid", known=known)
    after = examine(build="solid", known=known, tests={test: outcome})
    waxed = examine(build="solid", known=known, tests={test: outcome, "mineral-spirits-rub": "residue-yellow-brown"})
    works = [next(p.works for p in done.predictions if p.remover == remover) for done in (before, waxed, after)]
    assert works[0] > works[1] > works[2]
    told = next(p for p in after.predictions if p.remover == remover).because[0]
    assert told.startswith("Tried on this face")
    assert told.endswith(": no effect.")


@pytest.mark.parametrize("finish", ["nitrocellulose-lacquer", "shellac", "alkyd-enamel", "oil-paint"])
def test_what_failed_speaks_against_its_like(examine: Examine, finish: str) -> None:
    """A film that resisted two strippers resists a third better than its name says; one that let go, worse."""
    known = {"finish": finish, "how": "laboratory"}
    rows = {}
    for result in ("no-effect", None, "works"):
        tried = [
            {"remover": r, "result": result, "minutes": 900}
            for r in ("benzyl-alcohol-gel", "dibasic-ester-gel")
            if result
        ]
        done = examine(build="solid", known=known, tried=tried)
        rows[result] = {p.remover: p.effects_by[finish]["no-effect"] for p in done.predictions}
    for remover in ("dichloromethane", "nmp-gel", "acetone"):
        assert rows["no-effect"][remover] > rows[None][remover] > rows["works"][remover]


def test_a_trial_is_mixed_in_by_what_it_is_worth() -> None:
    """keeps (1 - slip) of Bayes on the effects, the rest as it was."""
    before = {"dissolves": 0.2, "lifts": 0.3, "softens": 0.1, "no-effect": 0.4}
    trial = Evidence("t", "stripper-patch/x", "lifts", {"lifts": 1.0, "dissolves": 0.5}, keeps=0.5)
    found = after_trials(before, [trial], slip=0.1)  # type: ignore[arg-type]
    assert found["lifts"] == pytest.approx(0.45 * 0.3 / 0.4 + 0.55 * 0.3)
    assert found["dissolves"] == pytest.approx(0.45 * 0.1 / 0.4 + 0.55 * 0.2)
    assert found["no-effect"] == pytest.approx(0.55 * 0.4)


def test_only_what_did_harm_is_forbidden_for_it(examine: Examine) -> None:
    """The remover that did harm, by its own name; not the one that worked, nor the others."""
    tried = [{"remover": "acetone", "result": "harms"}, {"remover": "lacquer-thinner", "result": "works"}]
    done = examine(build="solid", tried=tried)
    harmed = {p.remover for p in done.predictions if any(v.rule == "tried-and-harmed" for v in p.vetoes)}
    assert harmed == {"acetone"}


# ---------------------------------------------------------------- film and wood


def test_thickness_of_a_film_by_hand(knowledge: Knowledge) -> None:
    """Usually 40 to 160 um: the middle is 80, a spread of four; coats counted leave a spread of two, and scale the middle."""
    shellac = knowledge.finishes["shellac"]
    film = replace(shellac, film=replace(shellac.film, typical_um=(40.0, 160.0)))
    assert thickness(Told(), film, knowledge) == (40.0, 160.0)
    book = replace(knowledge, decide=replace(knowledge.decide, usual_coats=4))
    for coats, middle in ((4, 80.0), (8, 160.0)):
        assert thickness(Told(coats=coats), film, book) == pytest.approx((middle / 2**0.5, middle * 2**0.5))
    assert thickness(Told(um=33.0, coats=9), film, knowledge) == (33.0, 33.0)
    assert thickness(Told(coats=1), film, book) == pytest.approx((25.0, 50.0))  # wetting takes its time


def test_age_of_a_film(knowledge: Knowledge) -> None:
    """The most years it may have, never below none; it tightens in the very year that the book names."""
    face = Surface(name="face")
    assert told(face, (1930, 1945), 2026) == Told(None, None, 96)
    assert told(face, (2030, 2040), 2026).years == 0
    assert told(face, None, 2026).years is None
    aged = next(f for f in knowledge.finishes.values() if f.film.knits)
    knits = aged.film.knits
    assert knits is not None
    assert slower(Told(years=knits.years), aged) == knits.slower
    assert slower(Told(years=knits.years - 1), aged) == slower(Told(), aged) == 1.0


def test_grits_by_hand(knowledge: Knowledge) -> None:
    """A run costs what each next grit must follow with, and the levelling; the most adds the first one's largest pass."""
    book = knowledge.substrate
    costed = dict(allowed_sequences(book, 99.0))
    wanted = book.grits["150"].must_follow_mm + book.grits["180"].must_follow_mm + book.levelling_mm
    assert costed["150-180-220"] == pytest.approx(wanted, abs=6e-4)
    most = book.grits["150"].max_pass_mm + book.grits["150"].must_follow_mm + book.grits["180"].must_follow_mm
    assert most_removed(book, ["150", "180", "220"]) == pytest.approx(most)
    assert next(name for name, _ in allowed_sequences(book, wanted + 6e-4)) == "150-180-220"


def test_the_worst_glue_of_the_time(knowledge: Knowledge) -> None:
    """The one that fears water and alkali most; of equals the one that gives way at less heat."""
    old: dict[str, Glue] = knowledge.substrate.glues
    some = next(iter(old.values()))
    base = replace(some, years=[1800, 2000], water="low", alkali="low", heat_limit_c=60.0)
    glues = {
        "low": base,
        "bad": replace(base, name="bad", water="high", alkali="low", heat_limit_c=90.0),
        "worse": replace(base, name="worse", water="medium", alkali="medium", heat_limit_c=50.0),
        "later": replace(base, name="later", years=[1990, 2020], water="high", alkali="high"),
    }
    book = replace(knowledge, substrate=replace(knowledge.substrate, glues=glues))
    found = wooden(Surface(name="face", build="veneer"), (1920, 1930), book).glue
    assert found is not None
    assert found.name == "worse"
    del glues["worse"]
    found = wooden(Surface(name="face", build="veneer"), (1920, 1930), book).glue
    assert found is not None
    assert found.name == "bad"


def test_what_lies_under(knowledge: Knowledge) -> None:
    """Coated over: the maker's film; else the sealer that makers laid under such a finish; bare wood is no film."""
    top = next(f for f, entry in knowledge.finishes.items() if entry.over)
    sealer, band = next(iter(knowledge.finishes[top].over.items()))
    other = next(f for f in knowledge.finishes if f not in (top, sealer, BARE))
    maker = dict.fromkeys(knowledge.finishes, 0.0) | {other: 0.3, sealer: 0.1, BARE: 0.4, top: 0.2}
    posterior = Posterior({top: 1.0}, 0.0, {"original": 0.7, "refinished": 0.1, "overcoated": 0.2}, {}, 0.0)
    found = films_under(Surface(name="face"), posterior, Prior({}, maker, []), knowledge)
    assert found[other] == pytest.approx(0.2 * 0.75)
    assert found[sealer] == pytest.approx(0.2 * 0.25 + 0.8 * knowledge.belief.bands[band])
    assert BARE not in found
    assert found.get(top, 0.0) == 0
    face = Surface(name="face", keep_under=True)
    kept = kept_films(face, posterior, Prior({}, maker, []), knowledge)
    assert sum(kept.values()) == pytest.approx(1)
    assert kept_films(replace(face, under="shellac"), posterior, Prior({}, maker, []), knowledge) == {"shellac": 1.0}
    assert kept_films(replace(face, keep_under=False), posterior, Prior({}, maker, []), knowledge) == {}


def test_veneer_that_was_not_measured(knowledge: Knowledge) -> None:
    """From the thinnest to the thickest of its time; solid wood has none, nothing unseen, and may lose what it has to keep."""
    rows = knowledge.substrate.veneers
    early = replace(rows[0], years=[1800, 1900], mm=[0.8, 2.0])
    both = replace(rows[0], years=[1850, 2000], mm=[0.5, 1.0])
    book = replace(knowledge, substrate=replace(knowledge.substrate, veneers=[early, both]))
    assert wooden(Surface(name="face", build="veneer"), (1860, 1870), book).veneer_mm == (0.5, 2.0)
    assert wooden(Surface(name="face", build="veneer"), (1950, 1960), book).veneer_mm == (0.5, 1.0)
    solid = wooden(Surface(name="face", build="solid"), (1860, 1870), book)
    assert (solid.veneer_mm, solid.unseen_mm, solid.stays_mm) == (None, 0.0, book.substrate.reserve_mm["solid"])
    measured = wooden(Surface(name="face", build="veneer", veneer_mm=0.6), (1860, 1870), book)
    assert measured.unseen_mm == book.substrate.unsure_mm["measured"]


@pytest.mark.parametrize(
    ("start", "made", "meets"),
    [
        (1908, (1890, 1910), False),  # two years of twenty
        (1903, (1890, 1910), True),  # seven of twenty
        (1900, (1890, 1910), True),  # the middle
        (1901, (1901, 1901), True),
        (1902, (1901, 1901), False),
    ],
)
def test_veneer_of_a_time_that_the_years_only_touch(
    knowledge: Knowledge, start: int, made: tuple[int, int], meets: bool
) -> None:
    """A time counts if the middle of the making lies in it, or three in ten of its years do."""
    old = replace(knowledge.substrate.veneers[0], years=[1700, 2000], mm=[0.8, 1.0])
    thin = replace(old, years=[start, 2000], mm=[0.3, 0.5])
    book = replace(knowledge, substrate=replace(knowledge.substrate, veneers=[old, thin]))
    found = wooden(Surface(name="face", build="veneer"), made, book).veneer_mm
    assert found == ((0.3, 1.0) if meets else (0.8, 1.0))


def test_what_the_film_below_stands_to_lose(examine: Examine) -> None:
    """Chance that it dissolves or lifts, half of that it softens, half of all for an edge: forbidden from a half, told from a tenth."""
    fields = {"build": "solid", "known": {"finish": "oil-modified-polyurethane", "how": "laboratory"}}
    told = {}
    for under in ("shellac", "oil-resin-varnish", "epoxy"):
        done = examine({"made": 1900}, **fields, keep_under=True, under=under)
        assert not any(f.rule.then.spares for f in done.firings)
        for row in done.predictions:
            e = row.effects_by[under]
            chance = e["dissolves"] + e["lifts"] + e["softens"] / 2
            chance /= 2 if row.remover in ("card-scraper", "sanding") else 1
            vetoed = any(v.rule == "keep-the-film-below" for v in row.vetoes)
            (harm,) = [h.chance for h in row.harms if h.rule == "keep-the-film-below"] or [0.0]
            assert vetoed == (chance >= 0.5), (under, row.remover)
            assert harm == pytest.approx(chance if 0.1 <= chance < 0.5 else 0.0), (under, row.remover)
            told[vetoed, harm > 0] = row.remover
    assert told.keys() >= {(True, False), (False, True), (False, False)}


# ---------------------------------------------------------------- what must not meet


def test_a_route_never_turns_to_an_enemy(knowledge: Knowledge) -> None:
    """If what a route turns to must not meet its first remover, whichever of the two says so, it turns elsewhere."""
    piece = parse_piece(
        "piece: x\nsurfaces: [{name: top, build: solid, tests: {lacquer-thinner-drop: dissolves}}]", "x", knowledge
    )

    def turns(book: Knowledge, first: str) -> str | None:
        routes = Examiner(book, this_year=2026).examine(piece, piece.surfaces[0]).routes
        return next((r.then for r in routes if r.remover == first), None)

    routes = Examiner(knowledge, this_year=2026).examine(piece, piece.surfaces[0]).routes
    route = next(route for route in routes if route.then)
    for one, other in ((route.remover, str(route.then)), (str(route.then), route.remover)):
        hostile = replace(knowledge.removers[one], never_with=[other])
        assert turns(replace(knowledge, removers={**knowledge.removers, one: hostile}), route.remover) != route.then


def test_routes_are_worth_a_try_and_not_too_harmful(examine: Examine, knowledge: Knowledge) -> None:
    """Whatever heads a route works at least about every third time and does no more harm than the book allows."""
    for made, build in ((1890, "veneer"), (1935, "solid"), (1990, "veneer")):
        done = examine({"made": made}, build=build, wood="oak")
        by_name = {p.remover: p for p in done.predictions}
        for route in done.routes:
            assert by_name[route.remover].works >= 0.35
            assert route.harm <= knowledge.decide.most_harm
            assert not by_name[route.remover].vetoes


def test_the_film_below_gets_its_own_remover(examine: Examine, knowledge: Knowledge) -> None:
    """The same one if it takes that film too, else of those that do the least hazardous."""
    done = examine(build="solid", under="shellac", known={"finish": "latex-paint", "how": "laboratory"})
    by_name = {p.remover: p for p in done.predictions if p.allowed}
    works = {r: p.effects_by["shellac"]["dissolves"] + p.effects_by["shellac"]["lifts"] for r, p in by_name.items()}
    able = {r for r, p in works.items() if p >= 0.5}
    assert done.routes
    for route in done.routes:
        below = next(stage for stage in route.stages if stage.kind == "below")
        if route.remover in able:
            assert below.remover == route.remover
        else:
            assert below.remover in able
            hazard = knowledge.removers[str(below.remover)].hazard
            assert hazard == min(knowledge.removers[r].hazard for r in able)
