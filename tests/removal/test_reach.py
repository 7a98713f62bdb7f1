"""How near a liquid stands to a resin, in words; how thickness and open time act on contact and coats."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.kinetics import coats, thickness_factor
from oldcoat.engine.removal.reason import Aim, reason

REMOVER = "benzyl-alcohol-gel"


def aim(**fields: object) -> Aim:
    """The gel on a cured varnish, with what differs."""
    usual: dict[str, object] = {
        "remover": REMOVER,
        "finish": "oil-modified-polyurethane",
        "effect": "lifts",
        "dwell_minutes": (20.0, 60.0),
        "dwell_likely": 35.0,
        "coats": (1.0, 2.0),
        "hours_m2": (0.2, 0.5),
        "old": False,
        "others": {},
    }
    return Aim(**(usual | fields))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("red", "effect", "told"),
    [
        (0.5, "lifts", "is well within reach of its resin."),
        (0.5, "no-effect", "is well within reach of its resin, but that alone does not move it."),
        (0.9, "lifts", "is within reach of its resin."),
        (1.1, "lifts", "stands on the edge of what its resin takes up."),
        (1.5, "lifts", "is foreign to the raw resin; what is seen at the bench counts more."),
        (1.5, "softens", "is too far from its resin to swell it."),
    ],
)
def test_the_distance_in_words(knowledge: Knowledge, red: float, effect: str, told: str) -> None:
    """The sphere is drawn anew so that the liquid stands at a given share of its radius, by Hansen's formula."""
    parts = knowledge.removers[REMOVER].blend
    point = [
        sum(share * knowledge.solvents[name].hansen[axis] for name, share in parts.items()) / sum(parts.values())
        for axis in range(3)
    ]
    name = knowledge.finishes["oil-modified-polyurethane"].chemistry.resin
    assert name
    resin = knowledge.resins[name]
    d, p, h = (a - b for a, b in zip(point, resin.hansen, strict=True))
    radius = (4 * d**2 + p**2 + h**2) ** 0.5 / red
    book = replace(knowledge, resins={**knowledge.resins, name: replace(resin, radius=radius, trust="good")})
    assert f"Benzyl alcohol {told}" in reason(aim(effect=effect), book).replace(
        "benzyl alcohol is foreign", "Benzyl alcohol is foreign"
    )


def test_the_liquid_is_named_by_what_it_mostly_is(knowledge: Knowledge) -> None:
    """More than four fifths of one solvent go by its name, a blend by that of the remover; by capital at the start."""
    entry = knowledge.removers[REMOVER]
    for xylene, name in ((0.1, "Acetone"), (0.3, entry.name[:1].upper() + entry.name[1:])):
        blend = {"xylene": xylene, "acetone": 1 - xylene}
        book = replace(knowledge, removers={**knowledge.removers, REMOVER: replace(entry, blend=blend)})
        assert re.search(f"(^|[.] |figures ){name} (is|stands) ", reason(aim(), book), re.IGNORECASE), name


def test_only_a_film_that_age_can_have_tightened_is_told_of(knowledge: Knowledge) -> None:
    """Where it is old, is wetted, and moves at all."""
    words = "it has tightened"
    assert words in reason(aim(old=True), knowledge)
    assert words not in reason(aim(), knowledge)
    assert words not in reason(aim(old=True, effect="no-effect"), knowledge)
    assert words not in reason(aim(old=True, dwell_minutes=(0.0, 0.0)), knowledge)


def test_a_tool_is_not_told_of_as_a_solvent(knowledge: Knowledge) -> None:
    """Neither an edge, nor a liquid on wood that holds no film, is a matter of network and distance."""
    solvent = "A solvent can only swell this film"
    assert solvent in reason(aim(), knowledge)
    assert solvent not in reason(aim(remover="card-scraper"), knowledge)
    assert "There is no film here" in reason(aim(finish="bare-wood"), knowledge)
    in_wood = next(f for f, e in knowledge.finishes.items() if e.film.in_wood and e.film.typical_um[1] > 0)
    assert solvent not in reason(aim(finish=in_wood, effect="softens"), knowledge)


def test_what_else_it_may_be_is_told_by_what_would_happen(knowledge: Knowledge) -> None:
    """One sentence an effect, three names at most, after the rest."""
    names = {f: knowledge.finishes[f].name for f in ("shellac", "wax", "epoxy", "polyester", "oil-paint")}
    others = {"shellac": "dissolves", "epoxy": "no-effect", "polyester": "no-effect", "oil-paint": "no-effect"}
    told = reason(aim(others={**others, "wax": "no-effect"}), knowledge)
    assert told.endswith(
        f"If it is {names['shellac']} instead, it turns the film to liquid. "
        f"If it is {names['epoxy']}, {names['polyester']} or {names['oil-paint']} instead, it does nothing."
    )
    assert "instead" not in reason(aim(), knowledge)


def test_thickness_between_a_front_and_diffusion() -> None:
    """Time grows with thickness at least and with its square at most; below 100 um the square is the shorter."""
    assert thickness_factor(50.0) == pytest.approx((0.25, 0.5))
    assert thickness_factor(100.0) == pytest.approx((1.0, 1.0))
    assert thickness_factor(200.0) == pytest.approx((2.0, 4.0))


def test_coats_by_the_open_time() -> None:
    """As many as keep the film wet for long enough; never fewer than the book's, never more than four times its most."""
    assert coats((10.0, 15.0), 20.0, (1.0, 2.0)) == (1.0, 2.0)
    assert coats((50.0, 60.0), 20.0, (1.0, 2.0)) == (3.0, 3.0)
    assert coats((10.0, 100.0), 20.0, (1.0, 2.0)) == (1.0, 5.0)
    assert coats((10.0, 900.0), 20.0, (1.0, 2.0)) == (1.0, 8.0)
