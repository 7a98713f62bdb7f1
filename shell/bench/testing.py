"""The question about one test, and what stands in its place when no test pays any more."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from ...engine.knowledge.base import PATCH_PREFIX
from ...engine.piece.form import Answer
from ...engine.session.fold import answered
from ...engine.words import listed, percent
from .desk import Desk
from .page import LAST, Caution, Choice, Choices, Page, Question, Ranked, Row
from .words import quoted

if TYPE_CHECKING:
    from ...engine.deciding.nexttest import Worth
    from ...engine.examine import Examination
    from ...engine.knowledge.base import Knowledge
    from ...engine.report.assessment import NextTest, RouteReport

SHOWN = 3
A_LINE = 48  # letters of a reason that stand in one line with what it is for
ALTERNATIVES = 3
TOLD_SAVING = 0.5  # minutes: less is told as nothing
STAGES = {
    "looking": "looking",
    "touching": "touching",
    "mild-solvent": "mild solvents",
    "strong-solvent": "strong solvents",
    "cutting": "cutting",
    "patch": "a trial patch",
}
MARKS = ("no mark", "mark polishes out", "mark needs repair", "takes a sample")
PATCH_FIRST = "a trial patch on a hidden spot first"
STOPPING = ("settled", "same-route")


def work_question(desk: Desk, menu: Callable[[str], Page | None]) -> Question:
    """The picked test, the best test, or the stop; `menu` gets what is chosen at a stop."""
    done = desk.examined()
    if desk.picked is not None:
        return test_question(desk, done, desk.picked)
    if desk.state.surface in desk.state.closed:
        from .ending import closed_question

        return closed_question(desk, menu, title(desk), next_open(desk))
    tests = desk.tests()
    if done.verdict in STOPPING or not tests or tests[0].saves <= 0:
        return stop_question(desk, done, menu)
    return test_question(desk, done, tests[0].test)


def test_question(desk: Desk, done: Examination, test: str) -> Question:
    """How to do a test, what may be seen, and where the examination stands above it."""
    from ...engine.session.events import Answered

    knowledge = desk.knowledge
    before = desk.answer_before(test)
    choices = [
        Choice(outcome, knowledge.outcome(test, outcome).sees, outcome.replace("-", " "))
        for outcome in knowledge.outcomes_of(test)
    ]

    def take(value: str) -> None:
        note = before.note if before else ""
        answer = Answer(outcome=value, sure=not desk.unsure, note=note)
        if before is not None and not value:
            answer = replace(before, sure=before.sure and not desk.unsure)
        if answer != before or test not in desk.state.here.tests:
            told = Answered(surface=done.surface.name, test=test, outcome=answer.outcome, sure=answer.sure, note=note)
            desk.do(told)
        desk.picked, desk.returned, desk.unsure = None, None, False

    told = told_as_test(desk, done, test)
    page = [
        *standing(desk, done),
        *_raised(desk, done, told),
        *doing(desk, test, told),
        Choices(choices),
        *_before(knowledge, test, before),
        *_others(desk, test),
    ]
    why = _why_test(desk, done, test, told)
    looks, enter = _looks(desk, test), "" if before else None
    return Question(done.surface.name, page, take, choices, enter=enter, why=why, looks=looks, test=test)


def _raised(desk: Desk, done: Examination, told: NextTest) -> Page:
    """What the last answer warns of, told at once even where the next test only looks."""
    from ...engine.report.warned import of_the_film, told_cautions

    last = desk.state.last.get(done.surface.name)
    raised = told_cautions(of_the_film(done, desk.knowledge, last), desk.knowledge) if last else []
    return cautions(desk, [line for line in raised if line not in told.cautions])


def _before(knowledge: Knowledge, test: str, before: Answer | None) -> Page:
    """What Enter answers where the test was answered before, and the note that stays with it."""
    if before is None:
        return []
    number = knowledge.outcomes_of(test).index(before.outcome) + 1
    note: Page = [Row(before.note, mark="its note stays:", style="dim", spare=4)] if before.note else []
    return [*note, Row(f"Enter: as before, {number}{'' if before.sure else ' (not sure)'}", style="dim", spare=LAST)]


def told_as_test(desk: Desk, done: Examination, test: str) -> NextTest:
    """A test in words, whether it would be proposed or not."""
    from ...engine.deciding.nexttest import Worth
    from ...engine.report.asking import told_test

    worth = next((w for w in done.worths if w.test == test), Worth(test, 0.0, 0.0, {}))
    return told_test(worth, done, desk.knowledge)


def standing(desk: Desk, done: Examination) -> Page:
    """Where this surface stands: ranking, what moved it, what is still open, what is odd."""
    from ...engine.report.standing import between, moves, rose_and_fell
    from ...engine.words import certainty, likely

    knowledge, state = desk.knowledge, desk.state
    last = state.last.get(done.surface.name)
    rows = moves(done, last)
    page: Page = [Row(title(desk), style="bold", spare=LAST)]
    for index, move in enumerate(rows[:SHOWN]):
        name = knowledge.finishes[move.finish].name
        short = (
            "" if index else f"{done.surface.name[:20].upper()} ({answered(desk.state.here)}): {name[:28]} {move.p:.0%}"
        )
        page.append(Ranked(name, move.p, move.change, likely(move.p), (LAST, 3, 5)[index], short))
    up, down = rose_and_fell(rows)
    tried = _tried(done, last)
    if tried:
        first, _, rest = tried.partition(". ")
        page.append(Row(tried, mark="moved:", short=f"  moved: {first}. {rest.rpartition('. ')[2]}"))
    elif last is not None and (up or down):
        parts = [
            f"{word} {knowledge.finishes[m.finish].name} {m.change * 100:+.0f}"
            for word, m in (("up", up), ("down", down))
            if m
        ]
        page.append(Row(f"{_named(desk, last)}: {', '.join(parts)}.", mark="moved:", spare=2))
    low, high = done.ranges[done.posterior.top]
    page.append(
        Row(
            f"{low:.0%} to {high:.0%}, {certainty(low, high, seen=bool(done.evidence or done.surface.known))}.",
            mark="range:",
            spare=6,
        )
    )
    page.append(Row(between(done, knowledge), mark="open:", spare=7))
    return page + _warnings(desk, done)


def _tried(done: Examination, last: str | None) -> str:
    """What the try of a remover changed in belief and in the way off, if that was told last."""
    remover = (last or "").removeprefix("tried/").removeprefix(PATCH_PREFIX)
    told = [change.text for change in done.changes if change.remover == remover] if last else []
    return told[-1] if told else ""


def _named(desk: Desk, evidence: str) -> str:
    """Evidence in words, as it stands within a sentence."""
    if evidence.startswith("tried/"):
        return f"trying {desk.knowledge.removers[evidence.removeprefix('tried/')].name}"
    name = desk.knowledge.test_name(evidence)
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def title(desk: Desk) -> str:
    """Piece, surface, which of how many, and how many answers."""
    piece = desk.state.piece
    names = [s.name for s in piece.surfaces]
    here = f"{piece.piece[:40]}: {desk.state.surface[:40].upper()}"
    count = f"surface {names.index(desk.state.surface) + 1} of {len(names)}, " if len(names) > 1 else ""
    answers = answered(desk.state.here)
    return f"{here}   ({count}{answers} answer{'s' if answers != 1 else ''})"


def _warnings(desk: Desk, done: Examination) -> Page:
    page: Page = []
    for first, second in done.fit.clashes[:1]:
        again = f" Clean the spot and repeat {_named(desk, done.fit.doubtful)}." if done.fit.doubtful else ""
        page.append(
            Row(f"{_named(desk, first)} and {_named(desk, second)} clash.{again}", mark="!", style="bold", spare=1)
        )
    odd = [text.partition(": ")[2] for text in desk.odd_ones()]
    odd.sort(key=lambda text: not text.startswith(f"{done.surface.name} "))
    for text in odd[:1]:
        name = text.partition(" reads as ")[0]
        short = f"{name[:24]} reads unlike its sisters: cautions"
        page.append(Caution(text, early=True, short=short, head=" ! see cautions"))
    return page


def doing(desk: Desk, test: str, told: NextTest) -> Page:
    """How to do a test, on the screen on which it is asked: amount, cover, time, place, what to watch for."""
    from ...engine.report.asking import NOT_HERE
    from ..tell.figures import first_sentence

    entry = desk.knowledge.tests.get(test)
    mark = MARKS[entry.mark if entry else 2]
    saves = f", saves about {told.saves_minutes:.0f} min" if told.saves_minutes > 0 else ""
    head = f"{told.name[:1].upper()}{told.name[1:]}: {_takes(desk, test)}, {mark}"
    gentler = _gentler(desk, test)
    saves += f" ({gentler})" if gentler else ""
    short = f"{told.name[:1].upper()}{told.name[1:]}: NOT HERE, as why tells" if told.barred else head
    page: Page = [*_to_get(desk, test), Row(f"{head}{saves}", style="bold", short=short)]
    if told.barred:
        reason = first_sentence(told.barred)
        brief = f"{NOT_HERE}: {reason} More: why" if len(reason) <= A_LINE else f"{NOT_HERE}. Reason: why"
        page.append(Row(brief, mark="!", style="bold", spare=LAST))
        page.append(Row(told.barred, indent=4, spare=3))
    how = told.how.removeprefix(f"{NOT_HERE}: {told.barred} ")
    page.append(Row(how, indent=2, spare=1 if told.barred else 0))
    if entry is not None:
        page.append(Row(entry.watch, mark="watch:"))
    if told.not_on:
        page.append(Row(told.not_on, indent=2, spare=1))
    return [*page, *cautions(desk, told.cautions)]


def _to_get(desk: Desk, test: str) -> Page:
    """The tools to get for a test, whether it was proposed or picked."""
    lacks = _lacking(desk, test)
    return [Row(f"First get: {', '.join(lacks)}.", mark="!", style="bold")] if lacks else []


def _lacking(desk: Desk, test: str) -> list[str]:
    """What a test or a patch cannot do without and is not at hand."""
    book, have = desk.knowledge, desk.state.piece.have
    entry = book.tests.get(test) or book.removers[test.removeprefix(PATCH_PREFIX)]
    return [book.vocabulary.tools[tool].name for tool in entry.tools if have is not None and tool not in have]


def _left_for_safety(desk: Desk, done: Examination) -> Page:
    """The tests that safety asks for and that nobody has done, and what is missing for them."""
    from ...engine.deciding.nexttest import asked_for

    page: Page = []
    seen = {item.test for item in done.evidence}
    for test in (t for t in asked_for(done.firings) if t not in seen):
        lacks = _lacking(desk, test)
        get = f"Get {', '.join(lacks)} first: " if lacks else "Not done yet, and safety comes first: "
        page.append(Row(f"{get}{_named(desk, test)}.", mark="!", style="bold"))
    return page


def cautions(desk: Desk, told: Iterable[str], early: bool = False) -> Page:
    """Cautions as engine.report tells them, each with its short form."""
    parted = [line.partition(": ")[::2] for line in told]
    return [Caution(text, early, desk.knowledge.cautions[name].short or text) for name, text in parted]


def _takes(desk: Desk, test: str) -> str:
    """How long a test takes, and how much of that is waiting."""
    entry = desk.knowledge.tests.get(test)
    if entry is None:
        return f"patch, look after {_looks(desk, test)[0]:g} min"
    wait = f", of it {entry.wait_minutes:g} waiting" if entry.wait_minutes else ""
    most = "at most " if any(outcome.after_minutes is not None for outcome in entry.outcomes) else ""
    return f"{most}{entry.minutes:g} min{wait}"


def _looks(desk: Desk, test: str) -> list[float]:
    """Minutes at which one looks, from the start; the length of a test in which nothing waits."""
    entry = desk.knowledge.tests.get(test)
    if entry is None:
        return [desk.knowledge.removers[test.partition("/")[2]].work.dwell_minutes[0]]
    return [*entry.looks, entry.wait_minutes or entry.minutes]


def _gentler(desk: Desk, test: str) -> str:
    """Why a test is proposed before one that saves more, in a few words; empty where it is not so."""
    from ...engine.deciding.nexttest import stage_name

    tests = desk.tests()
    if not tests or tests[0].test != test or tests[0].safety:
        return ""
    first, best = tests[0], max(tests, key=lambda w: w.saves)
    if best.saves < first.saves + TOLD_SAVING:
        return ""
    mild, harsh = (STAGES[stage_name(w.test, desk.knowledge)] for w in (first, best))
    return f"gentler first: {mild} before {harsh}"


def _others(desk: Desk, test: str) -> Page:
    """Other tests that could be done instead, those that save most: one always, more where there is room."""
    others = sorted((w for w in desk.tests() if w.test != test), key=lambda w: -w.saves)[:ALTERNATIVES]
    told = [f"{_named(desk, w.test)}{_saving(w)}" for w in others]
    if not told:
        return []
    more = [Row(f"{listed(told[1:])}.", mark="or:", style="dim", spare=8)] if told[1:] else []
    return [Row(f"{told[0]}; all: tests", mark="or:", style="dim", spare=LAST), *more]


def _saving(worth: Worth) -> str:
    if worth.safety:
        return " (first, for safety)"
    return f" (saves {worth.saves:.0f})" if worth.saves >= TOLD_SAVING else ""


def _why_test(desk: Desk, done: Examination, test: str, told: NextTest) -> Page:
    """Why this test: what each answer would make most probable, and when to distrust it."""
    knowledge = desk.knowledge
    page: Page = [Row(f"Why {told.name}?", style="bold"), Row(told.why, indent=2)]
    page += [Row(told.barred, mark="!", style="bold")] if told.barred else []
    gentler = _gentler(desk, test)
    page += [Row(f"Another saves more, but not much: {gentler}.", indent=2)] if gentler else []
    worth = next((w for w in done.worths if w.test == test), None)
    for outcome, chance in sorted((worth.splits if worth else {}).items(), key=lambda pair: -pair[1]):
        page.append(Row(f"{knowledge.outcome(test, outcome).sees} (expected {chance:.0%})", mark="-"))
    entry = knowledge.tests.get(test)
    for distrust in entry.distrust if entry else []:
        page.append(Row(distrust, mark="distrust if:"))
    return page


def stop_question(desk: Desk, done: Examination, menu: Callable[[str], Page | None]) -> Question:
    """No test pays any more: why, the way off, and where to go from here."""
    from ...engine.planning.handling import handling
    from ...engine.report.asking import verdict_why
    from ...engine.report.warned import of_the_film, told_cautions
    from ..tell.brief import NOT_STRIPPED

    knowledge = desk.knowledge
    page = standing(desk, done)
    page += [Row(f"STOP. {verdict_why(done, knowledge)}", style="bold")]
    page += _left_for_safety(desk, done)
    how, warned = handling(done, knowledge), told_cautions(of_the_film(done, knowledge), knowledge)
    if how in NOT_STRIPPED:
        page.append(Row(f"{NOT_STRIPPED[how]}.", mark="what to do:"))
    for route in done.routes[:1] if how == "strip" else []:
        told = desk.told_route(done, route)
        page += [Row(_way_off(told), mark="way off:"), Row(_first_step(told, knowledge), indent=2, spare=1)]
        warned = list(dict.fromkeys([*warned, *told.cautions]))
    page += cautions(desk, warned, early=True)
    choices = _after_stop(desk)
    why: Page = [
        Row("Each test left would cost more than it is expected to save on the removal."),
        Row(verdict_why(done, knowledge)),
    ]
    return Question(done.surface.name, [*page, Choices(choices)], menu, choices, why=why)


def _way_off(told: RouteReport) -> str:
    """The remover and what it takes; that a patch comes first is said on any screen."""
    figures = f"about {told.expected_hours:.1f} h of work, harm {percent(told.harm)}"
    return f"{told.name}, {trial(told)}; {figures}. All steps: result all"


def trial(told: RouteReport) -> str:
    """What of the trial patch is still to do."""
    return "as its trial here went well" if told.trial_done else PATCH_FIRST


def _first_step(told: RouteReport, knowledge: Knowledge) -> str:
    """The trial patch, or the face if that is done, and what comes if it fails: by its name, as later steps are not here."""
    patch = told.tree[0]
    then = f"a patch with {knowledge.removers[told.then].name}" if told.then else "stop and test again"
    now = patch.text.removesuffix(f" If not: step {patch.otherwise}.")
    if told.trial_done:
        return f"{now} Then the whole face: {told.tree[1].text} If not: {then}."
    return f"{now} If not: {then}."


def _after_stop(desk: Desk) -> list[Choice]:
    rows = []
    unsettled = next_open(desk)
    if unsettled is not None:
        rows.append(Choice(f"surface {quoted(unsettled)}", f"go to the next surface: {unsettled}", "next"))
    rows += [
        Choice("result", "the result: what takes it off, what goes on"),
        Choice("about", "tell more of this surface: size, inlay, repairs, stains"),
        Choice("tests", "test anyway: pick a test"),
    ]
    rows.append(Choice("done", "the work is over: tell what was really there"))
    return [*rows, Choice("leave", "keep everything and leave")]


def next_open(desk: Desk) -> str | None:
    """The next surface, after this one and round, on which a test still pays."""
    names = [s.name for s in desk.state.piece.surfaces]
    start = names.index(desk.state.surface)
    for name in [*names[start + 1 :], *names[:start]]:
        if name in desk.state.closed:
            continue
        done = desk.examined(name)
        if done.verdict not in STOPPING and any(w.saves > 0 for w in done.worths):
            return name
    return None
