"""how, whynot, whatif, result: the reasoning, opened on request."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from ...engine.problems import nearest
from ...engine.words import likely, listed, percent
from .desk import Desk
from .page import BookPage, Caution, Misread, Page, Question, Ranked, Row, chosen
from .testing import trial

STRONGEST = 3  # answers that `how` tells before it is asked for all
STAYS = {"keep": "The film stays", "seal": "It is bare: seal it", "bare": "It is bare", "leave": "Leave it as it is"}

if TYPE_CHECKING:
    from ...engine.knowledge.base import Knowledge
    from ...engine.report.assessment import SurfaceReport


def how(desk: Desk) -> Page:
    """How the ranking of this surface came about."""
    from ...engine.report.explain import how_ranking

    return [how_ranking(desk.examined(), desk.knowledge)]


def how_briefly(desk: Desk) -> Page:
    """The ranking, what it began from, and the answers that weighed most between the first two."""
    from ...engine.report.explain import how_ranking

    done = desk.examined()
    tree, count = how_ranking(done, desk.knowledge), len(done.evidence)
    order = sorted(done.posterior.finishes, key=lambda f: (-done.posterior.finishes[f], f))
    pulls = [abs(row[order[0]] - row[order[1]]) for row in done.weighed.decibans]
    strongest = sorted(range(count), key=lambda i: -pulls[i])[:STRONGEST]
    prior, answers = tree.rests_on[0], tree.rests_on[1 : 1 + count]
    page: Page = [Row(tree.text, style="bold"), Row(prior.text, mark="-")]
    page += [Row(answers[i].text, mark="-") for i in strongest]
    left = count - len(strongest)
    more = f"{left} more answer{'s' if left > 1 else ''}, the rules" if left else "The rules"
    return [*page, Row(f"{more} and the sources: how all", style="dim")]


def why_not(desk: Desk, kind: str, name: str) -> Page:
    """Why (not) a finish or a remover."""
    from ...engine.report.explain import why_finish, why_remover

    if kind == "finish":
        return [why_finish(desk.examined(), name, desk.knowledge)]
    return [why_remover(desk.examined(), name, desk.state.piece.place, desk.knowledge)]


def meant_pages(desk: Desk, name: str, word: str, kinds: tuple[str, ...]) -> list[BookPage]:
    """The pages of the book that a name may mean, of these kinds or all. Raises Misread for none: what is near."""
    from ..tell.lookup import by_kind, meant

    what = " or a ".join(kinds) or "finish, test, remover, wood or stain"
    if not name:
        raise Misread(f"Type: {word} and the name of a {what}.")
    found = meant(name, desk.knowledge, kinds)
    if not found:
        pages = {kind: rows for kind, rows in by_kind(desk.knowledge).items() if not kinds or kind in kinds}
        near = nearest(name, {name for rows in pages.values() for name in rows})
        raise Misread(f"There is no {what} {name[:40]!r}: {near}.")
    return [BookPage(*row) for row in found]


def what_if(desk: Desk, question: Question, line: str) -> Page:
    """What an answer to the test that is asked would change; nothing is kept. Raises Misread."""
    from ...engine.report.asking import verdict_why
    from ...engine.report.standing import moves

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


def result(desk: Desk, rest: str) -> Page:
    """What `assess` says of this surface in short; with `all` in full; with `piece` the whole piece in short."""
    from ...engine import assess

    answer = assess(desk.state.piece, desk.knowledge, examiner=desk.book.get())
    if rest == "piece":
        return [answer]
    report = next(s for s in answer.surfaces if s.name == desk.state.surface)
    return [report] if rest == "all" else in_short(report, desk.knowledge)


def in_short(report: SurfaceReport, knowledge: Knowledge) -> Page:
    """What it is, what takes it off, what must stay away, what goes on: a line each, with the cautions of each."""
    from ..tell.figures import after_id, first_sentence

    top = report.ranking[0]
    first = f"{report.name}: {top.name}, {percent(top.p)}, {likely(top.p)}. {_off(report)}"
    page: Page = [Row(first, style="bold")]
    page.append(Row(report.verdict_why, indent=2))
    page += [Row(layer.text, mark=layer.where) for layer in report.layers]
    page += [
        Caution(first_sentence(after_id(caution))) for caution in (report.routes[0].cautions if report.routes else [])
    ]
    vetoed = [r.name for r in report.removers if r.vetoed_by]
    page += [Row(f"{listed(vetoed)}.", mark="never here:")] if vetoed else []
    here = {line.partition(": ")[0] for line in report.cautions}

    def warned(names: Iterable[str]) -> Page:
        book = [knowledge.cautions[name] for name in names if name in here]
        return [Caution(caution.short or first_sentence(caution.text)) for caution in book]

    for stain in report.stains:
        page.append(Row(f"{stain.name}: {stain.told}", mark="stain:"))
        page += warned(c for rung in stain.ladder if rung.state == "next" for c in rung.cautions)
    for coat in (coat for coat in report.recoat if coat.chosen):
        page += [Row(f"{coat.name}: {coat.told}", mark="next coat:"), *warned(coat.cautions)]
    page += [Row(first_sentence(after_id(flag)), mark="!") for flag in report.flags_here]
    return [*page, Row("In full, with reasons: result all. The whole piece: result piece.", style="dim")]


def _off(report: SurfaceReport) -> str:
    """The way off in a few words."""
    if report.handling != "strip":
        return f"{STAYS.get(report.handling, 'It stays on')}."
    if not report.routes:
        return "Nothing in the book may take it off here."
    best = report.routes[0]
    return f"Off with {best.name}, {trial(best)}: about {best.expected_hours:.1f} h, harm {percent(best.harm)}."
