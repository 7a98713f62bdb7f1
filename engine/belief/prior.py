"""P(finish, origin | what is known of the piece), before any test.

The maker's finish is a mixture over the contexts of the book (a context says: in these
years, in this region, style, kind or wood, makers used these finishes in these
shares). The weight of a context is

    share x overlap of years x product over region, style, kind, wood of
        1            if the context does not name it
        specific     if it names it and the piece's is in it
        mismatch     if it names it and the piece's is not
        a fraction   if it names it and the piece's is unknown: averaged over, not skipped

An owner's later finish is a mixture in the same way over the eras since, with the
chance of it growing with age: 1 - (1 - rate)^(decades), and is split between a strip
and a coat over the old film.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Context, Priors
from .counts import Counts, leaning
from .tables import scaled

UNKNOWN = "unknown"
SLIGHT = 0.005  # weight below which a context has no part in a case
LEAST = 1e-6  # cases that the book expects at least of any finish
Shares = Callable[[Context], dict[str, float]]


class Setting(Struct, frozen=True, kw_only=True):
    """What is known of a surface before any test; None for unknown."""

    years: tuple[int, int] | None = None
    region: str | None = None
    style: str | None = None
    kind: str | None = None
    wood: str | None = None
    now: int | None = None


class Prior(Struct, frozen=True):
    """Chances before any test.

    joint: finish -> (original, refinished, overcoated), summing to 1 over all.
    maker: finish -> chance that the maker used it, for what lies under an over-coat.
    contexts: ids of the contexts that count most, with their weights.
    """

    joint: dict[str, tuple[float, float, float]]
    maker: dict[str, float]
    contexts: list[tuple[str, float]]


def prior(setting: Setting, knowledge: Knowledge, shares: Shares | None = None) -> Prior:
    """The prior for one surface; `shares` (see shares_under) carries what the casebook adds."""
    book = knowledge.priors
    now = setting.now or date.today().year
    weights = _weights(book.makers, setting, setting.years or (1600, now), book)
    years = setting.years or _supposed(book.makers, weights, now)
    shares = shares or shares_under(knowledge)
    maker = _mixture(book.makers, weights, knowledge, shares)
    maker = _not_before(maker, years, knowledge, book.floor)
    redone = _chance_redone(setting, years, now, book)
    owner = _owner(setting, years, now, knowledge, shares)
    over = redone * book.refinish.overcoat_share
    joint = {
        f: (
            maker[f] * (1 - redone),
            owner[f] * (redone - over),
            (owner[f] if not _is_bare(f, knowledge) else book.floor) * over,
        )
        for f in knowledge.finishes
    }
    total = sum(map(sum, joint.values()))
    top = sorted(zip((c.id for c in book.makers), weights, strict=True), key=lambda pair: -pair[1])[:4]
    return Prior({f: (a / total, b / total, c / total) for f, (a, b, c) in joint.items()}, maker, top)


Candidates = tuple[Sequence[tuple[str, float, Mapping[str, float]]], Sequence[tuple[str, float, Mapping[str, float]]]]


def candidates(setting: Setting, knowledge: Knowledge, shares: Shares) -> Candidates:
    """Makers' and owners' contexts that a setting may belong to: (id, weight, shares) each."""
    book = knowledge.priors
    now = setting.now or date.today().year
    weights = _weights(book.makers, setting, setting.years or (1600, now), book)
    years = setting.years or _supposed(book.makers, weights, now)
    eras = _weights(book.refinish.eras, setting, _since(years, now), book)
    makers = [(c.id, w, shares(c)) for c, w in zip(book.makers, weights, strict=True) if w >= SLIGHT]
    return makers, [(c.id, w, shares(c)) for c, w in zip(book.refinish.eras, eras, strict=True) if w >= SLIGHT]


def responsible(rows: Candidates, finish: str, original: float) -> list[tuple[str, float]]:
    """How far each context of makers and owners answers for a finish that was found; sums to about one.

    P(context | finish) within the makers times P(original), and within the owners times
    the rest: one step of expectation for a mixture (Dempster, Laird and Rubin, 1977).
    """
    found: list[tuple[str, float]] = []
    for side, share in zip(rows, (original, 1 - original), strict=True):
        total = sum(weight * shares[finish] for _, weight, shares in side)
        found += [(name, share * weight * shares[finish] / total) for name, weight, shares in side]
    return found


def _weights(contexts: Sequence[Context], setting: Setting, years: tuple[int, int], book: Priors) -> list[float]:
    raw = [c.share * (_overlap(c.years, years) if setting.years else 1.0) * _fit(c, setting, book) for c in contexts]
    total = sum(raw)
    return [w / total for w in raw] if total > 0 else [1 / len(raw)] * len(raw)


def _supposed(contexts: Sequence[Context], weights: Sequence[float], now: int) -> tuple[int, int]:
    """The years of an undated piece: where the contexts that fit it lie, by their weight, middle half."""
    spread = sorted((min((c.years[0] + c.years[1]) // 2, now), w) for c, w in zip(contexts, weights, strict=True))
    reached = 0.0
    quarters: list[int] = []
    for year, weight in spread:
        reached += weight
        while len(quarters) < 2 and reached >= (0.25, 0.75)[len(quarters)]:
            quarters.append(year)
    return (quarters[0], quarters[-1]) if quarters else (now - 100, now)


def _overlap(context: Sequence[int], years: tuple[int, int]) -> float:
    """Share of the piece's years that the context covers; dates are a little soft at both ends.

    With no date at all contexts count by their share alone, which says how often such
    pieces come to a bench.
    """
    soft = 5
    first, last = max(context[0] - soft, years[0]), min(context[1] + soft, years[1])
    return max(last - first + 1, 0.05) / (years[1] - years[0] + 1)


def _fit(context: Context, setting: Setting, book: Priors) -> float:
    fit = 1.0
    for named, value in (
        (context.regions, setting.region),
        (context.styles, setting.style),
        (context.kinds, setting.kind),
        (context.woods, setting.wood),
    ):
        if not named:
            continue
        if value in (None, UNKNOWN):
            fit *= min(1.0, 0.15 * len(named))
        else:
            fit *= book.specific if value in named else book.mismatch
    return fit


def _mixture(
    contexts: Sequence[Context],
    weights: list[float],
    knowledge: Knowledge,
    shares: Shares,
) -> dict[str, float]:
    mixed = dict.fromkeys(knowledge.finishes, 0.0)
    for context, weight in zip(contexts, weights, strict=True):
        if weight < 1e-6:
            continue
        for finish, chance in shares(context).items():
            mixed[finish] += weight * chance
    return scaled(mixed)


def shares_under(knowledge: Knowledge, counts: Counts | None = None) -> Shares:
    """Context -> its shares: listed ones, the floor for the rest, and what the casebook adds.

    Cases move the shares at two levels: by what comes to this workshop in all contexts
    together, then by what was found in this one.
    """
    floor, weight = knowledge.priors.floor, knowledge.belief.book_weight
    demand = demanded(knowledge, counts) if counts is not None else {}

    made: dict[str, dict[str, float]] = {}

    def shares(context: Context) -> dict[str, float]:
        if context.id not in made:
            listed = {f: max(context.finishes.get(f, 0.0), floor) * demand.get(f, 1.0) for f in knowledge.finishes}
            seen = counts.makers.get(context.id) if counts is not None else None
            made[context.id] = leaning(scaled(listed), seen, weight) if seen else scaled(listed)
        return made[context.id]

    return shares


def demanded(knowledge: Knowledge, counts: Counts) -> dict[str, float]:
    """finish -> how much oftener than by the book it comes to this workshop; empty with no cases."""
    if not counts.expected:
        return {}
    expected = scaled({f: max(counts.expected.get(f, 0.0), LEAST) for f in knowledge.finishes})
    found = {f: n for f, n in counts.found.items() if f in expected}
    return {f: p / expected[f] for f, p in leaning(expected, found, knowledge.belief.book_weight).items()}


def _not_before(
    maker: dict[str, float], years: tuple[int, int], knowledge: Knowledge, floor: float
) -> dict[str, float]:
    """No maker used a finish before it was introduced."""
    return scaled({f: p if knowledge.finishes[f].introduced <= years[1] else p * floor for f, p in maker.items()})


def _chance_redone(setting: Setting, years: tuple[int, int], now: int, book: Priors) -> float:
    decades = max(now - (years[0] + years[1]) / 2, 0) / 10
    rate = book.refinish.rate_per_decade * book.refinish.less_on.get(setting.kind or UNKNOWN, 1.0)
    return float(1 - (1 - min(rate, 0.9)) ** decades)


def _owner(
    setting: Setting,
    years: tuple[int, int],
    now: int,
    knowledge: Knowledge,
    shares: Shares,
) -> dict[str, float]:
    """What an owner used, at some time between the making and now."""
    book = knowledge.priors
    since = _since(years, now)
    weights = _weights(book.refinish.eras, setting, since, book)
    return _not_before(_mixture(book.refinish.eras, weights, knowledge, shares), (since[0], now), knowledge, book.floor)


def _since(years: tuple[int, int], now: int) -> tuple[int, int]:
    return (min((years[0] + years[1]) // 2 + 5, now), now)


def _is_bare(finish: str, knowledge: Knowledge) -> bool:
    return knowledge.finishes[finish].film.typical_um[1] <= 0
