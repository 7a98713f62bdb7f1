"""A bar on standard error for what takes a while; silent where nobody looks at it."""

from __future__ import annotations

import sys
from collections.abc import Callable

LEAST = 200  # steps below which it is over before it is seen
CELLS = 30


def progress(what: str) -> Callable[[int, int], None] | None:
    """A function of (done, whole) that draws a bar, or None where no person looks."""
    if not sys.stderr.isatty():
        return None

    def draw(done: int, whole: int) -> None:
        step = max(whole // 100, 1)
        if whole >= LEAST and (done % step == 0 or done == whole):
            full = CELLS * done // whole
            end = "\n" if done == whole else ""
            print(
                f"\r{what} [{'#' * full}{'-' * (CELLS - full)}] {done:,} of {whole:,}",
                end=end,
                file=sys.stderr,
                flush=True,
            )

    return draw
