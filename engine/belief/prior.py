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

The casebook moves the shares of a context, and lays P(it comes to this workshop | finish,
origin) on the whole (see Shares).

A wood that is named was mostly seen, so finishes that hide it lose by the book's
`wood_told`: P(wood named | finish), against a clear film. On a face that does not show
the maker's finish is mostly none, and an owner's work is rarer, by the book's `hidden`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from operator import mul

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Context, Priors
from ..piece.form import UNKNOWN, Piece, Surface
from .counts import Counts, Trust, leaning, trust_in
from .tables import ORIGINS, scaled

SLIGHT = 0.005  # weight below which a context has no part in a case
CAUTIOUS = (0.1,)  # one line alone is held right until a dozen cases speak: few must not move every prior
LEAST = 1e-6  # cases that the book expects at least of any finish


class Setting(Struct, frozen=True, kw_only=True):
    """What is known of a surface before any test; None for unknown."""

    years: tuple[int, int] | None = None
    region: str | None = None
    style: str | None = None
    kind: str | None = None
    wood: str | None = None
    now: int | None = None
    hidden: bool = False


def setting_for(piece: Piece, surface: Surface, years: tuple[int, int] | None, now: int | None = None) -> Setting:
    """What is known of one surface of a piece; `years` of making, `now` the year that it is."""
    return Setting(
        years=years,
        region=piece.region,
        style=piece.style,
        kind=piece.kind,
        wood=surface.wood,
        now=now,
        hidden=surface.hidden,
    )


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
    if setting.hidden:
        maker, redone = _left_bare(maker, knowledge), redone * book.hidden.redone
    owner = _owner(setting, years, now, knowledge, shares)
    over = redone * book.refinish.overcoat_share
    told = _wood_told(setting, knowledge)
    here = {f: told[f] * shares.demand.get(f, 1.0) for f in told}
    kept, new, on_top = (shares.origins.get(origin, 1.0) for origin in ORIGINS)
    joint = {
        f: (
            here[f] * maker[f] * (1 - redone) * kept,
            here[f] * owner[f] * (redone - over) * new,
            here[f] * (owner[f] if not _is_bare(f, knowledge) else book.floor) * over * on_top,
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
    parts = [(weight, shares(c).values()) for c, weight in zip(contexts, weights, strict=True) if weight >= 1e-6]
    counted = [weight for weight, _ in parts]
    columns = zip(*(row for _, row in parts), strict=True)  # one a finish, in the order of the knowledge
    mixed = [sum(map(mul, counted, column)) for column in columns]
    return scaled(dict(zip(knowledge.finishes, mixed, strict=True)))


class Shares:
    """What makers and owners used in each context, with what the casebook adds.

    demand: finish -> how much oftener than by the book it comes to this workshop, whatever
    the context; origins: the same for original, refinished and overcoated films. Both are
    laid on the whole prior at its end, as P(it comes here | finish, origin). What cases
    found in one context is held against what such a workshop would find there by the book.
    `like`: shares under nearly the same counts, for leaving cases out one at a time; how far
    the book is trusted, and the contexts whose counts are the very same, are taken from it.
    """

    def __init__(self, knowledge: Knowledge, counts: Counts | None = None, like: Shares | None = None) -> None:
        self._knowledge = knowledge
        self._counts = counts or Counts()
        self.demand = demanded(knowledge, self._counts)
        self.origins = came(knowledge, self._counts)
        self._trust: Trust = like._trust if like else self._trusted()
        self._made: dict[str, dict[str, float]] = {}
        self._like = like

    def __call__(self, context: Context) -> dict[str, float]:
        """finish -> its share, listed or the floor; they sum to one."""
        if context.id not in self._made:
            self._made[context.id] = self._share(context)
        return self._made[context.id]

    def found_in(self, context: Context) -> dict[str, float]:
        """The shares among what comes to this workshop from one context."""
        seen, here = self._counts.makers.get(context.id), self.expected_in(context)
        return leaning(here, seen, self._trust) if seen else here

    def expected_in(self, context: Context) -> dict[str, float]:
        """The same by the book's shares of the context."""
        book = self._book(context)
        return scaled({f: p * self.demand[f] for f, p in book.items()}) if self.demand else book

    def _share(self, context: Context) -> dict[str, float]:
        if not self._counts.makers.get(context.id):
            return self._book(context)
        if self._like and self._like._counts.makers.get(context.id) is self._counts.makers[context.id]:
            return self._like(context)
        return scaled({f: p / self.demand.get(f, 1.0) for f, p in self.found_in(context).items()})

    def _book(self, context: Context) -> dict[str, float]:
        floor = self._knowledge.priors.floor
        return scaled({f: max(context.finishes.get(f, 0.0), floor) for f in self._knowledge.finishes})

    def _trusted(self) -> Trust:
        book, makers = self._knowledge.priors, self._counts.makers
        lines = [(self.expected_in(c), makers[c.id]) for c in (*book.makers, *book.refinish.eras) if c.id in makers]
        return trust_in(lines, self._knowledge.belief.book_weight, (1.0,))


def shares_under(knowledge: Knowledge, counts: Counts | None = None) -> Shares:
    """The shares of all contexts under a casebook; those of the book without one."""
    return Shares(knowledge, counts)


def demanded(knowledge: Knowledge, counts: Counts) -> dict[str, float]:
    """finish -> how much oftener than by the book it comes to this workshop; empty with no cases."""
    return _oftener(counts.found, counts.expected, list(knowledge.finishes), knowledge)


def came(knowledge: Knowledge, counts: Counts) -> dict[str, float]:
    """origin -> how much oftener than by the book films here came so, given the finish; empty with no cases."""
    return _oftener(counts.came, counts.due, list(ORIGINS), knowledge)


def _oftener(
    found: Mapping[str, float], due: Mapping[str, float], names: Sequence[str], knowledge: Knowledge
) -> dict[str, float]:
    if not due:
        return {}
    expected = scaled({name: max(due.get(name, 0.0), LEAST) for name in names})
    seen = {name: n for name, n in found.items() if name in expected}
    now = leaning(expected, seen, trust_in([(expected, seen)], knowledge.belief.book_weight, departing=CAUTIOUS))
    return {name: p / expected[name] for name, p in now.items()}


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


def _wood_told(setting: Setting, knowledge: Knowledge) -> dict[str, float]:
    """finish -> how likely the wood could be named under it, against under a clear film; 1 if it was not named."""
    if setting.wood in (None, UNKNOWN):
        return dict.fromkeys(knowledge.finishes, 1.0)
    told = knowledge.priors.wood_told
    return {f: told.get(f, told.get(entry.family, 1.0)) for f, entry in knowledge.finishes.items()}


def _left_bare(maker: Mapping[str, float], knowledge: Knowledge) -> dict[str, float]:
    """The maker's finish on a face that does not show: mostly none."""
    share = knowledge.priors.hidden.bare
    bare = [f for f in maker if _is_bare(f, knowledge)]
    return {f: (1 - share) * p + (share / len(bare) if f in bare else 0.0) for f, p in maker.items()}


def _is_bare(finish: str, knowledge: Knowledge) -> bool:
    return knowledge.finishes[finish].film.typical_um[1] <= 0
