"""oldcoat score."""

from __future__ import annotations

import click

from ..app import App


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
        raise NotFound("no case is confirmed yet: use `oldcoat case add` and `oldcoat case confirm`, or --reference")
    teacher = Teacher(book)
    lessons = [lesson for one in cases for lesson in teacher.lessons(one)]
    against = contradictions(Tables(app.knowledge, counts_of(lessons)), lessons)
    doubts = doubted(lessons, app.knowledge)
    if as_json:
        from ..tell.screen import print_json

        print_json({"score": done, "enough_cases": done.casebook.tells, "book_wrong": against, "doubts": doubts})
    else:
        tell_score(done, against, doubts, app.knowledge, app.screen)
