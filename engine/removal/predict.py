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
from ..piece.form import Surface
from ..reasoning.network import Firing
from . import kinetics

Span = tuple[float, float]
LEAST_FILM = 0.5  # a film thinner than half the reference takes no less time to cut away


class Objection(Struct, frozen=True):
    """A veto or a harm: the rule that says so, why, and where it is from."""

    rule: str
    why: str
    source: list[str]
    chance: float = 1.0


class Times(Struct, frozen=True):
    """Minutes of contact, coats, and hours of work on a square metre, as ranges."""

    dwell_minutes: Span
    coats: Span
    hours_m2: Span


class Prediction(Struct, frozen=True, kw_only=True):
    """One remover on one surface. Hours are of work, minutes of contact, both ranges.

    Dwell, coats and hours are means over the finishes on which it would move; `minutes_on`
    holds the mean minutes of work on each finish.
    """

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
    minutes_on: dict[str, float]
    litres: Span
    cost: Span

    @property
    def allowed(self) -> bool:
        """Whether nothing forbids it here."""
        return not self.vetoes


class Clock:
    """How long each remover takes on each finish; kept, since it asks for it again and again."""

    def __init__(self, knowledge: Knowledge) -> None:
        self._knowledge = knowledge
        self._kept: dict[tuple[str, str, float | None, float], Times] = {}

    def times(self, remover: str, finish: str, film_um: float | None, celsius: float) -> Times:
        """Contact, coats and hours a square metre for one remover on one finish; film as measured or as usual."""
        key = (remover, finish, film_um, celsius)
        if key not in self._kept:
            entry = self._knowledge.removers[remover]
            self._kept[key] = _times(entry, film_range(film_um, self._knowledge.finishes[finish]), celsius)
        return self._kept[key]


def _times(remover: Remover, film_um: Span, celsius: float) -> Times:
    work = remover.work
    if remover.action in ("cutting", "abrasion"):
        low, high = (max(um / kinetics.REFERENCE_UM, LEAST_FILM) for um in film_um)
        return Times(work.dwell_minutes, work.coats, (work.active_hours_m2[0] * low, work.active_hours_m2[1] * high))
    low, high = kinetics.dwell(work.dwell_minutes, film_um, celsius)
    coats = kinetics.coats((low, high), work.open_minutes, work.coats)
    longest = work.open_minutes * coats[1]  # after that many coats one stops, moved or not
    return Times((min(low, longest), min(high, longest)), coats, _scaled(work.active_hours_m2, coats, 1.0))


class Here(Struct, frozen=True, kw_only=True):
    """All that a prediction depends on beside the remover."""

    surface: Surface
    place: str
    celsius: float
    area_m2: float
    posterior: Posterior
    firings: Sequence[Firing]
    tables: Tables
    clock: Clock


def predict_all(here: Here) -> list[Prediction]:
    """Every remover on one surface, in the order of their ids."""
    chances = [(f, p) for f, p in here.posterior.finishes.items() if p >= 1e-4]
    total = sum(p for _, p in chances)
    shares = [(f, p / total) for f, p in chances]
    return [_predict(remover, here, shares) for remover in sorted(here.tables.knowledge.removers)]


def effects_on(finish: str, remover: str, tables: Tables) -> dict[Effect, float]:
    """P(effect | finish) of one remover, with what the casebook adds."""
    row = tables.base_row(f"{PATCH_PREFIX}{remover}", finish)
    return {effect: row[effect] if row else 1 / len(EFFECTS) for effect in EFFECTS}


def film_range(measured_um: float | None, finish: Finish) -> Span:
    """Thickness of the film in um: measured, or what is usual for the finish."""
    if measured_um is not None:
        return measured_um, measured_um
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


def _predict(name: str, here: Here, shares: list[tuple[str, float]]) -> Prediction:
    knowledge = here.tables.knowledge
    remover, pair = knowledge.removers[name], knowledge.pairs[here.posterior.top][name]
    effects = _mean_effects(name, here, shares)
    vetoes, harms = objections(name, remover, here.firings, knowledge)
    by_itself = remover.harm + sum(effects[e] * knowledge.decide.harm_by_effect[e] for e in EFFECTS)
    times = {f: here.clock.times(name, f, here.surface.film_um, here.celsius) for f in knowledge.finishes}
    moved = _where_it_moves(name, here, shares)
    coats = _mean([(p, times[f].coats) for f, p in moved])
    litres = _scaled(remover.work.litres_m2, coats, here.area_m2)
    return Prediction(
        remover=name,
        effects=effects,
        works=effects["dissolves"] + effects["lifts"],
        harm=_any(min(by_itself, 1.0), *(h.chance for h in harms)),
        vetoes=law_objections(remover, here.place) + _harmed_before(name, here.surface) + vetoes,
        harms=harms,
        because=pair.why,
        rules=[pair.rule, *pair.because],
        exception=pair.exception,
        dwell_minutes=_mean([(p, times[f].dwell_minutes) for f, p in moved]),
        coats=coats,
        hours=_scaled(_mean([(p, times[f].hours_m2) for f, p in moved]), (1.0, 1.0), here.area_m2),
        minutes_on={f: sum(t.hours_m2) / 2 * here.area_m2 * 60 for f, t in times.items()},
        litres=litres,
        cost=(litres[0] * remover.work.cost_litre[0], litres[1] * remover.work.cost_litre[1]),
    )


def _mean_effects(name: str, here: Here, shares: list[tuple[str, float]]) -> dict[Effect, float]:
    rows = [(p, effects_on(f, name, here.tables)) for f, p in shares]
    return {e: sum(p * row[e] for p, row in rows) for e in EFFECTS}


def _where_it_moves(name: str, here: Here, shares: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """The finishes as believed if the trial patch moved: where it does nothing no time is spent."""
    moved = [(f, p * (1 - effects_on(f, name, here.tables)["no-effect"])) for f, p in shares]
    total = sum(p for _, p in moved)
    return [(f, p / total) for f, p in moved]


def _harmed_before(name: str, surface: Surface) -> list[Objection]:
    """What did harm on this surface once is not proposed again."""
    harmed = any(row.remover == name and row.result == "harms" for row in surface.tried)
    return [Objection("tried-and-harmed", "It was tried on this surface and did harm.", [])] if harmed else []


def _mean(rows: Sequence[tuple[float, Span]]) -> Span:
    return sum(p * low for p, (low, _) in rows), sum(p * high for p, (_, high) in rows)


def _scaled(per_m2: Span, coats: Span, area_m2: float) -> Span:
    return per_m2[0] * coats[0] * area_m2, per_m2[1] * coats[1] * area_m2


def _any(*chances: float) -> float:
    none = 1.0
    for chance in chances:
        none *= 1 - chance
    return 1 - none
