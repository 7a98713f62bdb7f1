"""Chances, ranges and names of things in the trade's words, from one table each."""

from __future__ import annotations

Span = tuple[float, float]  # low and high of what is not known to the point
LIKELY = (
    (0.97, "almost certain"),
    (0.85, "very likely"),
    (0.6, "likely"),
    (0.4, "as likely as not"),
    (0.2, "possible"),
    (0.08, "less likely"),
    (0.02, "unlikely"),
    (0.0, "hardly"),
)


def likely(p: float) -> str:
    """A word for a chance; the words rise with the chance."""
    return next(word for least, word in LIKELY if p >= least)


def percent(p: float) -> str:
    """A chance as a whole per cent that never claims certainty."""
    return ">99%" if p > 0.995 else "<1%" if p < 0.005 else f"{p:.0%}"


def certainty(low: float, high: float, seen: bool = True) -> str:
    """How firmly a chance stands, from its range (0 to 1); `seen`: whether anything was seen of the film itself."""
    if not seen:
        return "nothing seen yet: age, place and kind alone"
    width = high - low
    if width <= 0.1:
        return "firm, one step of judgement hardly moves it"
    if width <= 0.3:
        return "fairly firm"
    if width <= 0.55:
        return "loose: one answer could change it"
    return "wide open: do not rely on it yet"


def sentence(text: str) -> str:
    """The text with a capital first letter and a full stop."""
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else text + "."


def times(count: int) -> str:
    """once, or up to so many times."""
    return "once" if count == 1 else f"up to {count} times"


def or_span(counts: tuple[int, int]) -> str:
    """1 or 2; or the one number that both are."""
    low, high = counts
    return f"{high}" if low == high else f"{low} or {high}" if high - low == 1 else f"{low} to {high}"


def listed(names: list[str], last: str = "and") -> str:
    """a, b and c."""
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + f" {last} " + names[-1]


def span_told(low: float, high: float) -> str:
    """A range of minutes as one would say it: seconds, minutes, hours or days. Raises ValueError for a NaN."""
    for longest, unit, size in ((1.5, "s", 1 / 60), (90, "min", 1), (48 * 60, "h", 60), (float("inf"), "days", 1440)):
        if high <= longest:
            return _range(low / size, high / size, unit)
    raise ValueError("a range of minutes must be a number")


def dwell_told(likely: float, span: tuple[float, float]) -> str:
    """A time of contact, given in minutes: the middle of it, and the span that holds four trials in five."""
    low, about, high = (span_told(minutes, minutes) for minutes in (span[0], likely, span[1]))
    within = span_told(*span) if low.split()[-1] == high.split()[-1] else f"{low} to {high}"
    return about if low == high else f"about {about} ({within})"


def _range(low: float, high: float, unit: str) -> str:
    first, last = _round(low), _round(high)
    if float(first) == 0 and low > 0:
        return f"up to {last} {unit}"
    return f"{last} {unit}" if first == last else f"{first}-{last} {unit}"


def _round(value: float) -> str:
    """Two figures are all that a judged time bears."""
    if value >= 20:
        return str(round(value / 5) * 5)
    return f"{value:.0f}" if value >= 3 else f"{value:.1f}".removesuffix(".0")


def coats_told(coats: tuple[float, float], one: str = "coat", many: str = "coats") -> str:
    """A range of coats or passes."""
    low, high = round(coats[0]), round(coats[1])
    if low >= high:
        return f"{high} {one if high == 1 else many}"
    return f"{low} to {high} {many}"
