"""Two films on one face: what probably lies below, and what would harm it where it is to stay.

The film below is the maker's, if an owner coated over it, or a sealer that makers laid
under such a finish. P(below = f) follows from the prior of the maker's finish given
that there is one, and from what an answer says of the layers that were seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ..belief.posterior import Posterior
from ..belief.prior import Prior
from ..belief.tables import Tables, scaled
from ..knowledge.base import Knowledge
from ..knowledge.entries import Remover, SeenBelow
from ..piece.form import NOT_DONE, Surface, told_outcome
from ..reasoning.network import Firing
from .effects import effects_on, takes_off
from .objection import Objection, speaks_of

BARE = "bare-wood"
KEEP = "keep-the-film-below"
VETO_FROM = 0.5
HARM_FROM = 0.1
NAMED_FROM = 0.75  # a film below that is less likely than this is not called by its name
BY_HAND = 0.5  # an edge or paper goes as deep as the hand lets it


def films_under(surface: Surface, posterior: Posterior, prior: Prior, knowledge: Knowledge) -> dict[str, float]:
    """finish -> chance that it lies under the top film; the rest is that nothing does.

    A coat of the same kind is no other film, but in a stack of paint it is: one may go and the next stay.
    """
    coated, seen, bands = posterior.origins["overcoated"], _seen_below(surface, knowledge), knowledge.belief.bands
    stack = seen is not None and seen.there is not None and knowledge.finishes[posterior.top].film.opaque
    films = {f: p for f, p in prior.maker.items() if f != BARE and (stack or f != posterior.top)}
    if seen is not None:
        kinds = {True: bands[seen.opaque], False: bands[seen.clear]}
        films = {f: p * kinds[knowledge.finishes[f].film.opaque] for f, p in films.items()}
    total = sum(films.values())
    rows = {f: coated * p / total for f, p in films.items()}
    for name, band in knowledge.finishes[posterior.top].over.items():
        rows[name] = rows.get(name, 0.0) + (1 - coated) * bands[band]
    there, found = bands[seen.there] if seen is not None and seen.there else 0.0, sum(rows.values())
    return {f: p * there / found for f, p in rows.items()} if 0 < found < there else rows


def _seen_below(surface: Surface, knowledge: Knowledge) -> SeenBelow | None:
    """What an answer of this face says of the film below; the first that says anything."""
    given = {test: told_outcome(answer) for test, answer in surface.tests.items()}
    seen = [(test, outcome) for test, outcome in given.items() if test in knowledge.tests and outcome != NOT_DONE]
    found = (knowledge.outcome(test, outcome).below for test, outcome in seen)
    return next((below for below in found if below is not None), None)


def told_kept(kept: Mapping[str, float], knowledge: Knowledge) -> str:
    """The film that is to stay as it is called: by its name only where that is hardly in doubt."""
    likeliest = max(kept, key=lambda f: (kept[f], f))
    return f"the {knowledge.finishes[likeliest].name} below" if kept[likeliest] >= NAMED_FROM else "the film below"


def kept_films(surface: Surface, posterior: Posterior, prior: Prior, knowledge: Knowledge) -> dict[str, float]:
    """The film that is to stay, as chances that sum to one; empty if nothing is to be kept."""
    if not surface.keep_under:
        return {}
    if surface.under is not None:
        return {surface.under: 1.0}
    below = films_under(surface, posterior, prior, knowledge)
    return scaled(below) if sum(below.values()) > 0 else {}


def against_kept(
    name: str,
    remover: Remover,
    kept: Mapping[str, float],
    surface: Surface,
    firings: Iterable[Firing],
    tables: Tables,
) -> tuple[list[Objection], list[Objection]]:
    """Vetoes and harms of a remover for the film that is to stay.

    A try on this face that worked took the top and left the lower: that outweighs a fear, but not a veto.
    """
    if not kept:
        return [], []
    spared = any(row.remover == name and row.result == "works" for row in surface.tried)
    chance = _taken(name, remover, kept, tables)
    parting = [
        f.rule.then.spares for f in firings if f.rule.then.spares and speaks_of(f.rule.then.spares, name, remover)
    ]
    chance = min([chance, *(tables.belief.bands[part.chance] for part in parting)])
    why = f"It would take {told_kept(kept, tables.knowledge)}, which is to stay ({chance:.0%})."
    if chance >= VETO_FROM:
        return [Objection(KEEP, why, [])], []
    return [], [Objection(KEEP, why, [], chance)] if chance >= HARM_FROM and not spared else []


def _taken(name: str, remover: Remover, kept: Mapping[str, float], tables: Tables) -> float:
    """The chance that a remover takes the lower film where the two hold together."""
    chance = 0.0
    for finish, p in kept.items():
        effects = effects_on(finish, name, tables)
        chance += p * (takes_off(effects) + effects["softens"] / 2)
    return chance * (BY_HAND if remover.action in ("cutting", "abrasion") else 1.0)


def loss_below(harms: Sequence[Objection]) -> float:
    """The chance, among the harms of a remover, that it takes the film that is to stay."""
    return max((harm.chance for harm in harms if harm.rule == KEEP), default=0.0)
