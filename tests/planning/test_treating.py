"""How stains are treated in the order of work: trials, rounds, mould first, what must not meet, the seal. All invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Room
from oldcoat.engine.planning.order import Node, comes_before
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.stains import rounds_planned
from oldcoat.engine.wood.moisture import emc, warmed

Planner = Callable[[str], Plan]
STRIPPED = "build: solid, plan: strip, tests: {alcohol-drop: dissolves-fast}"
BEFORE_MOULD = {
    "intake-photos",
    "hazard-screen",
    "lay-sheet",
    "lead-test",
    "warm-room",
    "dry-room",
    "dry-mould",
    "vacuum-mould",
}


def _made(planned: Planner, surface: str, more: str = "") -> Plan:
    return planned(f"piece: invented\nmade: 1930-1945\n{more}\nsurfaces:\n  - {{name: top, {surface}}}\n")


def _place(made: Plan, surface: str = "top") -> dict[str, int]:
    return {node.step: index for index, node in enumerate(made.order) if node.surface in ("", surface)}


@given(st.floats(0, 1), st.integers(1, 6))
def test_rounds_planned_lie_between_one_and_all_that_are_left(chance: float, left: int) -> None:
    """Never none, never more than there are; the surer the treatment, the fewer."""
    assert 1 <= rounds_planned(chance, left) <= left
    assert rounds_planned(chance, left) >= rounds_planned(1.0, left)
    assert rounds_planned(0.0, left) == left


def test_each_round_is_put_on_rinsed_and_dried(planned: Planner, knowledge: Knowledge) -> None:
    """Acid, rinse, dry right through, then again, stronger; as many rounds in the order as are planned."""
    made = _made(planned, f"wood: oak, {STRIPPED}, stains: [{{kind: black-ring}}]")
    rung = made.facings[0].rungs[0]
    assert 1 < rung.planned <= rung.left
    steps = [n.step for n in made.order if knowledge.work.steps[n.step].treatment == "oxalic-acid"]
    assert len(steps) == 2 * rung.planned
    assert steps[:4] == ["oxalic-acid", "rinse-after-oxalic", "oxalic-acid-2", "rinse-after-oxalic-2"]
    first, again = made.tasks[Node("oxalic-acid", "top")], made.tasks[Node("oxalic-acid-2", "top")]
    assert first.wait == again.wait == sum(rung.dwell_hours) / 2
    assert made.tasks[Node("rinse-after-oxalic", "top")].wait >= sum(rung.dry_hours) / 2
    assert "60 g" in first.note
    assert "120 g" in again.note
    assert "oxalic-dust" in first.cautions
    assert first.cautions == again.cautions
    assert _place(made)[steps[-1]] < _place(made)["dry-after-wet"]


def test_further_rounds_keep_every_row_of_the_first(knowledge: Knowledge) -> None:
    """Whatever the book puts after a rinse stands after its further rounds, and each round after the one before it."""
    work = knowledge.work
    for name, step in work.steps.items():
        if step.round > 1 and step.takes == "rinse":
            first = name.rsplit("-", 1)[0]
            later = {row.then for row in work.order if row.first == first and work.steps[row.then].round == 1}
            assert later
            assert all(comes_before(work, name, then) for then in later)
            assert comes_before(work, first, name)


def test_rounds_on_one_face_count_together(planned: Planner, knowledge: Knowledge) -> None:
    """Acid floods the whole face, so two rounds written to one ring are done for the other too; a swab is not."""
    most = knowledge.treatments["oxalic-acid"].max_cycles
    rings = "{kind: black-ring, tried: {oxalic-acid: 1}}, {kind: rust, tried: {oxalic-acid: 1}}"
    both = _made(planned, f"wood: oak, {STRIPPED}, stains: [{rings}]").facings[0].stains
    assert [plan.repeats_left for plan in both] == [most - 2, most - 2]
    inks = "{kind: dye-or-ink, tried: {solvent-swab: 1}}, {kind: dye-or-ink}"
    ink = _made(planned, f"wood: oak, build: solid, plan: keep, stains: [{inks}]").facings[0].stains
    assert [plan.ladder[0].tried for plan in ink] == [1, 0]


def test_mould_is_dried_and_vacuumed_before_anything_else(planned: Planner, knowledge: Knowledge) -> None:
    """Before hands, cloths and paper are on any face of the piece; with its days, its mask, and a dry room."""
    made = planned("""
piece: invented
made: 1890-1910
room: {temperature_c: 10, humidity: 92}
surfaces:
  - {name: doors, wood: pine, build: solid, known: {finish: oil-paint, how: opinion}}
  - {name: inside, wood: pine, build: solid, hidden: true, stains: [{kind: mould}, {kind: organic}]}
""")
    place = {node: index for index, node in enumerate(made.order)}
    last = place[Node("vacuum-mould", "inside")]
    assert place[Node("dry-room", "")] < place[Node("dry-mould", "inside")] < last
    assert all(node.step in BEFORE_MOULD for node in made.order[:last])
    dry = made.tasks[Node("dry-mould", "inside")]
    assert dry.wait == sum(knowledge.treatments["dry-and-vacuum"].dwell_hours) / 2
    assert "mould-spores" in dry.cautions
    assert any("mould" in item.why for item in made.shopping)


def test_marks_that_need_no_flooding_carry_their_treatments(planned: Planner, knowledge: Knowledge) -> None:
    """Cautions, waits for all rounds, and what to use are those of the treatment; an enzyme wash is a step of its own."""
    made = _made(
        planned,
        f"wood: pine, {STRIPPED}, stains: [{{kind: grease, tried: {{mineral-spirits-wipe: 2}}}}, {{kind: organic}}]",
    )
    poultice = knowledge.treatments["solvent-poultice"]
    task = made.tasks[Node("treat-dry-stains", "top")]
    rung = made.facings[0].dry_marks(knowledge)[0]
    assert rung.treatment == "solvent-poultice"
    assert set(poultice.cautions) <= set(task.cautions)
    assert task.wait == rung.planned * (sum(poultice.dwell_hours) + sum(poultice.dry_hours)) / 2
    assert poultice.how in task.note
    place = _place(made)
    assert place["treat-dry-stains"] < place["enzyme-wash"] < place["rinse-after-enzyme"] < place["dry-after-wet"]


LOOSE = "wood: mahogany, build: veneer, veneer_mm: 0.9, repairs: [veneer-loose], tests: {alcohol-drop: dissolves-fast}"


@pytest.mark.parametrize("money", ["", "money: {sells: 5000, rate_hour: 20, fallback: 100}"])
def test_a_stain_is_tried_on_bare_wood_and_veneer_that_lies(planned: Planner, money: str, knowledge: Knowledge) -> None:
    """After the film is off and the veneer laid, before the whole face; one patch's time for each treatment."""
    made = _made(planned, LOOSE + ", stains: [{kind: dye-or-ink}, {kind: black-ring}]", money)
    place = _place(made)
    assert "stain-spot" not in place
    assert max(place["even-wetting"], place["lay-veneer"], place["pull-iron"]) < place["stain-patch"]
    assert place["stain-patch"] < min(place["chlorine-bleach"], place["oxalic-acid"])
    one = knowledge.work.steps["stain-patch"].hours
    task = made.tasks[Node("stain-patch", "top")]
    assert task.hours == (2 * one[0], 2 * one[1])
    assert "must not meet" in task.note


def test_where_the_money_hangs_on_it_a_bared_spot_is_tried_first(planned: Planner) -> None:
    """On sound wood: after the remover's trial has bared the spot, before the decision, and then not again."""
    face = f"wood: oak, {STRIPPED}, stains: [{{kind: black-ring}}]"
    place = _place(_made(planned, face, "money: {sells: 5000, rate_hour: 20, fallback: 100}"))
    assert place["remover-patch"] < place["stain-spot"] < place["salvage-decision"]
    assert "stain-patch" not in place
    assert "stain-spot" not in _place(_made(planned, face))


SEALED = {
    "urine": "wood: pine, stains: [{kind: urine}]",
    "grease": "wood: pine, stains: [{kind: grease}]",
    "tannin": "wood: oak",
    "silicone": "wood: pine",
}


@pytest.mark.parametrize("cause", SEALED)
def test_what_comes_up_from_the_wood_is_sealed_in(planned: Planner, cause: str, knowledge: Knowledge) -> None:
    """A step with its hours, wait and shellac, after all treatment and drying and before the coat."""
    drop = "alcohol-drop: dissolves-fast" + (", silicone-check: crawls" if cause == "silicone" else "")
    face = f"{SEALED[cause]}, build: solid, plan: strip, tests: {{{drop}}}"
    made = _made(planned, face, "next_coat: waterborne")
    place, task = _place(made), made.tasks.get(Node("seal-in", "top"))
    coat = made.facings[0].coat
    if coat is not None and coat.between == knowledge.work.seal:
        assert task is None  # the coat between is the seal
    else:
        assert task is not None
        assert max(place.get("dry-after-wet", 0), place["dust-off"]) < place["seal-in"] < place["first-coat"]
        assert task.hours[0] > 0
        assert task.wait > 0
        assert "flammable-solvent" in task.cautions
    assert any("shellac" in item.what for item in made.shopping)


def test_no_seal_where_it_is_not_wanted_or_would_not_hold(planned: Planner) -> None:
    """Pine under a waterborne coat wants none; shellac seals by itself; a coat that peels off shellac is told."""
    assert "seal-in" not in _place(_made(planned, f"wood: pine, {STRIPPED}", "next_coat: waterborne"))
    greasy = f"wood: pine, {STRIPPED}, stains: [{{kind: grease}}]"
    shellac = _made(planned, greasy, "next_coat: shellac")
    assert "seal-in" not in _place(shellac)
    assert "seals the wood" in shellac.tasks[Node("first-coat", "top")].note
    hard = _made(planned, greasy, "next_coat: conversion-varnish")
    assert "seal-in" not in _place(hard)
    assert any(flag.startswith("seal-left-out") for flag in hard.flags)


def test_the_room_comes_before_all_work_and_the_meter_reads_what_the_room_gives(
    planned: Planner, knowledge: Knowledge
) -> None:
    """Wood Handbook, equation 4-5: the reading asked for is that of the warmed room and the book's margin, not a flat 12."""
    made = _made(planned, f"wood: oak, {STRIPPED}", "room: {temperature_c: 6, humidity: 80}")
    place = _place(made)
    assert place["warm-room"] < min(index for step, index in place.items() if Node(step, "top") in made.tasks)
    room = warmed(Room(temperature_c=6, humidity=80), knowledge.work.least_c)
    wanted = emc(room.temperature_c, room.humidity) + knowledge.substrate.drying.near_points
    assert f"{wanted:.0f} % on the meter" in made.tasks[Node("dry-after-strip", "top")].note


def test_a_veto_of_the_face_reaches_its_treatments_and_steps(planned: Planner) -> None:
    """Bone let in: no acid on it and no flood, and the cleaning says so; without it both are as usual."""
    face = f"wood: mahogany, {STRIPPED}, stains: [{{kind: black-ring}}]"
    plain, bone = _made(planned, face), _made(planned, face + ", features: [bone-or-shell]")
    assert plain.facings[0].stains[0].next == "oxalic-acid"
    assert bone.facings[0].stains[0].next is None
    clean = Node("clean", "top")
    assert "No water there" in bone.tasks[clean].note
    assert not plain.tasks[clean].note


def test_dents_in_veneer_are_filled_and_not_steamed(planned: Planner) -> None:
    """On solid wood they are steamed."""
    veneer = _place(_made(planned, LOOSE.replace("veneer-loose", "dents")))
    assert "fill-dents" in veneer
    assert "steam-dents" not in veneer
    solid = _place(_made(planned, f"wood: oak, {STRIPPED}, repairs: [dents]"))
    assert "steam-dents" in solid
    assert "fill-dents" not in solid


def test_a_coat_that_goes_over_silicone_asks_for_no_seal(planned: Planner) -> None:
    """By the matrix oil soaks in beside it, and no warning is raised; varnish does not, and is sealed under."""
    face = "wood: pine, build: solid, plan: strip, tests: {alcohol-drop: dissolves-fast, silicone-check: crawls}"
    oil = _made(planned, face, "next_coat: oil")
    assert not oil.facings[0].seal_why
    assert not any(flag.startswith("seal-left-out") for flag in oil.flags)
    varnish = _made(planned, face, "next_coat: oil-varnish")
    assert varnish.facings[0].seal_why


@pytest.mark.parametrize(("finish", "treated"), [("wax", True), ("oil-varnish-blend", False), ("shellac", False)])
def test_only_wax_is_washed_off_for_a_wet_treatment(planned: Planner, finish: str, treated: bool) -> None:
    """Washed and tried with water before the first drop of acid; oil in the wood and a film keep water out: strip first."""
    made = _made(
        planned,
        f"wood: oak, build: solid, plan: keep, known: {{finish: {finish}, how: removal}}, stains: [{{kind: black-ring}}]",
        "next_coat: shellac",
    )
    order = [node.step for node in made.order]
    assert (made.facings[0].stains[0].next == "oxalic-acid") == treated
    if treated:
        steps = ("wash-first", "water-test", "pull-iron", "stain-patch", "oxalic-acid", "rinse-after-oxalic")
        assert [step for step in order if step in steps] == list(steps)
        assert "coat-wash" not in order[order.index("oxalic-acid") :]
    else:
        assert not {"wash-first", "oxalic-acid"} & set(order)


def test_alkali_comes_out_before_the_acid_and_the_wood_is_neutral_before_it_dries(planned: Planner) -> None:
    """Oak that lye has darkened: iron out, rinse to the pH strip, acid, its rinses, neutral, dry, coat."""
    made = _made(planned, f"wood: oak, {STRIPPED}, stains: [{{kind: alkali-darkening}}]", "next_coat: shellac")
    steps = ("pull-iron", "rinse-alkali", "oxalic-acid", "rinse-after-oxalic-2", "neutral-check", "dry-after-wet")
    found = [node.step for node in made.order if node.step in (*steps, "first-coat")]
    assert found == [*steps, "first-coat"]
    assert any("pH paper" in item.what for item in made.shopping)


def test_rounds_done_before_are_counted_and_the_next_rung_is_named(planned: Planner) -> None:
    """The second round of the acid on a face says that it is the second; grease that stays says what comes next."""
    stains = "[{kind: black-ring, tried: {oxalic-acid: 1}}, {kind: grease}]"
    made = _made(planned, f"wood: oak, {STRIPPED}, stains: {stains}")
    told = {node.step: made.tasks[node].note for node in made.order}
    assert "number 2 on this face" in told["oxalic-acid"]
    assert "the next is solvent poultice" in told["treat-dry-stains"]


def test_a_patch_in_veneer_that_bears_no_paper_says_how_it_comes_level(planned: Planner) -> None:
    """Thin veneer on a composite core: no iron, no levelling with paper, a chisel over tape."""
    made = _made(
        planned,
        "wood: teak, build: veneer, veneer_mm: 0.5, features: [composite-core], repairs: [edge-missing], "
        "known: {finish: nitrocellulose-lacquer, how: removal}",
    )
    told = made.tasks[Node("patch-and-band", "top")].note
    assert "chisel" in told
    assert "No iron" in told
    assert "Chipboard" in told


def test_the_owner_of_a_shaded_face_is_told_at_the_first_coat(planned: Planner, knowledge: Knowledge) -> None:
    """The step after which it is too late carries the advice."""
    face = "wood: teak, build: solid, shaded: true, known: {finish: drying-oil, how: removal}"
    made = _made(planned, face, "next_coat: oil")
    assert knowledge.recoat.shaded.text in made.tasks[Node("first-coat", "top")].note
