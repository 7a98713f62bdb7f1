"""How near a liquid stands to a resin, in words; how thickness and open time act on contact and coats."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.removal.kinetics import coats, thickness_factor
from oldcoat.engine.removal.reason import Aim, reason

REMOVER = "benzyl-alcohol-gel"


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
    aim = Aim(
        remover=REMOVER,
        finish="oil-modified-polyurethane",
        effect=effect,  # type: ignore[arg-type]
        dwell_minutes=(20.0, 60.0),
        dwell_likely=35.0,
        coats=(1.0, 2.0),
        hours_m2=(0.2, 0.5),
        old=False,
        others={},
    )
    assert f"Benzyl alcohol {told}" in reason(aim, book).replace(
        "benzyl alcohol is foreign", "Benzyl alcohol is foreign"
    )


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
