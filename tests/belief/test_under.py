"""A film seen below, and what it makes of the one on top: sums done by hand on an invented prior."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.prior import Prior
from oldcoat.engine.belief.under import with_film_seen_below
from oldcoat.engine.knowledge.base import Knowledge

Joint = dict[str, tuple[float, float, float]]


@pytest.fixture
def book(knowledge: Knowledge) -> Knowledge:
    """Lacquer over a maker's own shellac once in ten, one in a hundred for what is not told, wax on every fifth film."""
    lacquer = replace(knowledge.finishes["nitrocellulose-lacquer"], over={"shellac": "rarely"})
    bands = {**knowledge.belief.bands, "rarely": 0.1}
    soils = {**knowledge.belief.contamination}
    soils["waxed"] = replace(soils["waxed"], film="wax", share=0.2)
    return replace(
        knowledge,
        finishes={**knowledge.finishes, "nitrocellulose-lacquer": lacquer},
        belief=replace(knowledge.belief, bands=bands, contamination=soils),
        priors=replace(knowledge.priors, floor=0.01),
    )


def _start(knowledge: Knowledge, joint: Joint, maker: dict[str, float]) -> Prior:
    none: Joint = dict.fromkeys(knowledge.finishes, (0.0, 0.0, 0.0))
    return Prior(none | joint, dict.fromkeys(knowledge.finishes, 0.0) | maker, [("invented", 1.0)])


def test_shellac_seen_below(book: Knowledge) -> None:
    """One hand lays lacquer over shellac one time in ten and paint hardly ever; an owner over shellac as often as makers used it.

    Lacquer 0.2 x 0.1, 0.1 x 0.1, 0.1 x 0.4; paint 0.1 x 0.01, 0, 0.2 x 0.4; shellac on
    shellac 0.2, 0.05, 0.05, each x 0.01; wax over every fifth film of shellac, 0.2 x 0.3.
    """
    joint: Joint = {
        "nitrocellulose-lacquer": (0.2, 0.1, 0.1),
        "latex-paint": (0.1, 0.0, 0.2),
        "shellac": (0.2, 0.05, 0.05),
    }
    start = _start(book, joint, {"shellac": 0.4, "nitrocellulose-lacquer": 0.6})
    found = with_film_seen_below(start, "shellac", book)
    total = 0.07 + 0.081 + 0.003 + 0.06
    wanted = {
        "nitrocellulose-lacquer": (0.02, 0.01, 0.04),
        "latex-paint": (0.001, 0.0, 0.08),
        "shellac": (0.002, 0.0005, 0.0005),
        "wax": (0.0, 0.0, 0.06),
    }
    for finish, row in found.joint.items():
        assert row == pytest.approx([p / total for p in wanted.get(finish, (0.0, 0.0, 0.0))]), finish
    assert (found.maker, found.contexts) == (start.maker, start.contexts)


def test_wax_seen_below_is_no_soil_on_itself(book: Knowledge) -> None:
    """Wax below wax is as rare as any film on its like; what lies over wax was coated over it."""
    start = _start(book, {"wax": (0.3, 0.1, 0.1), "shellac": (0.2, 0.1, 0.2)}, {"wax": 0.5, "shellac": 0.5})
    found = with_film_seen_below(start, "wax", book)
    total = 0.005 + 0.103
    assert found.joint["wax"] == pytest.approx((0.003 / total, 0.001 / total, 0.001 / total))
    assert found.joint["shellac"] == pytest.approx((0.002 / total, 0.001 / total, 0.1 / total))


def test_nothing_seen_below_says_nothing(book: Knowledge) -> None:
    """The prior as it was."""
    start = _start(book, {"shellac": (0.5, 0.25, 0.25)}, {"shellac": 1.0})
    assert with_film_seen_below(start, None, book) is start
