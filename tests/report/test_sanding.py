"""What may be sanded, in words and figures: sums by hand on invented wood."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from oldcoat.engine.examine import Examination
from oldcoat.engine.removal.objection import Objection
from oldcoat.engine.report.sanding import told_sanding

RUNS = [("120-150", 0.3), ("150-180", 0.15), ("180-220", 0.1), ("220-320", 0.06)]


@pytest.fixture
def done(examine: Callable[..., Examination]) -> Examination:
    """Veneer of 0.7 mm, measured: 0.3 must stay, 0.1 for what cannot be seen; nothing stands against sanding."""
    done = examine(build="veneer", veneer_mm=0.7, known={"finish": "shellac", "how": "laboratory"})
    under = replace(
        done.under,
        veneer_mm=(0.7, 0.7),
        veneer_known="measured",
        budget_mm=0.3,
        stays_mm=0.3,
        unseen_mm=0.1,
        sequences=RUNS,
    )
    return replace(done, under=under, firings=[], predictions=[_sanding(done, [], 0.0)])


def _sanding(done: Examination, harms: list[Objection], harm: float, vetoes: list[Objection] | None = None) -> object:
    (row,) = (p for p in done.predictions if p.remover == "sanding")
    return replace(row, harms=harms, harm=harm, vetoes=vetoes or [])


def test_runs_of_grits_by_hand(done: Examination) -> None:
    """0.3 mm bear 0.3 once, 0.15 twice, 0.1 three times to the last digit, 0.06 five times; the finest three are told."""
    told = told_sanding(done)
    assert [(run.grits, run.times) for run in told.runs] == [
        ("120-150", 1),
        ("150-180", 2),
        ("180-220", 3),
        ("220-320", 5),
    ]
    assert told.measured
    assert told.text.startswith(
        "0.7 mm of veneer, measured, less 0.3 mm that must stay and 0.1 mm for what cannot be seen"
    )
    assert ": 0.3 mm may go in all. 150-180 takes 0.15 mm, up to 2 times;" in told.text
    assert "120-150" not in told.text


def test_what_is_not_measured_is_said_to_be_guessed(done: Examination) -> None:
    """Guessed veneer gives both ends of its thickness; solid wood has none."""
    guessed = replace(done, under=replace(done.under, veneer_mm=(0.7, 1.2), veneer_known="guessed"))
    assert told_sanding(guessed).text.startswith("0.7 to 1.2 mm of veneer, guessed from the years")
    assert not told_sanding(guessed).measured
    solid = replace(done, under=replace(done.under, veneer_mm=None, veneer_known="", sequences=RUNS[:1]))
    assert told_sanding(solid).text == (
        "Solid wood: without losing the shape: 0.3 mm may go in all. 120-150 takes 0.3 mm, once."
    )
    none = replace(done, under=replace(done.under, sequences=[]))
    assert told_sanding(none).text.endswith("No run of grits fits into that.")


def test_a_veto_leaves_no_run(done: Examination) -> None:
    """Why it is forbidden is told in place of any figure."""
    veto = Objection("invented", "Invented reason.", [])
    told = told_sanding(replace(done, predictions=[_sanding(done, [], 0.0, [veto])]))
    assert (told.runs, told.text) == ([], "No dry sanding here. Invented reason.")


@pytest.mark.parametrize(("harm", "barred"), [(0.5, True), (0.49, False)])
def test_a_face_that_would_not_bear_it(done: Examination, harm: float, barred: bool) -> None:
    """From every other time on; the likeliest harm is the one told, and the wood's own budget stands beside it."""
    harms = [Objection("small", "A small one.", [], 0.1), Objection("great", "A great one.", [], 0.4)]
    told = told_sanding(replace(done, predictions=[_sanding(done, harms, harm)]))
    wanted = "The wood would bear 0.3 mm in all, but not for taking this film off. A great one."
    assert (told.text == wanted) == barred
    assert bool(told.runs) != barred
