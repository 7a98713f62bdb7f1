"""Text by the columns that it takes on a terminal: a CJK letter takes two."""

from __future__ import annotations

import textwrap

from rich.cells import cell_len, chop_cells


def wrapped(text: str, width: int, first: str, rest: str) -> list[str]:
    """Lines of at most `width` columns; `first` begins the first of them, `rest` the others."""
    if cell_len(first + text) == len(first + text):
        return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=rest)
    lines, line, begun = [], first, False
    for word in text.split():
        if begun and cell_len(line) + 1 + cell_len(word) > width:
            lines.append(line)
            line, begun = rest, False
        line += f" {word}" if begun else word
        begun = True
        while cell_len(line) > width:
            head = chop_cells(line, width)[0]
            lines.append(head)
            line = rest + line[len(head) :]
    return [*lines, line] if begun else lines


def clipped(text: str, width: int) -> str:
    """The text, or as much of it as fits in `width` columns, with two dots where it was cut."""
    return text if cell_len(text) <= width else f"{chop_cells(text, width - 2)[0].rstrip()}.."


def padded(text: str, width: int) -> str:
    """The text with spaces after it up to `width` columns."""
    return text + " " * (width - cell_len(text))
