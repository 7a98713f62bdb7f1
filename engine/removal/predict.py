"""What each remover would do on this surface: chances, time, vetoes, harm, reasons.

Chances are summed over the posterior of the finishes, not read off the most probable
one. `works` is the chance that the film dissolves or lifts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct, structs

from ..belief.evidence import Evidence
from ..belief.posterior import Posterior
from ..belief.tables import Tables
from ..knowledge.base import Knowledge
from ..knowledge.entries import EFFECTS, Remover
from ..piece.form import Surface
from ..reasoning.network import Firing
from ..words import Span
from .clock import Clock, Times
from .effects import Effects, likeliest, state_shares, takes_off, trials_of
from .film import Told, slower
from .layers import against_kept
from .objection import CHEMICAL, Objection, law_vetoes, law_warnings, objections, told_before
from .pace import as_it_went
from .reason import Aim, only_if, reason, seen_here

LEAST_CHANCE = 1e-4


class Prediction(Struct, frozen=True, kw_only=True):
    """One remover on one surface. Hours are of work, minutes of contact, both ranges; the contact is of four in five.

    Dwell, coats and hours are means over the finishes on which it would move; `minutes_on`
    and `effects_by` hold the mean minutes of work and the chances on each finish; `top` is the
    most probable one and `on_top` the times on it, `possible` are those worth a thought.
    """

    remover: str
    effects: Effects
    effects_by: dict[str, Effects]
    works: float
    harm: float
    vetoes: list[Objection]
    harms: list[Objection]
    warnings: list[Objection]
    because: list[str]
    here: list[str]
    rules: list[str]
    exception: bool
    top: str
    possible: list[str]
    on_top: Times
    old: bool
    dwell_minutes: Span
    dwell_likely: float
    coats: Span
    hours: Span
    minutes_on: dict[str, float]
    litres: Span
    cost: Span

    @property
    def allowed(self) -> bool:
        """Whether nothing forbids it here."""
        return not self.vetoes

    def reason(self, knowledge: Knowledge) -> str:
        """Why, in the trade's words: film, distance, what it does, contact, coats."""
        best = likeliest(self.effects_by[self.top])
        others = {f: likeliest(self.effects_by[f]) for f in self.possible if f != self.top}
        aim = Aim(
            remover=self.remover,
            finish=self.top,
            effect=best,
            dwell_minutes=self.on_top.dwell_minutes,
            dwell_likely=self.on_top.dwell_likely,
            coats=self.on_top.coats,
            hours_m2=self.on_top.hours_m2,
            old=self.old,
            others={f: e for f, e in others.items() if e != best},
        )
        return " ".join([*self.here, reason(aim, knowledge)])


class Here(Struct, frozen=True, kw_only=True):
    """All that a prediction depends on beside the remover. `kept`: chances of the film that is to stay."""

    surface: Surface
    film: Told
    kept: Mapping[str, float]
    place: str
    celsius: float
    area_m2: float
    posterior: Posterior
    evidence: Sequence[Evidence]
    firings: Sequence[Firing]
    tables: Tables
    clock: Clock


def predict_all(here: Here) -> list[Prediction]:
    """Every remover on one surface, in the order of their ids."""
    chances = [(f, p) for f, p in here.posterior.finishes.items() if p >= LEAST_CHANCE]
    total = sum(p for _, p in chances)
    shares = [(f, p / total) for f, p in chances]
    least = here.tables.knowledge.decide.possible
    possible = [f for f, p in chances if p >= least]
    trials = trials_of(here.evidence, here.posterior, here.tables)
    names = sorted(here.tables.knowledge.removers)
    return [_predict(name, here, shares, possible, trials.get(name, [])) for name in names]


def _predict(
    name: str, here: Here, shares: list[tuple[str, float]], possible: list[str], trials: Sequence[Evidence]
) -> Prediction:
    knowledge, top = here.tables.knowledge, here.posterior.top
    remover, pair = knowledge.removers[name], knowledge.pairs[top][name]
    usual = here.clock.times(name, here.film, here.celsius)
    times = as_it_went(usual, name, trials, knowledge) if remover.action in CHEMICAL else usual
    effects_by = _effects_by(name, here, trials)
    effects: Effects = {e: sum(p * effects_by[f][e] for f, p in shares) for e in EFFECTS}
    vetoes, harms = _against(name, remover, here)
    by_itself = remover.harm + sum(effects[e] * knowledge.decide.harm_by_effect[e] for e in EFFECTS)
    moved = _where_it_moves(shares, effects_by)
    coats = _mean([(p, times[f].coats) for f, p in moved])
    litres = _scaled(remover.work.litres_m2, coats, here.area_m2)
    works = takes_off(effects)
    told_first = seen_here(trials, knowledge) or only_if(top, works, likeliest(effects_by[top]), knowledge)
    here_told = [told_first] if told_first else []
    return Prediction(
        remover=name,
        effects=effects,
        effects_by=effects_by,
        works=works,
        harm=_any(min(by_itself, 1.0), *(h.chance for h in harms)),
        vetoes=vetoes,
        harms=harms,
        warnings=law_warnings(remover, here.place),
        because=[*here_told, *pair.why],
        here=here_told,
        rules=[pair.rule, *pair.because],
        exception=pair.exception,
        top=top,
        possible=possible,
        on_top=times[top],
        old=remover.action in CHEMICAL and slower(here.film, knowledge.finishes[top]) > 1,
        dwell_minutes=_mean([(p, times[f].dwell_minutes) for f, p in moved]),
        dwell_likely=sum(p * times[f].dwell_likely for f, p in moved),
        coats=coats,
        hours=_scaled(_mean([(p, times[f].hours_m2) for f, p in moved]), (1.0, 1.0), here.area_m2),
        minutes_on={f: sum(t.hours_m2) / 2 * here.area_m2 * 60 for f, t in times.items()},
        litres=litres,
        cost=(litres[0] * remover.work.cost_litre[0], litres[1] * remover.work.cost_litre[1]),
    )


def _against(name: str, remover: Remover, here: Here) -> tuple[list[Objection], list[Objection]]:
    """All that forbids it, and all that makes harm likelier: law, rules, tries, the film that is to stay."""
    knowledge = here.tables.knowledge
    vetoes, harms = objections(name, remover, here.firings, knowledge)
    kept_vetoes, kept_harms = against_kept(name, remover, here.kept, here.surface, here.firings, here.tables)
    before = told_before(name, remover, here.surface, knowledge)
    return [*law_vetoes(remover, here.place), *before, *kept_vetoes, *vetoes], [*kept_harms, *harms]


def _effects_by(name: str, here: Here, trials: Sequence[Evidence]) -> dict[str, Effects]:
    """finish -> what it does to it, given what it and the other solvents did on this very face.

    A try in vain is judged by films of the usual thickness: else more film would excuse it, and mean fewer hours.
    """
    responds = here.clock.response(name)
    if trials:
        film = structs.replace(here.film, um=None, coats=None)
        usual = here.clock.times(name, film, here.celsius)
        dwell = {finish: times.dwell_minutes for finish, times in usual.items()}
        responds = responds.after(trials, dwell, here.tables.belief.slip)
    return responds.expected(state_shares(name, here.tables, here.posterior))


def _where_it_moves(shares: list[tuple[str, float]], effects_by: dict[str, Effects]) -> list[tuple[str, float]]:
    """The finishes as believed if the trial patch moved: where it does nothing no time is spent."""
    moved = [(f, p * max(1 - effects_by[f]["no-effect"], LEAST_CHANCE)) for f, p in shares]
    total = sum(p for _, p in moved)
    return [(f, p / total) for f, p in moved]


def _mean(rows: Sequence[tuple[float, Span]]) -> Span:
    return sum(p * low for p, (low, _) in rows), sum(p * high for p, (_, high) in rows)


def _scaled(per_m2: Span, coats: Span, area_m2: float) -> Span:
    return per_m2[0] * coats[0] * area_m2, per_m2[1] * coats[1] * area_m2


def _any(*chances: float) -> float:
    none = 1.0
    for chance in chances:
        none *= 1 - chance
    return 1 - none
