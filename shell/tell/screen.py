"""Where output goes: a rich console that knows plain from fancy, or JSON on stdout."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from .safe import safe


class Screen:
    """Writes lines, headings, bars and lists. No markup is ever read from text."""

    def __init__(self, plain: bool = False, stderr: bool = False) -> None:
        stream = sys.stderr if stderr else sys.stdout
        self.plain = plain or os.environ.get("TERM") == "dumb"
        ascii_only = not (getattr(stream, "encoding", "") or "").lower().startswith("utf")
        self.blocks = ("#", "-") if self.plain or ascii_only else ("█", "░")
        self.bullet = "-" if self.plain or ascii_only else "•"
        width = None if stream.isatty() else 80
        self.console = Console(
            file=stream,
            width=width,
            no_color=self.plain or None,
            highlight=False,
            markup=False,
            emoji=False,
            soft_wrap=False,
        )

    @property
    def width(self) -> int:
        """Columns at hand, between 40 and 100."""
        return max(40, min(self.console.width, 100))

    def line(self, text: object = "", style: str = "", indent: int = 0) -> None:
        """One paragraph, wrapped at words with a hanging indent."""
        body = Text(safe(text), style=style)
        self.console.print(Padding(body, (0, 0, 0, indent)) if indent else body, width=self.width)

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
        width = self.width - indent - len(mark) - 1
        lines = Text(safe(text)).wrap(self.console, max(width, 20))
        for index, part in enumerate(lines):
            lead = mark if index == 0 else " " * len(mark)
            self.console.print(
                Text(" " * indent + f"{lead} ") + Text(part.plain.rstrip(), style=style), width=self.width
            )

    def lines(self, rows: Iterable[str], indent: int = 0) -> None:
        """Lines as they stand, one under the other, as a drawing needs them."""
        for row in rows:
            self.console.print(Text(" " * indent + safe(row)), width=self.width)

    def bar(self, share: float, cells: int = 16) -> str:
        """A bar of text for a share of 0 to 1."""
        full = round(max(0.0, min(1.0, share)) * cells)
        return self.blocks[0] * full + self.blocks[1] * (cells - full)


def print_json(value: Any) -> None:
    """One JSON document on stdout."""
    import msgspec

    text = msgspec.json.encode(value).decode()
    print(
        json.dumps(json.loads(text), indent=2, ensure_ascii=not (sys.stdout.encoding or "").lower().startswith("utf"))
    )
