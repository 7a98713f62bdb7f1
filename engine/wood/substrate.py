"""What is under the film: wood, veneer, glue, and how much may be sanded away.

Sanding: the least wood that a sequence of grits costs is what each next grit must
follow with to clear the scratches of the one before; the most it may take adds the
first grit's largest pass. Figures by grit are in knowledge/substrate.yaml.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ..knowledge.base import Knowledge
from ..knowledge.entries import Glue, Substrate
from ..piece.form import Surface


class Wooden(Struct, frozen=True, kw_only=True):
    """What is known or assumed of the wood beneath one surface; millimetres, degrees C.

    `budget_mm` may be sanded away in all: the least thickness less `stays_mm`, which has
    to stay, and `unseen_mm`, the margin for what cannot be seen.
    """

    build: str
    veneer_mm: tuple[float, float] | None
    veneer_known: str
    glue: Glue | None
    budget_mm: float
    stays_mm: float
    unseen_mm: float
    sequences: list[tuple[str, float]]


def wooden(surface: Surface, years: tuple[int, int] | None, knowledge: Knowledge) -> Wooden:
    """The substrate of a surface; thickness and glue by era where they were not measured."""
    book = knowledge.substrate
    veneer, known = _veneer(surface, years, book)
    glue = None if surface.build == "solid" else _worst_glue(years, book)
    stays = book.reserve_mm["veneer" if veneer else "solid"]
    unseen = book.unsure_mm["measured" if known == "measured" else "guessed"] if veneer else 0.0
    budget = max(0.0, veneer[0] - stays - unseen) if veneer else stays
    return Wooden(
        build=surface.build,
        veneer_mm=veneer,
        veneer_known=known,
        glue=glue,
        budget_mm=round(budget, 3),
        stays_mm=stays,
        unseen_mm=unseen,
        sequences=allowed_sequences(book, budget),
    )


def scratch_cost(book: Substrate, grits: Sequence[str]) -> float:
    """Least wood in mm that this sequence takes, if the first grit only skims."""
    return sum(book.grits[g].must_follow_mm for g in grits[:-1])


def most_removed(book: Substrate, grits: Sequence[str]) -> float:
    """Most wood in mm that this sequence takes, if the first grit is used to its limit."""
    return book.grits[grits[0]].max_pass_mm + scratch_cost(book, grits)


def allowed_sequences(book: Substrate, budget: float) -> list[tuple[str, float]]:
    """Runs of grits up to the finest that fit the budget, coarsest first, with their cost in mm."""
    names = sorted(book.grits, key=int)
    runs = [names[index:] for index in range(len(names))]
    costed = [("-".join(run), round(scratch_cost(book, run) + book.levelling_mm, 3)) for run in runs]
    return [(name, cost) for name, cost in costed if cost <= budget]


def _veneer(surface: Surface, years: tuple[int, int] | None, book: Substrate) -> tuple[tuple[float, float] | None, str]:
    if surface.build == "solid":
        return None, "measured"
    if surface.veneer_mm is not None:
        return (surface.veneer_mm, surface.veneer_mm), "measured"
    rows = [row for row in book.veneers if years is None or _meet(row.years, years)] or list(book.veneers)
    return (min(row.mm[0] for row in rows), max(row.mm[1] for row in rows)), "guessed"


def _worst_glue(years: tuple[int, int] | None, book: Substrate) -> Glue | None:
    """Of the glues that the years allow, the one that fears water and heat most."""
    fear = {"none": 0, "low": 1, "medium": 2, "high": 3}
    rows = [glue for glue in book.glues.values() if years is None or _meet(glue.years, years)]
    return max(rows, key=lambda g: (fear[g.water] + fear[g.alkali], -g.heat_limit_c), default=None)


def _meet(row: Sequence[int], years: tuple[int, int]) -> bool:
    """Whether the middle of `years` lies in `row`, or `years` reach well into it."""
    first, last = max(row[0], years[0]), min(row[1], years[1])
    middle = (years[0] + years[1]) / 2
    return row[0] <= middle <= row[1] or (last - first) >= 0.3 * max(years[1] - years[0], 1)
