"""The short form of an assessment: what matters most first, everything that decides said once after it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from oldcoat.cases import __file__ as cases_file
from oldcoat.engine import Examiner, assess, parse_piece, read_piece
from oldcoat.engine.report.assessment import Assessment
from oldcoat.shell.tell.assessment import tell
from oldcoat.shell.tell.figures import after_id, first_sentence, opening
from oldcoat.shell.tell.screen import Screen

DEMOS = sorted((Path(cases_file).parent / "demo").glob("*.yaml"))
ANSI = re.compile(r"\x1b\[[0-9;]*m")
Capture = pytest.CaptureFixture[str]


def _answer(path: Path, examiner: Examiner) -> Assessment:
    return assess(read_piece(path, examiner.knowledge), examiner.knowledge, examiner=examiner)


def _told(answer: Assessment, capsys: Capture, full: bool = False) -> str:
    capsys.readouterr()
    tell(answer, Screen(), full)
    return capsys.readouterr().out


def _flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
@pytest.mark.parametrize("width", [60, 80, 120])
def test_it_fits(path: Path, width: int, examiner: Examiner, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line is wider than the screen, and at 80 columns a surface takes a screenful or two, not five."""
    monkeypatch.setenv("COLUMNS", str(width))
    answer = _answer(path, examiner)
    told = _told(answer, capsys)
    assert max(map(len, told.splitlines())) <= width
    if width == 80:
        surfaces = told[told.index(f"\n{answer.surfaces[0].name.upper()}\n") : told.index("THE WHOLE PIECE")]
        assert len(surfaces.splitlines()) <= 45 * len(answer.surfaces)
        assert len(told.splitlines()) < 0.7 * len(_told(answer, capsys, full=True).splitlines())


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_it_counts_the_steps_as_the_full_form_numbers_them(path: Path, examiner: Examiner, capsys: Capture) -> None:
    """A step that is done on two faces at different times has two numbers, and is two steps."""
    answer = _answer(path, examiner)
    steps = re.search(r"Order of work: (\d+) steps", _flat(_told(answer, capsys)))
    assert steps is not None
    order = _told(answer, capsys, full=True).partition("Stopped until the parts are matched")[0]
    assert max(int(n) for n in re.findall(r"\[ \] +(\d+) ", order)) == int(steps[1])


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_what_matters_most_stands_first(path: Path, examiner: Examiner, capsys: Capture) -> None:
    """What to do next on each surface comes first; every grave hazard of the plan stands last."""
    answer = _answer(path, examiner)
    told = _told(answer, capsys)
    first = told[: told.index(f"\n{answer.surfaces[0].name.upper()}\n")]
    for surface in answer.surfaces:
        assert f"{surface.name}: {surface.ranking[0].name}" in _flat(first)
    assert first.count("next:") == len(answer.surfaces)
    hurt = _flat(told[told.index("WHAT COULD HURT YOU") :])
    for hazard in answer.hazards:
        assert (_flat(first_sentence(hazard.text)).rstrip(".") in hurt) == hazard.grave
    assert told.index("Chances rest on") < told.index("WHAT COULD HURT YOU")


def test_a_terminal_that_scrolls_has_it_last_again(
    examiner: Examiner, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A terminal is left at the end of what was told, so the short of it stands there too; a pipe has it once."""
    answer = _answer(DEMOS[0], examiner)
    assert "IN SHORT" not in _told(answer, capsys)
    monkeypatch.setenv("FORCE_COLOR", "1")  # rich then takes the stream for a terminal
    told = ANSI.sub("", _told(answer, capsys))
    assert told[told.index("IN SHORT") :].count("next:") == len(answer.surfaces)


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_all_that_the_main_job_owes_is_there(path: Path, examiner: Examiner, capsys: Capture) -> None:
    """Ranking with range and word, verdict, next test with its saving, what is forbidden, flags; what fails, where a film is to come off."""
    answer = _answer(path, examiner)
    told = _flat(_told(answer, capsys))
    for surface in answer.surfaces:
        top = surface.ranking[0]
        assert f"({top.low:.0%}-{top.high:.0%})" in told
        if surface.next_test:
            assert _flat(surface.next_test.why) in told
        for remover in surface.removers:
            fails = surface.handling == "strip" and remover.works < 0.3
            assert remover.name in told or not (remover.vetoed_by or fails)
        for flag in surface.flags_here:
            assert _flat(opening(after_id(flag))) in told


def test_flags_that_do_not_bear_on_the_plan_are_left_to_the_full_form(examiner: Examiner, capsys: Capture) -> None:
    """No word on masks and dichloromethane where the law forbids it and alcohol does nothing; --full still has it."""
    answer = _answer(next(p for p in DEMOS if "walnut" in p.stem), examiner)
    top, left = (next(s for s in answer.surfaces if s.name == name) for name in ("top", "left door"))
    mask = "cartridge-limits"
    assert any(flag.startswith(mask) for flag in top.flags)
    assert not any(flag.startswith(mask) for flag in top.flags_here)
    assert any(flag.startswith(mask) for flag in left.flags_here)  # alcohol may hold methanol and is the way off
    for surface in answer.surfaces:
        assert set(surface.flags_here) <= set(surface.flags)
    full = _flat(_told(answer, capsys, full=True))
    assert all(_flat(after_id(flag)) in full for flag in top.flags)


GELS = """
piece: invented box
place: us
surfaces:
  - {name: lid, wood: beech, build: BUILD, known: {finish: FILM, how: laboratory}}
"""


def test_a_warning_names_its_remover_where_others_share_the_line(examiner: Examiner, capsys: Capture) -> None:
    """The law of one gel is not told as that of four; what all of a line have is told once, without a name."""
    text = GELS.replace("FILM", "nitrocellulose-lacquer").replace("BUILD", "solid")
    answer = assess(parse_piece(text, "invented.yaml", examiner.knowledge), examiner.knowledge, examiner=examiner)
    told = _flat(_told(answer, capsys))
    assert " ! N-methylpyrrolidone gel: The law of this place is not known" in told
    text = GELS.replace("FILM", "oil-modified-polyurethane").replace("BUILD", "veneer")
    answer = assess(parse_piece(text, "invented.yaml", examiner.knowledge), examiner.knowledge, examiner=examiner)
    shared = next(r for r in answer.surfaces[0].removers if r.remover == "benzyl-alcohol-gel").warnings[0]
    told = _flat(_told(answer, capsys))
    assert f" ! {_flat(opening(after_id(shared)))}" in told
    assert f"gel: {_flat(opening(after_id(shared)))}" not in told


PAINT = """
piece: invented
surfaces: [{name: top, wood: pine, build: solid, tests: {TESTS}}]
"""


def test_lead_is_told_with_how_likely_paint_is(examiner: Examiner) -> None:
    """On an undated face that may be painted: the chance of it and an if; a look that shows clear wood ends the alarm."""
    knowledge = examiner.knowledge
    for tests, alarm in (("", True), ("colour-cast: opaque", True), ("colour-cast: slight-amber", False)):
        piece = parse_piece(PAINT.replace("TESTS", tests), "invented.yaml", knowledge)
        surface = assess(piece, knowledge, examiner=examiner).surfaces[0]
        flags = [flag for flag in surface.flags_here if flag.startswith("work-it-wet")]
        assert bool(flags) == alarm
        assert any(caution.startswith("lead-until-tested") for caution in surface.cautions) == alarm
        if alarm:
            paint = sum(r.p for r in surface.ranking if knowledge.finishes[r.finish].lead_before is not None)
            told = re.search(r"Old paint here: >?(\d+)%.*; whatever is paint", flags[0])
            assert told
            assert int(told[1]) == pytest.approx(100 * paint, abs=1)


def test_lead_is_feared_by_all_paints_together(examiner: Examiner) -> None:
    """Several paints, each too unlikely to be named, still raise the alarm if together they are not."""
    from oldcoat.engine.reasoning.surface import lead_chance, lead_risk

    knowledge = examiner.knowledge
    piece = parse_piece(PAINT.replace("TESTS", ""), "invented.yaml", knowledge)
    posterior = examiner.examine(piece, piece.surfaces[0]).posterior
    paints = [f for f, e in knowledge.finishes.items() if e.lead_before is not None]
    assert lead_chance(posterior, None, knowledge) == pytest.approx(sum(posterior.finishes[f] for f in paints))
    assert lead_chance(posterior, (2000, 2010), knowledge) == 0
    assert lead_risk(posterior, None, knowledge) == (
        sum(posterior.finishes[f] for f in paints) >= knowledge.decide.possible
    )


def test_a_test_for_safety_claims_no_minutes(examiner: Examiner, capsys: Capture) -> None:
    """It comes first because it is safe, not because it saves time; neither assess nor explain says otherwise."""
    from oldcoat.engine.report.explain import why_test

    knowledge = examiner.knowledge
    piece = parse_piece(PAINT.replace("TESTS", ""), "invented.yaml", knowledge)
    done = examiner.examine(piece, piece.surfaces[0])
    answer = assess(piece, knowledge, examiner=examiner)
    test = answer.surfaces[0].next_test
    assert test is not None
    assert done.worths[0].safety
    assert test.saves_minutes == 0
    assert "save" not in test.why
    assert "First, for safety" in answer.surfaces[0].verdict_why
    assert "minutes" not in why_test(done, test.test, None, knowledge).text
    second = why_test(done, done.worths[1].test, None, knowledge).text
    assert "comes first for safety" in second or "not asked" in second
    assert "Safety first" in _flat(_told(answer, capsys))


MONEY = """
piece: invented chest
made: 1900-1920
kind: chest
next_coat: shellac
money: {{sells: {sells}, rate_hour: 25, fallback: {fallback}, as_it_stands: 150}}
surfaces:
  - {{name: top, wood: oak, build: solid, area_m2: 0.5, tests: {{alcohol-drop: dissolves-fast}}}}
  - {{name: sides, wood: pine, build: solid, area_m2: 1.0, plan: strip, tests: {{alcohol-drop: dissolves-fast}}}}
"""


@pytest.mark.parametrize(
    ("sells", "fallback", "told", "stays"),
    [(200, 100, "Stop.", 0), (500, 450, "Make it usable and no more", 2), (9000, 400, "", 0)],
)
def test_what_the_money_says_against_it_stands_first(
    sells: int, fallback: int, told: str, stays: int, examiner: Examiner, capsys: Capture
) -> None:
    """Stop, or usable and no more, before anything else; then no route off a film that stays. Invented figures."""
    piece = parse_piece(MONEY.format(sells=sells, fallback=fallback), "invented.yaml", examiner.knowledge)
    said = _flat(_told(assess(piece, examiner.knowledge, examiner=examiner), capsys))
    first = said.partition("top:")[0]
    assert ("By your figures" in first) == bool(told)
    assert told in first
    assert said.count("keep the film: clean it and coat it again.") == stays
    assert ("Route:" in said) == (stays == 0)
