"""oldcoat sheet: the bench sheet as one HTML file."""

from __future__ import annotations

from pathlib import Path

import click

from ...engine.problems import BadInput, Problem
from ..app import App

STDOUT = Path("-")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    "out",
    type=click.Path(path_type=Path, allow_dash=True),
    default=STDOUT,
    metavar="OUT.html",
    help="Write the page to this file; without it, or with -, to standard output.",
)
@click.pass_obj
def sheet(app: App, file: Path, out: Path) -> None:
    """Make the bench sheet of FILE: page one for the wall, then the rest; prints on A4 and Letter, reads on a phone.

    It needs no network and no script. For the same as data: oldcoat assess FILE --json.
    """
    from ...engine import assess
    from ..sheet.sheet import sheet as page_of

    piece = app.read_piece(file)
    answer = assess(piece, app.knowledge, examiner=app.examiner)
    page = page_of(answer, piece, app.knowledge, us=app.units == "us")
    if out == STDOUT:
        click.echo(page, nl=False)
        return
    _write(out, page, file)
    click.echo(f"Written: {click.format_filename(out)}", err=True)


def _write(out: Path, page: str, piece_file: Path) -> None:
    """The page in its file, whole. Raises BadInput if it cannot be, leaving what was there."""
    from ...engine.storage import write_whole

    try:
        if not out.parent.exists():
            raise _refused(out, f"there is no folder {out.parent}", "make it first, or name a file in one that exists")
        if out.exists() and not out.is_file():
            raise _refused(out, "it is not an ordinary file", "name a file, like sheet.html")
        if out.exists() and out.samefile(piece_file):
            raise _refused(out, "it is the piece file itself", "name another file, like sheet.html")
        write_whole(out, page)
    except OSError as error:
        raise _refused(
            out, error.strerror or "the system refuses", "name a file in a folder you may write to"
        ) from None


def _refused(out: Path, why: str, hint: str) -> BadInput:
    return BadInput(
        [Problem(path=str(out), code="cannot-write", message=f"the sheet cannot be written here: {why}", hint=hint)]
    )
