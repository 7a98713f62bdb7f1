"""What page one and the lines beside it say where one thing spoils another. All pieces are invented."""

from __future__ import annotations

import re

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.report.assessment import Assessment
from oldcoat.shell.sheet.sheet import sheet

from .markup import Page

KNOWN = "build: solid, known: {finish: shellac, how: laboratory}"


def _answer(surface: str, knowledge: Knowledge, examiner: Examiner, more: str = "") -> tuple[Assessment, Page]:
    text = f"piece: invented\nkind: table\n{more}\nsurfaces:\n  - {{name: top, {surface}}}\n"
    piece = parse_piece(text, "invented.yaml", knowledge)
    answer = assess(piece, knowledge, examiner=examiner)
    return answer, Page(sheet(answer, piece, knowledge))


def test_stains_stand_in_the_order_of_work_with_what_must_not_meet(knowledge: Knowledge, examiner: Examiner) -> None:
    """Bleach before acid in the work, so on the card too, and the card itself says that they never mix."""
    surface = f"wood: oak, {KNOWN}, stains: [{{kind: black-ring}}, {{kind: dye-or-ink}}]"
    answer, page = _answer(surface, knowledge, examiner)
    steps = [step.step for step in answer.order_of_work]
    assert steps.index("chlorine-bleach") < steps.index("oxalic-acid")
    assert [stain.next for stain in answer.surfaces[0].stains] == ["chlorine-bleach", "oxalic-acid"]
    card = next(tag.text for tag in page.all("article") if tag.attributes.get("class") == "card")
    assert card.index("chlorine bleach, up to") < card.index("oxalic acid, up to")
    assert "mix chlorine bleach and oxalic acid" in card


def test_two_treatments_that_may_meet_are_not_warned_of(knowledge: Knowledge, examiner: Examiner) -> None:
    """Rust and a black ring both take oxalic acid."""
    surface = f"wood: oak, {KNOWN}, stains: [{{kind: black-ring}}, {{kind: rust}}]"
    _, page = _answer(surface, knowledge, examiner)
    assert not any(tag.text.startswith("mix ") for tag in page.all("dd"))


def test_what_comes_before_stripping_stands_on_the_card(knowledge: Knowledge, examiner: Examiner) -> None:
    """A piece from before 1850 is looked at by somebody who knows first."""
    answer, page = _answer(f"wood: oak, {KNOWN}, plan: strip", knowledge, examiner, "made: 1820")
    assert answer.surfaces[0].before_stripping
    card = next(tag.text for tag in page.all("article") if tag.attributes.get("class") == "card")
    assert card.index("before anything comes off") < card.index("Then")


def test_sanding_that_spoils_the_face_is_not_offered(knowledge: Knowledge, examiner: Examiner) -> None:
    """Carving loses its edges whatever the wood would bear: no runs of grits beside `spoils`."""
    carved, _ = _answer(f"wood: oak, {KNOWN}, features: [carving]", knowledge, examiner)
    plain, _ = _answer(f"wood: oak, {KNOWN}", knowledge, examiner)
    assert next(r for r in carved.surfaces[0].removers if r.remover == "sanding").spoils
    assert "but not for taking this film off" in carved.surfaces[0].sanding.text
    assert not carved.surfaces[0].sanding.runs
    assert plain.surfaces[0].sanding.runs


def test_of_a_printed_sheet_no_veneer_is_told(knowledge: Knowledge, examiner: Examiner) -> None:
    """A laminate has no wood below that could be sanded."""
    answer, _ = _answer("known: {finish: plastic-laminate, how: laboratory}", knowledge, examiner, "made: 1965")
    assert "nothing to sand" in answer.surfaces[0].sanding.text
    assert "veneer" not in answer.surfaces[0].sanding.text


TWO_IN_A_STEP = """
piece: two chairs of invented make
kind: chair
next_coat: shellac
surfaces:
  - {name: near chair, wood: oak, build: solid, known: {finish: shellac, how: removal}, stains: [{kind: urine}]}
  - {name: far chair, wood: oak, build: solid, known: {finish: shellac, how: removal}, stains: [{kind: black-ring}]}
"""


def test_what_is_said_of_one_surface_of_a_step_is_said_with_its_letter_and_name(
    knowledge: Knowledge, examiner: Examiner
) -> None:
    """The patches of two chairs come together; each chair's treatment is told of that chair alone."""
    piece = parse_piece(TWO_IN_A_STEP, "invented.yaml", knowledge)
    page = Page(sheet(assess(piece, knowledge, examiner=examiner), piece, knowledge))
    notes = [tag.text for tag in page.all("p") if tag.attributes.get("class") == "note"]
    assert any(re.match(r"A\s+near chair:\s+Enzyme wash", text) for text in notes)
    assert any(re.match(r"B\s+far chair:\s+Oxalic acid", text) for text in notes)
    assert not any(text.startswith("A") and "B" in text.split(":")[0] for text in notes)
