"""How many coats, and where colour lies between them, for every coat of the book. All pieces are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.recoat import meaning

Planner = Callable[[str], Plan]
COATS = ("wax", "oil", "hardwax-oil", "shellac", "nitrocellulose-lacquer", "conversion-varnish", "oil-varnish",
         "oil-polyurethane", "waterborne")  # fmt: skip
BARE = "wood: oak, build: solid, known: {finish: bare-wood, how: laboratory}"


def _made(planned: Planner, surface: str, coat: str) -> Plan:
    return planned(
        f"piece: invented\nmade: 1955\nnext_coat: {coat}\nsurfaces:\n  - {{name: top, area_m2: 1, {surface}}}\n"
    )


def test_an_oil_renewal_takes_one_or_two_coats(planned: Planner, knowledge: Knowledge) -> None:
    """Wiped on over oil that stays, against the full number on bare wood; hours and litres follow."""
    kept = _made(planned, "wood: teak, build: solid, known: {finish: drying-oil, how: laboratory}", "oil")
    bare = _made(planned, BARE, "oil")
    coat = knowledge.recoat.coats["oil"]
    renewed, full = (made.facings[0].coat for made in (kept, bare))
    assert renewed is not None
    assert full is not None
    assert renewed.coats == (1, 2)
    assert full.coats == (coat.coats, coat.coats)
    litres = [next(i.amount for i in made.shopping if i.what == coat.name) for made in (kept, bare)]
    assert litres[0][1] == pytest.approx(litres[1][1] * 2 / coat.coats)
    assert kept.tasks[Node("top-coats", "top")].hours == (0, coat.active_hours_m2_coat)


def test_one_coat_is_one_step(planned: Planner) -> None:
    """Where one coat is enough no top coats are planned."""
    made = _made(planned, "wood: oak, build: solid, known: {finish: wax, how: laboratory}", "wax")
    steps = {node.step for node in made.order}
    assert "first-coat" in steps
    assert "top-coats" not in steps


@pytest.mark.parametrize("coat", COATS)
def test_a_toner_lies_only_between_coats_that_hold_it(planned: Planner, knowledge: Knowledge, coat: str) -> None:
    """By the matrix, pair by pair from the wood up; else it is left out and that is said."""
    book = knowledge.recoat
    made = _made(planned, f"{BARE}, colour: toner", coat)
    plan = made.facings[0].coat
    assert plan is not None
    order = [node.step for node in made.order]
    if "tone" not in order:
        assert any(flag.startswith("toner-left-out") for flag in made.flags)
        assert book.coats[book.toner].name not in {item.what for item in made.shopping}
        assert not any(note.startswith("Over the toner") for note in plan.notes)
        return
    assert any(note.startswith("Over the toner") for note in plan.notes)
    first = plan.between or plan.over
    assert order.index("first-coat") < order.index("tone") < order.index("top-coats")
    assert meaning(book, book.coats[first].as_under, book.toner) == "works"
    assert meaning(book, book.coats[book.toner].as_under, plan.over) == "works"
    assert book.coats[book.toner].name in {item.what for item in made.shopping}


def test_which_coats_take_a_toner(planned: Planner) -> None:
    """Finishing practice: lacquer toner goes with shellac, lacquer and varnish; never under oil or wax."""
    toned = {c: "tone" in {n.step for n in _made(planned, f"{BARE}, colour: toner", c).order} for c in COATS}
    assert all(toned[c] for c in ("shellac", "nitrocellulose-lacquer", "oil-varnish", "oil-polyurethane"))
    assert not any(toned[c] for c in ("wax", "oil", "hardwax-oil", "conversion-varnish"))


@pytest.mark.parametrize("coat", COATS)
def test_stain_is_locked_only_under_a_film(planned: Planner, coat: str) -> None:
    """A barrier over the stain would keep a penetrating oil out; under a film it comes before the first coat."""
    order = [node.step for node in _made(planned, f"{BARE}, colour: stain", coat).order]
    assert order.index("colour") < order.index("first-coat")
    if coat in ("oil", "hardwax-oil"):
        assert not {"lock-colour", "rub-out"} & set(order)
    else:
        assert order.index("colour") < order.index("lock-colour") < order.index("first-coat")


def test_a_mark_hidden_under_a_toner_keeps_to_the_same_rule(planned: Planner) -> None:
    """Toning over a mark is a toner too: not between coats of oil, and that is said."""
    burn = f"{BARE}, stains: [{{kind: light, tried: {{light-sand: 9}}}}]"
    for coat, lies in (("oil", False), ("shellac", True)):
        made = _made(planned, burn, coat)
        assert made.facings[0].stains[0].next == ("tone-over" if lies else None)
        assert ("dropped" in made.facings[0].stains[0].told) != lies
        assert ("tone" in {node.step for node in made.order}) == lies
        assert any(flag.startswith("toner-left-out") for flag in made.flags) != lies


def test_what_is_renewed_is_rubbed_over_and_not_sanded(planned: Planner) -> None:
    """After the marks are out and before the dust is off; nothing else takes wood or film."""
    made = _made(planned, "wood: teak, build: veneer, known: {finish: drying-oil, how: laboratory}", "oil")
    order = [node.step for node in made.order]
    assert order.index("clean") < order.index("rub-back") < order.index("dust-off") < order.index("first-coat")
    assert not {"sand", "scuff-film", "wet-abrade"} & set(order)


@pytest.mark.parametrize("film", ["bare-wood", "shellac", "nitrocellulose-lacquer", "alkyd-varnish", "drying-oil"])
def test_a_toner_is_never_the_last_coat(planned: Planner, knowledge: Knowledge, film: str) -> None:
    """Asked for as the last coat it lies under a clear one that the matrix lets over it; nobody rubs out the toner."""
    book = knowledge.recoat
    made = _made(planned, f"wood: oak, build: solid, plan: keep, known: {{finish: {film}, how: laboratory}}", "toner")
    plan = made.facings[0].chosen
    assert plan is not None
    assert plan.over in book.toner_under
    assert plan.toned
    assert plan.means in ("works", "after-cure", "barrier")
    assert meaning(book, book.coats[book.toner].as_under, plan.over) == "works"
    order = [node.step for node in made.order]
    assert order.index("first-coat") < order.index("tone") < order.index("top-coats")
    assert "rub-out" not in order or order.index("rub-out") > order.index("top-coats")
    assert plan.coats[0] >= (1 if plan.between else 2)
    assert {book.coats[name].name for name in (book.toner, plan.over)} <= {item.what for item in made.shopping}
