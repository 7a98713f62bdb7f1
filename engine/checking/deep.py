"""What the knowledge as a whole can and cannot tell: the deep part of the check.

Four questions, all asked of invented surfaces that are drawn from the book itself:

pairs   with every test of the book done, how often would one finish still be taken for
        the other? Both are held equally likely, and answers are weighed by the whole
        model, so tests that read one hidden property do not count twice.
tests   walking examinations from many contexts, does a test ever save more on the
        removal than it costs?
rows    which lines of the tables move the posterior most and have no better source than
        a forum, a weak page, common practice or memory?
rules   which rules fire in none of the shipped cases?

The seed is fixed: same knowledge, same findings.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ..examine import Examiner
from ..knowledge.base import Knowledge
from ..piece.form import Piece
from .pairs import Pair, pairs
from .walks import THIS_YEAR, Footing, Idle, Walks, spread_out


class Deep(Struct, frozen=True, kw_only=True):
    """The findings of the deep check."""

    pairs: list[Pair]
    idle_tests: list[Idle]
    weak_rows: list[Footing]
    unused_rules: dict[str, list[str]]
    examinations: int


def deep(knowledge: Knowledge, cases: Sequence[Piece], draws: int = 60, contexts: int = 36) -> Deep:
    """All findings; `draws` surfaces a finish for the pairs, `contexts` of the book for the walks."""
    examiner = Examiner(knowledge, this_year=THIS_YEAR)
    walks = Walks(examiner)
    for context in spread_out(knowledge.priors.makers, contexts):
        walks.walk(context)
    return Deep(
        pairs=pairs(examiner, draws),
        idle_tests=walks.idle(),
        weak_rows=walks.weak_rows(),
        unused_rules=_unused_rules(examiner, cases),
        examinations=walks.count,
    )


def _unused_rules(examiner: Examiner, cases: Sequence[Piece]) -> dict[str, list[str]]:
    """file of rules -> ids of rules that fire in no case, in the order of the file."""
    fired: set[str] = set()
    for piece in cases:
        for surface in piece.surfaces:
            done = examiner.examine(piece, surface)
            fired |= {firing.rule.id for firing in done.firings}
            fired |= {rule for row in done.predictions for rule in row.rules}
    unused = {
        name: [rule.id for rule in file.rules if rule.id not in fired]
        for name, file in sorted(examiner.knowledge.rules.items())
    }
    return {name: rules for name, rules in unused.items() if rules}
