"""how, whynot, whatif, result: the reasoning, opened on request."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from ...engine.problems import nearest
from .desk import Desk
from .page import Misread, Page, Question, Ranked, Row, chosen

STRONGEST = 3  # answers that `how` tells before it is asked for all

if TYPE_CHECKING:
    from ...engine.assessment import SurfaceReport


def how(desk: Desk) -> Page:
    """How the ranking of this surface came about."""
    from ...engine.explain import how_ranking

    return [how_ranking(desk.examined(), desk.knowledge)]


def how_briefly(desk: Desk) -> Page:
    """The ranking, what it began from, and the answers that weighed most between the first two."""
    from ...engine.explain import how_ranking

    done = desk.examined()
    tree, count = how_ranking(done, desk.knowledge), len(done.evidence)
    order = sorted(done.posterior.finishes, key=lambda f: (-done.posterior.finishes[f], f))
    pulls = [abs(row[order[0]] - row[order[1]]) for row in done.weighed.decibans]
    strongest = sorted(range(count), key=lambda i: -pulls[i])[:STRONGEST]
    prior, answers = tree.rests_on[0], tree.rests_on[1 : 1 + count]
    page: Page = [Row(tree.text, style="bold"), Row(prior.text, mark="-")]
    page += [Row(answers[i].text, mark="-") for i in strongest]
    left = len(tree.rests_on) - 1 - len(strongest)
    return [*page, Row(f"{left} more lines and the sources: how all" if left else "Sources: how all", style="dim")]


def why_not(desk: Desk, name: str) -> Page:
    """Why (not) a finish or a remover. Raises Misread for anything else."""
    from ...engine.explain import why_finish, why_remover

    knowledge, done = desk.knowledge, desk.examined()
    name = _id(name, desk)
    if name in knowledge.finishes:
        return [why_finish(done, name, knowledge)]
    if name in knowledge.removers:
        return [why_remover(done, name, desk.state.piece.place, knowledge)]
    names = {*knowledge.finishes, *knowledge.removers}
    raise Misread(
        f"whynot needs a finish or a remover: {nearest(name, names)}"
        if name
        else "Type: whynot and a finish or a remover."
    )


def _id(text: str, desk: Desk) -> str:
    """The id meant: as typed, with spaces for hyphens, or by its name."""
    low = text.strip().lower()
    for entries in (desk.knowledge.finishes, desk.knowledge.removers):
        for name, entry in entries.items():
            if low in (name, name.replace("-", " "), entry.name.lower()):
                return name
    return low.replace(" ", "-")


def what_if(desk: Desk, question: Question, line: str) -> Page:
    """What an answer to the test that is asked would change; nothing is kept. Raises Misread."""
    from ...engine.report import verdict_why
    from ...engine.standing import moves
    from ...engine.words import likely

    test = question.test
    if test is None:
        raise Misread("whatif works where a test is asked.")
    if not line:
        raise Misread("Type: whatif and the number of an answer.")
    outcome = chosen(question, line)
    state, knowledge = desk.state, desk.knowledge
    tests = {**{t: a for t, a in state.here.tests.items() if t != test}, test: outcome}
    done = desk.book.get().examine(state.piece, replace(state.here, tests=tests))
    page: Page = [Row(f"If so: {knowledge.outcome(test, outcome).sees}", style="bold")]
    for move in moves(done, test)[:4]:
        page.append(Ranked(knowledge.finishes[move.finish].name, move.p, move.change, likely(move.p)))
    return [*page, Row(verdict_why(done, knowledge), indent=2), Row("Nothing was answered.", style="dim", indent=2)]


def result(desk: Desk) -> Page:
    """All that `assess` would say of this surface."""
    return [report_of(desk)]


def report_of(desk: Desk) -> SurfaceReport:
    """The report on this surface within its piece, as `assess` gives it."""
    from ...engine import assess

    state = desk.state
    answer = assess(state.piece, desk.knowledge, examiner=desk.book.get())
    return next(s for s in answer.surfaces if s.name == state.surface)
