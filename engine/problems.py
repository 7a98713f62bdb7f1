"""What is wrong with an input, as a value: where, what, what is allowed, the nearest name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct


class Problem(Struct, frozen=True, kw_only=True):
    """One thing wrong in one place; `line` and `column` count from 1, 0 means the whole file."""

    path: str
    line: int = 0
    column: int = 0
    code: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        place = self.path + (f":{self.line}:{self.column}" if self.line else "")
        return f"{place}: {self.message}" + (f" ({self.hint})" if self.hint else "")


class BadInput(Exception):
    """An input that cannot be used; carries every problem that was found in it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = tuple(problems)


class BadKnowledge(BadInput):
    """The shipped knowledge, or a layer without which nothing works, is faulty."""


def nearest(word: str, allowed: Iterable[str], most: int = 12) -> str:
    """A hint: the nearest allowed name, or the allowed names if there are few; says so if there is none."""
    from difflib import get_close_matches

    names = sorted(set(allowed))
    if not names:
        return "none exists yet"
    close = get_close_matches(word, names, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]}?"
    if len(names) <= most:
        return "allowed: " + ", ".join(names)
    return f"{len(names)} names are allowed, among them " + ", ".join(names[:most])
