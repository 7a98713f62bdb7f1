"""Bars for chances: how likely, and under it the range that one step of judgement makes."""

from __future__ import annotations

from markupsafe import Markup

from ..tell.safe import safe


def percent(share: float) -> str:
    """A chance as whole per cent; what is neither none nor all never reads as 0 or 100."""
    if 0 < share <= 0.005:
        return "under 1%"
    if 0.995 <= share < 1:
        return "over 99%"
    return f"{share:.0%}"


def bar(name: str, p: float, low: float, high: float) -> Markup:
    """A bar of length `p` with a whisker from `low` to `high`, and the same in words for who cannot see it."""
    told = f"{safe(name)}: {percent(p)}, range {percent(low)} to {percent(high)}"
    return Markup(
        '<svg class="bar" viewBox="0 0 100 16" preserveAspectRatio="none" role="img" aria-label="{told}">'
        "<title>{told}</title>"
        '<rect class="track" x="0" y="1" width="100" height="8"/>'
        '<rect class="share" x="0" y="1" width="{p}" height="8"/>'
        '<path class="tick" d="M25 1V9M50 1V9M75 1V9"/>'
        '<path class="whisker" d="M{low} 10.5V15.5M{low} 13H{high}M{high} 10.5V15.5"/>'
        "</svg>"
    ).format(told=told, p=_place(p), low=_place(low), high=_place(high))


def _place(share: float) -> str:
    return f"{100 * min(1.0, max(0.0, share)):.1f}"
