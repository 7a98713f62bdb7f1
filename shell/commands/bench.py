"""oldcoat bench [FILE], and oldcoat without a command: the guided examination."""

from __future__ import annotations

from pathlib import Path

import click

from ..app import App


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.pass_obj
def bench(app: App, file: Path | None) -> None:
    """Examine a piece at the bench, question by question; every answer is kept at once.

    With FILE: the piece in it, which is written back on leaving.
    """
    at_the_bench(app, file)


def at_the_bench(app: App, file: Path | None) -> None:
    """Open the bench; another shell on the same piece is told, not crashed."""
    from ..bench.opening import Held
    from ..bench.run import run_bench

    try:
        run_bench(app, file)
    except Held as error:
        from ..exits import NotFound

        raise NotFound(str(error)) from None
