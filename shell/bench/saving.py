"""The piece on the bench written as a piece file."""

from __future__ import annotations

from pathlib import Path

from .desk import Desk
from .page import Page, Row


def written(desk: Desk, path: Path) -> Page:
    """Write the piece file, and say what became of it."""
    from ...engine.session.export import export

    try:
        aside = export(desk.state.piece, path, desk.in_file)
    except OSError as error:
        return [Row(f"{path} could not be written ({error.strerror}); the answers are kept all the same.", mark="!")]
    if path == desk.file:
        desk.in_file = desk.state.piece
    page: Page = [Row(f"Written: {path}. `oldcoat assess` reads it.")]
    return [*page, Row(f"What stood there before is in {aside}.")] if aside else page
