"""What a surface warns of and when it keeps quiet, on an invented face whose figures are set one by one."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.deciding.routes import Route
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Flag
from oldcoat.engine.piece.form import Known, Piece
from oldcoat.engine.planning.jobs import Task
from oldcoat.engine.planning.order import Node
from oldcoat.engine.removal.objection import Objection
from oldcoat.engine.report.warned import cautions, flags, hazards, of_the_film, on_touch, possible_here, told_cautions

PIECE = Piece(piece="invented", surfaces=[])


@pytest.fixture
def done(examine: Callable[..., Examination]) -> Examination:
    """Shellac on solid maple, no rule heard."""
    done = examine({"made": 1890}, build="solid", wood="maple", tests={"alcohol-drop": "dissolves-fast"})
    assert done.posterior.top == "shellac"
    return replace(done, firings=[], elsewhere=None, fit=replace(done.fit, astray=0.0), routes=[_route(done)])


def _route(done: Examination, **more: Any) -> Route:
    return replace(done.routes[0], **{"remover": "acetone", "harm": 0.01, **more})


def _raised(done: Examination, knowledge: Knowledge) -> dict[str, str]:
    """id -> text of what is flagged."""
    return dict(flag.split(": ", 1) for flag in flags(done, PIECE, knowledge))


def test_a_face_without_trouble_raises_nothing(done: Examination, knowledge: Knowledge) -> None:
    """No rule, a harmless way off, answers that fit."""
    assert _raised(done, knowledge) == {}


def test_a_shaded_face_will_not_match(done: Examination, knowledge: Knowledge) -> None:
    """With what light does to this wood, where the wood is known."""
    text, light = knowledge.recoat.shaded.text, knowledge.woods["maple"].light
    for wood, told in (("maple", f"{text} {light}"), ("unknown", text)):
        face = replace(done, surface=replace(done.surface, shaded=True, wood=wood))
        assert _raised(face, knowledge) == {"will-not-match": told}


def test_flags_of_rules_by_what_they_bear_on(
    examine: Callable[..., Examination], done: Examination, knowledge: Knowledge
) -> None:
    """All of them; of the work that holds here those for it, for a remover that works here, and for any work; none that
    another covers.
    """
    heard = next(f for f in examine({"made": 1890}, build="solid").firings if f.rule.then.flag)

    def rule(name: str, **fields: Any) -> Any:
        flag = Flag(id=name, text=f"Invented {name}.", **fields)
        return replace(heard, rule=replace(heard.rule, then=replace(heard.rule.then, flag=flag)))

    rows = [replace(p, vetoes=[], works=0.5 if p.remover == "acetone" else 0.49) for p in done.predictions]
    rules = [
        rule("any"),
        rule("strip", only_if=["strip"]),
        rule("coat", only_if=["coated"], covers=["any"]),
        rule("acetone", removers=["acetone"]),
        rule("sanding", removers=["sanding"]),
    ]
    face = replace(done, firings=rules, predictions=rows)

    def told(*held: str) -> set[str]:
        return {flag.split(": ")[0] for flag in flags(face, PIECE, knowledge, frozenset(held))}

    assert _raised(face, knowledge).keys() == {"any", "strip", "coat", "acetone", "sanding"}
    assert told() == {"any", "acetone"}
    assert told("strip") == {"any", "strip", "acetone"}
    assert told("coated") == {"coat", "acetone"}  # it covers the one for any work


def test_cautions_come_from_all_that_is_planned(done: Examination, knowledge: Knowledge) -> None:
    """Of the best route, not of the second; of the coat; of what the film may be."""
    plain = [name for name, entry in knowledge.cautions.items() if not (entry.only_if or entry.instead)]
    first, second, coat = plain[:3]
    bare = replace(knowledge, finishes={f: replace(e, cautions=[]) for f, e in knowledge.finishes.items()})
    routes = [_route(done, cautions=[first]), _route(done, cautions=[second])]
    facing = SimpleNamespace(
        done=replace(done, routes=routes), stains=[], coat=SimpleNamespace(cautions=[coat]), conditions=frozenset()
    )
    told = cautions(facing, bare)  # type: ignore[arg-type]
    assert {row.split(": ")[0] for row in told} == {first, coat}
    shellac = replace(bare.finishes["shellac"], cautions=[second])
    filmed = replace(bare, finishes={**bare.finishes, "shellac": shellac})
    assert {row.split(": ")[0] for row in cautions(facing, filmed)} == {first, second, coat}  # type: ignore[arg-type]


def test_the_best_way_off_as_a_gamble(done: Examination, knowledge: Knowledge) -> None:
    """From the book's share of harm on, by the first route alone; its name and its chance are told."""
    least = knowledge.decide.gamble_from
    told = _raised(replace(done, routes=[_route(done, harm=least)]), knowledge)
    assert told.keys() == {"gamble"}
    assert knowledge.removers["acetone"].name in told["gamble"]
    assert f"{least:.0%}" in told["gamble"]
    second = [_route(done, harm=least - 0.01), _route(done, harm=0.9)]
    assert _raised(replace(done, routes=second), knowledge) == {}


def test_no_way_off(done: Examination, knowledge: Knowledge) -> None:
    """Said of a film that nothing takes; what lies in the wood has no film, and a film kept below has its own words."""
    none = replace(done, routes=[])
    assert _raised(none, knowledge).keys() == {"no-way-off"}
    inside = next(f for f, entry in knowledge.finishes.items() if entry.film.in_wood)
    oiled = dict.fromkeys(sorted(knowledge.finishes), 0.0) | {inside: 1.0}
    assert _raised(replace(none, posterior=replace(none.posterior, finishes=oiled)), knowledge) == {}


def test_a_better_way_in_another_room(done: Examination, knowledge: Knowledge) -> None:
    """Its name, its hours, its harm."""
    way = _route(done, remover="denatured-alcohol", expected_hours=2.34, harm=0.07)
    told = _raised(replace(done, elsewhere=way), knowledge)["better-elsewhere"]
    assert knowledge.removers["denatured-alcohol"].name in told
    assert "2.3 h" in told
    assert "7%" in told


@pytest.mark.parametrize(("below", "told"), [(0.49, True), (0.5, False)])
def test_a_film_to_be_kept_that_is_hardly_there(
    done: Examination, knowledge: Knowledge, below: float, told: bool
) -> None:
    """Doubted below one half, all films together; not where it was seen, nor where nothing is to be kept."""
    rows = {"oil-paint": below - 0.1, "wax": 0.1}
    kept = replace(done, surface=replace(done.surface, keep_under=True), below=rows)
    assert ("film-below" in _raised(kept, knowledge)) == told
    if told:
        assert "(49%)" in _raised(kept, knowledge)["film-below"]
    seen = replace(kept, surface=replace(kept.surface, under="oil-paint"))
    assert _raised(seen, knowledge) == _raised(replace(done, below=rows), knowledge) == {}


def test_a_film_that_nothing_spares(done: Examination, knowledge: Knowledge) -> None:
    """Keep both or take both; else the patch of what is likeliest to spare it, with both chances; no word of no way off."""
    loss = Objection("keep-the-film-below", "invented", [], 0.3)
    rows = [
        replace(p, vetoes=[], harms=[loss] if p.remover == "acetone" else [replace(loss, chance=0.4)], works=0.8)
        for p in done.predictions
    ]
    surface = replace(done.surface, keep_under=True, under="oil-paint")
    kept = replace(done, surface=surface, routes=[], predictions=rows, below={"oil-paint": 1.0})
    told = _raised(kept, knowledge)
    assert told.keys() == {"film-at-risk"}
    assert (
        f"a trial patch of {knowledge.removers['acetone'].name} decide: it works with a chance of 80%"
        in told["film-at-risk"]
    )
    assert "about 30% of the time" in told["film-at-risk"]
    spared = [replace(p, harms=[]) if p.remover == "acetone" else p for p in rows]
    assert "leaves the film below" in _raised(replace(kept, predictions=spared), knowledge)["film-at-risk"]
    idle = [replace(p, works=0.0) for p in rows]
    assert _raised(replace(kept, predictions=idle), knowledge)["film-at-risk"].endswith("or take both.")


def test_answers_astray(done: Examination, knowledge: Knowledge) -> None:
    """From fifteen in a hundred on, unless the finish is known as surely as nine times in ten."""

    def told(astray: float, known: str | None = None) -> bool:
        surface = replace(done.surface, known=Known(finish="shellac", how=known) if known else None)  # type: ignore[arg-type]
        return "astray" in _raised(replace(done, surface=surface, fit=replace(done.fit, astray=astray)), knowledge)

    assert (told(0.15), told(0.149)) == (True, False)
    assert {how: told(0.5, how) for how in knowledge.belief.known} == {
        how: chance < 0.9 for how, chance in knowledge.belief.known.items()
    }


def test_what_is_worth_a_thought(done: Examination, knowledge: Knowledge) -> None:
    """From the book's least chance on, most probable first, equals by name."""
    least = knowledge.decide.possible
    rows = {"wax": least, "shellac": 0.5, "epoxy": 0.2, "alkyd-enamel": 0.2, "oil-paint": least - 0.001}
    believed = replace(done, posterior=Posterior(rows, 0.0, {}, {}, 0.0))
    assert possible_here(believed, knowledge) == [
        ("shellac", 0.5),
        ("alkyd-enamel", 0.2),
        ("epoxy", 0.2),
        ("wax", least),
    ]


def test_grave_cautions_come_first_and_once(knowledge: Knowledge) -> None:
    """Else in the order in which they were met."""
    book = knowledge.cautions
    grave = [name for name, entry in book.items() if entry.grave][:2]
    plain = [name for name, entry in book.items() if not entry.grave][:2]
    told = told_cautions([plain[1], grave[1], plain[0], grave[0], plain[1]], knowledge)
    assert [row.split(": ")[0] for row in told] == [grave[1], grave[0], plain[1], plain[0]]
    assert told[0] == f"{grave[1]}: {book[grave[1]].text}"


def test_hazards_name_the_faces_on_which_they_are_met(knowledge: Knowledge) -> None:
    """Held work counts too; a step of the piece names no face; a face that meets one twice is named once."""
    grave = next(name for name, entry in knowledge.cautions.items() if entry.grave)
    plain = next(name for name, entry in knowledge.cautions.items() if not entry.grave)
    top, again, legs, whole = Node("strip", "top"), Node("clean", "top"), Node("strip", "legs"), Node("lay-sheet", "")
    tasks = {node: Task(hours=(1, 1), wait=0, cautions=[plain]) for node in (top, again, whole)}
    tasks[legs] = Task(hours=(1, 1), wait=0, cautions=[grave])
    planned = SimpleNamespace(order=[top, whole, again], held=[legs], tasks=tasks)
    rows = hazards(planned, knowledge)  # type: ignore[arg-type]
    assert [(row.caution, row.grave, row.surfaces) for row in rows] == [
        (grave, True, ["legs"]),
        (plain, False, ["top"]),
    ]


def test_a_look_touches_nothing(examine: Callable[..., Examination], knowledge: Knowledge) -> None:
    """Paint that may be lead: cautions go with a drop and a patch, not with a look; only those that an answer raised, if asked."""
    done = examine({"made": 1920}, build="solid", tests={"alcohol-drop": "no-effect", "uv-a": "orange"})
    touched = of_the_film(done, knowledge)
    assert touched
    looks = {name for name, test in knowledge.tests.items() if test.stage == "looking"}
    for name in [*knowledge.tests, "stripper-patch/acetone"]:
        assert on_touch(done, name, knowledge) == ([] if name in looks else touched), name
    assert set(of_the_film(done, knowledge, "oil-drop")) <= set(touched)
    assert of_the_film(done, knowledge, "none-such") == []
