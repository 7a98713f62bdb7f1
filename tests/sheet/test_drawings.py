"""The drawings: the same names everywhere, well formed, inside their frame, told in words too."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from oldcoat.engine.knowledge.base import PATCH_DRAWN, Knowledge
from oldcoat.engine.knowledge.entries import Drawing
from oldcoat.shell.sheet.drawings import DRAWINGS, HIGH, WIDE, drawing
from oldcoat.shell.tell.miniatures import MINIATURES, miniature

from .markup import Page

NAMES = sorted(DRAWINGS)


def test_the_three_lists_of_drawings_are_one_list() -> None:
    """What knowledge may name is what the sheet draws and what the terminal draws."""
    assert set(get_args(Drawing)) == set(DRAWINGS) == set(MINIATURES)
    assert set(PATCH_DRAWN.values()) <= set(DRAWINGS)


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_is_well_formed_the_same_each_time_and_told_in_words(name: str) -> None:
    """Closed tags, one title that is also the label, no two runs that differ."""
    page = Page(str(drawing(name)))
    svg = page.all("svg")[0]
    assert svg.attributes["role"] == "img"
    assert svg.attributes["aria-label"] == page.all("title")[0].text
    assert len(svg.attributes["aria-label"]) > 10
    assert drawing(name) == drawing(name)


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_has_no_colour_of_its_own(name: str) -> None:
    """Tones come from the style sheet, so that dark and paper can change them."""
    used = {a for tag in Page(str(drawing(name))).tags for a in tag.attributes}
    assert not used & {"fill", "stroke", "style", "color", "href"}


@pytest.mark.parametrize("name", NAMES)
def test_points_stay_in_the_frame(name: str) -> None:
    """No corner, centre or box lies outside the picture."""
    for tag in Page(str(drawing(name))).tags:
        a = tag.attributes
        points = [tuple(map(float, pair.split(","))) for pair in a.get("points", "").split()]
        if "cx" in a:
            points.append((float(a["cx"]), float(a["cy"])))
        if tag.name == "rect":
            points += [(float(a["x"]), float(a["y"]))]
            points += [(float(a["x"]) + float(a["width"]), float(a["y"]) + float(a["height"]))]
        assert all(0 <= x <= WIDE and 0 <= y <= HIGH for x, y in points), (tag.name, points)


def test_no_two_drawings_are_the_same_picture() -> None:
    """Each name shows something else."""
    bodies = {re.sub(r"aria-label=\"[^\"]*\"|<title>.*?</title>", "", str(drawing(name))) for name in NAMES}
    assert len(bodies) == len(NAMES)


def test_hostile_words_beside_a_drawing_are_only_words() -> None:
    """The alternative text may be from user knowledge."""
    page = Page(str(drawing("curl", '"><script>x</script>\x1b\u202e')))
    assert not page.all("script")
    assert page.all("title")[0].text == '"><script>x</script>··'


@pytest.mark.parametrize("name", NAMES)
def test_a_miniature_is_three_short_lines_of_plain_characters(name: str) -> None:
    """It fits beside its text on a narrow terminal, in any encoding."""
    lines = miniature(name)
    assert len(lines) == 3
    assert all(line.isascii() and len(line) <= 16 for line in lines)
    assert any(line.strip() for line in lines)


def test_no_two_miniatures_are_the_same_but_for_film_and_nothing_changed() -> None:
    """A film of middling thickness looks like a film that nothing happened to."""
    seen: dict[str, list[str]] = {}
    for name, art in MINIATURES.items():
        seen.setdefault(art, []).append(name)
    assert [names for names in seen.values() if len(names) > 1] == [["film-medium", "unchanged"]]


def test_most_outcomes_of_the_shipped_tests_that_can_be_drawn_are_drawn(knowledge: Knowledge) -> None:
    """The tests whose answers are shapes have a drawing for each answer."""
    shapes = (
        "alcohol-drop",
        "lacquer-thinner-drop",
        "acetone-rub",
        "water-drop",
        "scraper",
        "crack-pattern",
        "tape-pull",
    )
    bare = [(t, o.id) for t in shapes for o in knowledge.tests[t].outcomes if o.drawing is None]
    assert bare == []
