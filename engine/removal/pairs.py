"""Every finish against every remover, derived by the removal rules once per knowledge base.

The rules see the film's chemistry and the remover's action. Of the rules that fire the
one of highest priority gives the outcome; the others are kept as further reasons. A
sourced exception of the remover overrides them all and is marked as such.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..belief.tables import scaled, spread
from ..knowledge.base import Knowledge, PairPrediction
from ..knowledge.entries import EFFECTS, Band, Effect, Finish, Literalish, Remover, RemoverException
from ..reasoning.network import Firing, Network
from .hansen import relative_distance

THICK_UM = 200
FAST_MINUTES = 10


def derive_pairs(knowledge: Knowledge) -> dict[str, dict[str, PairPrediction]]:
    """finish -> remover -> prediction, for all pairs."""
    rules = [rule for file in knowledge.rules.values() if file.scope == "pair" for rule in file.rules]
    network = Network(rules)
    return {
        finish: {remover: _predict(finish, remover, knowledge, network) for remover in knowledge.removers}
        for finish in knowledge.finishes
    }


def pair_facts(finish_id: str, remover_id: str, knowledge: Knowledge) -> dict[str, Literalish]:
    """What the removal rules may know of one pair."""
    finish, remover = knowledge.finishes[finish_id], knowledge.removers[remover_id]
    return {
        **_film_facts(finish_id, finish),
        **_remover_facts(remover_id, remover, knowledge),
        **_distance_facts(finish, remover, knowledge),
    }


def _film_facts(name: str, finish: Finish) -> dict[str, Literalish]:
    facts: dict[str, Literalish] = {
        "film.id": name,
        "film.family": finish.family,
        "film.network": finish.chemistry.network,
        "film.in-wood": finish.film.in_wood,
        "film.opaque": finish.film.opaque,
        "film.thick": finish.film.typical_um[1] > THICK_UM,
    }
    facts |= {f"film.bond.{bond}": True for bond in finish.chemistry.bonds}
    if finish.chemistry.softens_c:
        facts["film.softens"] = finish.chemistry.softens_c[1]
    return facts


def _remover_facts(name: str, remover: Remover, knowledge: Knowledge) -> dict[str, Literalish]:
    facts: dict[str, Literalish] = {
        "remover.id": name,
        "remover.action": remover.action,
        "remover.fast": remover.work.open_minutes < FAST_MINUTES,
        "remover.strong": any(knowledge.solvents[name].swells_networks for name in remover.blend),
    }
    return facts | {f"remover.trait.{trait}": True for trait in remover.traits}


def _distance_facts(finish: Finish, remover: Remover, knowledge: Knowledge) -> dict[str, Literalish]:
    resin = knowledge.resins.get(finish.chemistry.resin or "")
    red = relative_distance(remover, resin, knowledge.solvents) if resin else None
    return {} if resin is None or red is None else {"remover.red": round(red, 3), "remover.red-trust": resin.trust}


def _predict(finish: str, remover: str, knowledge: Knowledge, network: Network) -> PairPrediction:
    firings = [f for f in network.run(pair_facts(finish, remover, knowledge)) if f.rule.then.gives]
    exception = _exception(finish, remover, knowledge)
    if exception is not None:
        return PairPrediction(
            gives=_chances(exception.gives, knowledge),
            rule=f"{remover}: exception",
            because=[f.rule.id for f in firings],
            why=[exception.why, *_reasons(firings)[:1]],
            exception=True,
            source=exception.source,
        )
    if not firings:
        flat: dict[Effect, float] = dict.fromkeys(EFFECTS, 1 / len(EFFECTS))
        return PairPrediction(
            gives=flat,
            rule="none",
            because=[],
            why=["No rule of the book speaks of this pair."],
            exception=False,
            source=[],
        )
    first = firings[0].rule
    return PairPrediction(
        gives=_chances(first.then.gives, knowledge),
        rule=first.id,
        because=[f.rule.id for f in firings[1:]],
        why=_reasons(firings),
        exception=False,
        source=list(dict.fromkeys(s for f in firings for s in f.rule.source)),
    )


def _exception(finish: str, remover: str, knowledge: Knowledge) -> RemoverException | None:
    family = knowledge.finishes[finish].family
    rows = knowledge.removers[remover].exceptions
    by_family = [row for row in rows if family in row.finishes]
    by_id = [row for row in rows if finish in row.finishes]
    named = by_id or by_family
    return named[-1] if named else None


def _chances(gives: dict[Effect, Band], knowledge: Knowledge) -> dict[Effect, float]:
    row = scaled(spread(gives, list(EFFECTS), knowledge.belief))
    return {effect: row[effect] for effect in EFFECTS}


def _reasons(firings: Iterable[Firing]) -> list[str]:
    return list(dict.fromkeys(f.rule.why for f in firings))
