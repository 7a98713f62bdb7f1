"""Pages on a screen: fitted to its height by leaving out what can be spared, cautions never."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import zip_longest

import msgspec
from rich.cells import cell_len
from rich.text import Text

from ...engine.knowledge.base import Knowledge
from ...engine.report.assessment import Assessment, SurfaceReport
from ...engine.report.explain import Because
from ..tell.safe import safe
from ..tell.screen import Screen
from .cells import clipped, padded, wrapped
from .page import LAST, BookPage, Caution, Choice, Choices, Page, Ranked, Row

PROMPT_LINES = 2
LEAST_HEIGHT = 12
CELLS = 12
WIDE = 72  # columns from which on a chance stands in words too
FEW = 9  # choices that are never shown in parts: they are answered by one key
MANY = 12  # choices from which on long ones are cut rather than given a line each
WHOLE_PLAN = "save FILE here, leave, then oldcoat assess FILE --full"
MORE = f"this surface in full: result all; others: surface. The whole plan: {WHOLE_PLAN}."
UNWRAPPED = 10_000  # a screen reader wants one thing a line
GAP = 3  # columns between two columns of choices
FEWEST_CAUTIONS = 3  # lines of them that stay on any screen, the last of which may say that there are more
LEAST_PART = 4  # lines of choices that a part of a long list has at least
Bar = Callable[[float, int], str]
Cut = Callable[[Page], Page]
Line = tuple[str, str]  # text, style


def draw(
    page: Page, screen: Screen, knowledge: Knowledge | None = None, height: int | None = None, part: int = 0
) -> None:
    """Show a page; with a height, what can be spared is left out until it fits, and of a long list one part is shown."""
    lines: list[Line] = []
    width = screen.width if screen.wraps else UNWRAPPED
    shown = parts(page, width, height)
    for item in shown[part % len(shown)]:
        if isinstance(item, Because | SurfaceReport | Assessment | BookPage):
            _print(lines, screen)
            lines = []
            _tell(item, screen, knowledge)
        elif isinstance(item, Choices) and screen.plain:
            lines += lines_for(Choices(item.rows), width, screen.bar)
        else:
            lines += lines_for(item, width, screen.bar)
    _print(lines, screen)


def _tell(item: Because | SurfaceReport | Assessment | BookPage, screen: Screen, knowledge: Knowledge | None) -> None:
    """What other commands tell too, told the same way."""
    if isinstance(item, SurfaceReport):
        from ..tell.assessment import tell_surface

        tell_surface(item, screen)
    elif isinstance(item, Assessment):
        from ..tell.brief import tell_glance, tell_hazards, tell_rest

        tell_glance(item, screen)
        told = item.triage.told.replace("(`money:`)", "(piece, then money)")  # the bench has words, not keys of a file
        here = msgspec.structs.replace(item, triage=msgspec.structs.replace(item.triage, told=told))
        tell_hazards(here, screen)
        tell_rest(here, screen, full=WHOLE_PLAN, more=MORE)
    elif knowledge is not None and isinstance(item, BookPage):
        from ..tell.page import tell_page

        tell_page(item.kind, item.name, item.entry, knowledge, screen)
    elif knowledge is not None and isinstance(item, Because):
        from ..tell.because import tell_because

        tell_because(item, knowledge, screen)


def _print(lines: list[Line], screen: Screen) -> None:
    """All lines at once: they are wrapped already, and one by one they cost a person's patience."""
    if lines:
        whole = Text("\n").join(Text(text, style=style) for text, style in lines)
        screen.console.print(whole, no_wrap=True, overflow="ignore", crop=False)


def fitted(page: Page, width: int, height: int | None, turned: bool = False) -> Page:
    """The page cut to `height` lines: spare rows, then cautions in short, then the last spare rows; no more than it takes.

    turned: its choices are shown part by part, so that the last spare rows have room.
    """
    if height is None:
        return page
    left, used = max(height - PROMPT_LINES, LEAST_HEIGHT), list[Cut]()
    lines: dict[int, tuple[object, int]] = {}  # with the item, so that no other one can take over its id

    def room(item: object) -> int:
        if id(item) not in lines:
            lines[id(item)] = item, len(lines_for(item, width, _no_bar))
        return lines[id(item)][1]

    def cut_down(cuts: Sequence[Cut]) -> tuple[Page, bool]:
        shown = page
        for cut in cuts:
            shown = cut(shown)
        return shown, sum(map(room, shown)) <= left

    shown, fits = cut_down(used)
    for cut in CUTS[:-2] if turned else CUTS:
        if fits:
            break
        used.append(cut)
        shown, fits = cut_down(used)
    for cut in reversed(used[:-1] if fits else []):  # a long row that went last leaves room for shorter ones before it
        fewer = [other for other in used if other is not cut]
        more, fits = cut_down(fewer)
        used, shown = (fewer, more) if fits else (used, shown)
    return shown


def parts(page: Page, width: int, height: int | None) -> list[Page]:
    """The page as it fits a screen: whole, or in parts if a long list of choices cannot stand on it."""
    roomy = [msgspec.structs.replace(i, whole=True) if isinstance(i, Choices) and i.short else i for i in page]
    if height is not None and lines_of(roomy, width) <= height - PROMPT_LINES:
        return [roomy]
    page = fitted(page, width, height, any(isinstance(item, Choices) and len(item.rows) > FEW for item in page))
    index = next((i for i, item in enumerate(page) if isinstance(item, Choices)), None)
    if height is None or index is None or lines_of(page, width) <= height - PROMPT_LINES:
        return [page]
    choices = page[index]
    if not isinstance(choices, Choices) or len(choices.rows) <= FEW:
        return [page]
    room = max(LEAST_PART, height - PROMPT_LINES - 1 - lines_of([*page[:index], *page[index + 1 :]], width))
    found = []
    for first, rows in _cut(choices, width, room):
        told = Row(
            f"{first} to {first + len(rows) - 1} of {len(choices.rows)}; the others: more, or space", style="bold"
        )
        part = Choices(rows, choices.short, first, whole=True)
        found.append([*page[:index], part, told, *page[index + 1 :]])
    return found


def _cut(choices: Choices, width: int, room: int) -> list[tuple[int, list[Choice]]]:
    """The rows in parts of at most `room` lines: the number of the first of each, and its rows."""
    found: list[tuple[int, list[Choice]]] = []
    rest, first = list(choices.rows), 1
    while rest:
        count = next(
            (
                n
                for n in range(len(rest), 1, -1)
                if lines_of([Choices(rest[:n], choices.short, first, True)], width) <= room
            ),
            1,
        )
        found.append((first, rest[:count]))
        rest, first = rest[count:], first + count
    return found


def _without(level: int) -> Cut:
    return lambda page: [i for i in page if not (isinstance(i, Row | Ranked) and i.spare == level)]


def _in_short(early: bool = False) -> Cut:
    def shorter(item: Caution) -> Caution:
        return Caution(item.short or item.text, item.early, head=item.head)

    return lambda page: [shorter(i) if isinstance(i, Caution) and i.early >= early else i for i in page]


def _headed(page: Page) -> Page:
    """Without the last spare rows; where it stands, in one line for all of them."""
    told = "".join(i.head for i in page if isinstance(i, Caution))
    heads: Page = [Row(f"{i.short}{told}", style="bold") if isinstance(i, Ranked) and i.short else i for i in page]
    heads = [Row(i.short, style=i.style) if isinstance(i, Row) and i.short else i for i in heads]
    return _without(LAST)([i for i in heads if not (isinstance(i, Caution) and i.head)])


def _folded(page: Page) -> Page:
    """Of the cautions for work that is not in hand yet the first two, and how to see the others."""
    early = [item for item in page if isinstance(item, Caution) and item.early]
    if len(early) <= FEWEST_CAUTIONS:
        return page
    gone = early[FEWEST_CAUTIONS - 1 :]
    told = Row(f"and {len(gone)} more: cautions", mark="!", style="bold")
    return [told if item is gone[0] else item for item in page if item is gone[0] or not any(item is g for g in gone)]


CUTS: tuple[Cut, ...] = (
    _in_short(early=True),
    *(_without(level) for level in range(9, 0, -1)),
    _in_short(),
    _headed,
    _folded,
)


def lines_of(page: Page, width: int) -> int:
    """How many lines of `width` columns a page takes."""
    return sum(len(lines_for(item, width, _no_bar)) for item in page)


def _no_bar(_share: float, cells: int) -> str:
    return " " * cells


def lines_for(item: object, width: int, bar: Bar) -> list[Line]:
    """An item as lines of at most `width` columns, as far as words allow."""
    match item:
        case Row(mark=""):
            return _wrapped(item.text, width, " " * item.indent, " " * item.indent, item.style)
        case Row():
            return _hung(item.mark, item.text, width, item.style, 2 + item.indent)
        case Caution():
            return _hung("!", item.text, width, "bold", 2)
        case Ranked():
            return [(f"  {ranked_line(item, width - 2, bar)}", "")]
        case Choices(short=True):
            return [(f"  {line}", "") for line in _table(item, width - 2)]
        case Choices():
            numbered = enumerate(item.rows, item.first)
            return [line for n, choice in numbered for line in _hung(f"{n:>2}", choice.text, width, "", 2)]
    return [("", "")]


def _hung(mark: str, text: str, width: int, style: str, indent: int) -> list[Line]:
    """A paragraph that hangs beside its mark."""
    first = " " * indent + safe(mark) + " "
    return _wrapped(text, width, first, " " * cell_len(first), style)


def _wrapped(text: str, width: int, first: str, rest: str, style: str) -> list[Line]:
    lines = wrapped(safe(text), max(width, 40), first, rest)
    return [(line, style) for line in lines or [first.rstrip()]]


def ranked_line(row: Ranked, width: int, bar: Bar) -> str:
    """Name, bar, chance, change by the last answer, the chance in a word if there is room."""
    word = f"  {row.word}" if width >= WIDE else ""
    name = min(width - (44 if word else 26), 34)
    change = f"{row.change * 100:+4.0f}" if abs(row.change) >= 0.005 else "    "
    return f"{row.name[:name]:<{name}} {bar(row.p, CELLS)} {row.p:4.0%} {change}{word}"


def _table(choices: Choices, width: int) -> list[str]:
    """Numbered choices side by side in as many columns as fit, numbers running down."""
    cells = [f"{number:>2} {safe(choice.text)}" for number, choice in enumerate(choices.rows, choices.first)]
    most = width // 2 - GAP if len(cells) > MANY and not choices.whole else width
    cells = [clipped(cell, most) for cell in cells]
    for depth in range(1, len(cells) + 1):
        columns = [cells[start : start + depth] for start in range(0, len(cells), depth)]
        widths = [max(map(cell_len, column)) + GAP for column in columns]
        if sum(widths) <= width or depth == len(cells):
            lines = zip_longest(*columns, fillvalue="")
            return ["".join(padded(c, w) for c, w in zip(line, widths, strict=True)).rstrip() for line in lines]
    return cells
