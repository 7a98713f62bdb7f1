"""The piece on the bench written as a piece file."""

from __future__ import annotations

from pathlib import Path

from ...engine.words import listed
from .desk import Desk
from .page import Page, Row


def left(desk: Desk, path: Path) -> Page:
    """On leaving: the piece written into its file, unless the file says it already or nothing was told since it was opened."""
    from ...engine.piece.reader import form_of

    if desk.undecided is not None:
        return [Row(f"Which counts was not said: {path} stays as it is, and so does what is kept here.")]
    if path.is_file() and desk.whole in (desk.in_file, form_of(path)):
        return [Row(f"Nothing new was told: {path} stays as it is.")]
    return written(desk, path)


def written(desk: Desk, path: Path) -> Page:
    """Write the piece file, and say what became of it."""
    from ...engine.session.export import export

    if not path.absolute().parent.is_dir():
        where = path.absolute().parent
        return [Row(f"Not written: there is no folder {where}. Make it, or name another file.", mark="!")]
    try:
        before = export(desk.whole, path, desk.wrote.get(path.absolute()))
    except OSError as error:
        return [Row(f"{path} could not be written ({error.strerror}); the answers are kept all the same.", mark="!")]
    desk.wrote[path.absolute()] = desk.whole
    if path == desk.file:
        desk.in_file = desk.whole
    reads = f"`oldcoat assess` reads it{f' where {listed(list(desk.aside))} is known' if desk.aside else ''}."
    page: Page = [Row(f"Written: {path}. {reads}")]
    return [*page, Row(f"What stood there before is in {before}.")] if before else page
