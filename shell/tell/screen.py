"""Where output goes: a rich console that knows plain from fancy, or JSON on stdout."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable
from shutil import get_terminal_size
from typing import Any

from rich.console import Console
from rich.text import Text

from .safe import safe
from .units import in_us


class Screen:
    """Writes lines, headings, bars and lists. No markup is ever read from text."""

    def __init__(self, plain: bool = False, stderr: bool = False, us: bool = False) -> None:
        """`us`: show metric figures in US units."""
        stream = sys.stderr if stderr else sys.stdout
        dumb = os.environ.get("TERM") == "dumb"
        self.plain = plain or dumb
        self.wraps = not plain and (not self.plain or stream.isatty())  # a dumb terminal cuts words at its edge
        ascii_only = not (getattr(stream, "encoding", "") or "").lower().startswith("utf")
        self.blocks = ("#", "-") if ascii_only else ("█", "░")
        self.bullet = "-" if self.plain or ascii_only else "•"
        self.us = us
        self._told_width = int(columns) if (columns := os.environ.get("COLUMNS", "")).isdecimal() else None
        width, height = None if stream.isatty() else self._told_width or 80, None
        if dumb and width is None:
            width, height = get_terminal_size()  # rich takes every dumb terminal for one of 80 columns
        self.console = Console(
            file=stream,
            width=width,
            height=height,
            no_color=self.plain or None,
            highlight=False,
            markup=False,
            emoji=False,
            soft_wrap=False,
        )

    @property
    def width(self) -> int:
        """Columns at hand: what COLUMNS says, else up to 100; never below 40."""
        return max(40, self._told_width or min(self.console.width, 100))

    def line(self, text: object = "", style: str = "", indent: int = 0) -> None:
        """One paragraph, wrapped at words with a hanging indent."""
        self._paragraph(" " * indent, " " * indent, text, style)

    def heading(self, text: object) -> None:
        """A heading that stands out without colour."""
        self.line()
        self.line(str(text).upper(), "bold")

    def items(self, rows: Iterable[object], indent: int = 2, mark: str | None = None, style: str = "") -> None:
        """A list, each row with a bullet and hanging indent."""
        for row in rows:
            self.marked(mark or self.bullet, row, indent, style)

    def marked(self, mark: str, text: object, indent: int = 2, style: str = "") -> None:
        """A paragraph that hangs beside its mark."""
        mark = safe(mark)
        lead = " " * indent + (" ".join(mark.split()) if self.plain else mark) + " "
        self._paragraph(lead, " " * len(lead), text, style)

    def _paragraph(self, lead: str, hang: str, text: object, style: str) -> None:
        """Text behind its lead, wrapped under `hang`; plain output has single blanks only, and is wrapped on a dumb terminal alone."""
        shown = in_us(safe(text)) if self.us else safe(text)
        if self.plain:
            shown = " ".join(shown.split())
        if not self.wraps:
            self._row(lead, shown, style)
            return
        for index, part in enumerate(Text(shown).wrap(self.console, max(self.width - len(lead), 20)) or [Text()]):
            self._row(hang if index else lead, part.plain, style)

    def _row(self, lead: str, text: str, style: str) -> None:
        body = text.rstrip()
        self.console.print(Text(lead if body else lead.rstrip()) + Text(body, style=style), soft_wrap=True)

    def lines(self, rows: Iterable[str], indent: int = 0) -> None:
        """Lines as they stand, one under the other, as a drawing needs them."""
        for row in rows:
            self._row(" " * indent, safe(row), "")

    def bar(self, share: float, cells: int = 16) -> str:
        """A bar of text for a share of 0 to 1; nothing in plain output."""
        if self.plain:
            return ""
        full = round(max(0.0, min(1.0, share)) * cells)
        return self.blocks[0] * full + self.blocks[1] * (cells - full)


def print_json(value: Any) -> None:
    """One JSON document on stdout."""
    import msgspec

    text = msgspec.json.encode(value).decode()
    print(
        json.dumps(json.loads(text), indent=2, ensure_ascii=not (sys.stdout.encoding or "").lower().startswith("utf"))
    )
