"""oldcoat score."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from ..app import App

if TYPE_CHECKING:
    from ...engine.casebook.record import Case


def _nothing(app: App, cases: Sequence[Case]) -> str:
    """Why there is nothing to score, and what to do."""
    from ...engine.casebook.unknown import missing_truths

    missing = sorted({name for one in cases if not one.withdrawn for name in missing_truths(one.piece, app.knowledge)})
    if missing:
        names = ", ".join(missing[:5])
        return (
            f"no case is confirmed as a finish that this knowledge has; confirmed are {names}: "
            "if they are of your own, give their folder with --knowledge DIR before the command"
        )
    if cases:
        confirm = app.command("case", "confirm", "CASE", "SURFACE", "FINISH", "--how", "HOW")
        return f"no case that counts is confirmed yet: {confirm}"
    return f"the casebook is empty: {app.command('case', 'add', 'FILE')}, or score --reference"


@click.command()
@click.option("--reference", is_flag=True, help="Score the reference cases that come with the program.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def score(app: App, reference: bool, as_json: bool) -> None:
    """Guess each confirmed case from all others: how often right, how well calibrated, which tests earned their time."""
    from ...engine.belief.tables import Tables
    from ...engine.casebook.learn import Teacher, counts_of
    from ...engine.casebook.reference import reference_cases
    from ...engine.casebook.score import score as score_cases
    from ...engine.casebook.trace import contradictions, doubted
    from ..exits import NotFound
    from ..tell.progress import progress
    from ..tell.score import tell_score

    book = Tables(app.knowledge)
    cases = reference_cases() if reference else app.index.cases()
    done = score_cases(cases, book, progress("scoring"))
    if done.casebook is None:
        raise NotFound(_nothing(app, cases))
    teacher = Teacher(book)
    lessons = [lesson for one in cases for lesson in teacher.lessons(one)]
    against = contradictions(Tables(app.knowledge, counts_of(lessons)), lessons)
    doubts = doubted(lessons, app.knowledge)
    if as_json:
        from ..tell.screen import print_json

        print_json({"score": done, "enough_cases": done.casebook.tells, "book_wrong": against, "doubts": doubts})
    else:
        tell_score(done, against, doubts, app.knowledge, app.screen)
