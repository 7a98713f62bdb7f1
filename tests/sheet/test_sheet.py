"""The page: all of the answer is on it, anyone can read it, nothing hostile gets in, nothing is fetched."""

from __future__ import annotations

import re
import unicodedata
from itertools import pairwise
from typing import Any, Literal, get_args, get_origin, get_type_hints

import msgspec
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Answer, Piece
from oldcoat.engine.report.assessment import Assessment
from oldcoat.shell.sheet import sheet as sheet_module
from oldcoat.shell.sheet.bench import letter, mind
from oldcoat.shell.sheet.cautions import Cautions
from oldcoat.shell.sheet.removers import WIDEST, tables
from oldcoat.shell.sheet.sheet import sheet
from oldcoat.shell.sheet.views import jobs
from oldcoat.shell.tell.figures import after_id

from .conftest import Made
from .markup import Page, Tag

HOSTILE = "\"'></title></style><script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}&amp;\x1b[31m\u202e\x00"
HARMLESS = "\"'></title></style><script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}&amp;·[31m··"


# ---------------------------------------------------------------- anyone can read it


def test_the_page_has_a_language_a_title_one_main_and_one_first_heading(made: Made) -> None:
    """What a screen reader jumps by."""
    page = made.page
    assert page.all("html")[0].attributes["lang"] == "en"
    assert made.piece.piece in page.all("title")[0].text
    assert [len(page.all(name)) for name in ("header", "nav", "main", "footer", "h1")] == [1, 1, 1, 1, 1]


def test_headings_never_skip_a_level(made: Made) -> None:
    """h2 after h1, h3 after h2."""
    levels = [int(tag.name[1]) for tag in made.page.tags if re.fullmatch(r"h[1-6]", tag.name)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_picture_box_table_and_region_has_a_name(made: Made) -> None:
    """SVG by its title, tick boxes by their label, cells by scoped headers, sections by their heading."""
    page = made.page
    ids = [tag.attributes["id"] for tag in page.tags if "id" in tag.attributes]
    assert len(ids) == len(set(ids))
    assert all(s.attributes["role"] == "img" and s.attributes["aria-label"] for s in page.all("svg"))
    assert all(box.within("label") or box.attributes.get("aria-label") for box in page.all("input"))
    assert all(label.text.strip() for label in page.all("label"))
    assert all(cell.attributes.get("scope") in ("col", "row") for cell in page.all("th"))
    named = [tag for name in ("section", "article") for tag in page.all(name)]
    assert all(tag.attributes["aria-labelledby"] in ids for tag in named)


def test_links_lead_to_places_on_the_page(made: Made) -> None:
    """No dead link, and none that leaves."""
    ids = {tag.attributes["id"] for tag in made.page.tags if "id" in tag.attributes}
    targets = [tag.attributes["href"] for tag in made.page.all("a")]
    assert targets
    assert all(target.startswith("#") and target[1:] in ids for target in targets)


def test_tones_are_far_enough_apart_to_read() -> None:
    """Contrast as WCAG 2.2 reckons it (w3.org/TR/WCAG22, relative luminance): 4.5 for text, 3 for marks."""
    css = (sheet_module.TEMPLATES / "sheet.css").read_text("utf-8")
    settings = re.findall(r":root\s*\{(.*?)\}", css, re.S)
    assert len(settings) == 2
    tones: dict[str, str] = {}
    for block in settings:
        tones |= dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{3,6})", block))
        for ink, ground in (("ink", "paper"), ("soft", "paper"), ("ink", "box"), ("on-grave", "grave")):
            assert _contrast(tones[ink], tones[ground]) >= 4.5, (ink, ground)
        for mark, ground in (("share", "track"), ("ink", "film"), ("ink", "wood"), ("rule", "paper")):
            assert _contrast(tones[mark], tones[ground]) >= 3, (mark, ground)


def _contrast(one: str, two: str) -> float:
    bright, dark = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


# ---------------------------------------------------------------- nothing is fetched


def test_the_page_needs_nothing_from_outside_and_runs_nothing(made: Made) -> None:
    """One file: no address, no script, no handler, and a policy that forbids them."""
    assert not [tag for name in ("script", "link", "img", "iframe", "object", "form") for tag in made.page.all(name)]
    for tag in made.page.tags:
        assert not any(name.startswith("on") or name in ("src", "srcset", "style", "action") for name in tag.attributes)
    style = made.page.all("style")
    assert len(style) == 1
    css = re.search(r"<style>(.*?)</style>", made.html, re.S)
    assert css is not None
    assert not re.search(r"url\(|@import|https?:|expression", css[1])
    policy = next(t for t in made.page.all("meta") if t.attributes.get("http-equiv") == "Content-Security-Policy")
    assert "default-src 'none'" in policy.attributes["content"]
    assert "script" not in policy.attributes["content"]


# ---------------------------------------------------------------- all of the answer is on it


def test_every_caution_of_the_assessment_stands_on_the_page_in_full_once(made: Made) -> None:
    """Those of the surfaces, of the tests, of the routes and of every step; in the list at the end and nowhere else."""
    said = _plain(made.page.text)
    answer = made.answer
    wanted = [*answer.cautions, *(c for s in [*answer.order_of_work, *answer.held] for c in s.cautions)]
    wanted += [c for s in answer.surfaces for c in [*s.cautions, *(s.next_test.cautions if s.next_test else [])]]
    assert wanted
    assert {said.count(_plain(after_id(c))) for c in wanted} == {1}
    listed = _plain(_by_id(made.page, "cautions").text)
    assert [c for c in wanted if _plain(after_id(c)) not in listed] == []


def test_every_step_shows_its_cautions_where_it_stands(made: Made) -> None:
    """In short, with the number of the full text; none is dropped by joining surfaces or by pointing to a like step."""
    answer = made.answer
    all_jobs = jobs(answer.order_of_work, answer.held, Cautions(answer, made.knowledge), _letters(answer))
    wanted: dict[str, set[str]] = {}
    for step in [*answer.order_of_work, *answer.held]:
        wanted.setdefault(step.name, set()).update(c.partition(": ")[0].replace("-", " ") for c in step.cautions)
    shown: dict[str, set[str]] = {}
    for job in all_jobs:
        shown.setdefault(job.name, set()).update(c.name for c in job.cautions)
    assert shown == wanted
    work = _by_id(made.page, "work")
    items = [tag for tag in made.page.all("li") if work in tag.parents]
    for job in all_jobs:
        item = next(tag for tag in items if f"{job.number}. {job.name}" in tag.text)
        assert all(f"! {c.number} {c.short}" in _plain(item.text) for c in job.cautions), job.name


def test_every_stage_of_the_route_shows_its_cautions(made: Made) -> None:
    """Beside the stage itself, not only at the head of the surface."""
    cautions = Cautions(made.answer, made.knowledge)
    for surface, article in zip(made.answer.surfaces, _surfaces(made.page), strict=True):
        if surface.handling != "strip":
            continue
        items = [tag for tag in made.page.all("li") if article in tag.parents]
        for number, stage in enumerate(surface.routes[0].tree, 1):
            item = next(tag for tag in items if _plain(f"{number}. {stage.text}") in _plain(tag.text))
            assert all(c.short in _plain(item.text) for c in cautions.here(stage.cautions)), stage.text


def test_a_short_caution_of_the_book_says_what_keeps_the_hand_off(knowledge: Knowledge) -> None:
    """Each has one, of at most two dozen words, shorter than the full text, and lye, acid and oxalic acid name the kit."""
    for name, caution in knowledge.cautions.items():
        assert caution.short, name
        assert 5 <= len(caution.short.split()) <= 24, name
        assert len(caution.short) < len(caution.text), name
    for name in ("alkali-burn", "acid-burn", "oxalic-dust", "peroxide-caustic", "ammonia-vapour"):
        assert "gloves" in (knowledge.cautions[name].short or ""), name
        assert "goggles" in (knowledge.cautions[name].short or ""), name


def test_no_caution_is_listed_twice(made: Made) -> None:
    """What can maim on page one has the number of the list, in which each caution of the book stands once."""
    cautions = Cautions(made.answer, made.knowledge)
    names = [row.name for row in cautions.all()]
    assert len(names) == len(set(names))
    assert {cautions.of_hazard(hazard).name for hazard in made.answer.hazards} <= set(names)


def test_grave_cautions_come_first(made: Made) -> None:
    """The list begins with what can kill."""
    grave = [row.grave for row in Cautions(made.answer, made.knowledge).all()]
    assert grave == sorted(grave, reverse=True)


def test_bars_match_the_numbers_of_the_assessment(made: Made) -> None:
    """On the cards of page one and on each surface, in the order of the ranking."""
    drawn = [float(tag.attributes["width"]) for tag in made.page.all("rect", "share")]
    most = 1 if len(made.answer.surfaces) >= 5 else 2
    cards = [r.p for s in made.answer.surfaces for i, r in enumerate(s.ranking[:most]) if i == 0 or r.p >= 0.1]
    below = [r.p for s in made.answer.surfaces for i, r in enumerate(s.ranking[:5]) if i == 0 or r.p >= 0.02]
    assert len(drawn) == len(cards) + len(below)
    assert all(abs(width - 100 * p) <= 0.051 for width, p in zip(drawn, [*cards, *below], strict=True))


def test_all_removers_are_spoken_of_on_every_surface_that_has_a_film(made: Made) -> None:
    """Works, in doubt, no use or never: each in one cell for each surface, and each cell has its reasons below."""
    _all_spoken_of(made)


def test_many_surfaces_stand_in_several_tables(crowded: Made) -> None:
    """No more columns than paper has room for, shared out evenly, none left out."""
    widths = [len(part.columns) for part in tables(crowded.answer).tables]
    assert len(widths) > 1
    assert max(widths) <= WIDEST
    assert max(widths) - min(widths) <= 1
    _all_spoken_of(crowded)


def _all_spoken_of(made: Made) -> None:
    worked = {s.name: s for s in made.answer.surfaces if s.handling in ("strip", "keep")}
    told = tables(made.answer)
    assert [name for part in told.tables for _, name in part.columns] == list(worked)
    reasons = dict(told.reasons)
    for part in told.tables:
        here = [worked[name] for _, name in part.columns]
        assert sorted(name for row in part.rows for name in row.names) == sorted(r.name for r in here[0].removers)
        for told_of in part.rows:
            for cell, surface in zip(told_of.cells, here, strict=True):
                reports = [r for r in surface.removers if r.name in told_of.names]
                assert {cell.state == "never" for _ in reports} == {bool(r.vetoed_by) for r in reports}
                assert (cell.state == "spoils") <= all(r.harm > r.works or r.harm >= 0.5 for r in reports)
                said = {reasons[mark] for mark in cell.reasons}
                assert all(after_id(why) in said for r in reports for why in r.vetoed_by)
                assert said
    section = _plain(_by_id(made.page, "removers").text)
    assert all(f"{mark} {_plain(text)}" in section for mark, text in told.reasons)


# ---------------------------------------------------------------- page one


def test_page_one_says_of_each_surface_what_to_use_and_what_never(made: Made) -> None:
    """The likeliest finish, the remover of the best route, every veto, the next test and one warning."""
    page = made.page
    everywhere = _plain(_by_id(page, "bench").text)
    cards = page.all("article", "card")
    for surface, card in zip(made.answer.surfaces, cards, strict=True):
        text = _plain(card.text)
        assert surface.ranking[0].name in text
        assert (surface.next_test.name if surface.next_test else "none") in text
        if surface.handling == "strip":
            assert surface.routes[0].name in text
        if surface.handling in ("strip", "keep"):
            assert all(r.name in text or r.name in everywhere for r in surface.removers if r.vetoed_by)
        assert len([p for p in page.all("p", "mind") if card in p.parents]) == 1


def test_page_one_has_a_box_for_each_step_and_the_conditions_to_stop(made: Made) -> None:
    """The order in short is the order at length; parts that hold the work and stains that stay are named."""
    answer = made.answer
    boxes = [t for t in made.page.all("input") if any(p.attributes.get("class") == "short" for p in t.parents)]
    named = jobs(answer.order_of_work, answer.held, Cautions(answer, made.knowledge), _letters(answer))
    assert len(boxes) == len(named)
    stop = _plain(made.page.all("section", "stop")[0].text)
    assert all(stain.last.rstrip(".") in stop for surface in answer.surfaces for stain in surface.stains)
    if answer.held:
        assert all(part.label in stop for part in answer.parts if part.holds)


def test_the_warning_of_a_surface_is_the_gravest_that_a_rule_has_for_it(made: Made) -> None:
    """Lead that was found on painted legs comes before rags and dust; else a grave caution before one that is not."""
    cautions = Cautions(made.answer, made.knowledge)
    for surface in made.answer.surfaces:
        told = mind(surface, cautions, made.knowledge)
        assert told is not None
        if any(flag.startswith("lead-is-there:") for flag in surface.flags_here):
            assert told.text.startswith("Lead is there.")
        elif told.number is not None and any(c.grave for c in cautions.here(surface.cautions)):
            assert cautions.all()[told.number - 1].grave


@given(st.integers(0, 2000), st.integers(0, 2000))
def test_letters_of_surfaces_are_never_the_same(one: int, other: int) -> None:
    """A to Z, then two letters."""
    assert (letter(one) == letter(other)) == (one == other)
    assert letter(0) == "A"
    assert letter(26) == "AA"


# ---------------------------------------------------------------- units


def test_us_units_reach_every_figure_with_a_metric_unit(made: Made) -> None:
    """What the sheet says in metric is said in US units, by the same rules as on the terminal."""
    metric = re.compile(r"\d ?(?:mm|cm|m2|um|L|l|C)(?![\w/])")
    us = Page(sheet(made.answer, made.piece, made.knowledge, us=True))
    assert metric.findall(made.page.text)
    assert metric.findall(us.text) == []
    assert re.search(r"\d (?:US qt|US gal|US fl oz)", us.text)
    assert re.search(r"\d F\b", us.text)


def test_steps_parts_and_shopping_are_all_there_with_boxes(made: Made) -> None:
    """As many boxes as there are steps to do and parts to match."""
    text, answer = made.page.text, made.answer
    for step in [*answer.order_of_work, *answer.held]:
        assert step.name in text
        assert _plain(step.how) in _plain(text)
    for part in answer.parts:
        assert part.label in text
        assert all(words in text for words in [*part.screws, *part.hardware, *part.mask])
    assert all(item.what in text for item in answer.shopping.items)
    boxes = len(made.page.all("input"))
    assert boxes >= len(answer.order_of_work) + len(answer.held) + len(answer.parts) + len(answer.shopping.items)


def test_a_piece_with_nothing_but_a_name_makes_a_page(knowledge: Knowledge, examiner: Examiner) -> None:
    """What is empty is left out."""
    piece = parse_piece("piece: box\nsurfaces: [{name: lid}]\n", "box.yaml", knowledge)
    page = Page(sheet(assess(piece, knowledge, examiner=examiner), piece, knowledge))
    ids = {tag.attributes.get("id") for tag in page.tags}
    assert "parts" not in ids
    assert not [tag.text for tag in page.tags if tag.name in ("dd", "li", "p") and tag.text.strip() in ("", "None")]


# ---------------------------------------------------------------- nothing hostile gets in


def test_hostile_text_in_every_field_is_only_text(made: Made) -> None:
    """Every text of the assessment and of the piece begins with an attack; the page keeps its elements."""
    page = Page(sheet(_poisoned(made.answer), _poisoned_piece(made.piece), made.knowledge))
    known = {tag.name for tag in made.page.tags}
    assert {tag.name for tag in page.tags} <= known
    allowed = {name for tag in made.page.tags for name in tag.attributes}
    assert {name for tag in page.tags for name in tag.attributes} <= allowed
    assert page.text.count(HARMLESS) > 100
    assert HARMLESS in page.all("title")[0].text
    shown = page.text + "".join(value for tag in page.tags for value in tag.attributes.values())
    bad = {c for c in shown if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") and c != "\n"}
    assert bad == set()


def _poisoned(answer: Assessment) -> Assessment:
    """The assessment with the attack before every text that is not a word of the program."""
    return _dipped(answer, Assessment)  # type: ignore[no-any-return]


def _dipped(value: Any, hint: Any) -> Any:
    if isinstance(value, Struct):
        hints = get_type_hints(type(value))
        fields = {f: _dipped(getattr(value, f), hints[f]) for f in value.__struct_fields__}
        return msgspec.structs.replace(value, **fields)
    if isinstance(value, str):
        return value if _of_words(hint) else HOSTILE + value
    if isinstance(value, dict):
        return {key: _dipped(row, Literal if _of_words(hint) else None) for key, row in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(_dipped(row, None) for row in value)
    return value


def _of_words(hint: Any) -> bool:
    """Whether a type is one of a few fixed words, or of them or nothing."""
    return hint is Literal or get_origin(hint) is Literal or any(_of_words(part) for part in get_args(hint))


def _poisoned_piece(piece: Piece) -> Piece:
    """The piece with the attack in all free text: names and ids stay, for they are looked up."""
    surfaces = [
        msgspec.structs.replace(
            surface,
            name=HOSTILE + surface.name,
            note=HOSTILE,
            wood=HOSTILE,
            tests={
                t: Answer(outcome=a if isinstance(a, str) else a.outcome, note=HOSTILE)
                for t, a in surface.tests.items()
            },
            tried=[msgspec.structs.replace(one, note=HOSTILE) for one in surface.tried],
        )
        for surface in piece.surfaces
    ]
    return msgspec.structs.replace(piece, piece=HOSTILE, note=HOSTILE, made=HOSTILE, surfaces=surfaces)


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def _by_id(page: Page, name: str) -> Tag:
    return next(tag for tag in page.tags if tag.attributes.get("id") == name)


def _surfaces(page: Page) -> list[Tag]:
    return [tag for tag in page.all("article") if tag.attributes.get("id", "").startswith("surface-")]


def _letters(answer: Assessment) -> dict[str, str]:
    return {surface.name: letter(i) for i, surface in enumerate(answer.surfaces)}
