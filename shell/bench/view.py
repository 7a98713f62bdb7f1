"""Pages on a screen: fitted to its height by leaving out what can be spared, cautions never."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from itertools import zip_longest

from ...engine.assessment import SurfaceReport
from ...engine.explain import Because
from ...engine.knowledge.base import Knowledge
from ..tell.screen import Screen
from .page import Caution, Choices, Page, Ranked, Row

PROMPT_LINES = 2
LEAST_HEIGHT = 12
CELLS = 12
REST = " [...]"  # the word `cautions`, which the hints name, shows the rest
WIDE = 72  # columns from which on a chance stands in words too
NUMBER = 5  # columns of a number in front of a choice
MANY = 12  # choices from which on long ones are cut rather than given a line each
GAP = 3  # columns between two columns of choices


def draw(page: Page, screen: Screen, knowledge: Knowledge | None = None, height: int | None = None) -> None:
    """Show a page; with a height, what can be spared is left out until it fits."""
    for item in fitted(page, screen.width, height):
        match item:
            case Row():
                _row(item, screen)
            case Caution():
                screen.marked("!", item.text, style="bold")
            case Ranked():
                screen.line(ranked_line(item, screen), indent=2)
            case Choices():
                _choices(item, screen)
            case Because() if knowledge is not None:
                from ..tell.because import tell_because

                tell_because(item, knowledge, screen)
            case SurfaceReport():
                from ..tell.assessment import tell_surface

                tell_surface(item, screen)


def fitted(page: Page, width: int, height: int | None) -> Page:
    """The page cut to `height` lines: spare rows, then cautions to their first sentences, then the last spare rows."""
    room = None if height is None else max(height - PROMPT_LINES, LEAST_HEIGHT)
    for cut in CUTS:
        if room is None or lines_of(page, width) <= room:
            break
        page = cut(page)
    return page


def _without(level: int) -> Callable[[Page], Page]:
    return lambda page: [i for i in page if not (isinstance(i, Row | Ranked) and i.spare == level)]


def _shorter(sentences: int) -> Callable[[Page], Page]:
    return lambda page: [Caution(_first(i.text, sentences)) if isinstance(i, Caution) else i for i in page]


CUTS = (*(_without(level) for level in range(9, 1, -1)), _shorter(2), _shorter(1), _without(1))


def lines_of(page: Page, width: int) -> int:
    """How many lines of `width` columns a page takes."""
    return sum(_lines(item, width) for item in page)


def _lines(item: object, width: int) -> int:
    match item:
        case Row():
            return _wrapped(item.text, width - item.indent - (len(item.mark) + 3 if item.mark else 0))
        case Caution():
            return _wrapped(item.text, width - 4)
        case Choices():
            if item.short:
                return len(_table(item, width - 2))
            return sum(_wrapped(c.text, width - NUMBER - 1) for c in item.rows)
    return 1


def _wrapped(text: str, width: int) -> int:
    return max(1, len(textwrap.wrap(text, max(width, 20))))


def _first(text: str, sentences: int) -> str:
    """The first sentences of a caution, and how to read the rest of it."""
    short = "".join(re.findall(r"[^.]+\.", text.removesuffix(REST))[:sentences]).strip()
    return short + REST if short and len(short) + len(REST) < len(text) else text


def _row(row: Row, screen: Screen) -> None:
    if row.mark:
        screen.marked(row.mark, row.text, indent=2 + row.indent, style=row.style)
    else:
        screen.line(row.text, row.style, indent=row.indent)


def ranked_line(row: Ranked, screen: Screen) -> str:
    """Name, bar, chance, change by the last answer, the chance in a word."""
    word = f"  {row.word}" if screen.width >= WIDE else ""
    name = min(screen.width - (46 if word else 28), 34)
    change = f"{row.change * 100:+4.0f}" if abs(row.change) >= 0.005 else "    "
    return f"{row.name[:name]:<{name}} {screen.bar(row.p, CELLS)} {row.p:4.0%} {change}{word}"


def _clipped(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 2].rstrip() + ".."


def _table(choices: Choices, width: int) -> list[str]:
    """Numbered choices side by side in as many columns as fit, numbers running down."""
    cells = [f"{number:>2} {choice.text}" for number, choice in enumerate(choices.rows, 1)]
    if len(cells) > MANY:
        cells = [_clipped(cell, width // 2 - GAP) for cell in cells]
    for depth in range(1, len(cells) + 1):
        columns = [cells[start : start + depth] for start in range(0, len(cells), depth)]
        widths = [max(map(len, column)) + GAP for column in columns]
        if sum(widths) <= width or depth == len(cells):
            lines = zip_longest(*columns, fillvalue="")
            return ["".join(f"{c:<{w}}" for c, w in zip(line, widths, strict=True)).rstrip() for line in lines]
    return cells


def _choices(choices: Choices, screen: Screen) -> None:
    if choices.short and not screen.plain:
        for line in _table(choices, screen.width - 2):
            screen.line(f"  {line}")
        return
    for number, choice in enumerate(choices.rows, 1):
        screen.marked(f"{number:>2}", choice.text)
