"""What grows with the face and what does not; how long the wood waits after the remover."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.report.assessment import Assessment, Step

BY_AREA = ("clean", "strip", "wash-residue", "sand", "first-coat", "top-coats", "rub-out")
BY_PIECE = ("intake-photos", "remove-hardware", "reassemble", "final-photos")


def answer(area: float, knowledge: Knowledge, examiner: Examiner) -> Assessment:
    """An invented face of known shellac on solid oak."""
    known = "{finish: shellac, how: laboratory}"
    face = f"name: face, build: solid, wood: oak, area_m2: {area}, known: {known}"
    text = f"piece: x\nnext_coat: oil-varnish\nsurfaces: [{{{face}}}]"
    return assess(parse_piece(text, "test", knowledge), knowledge, examiner=examiner)


def steps(answer: Assessment) -> dict[str, Step]:
    """The order of work by the step's id."""
    return {step.step: step for step in answer.order_of_work}


def test_work_on_the_face_grows_with_it(knowledge: Knowledge, examiner: Examiner) -> None:
    """Four times the face is four times the hours of what is done to it; what is done to the piece stays."""
    small, great = (steps(answer(area, knowledge, examiner)) for area in (0.5, 2.0))
    for name in BY_AREA:
        assert great[name].hours == pytest.approx([4 * h for h in small[name].hours], abs=0.03), name
    for name in BY_PIECE:
        assert great[name].hours == small[name].hours, name


def test_waits_do_not_grow_with_the_face(knowledge: Knowledge, examiner: Examiner) -> None:
    """A large film is dry as soon as a small one; after the remover it is the middle of the route's own hours."""
    small, great = (answer(area, knowledge, examiner) for area in (0.5, 2.0))
    for name in ("dry-after-strip", "first-coat", "top-coats", "full-cure"):
        assert steps(great)[name].wait_hours == steps(small)[name].wait_hours, name
    route = small.surfaces[0].routes[0]
    assert steps(small)["dry-after-strip"].wait_hours == pytest.approx(sum(route.dry_hours) / 2, abs=0.06)
