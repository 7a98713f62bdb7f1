"""The whole plan over many invented pieces: what must hold whatever the piece is."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from oldcoat.engine import Examiner, assess
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Step
from oldcoat.engine.piece.form import Known, Piece, Room, StainSeen, Surface
from oldcoat.engine.planning.order import comes_before
from oldcoat.engine.planning.plan import Plan, plan

Planner = Callable[[str], Plan]
FEW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

SURFACES = st.builds(
    Surface,
    name=st.just("x"),
    wood=st.sampled_from(("oak", "walnut", "teak", "pine", "cherry", "unknown")),
    build=st.sampled_from(("solid", "veneer", "unknown")),
    tests=st.sampled_from(
        ({}, {"alcohol-drop": "dissolves-fast"}, {"alcohol-drop": "no-effect", "lacquer-thinner-drop": "dissolves"})
    ),
    stains=st.lists(
        st.builds(
            StainSeen,
            kind=st.sampled_from(("black-ring", "white-bloom", "dye-or-ink", "mould", "urine")),
            tried=st.sampled_from(({}, {"oxalic-acid": 2}, {"chlorine-bleach": 1})),
        ),
        max_size=2,
    ),
    repairs=st.lists(st.sampled_from(("veneer-loose", "joints-loose", "dents", "filler", "edge-missing")), max_size=2),
    hidden=st.booleans(),
    plan=st.sampled_from((None, None, "strip", "keep", "seal", "leave")),
    colour=st.sampled_from((None, None, "stain", "toner")),
    known=st.sampled_from((None, None, *(Known(finish=f, how="opinion") for f in ("drying-oil", "wax", "oil-paint")))),
)
PIECES = st.builds(
    Piece,
    piece=st.just("invented"),
    surfaces=st.lists(SURFACES, min_size=1, max_size=4).map(
        lambda rows: [Surface(**{**_fields(s), "name": f"face {n}"}) for n, s in enumerate(rows)]
    ),
    made=st.sampled_from(("unknown", "1890-1910", "1955", "1990s")),
    kind=st.sampled_from(("table", "chest", "unknown")),
    next_coat=st.sampled_from(
        (None, "shellac", "waterborne", "oil-polyurethane", "wax", "oil", "hardwax-oil", "conversion-varnish")
    ),
    wax_last=st.booleans(),
    room=st.builds(Room, temperature_c=st.floats(5, 30), humidity=st.floats(20, 90)),
)


def _fields(surface: Surface) -> dict[str, object]:
    return {name: getattr(surface, name) for name in surface.__struct_fields__}


def _plan(piece: Piece, examiner: Examiner) -> Plan:
    return plan(piece, [examiner.examine(piece, one) for one in piece.surfaces], examiner.knowledge)


@FEW
@given(piece=PIECES)
def test_order_keeps_the_book_and_waits_are_never_negative(piece: Piece, examiner: Examiner) -> None:
    """Every pair of the book on the same surface; the schedule between chain and sequence."""
    made = _plan(piece, examiner)
    work = examiner.knowledge.work
    place = {node: index for index, node in enumerate(made.order)}
    for edge in work.order:
        for node in made.order:
            for other in made.order:
                same = not node.surface or not other.surface or node.surface == other.surface
                if (node.step, other.step) == (edge.first, edge.then) and same:
                    assert place[node] < place[other]
    assert all(t.wait >= 0 and 0 <= t.hours[0] <= t.hours[1] for t in made.tasks.values())
    assert made.schedule is not None
    assert made.schedule.longest_chain_hours - 1e-6 <= made.schedule.elapsed_hours
    assert made.schedule.elapsed_hours <= made.schedule.sequence_hours + 1e-6


@FEW
@given(piece=PIECES, more=SURFACES)
def test_adding_a_surface_never_removes_a_caution(piece: Piece, more: Surface, examiner: Examiner) -> None:
    """Nor a step that was there before, but for the drying of air that the heat for a new coat dries already."""
    added = Surface(**{**_fields(more), "name": "one more"})  # type: ignore[arg-type]
    larger = Piece(**{**{f: getattr(piece, f) for f in piece.__struct_fields__}, "surfaces": [*piece.surfaces, added]})
    before, after = (assess(p, examiner.knowledge, examiner=examiner) for p in (piece, larger))
    assert set(before.cautions) <= set(after.cautions)
    old, new = ({(s.step, s.surface) for s in a.order_of_work} for a in (before, after))
    assert old - {("dry-room", "")} <= new


@FEW
@given(piece=PIECES)
def test_nothing_wet_comes_before_loose_veneer_lies(piece: Piece, examiner: Examiner) -> None:
    """Nor a coat before the room is fit for it, nor a top coat before the first, whatever the piece is."""
    made = _plan(piece, examiner)
    place = {(node.step, node.surface): index for index, node in enumerate(made.order)}
    for one in made.facings:
        first = place.get(("first-coat", one.name))
        laid = place.get(("lay-veneer", one.name))
        wet = ("clean-laid", "chlorine-bleach", "oxalic-acid", "two-part-bleach", "strip", "raise-grain", "wet-abrade")
        for step in wet if laid is not None else ():
            assert place.get((step, one.name), len(place)) > laid
        for step in ("warm-room", "dry-room") if first is not None else ():
            assert place.get((step, ""), -1) < first
        if one.coat is not None and one.coat.too_cold and first is not None:
            assert ("warm-room", "") in place
        for step in ("tone", "top-coats", "wax"):
            assert first is None or place.get((step, one.name), len(place)) > first


@FEW
@given(piece=PIECES)
def test_a_wet_treatment_is_rinsed_and_dry_before_anything_else_is_done_there(piece: Piece, examiner: Examiner) -> None:
    """In the list and in the days alike: between it and the end of its drying no other step of that face."""
    made, book = _plan(piece, examiner), examiner.knowledge
    assert made.schedule is not None
    for one in made.facings:
        listed = [n.step for n in made.order if n.surface == one.name]
        turns = sorted((t for t in made.schedule.turns if t.surface == one.name), key=lambda t: (t.start, t.ready))
        for steps in (listed, [t.step for t in turns]):
            own = [
                i for i, s in enumerate(steps) if _wet(book.work.steps[s], book) or book.work.steps[s].takes == "drying"
            ]
            inside = steps[own[0] : own[-1] + 1] if own else []
            assert {s for s in inside if not _wet(book.work.steps[s], book)} <= {"neutral-check", "dry-after-wet"}


def _wet(step: Step, book: Knowledge) -> bool:
    return step.treatment is not None and book.treatments[step.treatment].water


@FEW
@given(piece=PIECES)
def test_what_must_not_meet_is_rinsed_dried_and_told(piece: Piece, examiner: Examiner) -> None:
    """Of two treatments of a face that must not meet, the first is rinsed, dries right through, and names the second."""
    made, book = _plan(piece, examiner), examiner.knowledge
    for one in made.facings:
        mine = [(book.work.steps[n.step], made.tasks[n]) for n in made.order if n.surface == one.name]
        rows = [(step, task) for step, task in mine if step.takes in ("treatment", "rinse")]
        for (on, _), (off, waits), (then, _) in zip(rows, rows[1:], rows[2:], strict=False):
            first, second = on.treatment or "", then.treatment or ""
            if on.takes == "treatment" and second in book.treatments[first].never_with:
                assert off.treatment == first
                assert waits.wait >= sum(book.treatments[first].dry_hours) / 2
                assert book.treatments[second].name in waits.note


def test_same_piece_same_plan(planned: Planner, hall_table: str) -> None:
    """To the last digit."""
    one, other = planned(hall_table), planned(hall_table)
    assert (one.order, one.tasks, one.schedule, one.shopping) == (
        other.order,
        other.tasks,
        other.schedule,
        other.shopping,
    )


def test_the_hall_table(planned: Planner, hall_table: str, examiner: Examiner) -> None:
    """Behaviour on one piece: what applies, what does not, and the coat's own cure times."""
    made = planned(hall_table)
    steps = {(n.step, n.surface) for n in made.order}
    assert {("oxalic-acid", "top"), ("pull-iron", "top"), ("strip", "top"), ("strip", "legs")} <= steps
    assert ("oxalic-acid", "legs") not in steps
    assert ("lay-veneer", "top") not in steps
    assert ("chlorine-bleach", "top") not in steps
    coat = examiner.knowledge.recoat.coats["oil-polyurethane"]
    waits = {n.step: t.wait for n, t in made.tasks.items()}
    assert waits["light-cure"] == coat.use_hours
    assert waits["light-cure"] + waits["full-cure"] == coat.cure_days * 24
    assert comes_before(examiner.knowledge.work, "light-cure", "wax")


def test_strip_hours_are_those_of_the_route(planned: Planner, hall_table: str) -> None:
    """Not those of the book: the best route's hours lie within, laying on and scraping a slow remover together."""
    made = planned(hall_table)
    for one in made.facings:
        rows = [t.hours for n, t in made.tasks.items() if n in (("strip", one.name), ("lift-film", one.name))]
        low, high = (sum(ends) for ends in zip(*rows, strict=True))
        assert low <= one.done.routes[0].expected_hours <= high


def test_shaded_parts_are_told_before_the_finish(planned: Planner, hall_table: str, examiner: Examiner) -> None:
    """A flag on the surface that was kept from the light, and on no other."""
    from oldcoat.engine import parse_piece

    text = hall_table.replace("{name: legs,", "{name: legs, shaded: true,")
    answer = assess(parse_piece(text, "invented", examiner.knowledge), examiner.knowledge, examiner=examiner)
    flagged = [s.name for s in answer.surfaces if any(f.startswith("will-not-match") for f in s.flags)]
    assert flagged == ["legs"]
