"""Text of the user made harmless for a terminal."""

from __future__ import annotations

import unicodedata

MOST = 2000
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn"}


def safe(text: object, most: int = MOST) -> str:
    """`text` without control, bidirectional or private characters; long text is cut and says so."""
    shown = str(text)[: most + 1]
    if not shown.isprintable():  # printable is a space or what is in none of the hidden categories
        shown = "".join(map(_visible, shown))
    return shown if len(shown) <= most else shown[: most - 12] + " ... (cut)"


def _visible(character: str) -> str:
    if character in "\n\t":
        return " "
    return "\N{MIDDLE DOT}" if unicodedata.category(character) in _HIDDEN else character
