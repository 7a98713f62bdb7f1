"""What may go on: under all that the film may be, and over each other."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.recoat import CAUTION, CoatPlan, cure_hours, meaning, word

Planner = Callable[[str], Plan]


def _coats(planned: Planner, surface: str, more: str = "") -> dict[str, CoatPlan]:
    text = f"piece: invented\nmade: 1930-1945\n{more}\nsurfaces:\n  - {{name: top, {surface}}}\n"
    return {c.over: c for c in planned(text).facings[0].coats}


def test_bare_oily_wood_wants_a_barrier_under_varnish(planned: Planner) -> None:
    """Rosewood and its kind stop oil finishes from curing; shellac goes on (Fine Woodworking, advice of 2008)."""
    coats = _coats(planned, "wood: rosewood, build: solid, plan: strip")
    assert coats["oil-polyurethane"].means == "barrier"
    assert coats["oil-polyurethane"].between == "shellac"
    assert coats["shellac"].means == "works"
    assert len(coats["oil-polyurethane"].stack) == 2


@pytest.mark.parametrize("plan", ["plan: strip", "plan: keep", "plan: seal", "area_m2: 1"])
@pytest.mark.parametrize("film", ["drying-oil", "oil-varnish-blend", "bare-wood"])
@pytest.mark.parametrize("coat", ["oil-varnish", "oil-polyurethane"])
def test_wood_that_stops_drying_is_sealed_through_oil_as_when_bare(
    planned: Planner, coat: str, film: str, plan: str
) -> None:
    """Rosewood keeps oil finishes from drying; dewaxed shellac first (wj-other). Oil in the wood is no seal."""
    face = f"{{name: top, wood: rosewood, build: solid, known: {{finish: {film}, how: laboratory}}, {plan}}}"
    made = planned(f"piece: invented\nnext_coat: {coat}\nsurfaces:\n  - {face}\n")
    chosen = made.facings[0].coat
    assert chosen is not None
    assert (chosen.means, chosen.between) == ("barrier", "shellac")
    assert all(other.word != "ok" for other in chosen.otherwise)
    assert any(item.what == "shellac, dewaxed" for item in made.shopping)


def test_oil_itself_is_not_simply_laid_on_such_wood(planned: Planner) -> None:
    """It needs a trial, and the shellac is named; on oiled teak and under a film of shellac nothing changes."""
    oiled = "build: solid, plan: keep, known: {finish: drying-oil, how: laboratory}"
    told = _coats(planned, f"wood: rosewood, {oiled}")
    assert {told[name].means for name in ("oil", "hardwax-oil")} == {"test"}
    assert "dewaxed shellac" in told["oil"].told
    assert told["shellac"].means == told["wax"].means == "works"
    assert _coats(planned, f"wood: teak, {oiled}")["oil-polyurethane"].means == "works"
    kept = "wood: rosewood, build: solid, plan: keep, known: {finish: shellac, how: laboratory}"
    plain = _coats(planned, kept.replace("rosewood", "walnut"))
    assert {n: c.means for n, c in _coats(planned, kept).items()} == {n: c.means for n, c in plain.items()}


def test_a_kept_film_decides_what_goes_over_it(planned: Planner) -> None:
    """Conversion varnish never over shellac; shellac takes shellac."""
    coats = _coats(planned, "wood: oak, build: solid, plan: keep, known: {finish: shellac, how: laboratory}")
    assert coats["conversion-varnish"].means in ("no", "test")
    assert coats["shellac"].means == "works"


def test_doubt_about_the_film_asks_for_a_patch(planned: Planner, knowledge: Knowledge) -> None:
    """A coat that only some of the possible films bear is never simply allowed."""
    coats = _coats(planned, "wood: oak, build: solid, plan: keep")
    for name, coat in coats.items():
        forbidden = sum(o.p for o in coat.otherwise if knowledge.recoat.words[o.word].means in ("no", "remove"))
        if forbidden >= knowledge.decide.possible:
            assert CAUTION.index(coat.means) >= CAUTION.index("test"), name


def test_a_crazed_film_is_one_class_worse(planned: Planner) -> None:
    """Nothing that bonds gets easier over cracks; wax, which does not bond, stays."""
    surface = "wood: oak, build: solid, plan: keep, known: {finish: nitrocellulose-lacquer, how: laboratory}"
    sound = _coats(planned, surface)
    crazed = _coats(planned, surface + ", tests: {crack-pattern: straight-checks}")
    worse = [n for n in sound if CAUTION.index(crazed[n].means) > CAUTION.index(sound[n].means)]
    assert worse
    assert all(CAUTION.index(crazed[n].means) >= CAUTION.index(sound[n].means) for n in sound)
    assert crazed["wax"].means == sound["wax"].means


def test_chances_of_what_lies_under_are_one_whole(planned: Planner) -> None:
    """Bare wood is certain; of a film in doubt the words of a coat share what is known, and never hold more than all."""
    bare = _coats(planned, "wood: oak, build: solid, plan: strip")
    assert (bare["shellac"].p, bare["shellac"].otherwise) == (1.0, [])
    for coat in _coats(planned, "wood: oak, build: solid, plan: keep").values():
        shares = [coat.p, *(other.p for other in coat.otherwise)]
        assert all(0 <= p <= 1 for p in shares)
        assert sum(shares) <= 1 + 1e-9


def test_a_hidden_face_is_left(planned: Planner) -> None:
    """No coat is proposed for it; sealed on request it gets one."""
    assert _coats(planned, "wood: pine, build: solid, hidden: true") == {}
    assert _coats(planned, "wood: pine, build: solid, hidden: true, plan: seal")


@given(st.floats(1, 500), st.floats(0, 40))
def test_cold_cures_slower(hours: float, celsius: float) -> None:
    """At 20 C as printed; colder longer; ten degrees about double."""
    assert abs(cure_hours(hours, 20) - hours) < 1e-9 * hours
    assert cure_hours(hours, celsius) > cure_hours(hours, celsius + 1)
    assert 1.8 < cure_hours(hours, 10) / hours < 2.3


def test_a_cold_room_is_told(planned: Planner) -> None:
    """Below the coat's own least temperature."""
    room = "next_coat: waterborne\nroom: {temperature_c: 10}"
    assert _coats(planned, "wood: oak, build: solid", room)["waterborne"].too_cold
    assert not _coats(planned, "wood: oak, build: solid", "next_coat: waterborne")["waterborne"].too_cold


def test_every_pair_has_a_word_and_a_way_back(knowledge: Knowledge) -> None:
    """The matrix is full, and every coat says how it wears and comes off."""
    book = knowledge.recoat
    for under in book.under:
        for over, coat in book.coats.items():
            assert word(book, under, over) in book.words
            assert meaning(book, coat.as_under, over) in CAUTION
            assert coat.wears
            assert coat.back_off


def test_only_wax_goes_over_wax(knowledge: Knowledge) -> None:
    """Furniture-making reference, compatibility list: wax takes none."""
    book = knowledge.recoat
    assert {over for over in book.coats if meaning(book, "wax-residue", over) == "works"} == {"wax"}


def test_no_oil_goes_over_a_film(knowledge: Knowledge, planned: Planner) -> None:
    """A penetrating oil has to enter wood: over every row that a film makes the word is no, and why is said.

    Kinds of finish by the surface: a film-former closes it (Flexner, Understanding Wood Finishing: film and
    penetrating finishes, from memory).
    """
    book = knowledge.recoat
    rows = {
        entry.recoat_row for entry in knowledge.finishes.values() if entry.family not in ("oil", "wax", "bare-wood")
    }
    rows -= {book.coats["oil"].as_under, book.coats["hardwax-oil"].as_under, *book.bare.values()}
    assert {"nc-lacquer", "oil-polyurethane", "shellac-waxed"} <= rows
    for row in rows:
        assert [meaning(book, row, oil) for oil in ("oil", "hardwax-oil")] == ["no", "no"], row
    kept = _coats(planned, "wood: oak, build: solid, plan: keep, known: {finish: shellac, how: laboratory}")
    assert "Strip" in kept["oil"].told
    bare = _coats(planned, "wood: oak, build: solid, known: {finish: bare-wood, how: laboratory}")
    assert bare["oil"].means == "works"


# ---------------------------------------------------------------- the seal under a coat on a face that keeps its film

KEPT = "wood: {wood}, build: solid, plan: keep, known: {{finish: {film}, how: laboratory}}"


def _sealed(planned: Planner, wood: str, film: str, coat: str, more: str = "") -> Plan:
    surface = KEPT.format(wood=wood, film=film) + more
    return planned(f"piece: invented\nnext_coat: {coat}\nsurfaces:\n  - {{name: top, {surface}}}\n")


@pytest.mark.parametrize(
    ("wood", "film", "coat", "more"),
    [
        ("pine", "wax", "waterborne", ""),  # wax is washed off, and what stays of it is sealed
        ("oak", "drying-oil", "oil-polyurethane", ", stains: [{kind: grease}]"),  # grease rises through oil
        ("pine", "nitrocellulose-lacquer", "oil-polyurethane", ", tests: {silicone-check: crawls}"),
    ],
)
def test_a_seal_that_is_asked_for_is_in_the_plan_of_a_kept_film(
    planned: Planner, wood: str, film: str, coat: str, more: str
) -> None:
    """Wherever the text says dewaxed shellac first, it goes on before the coat, is bought and is told at the coat."""
    plan = _sealed(planned, wood, film, coat, more)
    steps = [node.step for node in plan.order]
    chosen = plan.facings[0].coat
    assert chosen is not None
    first = chosen.between == "shellac"  # the coat that goes between is the seal
    assert first or steps.index("dust-off") < steps.index("seal-in") < steps.index("first-coat")
    assert first or any("1 coat of shellac" in note for note in chosen.notes)
    assert any(item.what == "shellac, dewaxed" for item in plan.shopping)


@pytest.mark.parametrize(
    ("wood", "film", "coat", "more"),
    [
        ("pine", "wax", "wax", ", stains: [{kind: urine}]"),  # no shellac on a face that stays waxed
        ("oak", "shellac", "waterborne", ", stains: [{kind: grease}]"),  # the film that stays closes the wood
        ("oak", "drying-oil", "oil", ", stains: [{kind: grease}]"),  # oil does not go over shellac
        ("pine", "drying-oil", "oil-varnish", ""),  # nothing asks for one
    ],
)
def test_no_seal_where_nothing_asks_for_it_or_it_would_not_hold(
    planned: Planner, wood: str, film: str, coat: str, more: str
) -> None:
    """Neither the step nor a flag that the coat does not bear it."""
    plan = _sealed(planned, wood, film, coat, more)
    assert "seal-in" not in {node.step for node in plan.order}
    assert not any(flag.startswith("seal-left-out") for flag in plan.flags)
