"""What each remover would do on this surface: chances, time, vetoes, harm, reasons.

Chances are summed over the posterior of the finishes, not read off the most probable
one. `works` is the chance that the film dissolves or lifts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from ..belief.posterior import Posterior
from ..belief.tables import Tables
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import EFFECTS, Effect, Finish, Harm, Remover, Veto
from ..piece.form import Piece, Surface
from ..reasoning.network import Firing
from . import kinetics

Span = tuple[float, float]


class Objection(Struct, frozen=True):
    """A veto or a harm: the rule that says so, why, and where it is from."""

    rule: str
    why: str
    source: list[str]
    chance: float = 1.0


class Prediction(Struct, frozen=True, kw_only=True):
    """One remover on one surface. Hours are of work, minutes of contact, both ranges."""

    remover: str
    effects: dict[Effect, float]
    works: float
    harm: float
    vetoes: list[Objection]
    harms: list[Objection]
    because: list[str]
    rules: list[str]
    exception: bool
    dwell_minutes: Span
    coats: Span
    hours: Span
    litres: Span
    cost: Span

    @property
    def allowed(self) -> bool:
        """Whether nothing forbids it here."""
        return not self.vetoes


def predict_all(
    piece: Piece, surface: Surface, posterior: Posterior, firings: Sequence[Firing], tables: Tables, area_m2: float
) -> list[Prediction]:
    """Every remover on one surface, in the order of their ids."""
    knowledge = tables.knowledge
    chances = [(f, p) for f, p in posterior.finishes.items() if p >= 1e-4]
    total = sum(p for _, p in chances)
    shares = [(f, p / total) for f, p in chances]
    return [
        _predict(remover, piece, surface, shares, posterior.top, firings, tables, area_m2)
        for remover in sorted(knowledge.removers)
    ]


def effects_on(finish: str, remover: str, tables: Tables) -> dict[Effect, float]:
    """P(effect | finish) of one remover, with what the casebook adds."""
    row = tables.base_row(f"{PATCH_PREFIX}{remover}", finish)
    return {effect: row[effect] if row else 1 / len(EFFECTS) for effect in EFFECTS}


def film_range(surface: Surface, finish: Finish) -> Span:
    """Thickness of the film in um: measured, or what is usual for the finish."""
    if surface.film_um is not None:
        return surface.film_um, surface.film_um
    low, high = finish.film.typical_um
    return max(low, 5.0), max(high, 10.0)


def objections(
    name: str, remover: Remover, firings: Iterable[Firing], knowledge: Knowledge
) -> tuple[list[Objection], list[Objection]]:
    """Vetoes and harms that the rules of the surface name for this remover."""
    vetoes, harms = [], []
    for firing in firings:
        rule = firing.rule
        if rule.then.veto and _speaks_of(rule.then.veto, name, remover):
            vetoes.append(Objection(rule.id, rule.why, rule.source))
        if rule.then.harm and _speaks_of(rule.then.harm, name, remover):
            harms.append(Objection(rule.id, rule.why, rule.source, knowledge.belief.bands[rule.then.harm.chance]))
    return vetoes, harms


def law_objections(remover: Remover, place: str) -> list[Objection]:
    """What the place forbids a consumer."""
    return [
        Objection(f"law-{row.place}", row.text, row.source)
        for row in remover.law
        if row.place == place and row.status == "banned"
    ]


def _speaks_of(part: Veto | Harm, name: str, remover: Remover) -> bool:
    return name in part.removers or bool(set(part.traits) & set(remover.traits))


def _predict(
    name: str,
    piece: Piece,
    surface: Surface,
    shares: list[tuple[str, float]],
    top: str,
    firings: Sequence[Firing],
    tables: Tables,
    area_m2: float,
) -> Prediction:
    knowledge = tables.knowledge
    remover = knowledge.removers[name]
    by_finish = [(p, effects_on(f, name, tables)) for f, p in shares]
    effects: dict[Effect, float] = {e: sum(p * row[e] for p, row in by_finish) for e in EFFECTS}
    vetoes, harms = objections(name, remover, firings, knowledge)
    by_itself = sum(effects[e] * knowledge.decide.harm_by_effect[e] for e in EFFECTS)
    dwell, coats, hours = _time(
        remover, film_range(surface, knowledge.finishes[top]), piece.room.temperature_c, area_m2
    )
    pair = knowledge.pairs[top][name]
    litres = _scaled(remover.work.litres_m2, coats, area_m2)
    return Prediction(
        remover=name,
        effects=effects,
        works=effects["dissolves"] + effects["lifts"],
        harm=_any(by_itself, *(h.chance for h in harms)),
        vetoes=law_objections(remover, piece.place) + vetoes,
        harms=harms,
        because=pair.why,
        rules=[pair.rule, *pair.because],
        exception=pair.exception,
        dwell_minutes=dwell,
        coats=coats,
        hours=hours,
        litres=litres,
        cost=(litres[0] * remover.work.cost_litre[0], litres[1] * remover.work.cost_litre[1]),
    )


def _time(remover: Remover, film_um: Span, celsius: float, area_m2: float) -> tuple[Span, Span, Span]:
    work = remover.work
    if remover.action in ("cutting", "abrasion"):
        thick = (film_um[0] / kinetics.REFERENCE_UM, film_um[1] / kinetics.REFERENCE_UM)
        hours = (
            work.active_hours_m2[0] * area_m2 * max(thick[0], 0.5),
            work.active_hours_m2[1] * area_m2 * max(thick[1], 0.5),
        )
        return work.dwell_minutes, work.coats, hours
    dwell = kinetics.dwell(work.dwell_minutes, film_um, celsius)
    coats = kinetics.coats(dwell, work.open_minutes, work.coats)
    return dwell, coats, _scaled(work.active_hours_m2, coats, area_m2)


def _scaled(per_m2: Span, coats: Span, area_m2: float) -> Span:
    return per_m2[0] * coats[0] * area_m2, per_m2[1] * coats[1] * area_m2


def _any(*chances: float) -> float:
    none = 1.0
    for chance in chances:
        none *= 1 - chance
    return 1 - none
