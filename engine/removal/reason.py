"""Why a remover does or does not take a film, in one to four sentences of the trade.

It joins what the film is, how near the liquid stands to its resin, what the rule of the
book says, and what that comes to in contact and coats. All of it is a screening
estimate; a trial patch has the last word.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ..belief.evidence import Evidence
from ..knowledge.base import Knowledge
from ..knowledge.entries import Effect, Finish, Remover
from ..words import Span, coats_told, dwell_told, listed, sentence, span_told
from .hansen import relative_distance

EVEN = 0.5
NEAR, EDGE, FAR = 0.8, 1.0, 1.2  # relative distances: well inside, inside, on the edge; beyond is foreign

NETWORK = {
    "none": "This film dried and did not cure: a liquid that suits its resin would dissolve it.",
    "light": "A solvent can only swell this film: it has cured, so nothing dissolves it.",
    "dense": "A solvent can only swell this film: it is tightly crosslinked, so nothing dissolves it and little gets in.",
}
DOES: dict[Effect, str] = {
    "dissolves": "it turns the film to liquid",
    "lifts": "it wrinkles the film and lets a scraper lift it",
    "softens": "it only softens the film",
    "no-effect": "it does nothing",
}


OFF = ("works", "dissolves", "lifts")  # what a trial shows that went well
SEEN = {
    "works": "it worked",
    "dissolves": "it dissolved the film",
    "lifts": "it lifted the film",
    "softens": "it only softened the film",
    "no-effect": "no effect",
}


class Aim(Struct, frozen=True, kw_only=True):
    """One remover on the most probable finish: likeliest effect, contact in minutes (four in five, and the
    middle one), coats, hours a square metre.

    `old`: age has tightened the film. `others`: possible finishes on which it would go otherwise.
    """

    remover: str
    finish: str
    effect: Effect
    dwell_minutes: Span
    dwell_likely: float
    coats: Span
    hours_m2: Span
    old: bool
    others: dict[str, Effect]


def reason(aim: Aim, knowledge: Knowledge) -> str:
    """The whole reason."""
    finish, remover = knowledge.finishes[aim.finish], knowledge.removers[aim.remover]
    pair = knowledge.pairs[aim.finish][aim.remover]
    if finish.film.typical_um[1] <= 0:
        return "There is no film here to take off."
    told = [sentence(pair.why[0])]
    if pair.exception:
        told.insert(0, "An exception of the book.")
    elif remover.blend and not finish.film.in_wood:
        network = "" if aim.effect == "dissolves" else NETWORK[finish.chemistry.network]
        told = [network, _distance(finish, remover, aim.effect, knowledge), *told]
    told += [_expect(aim, remover), _old(aim), _others(aim, knowledge)]
    return " ".join(part for part in told if part)


def seen_here(trials: Sequence[Evidence], knowledge: Knowledge) -> str:
    """What the last trial on this very face showed, and in which test if it was one; empty without any."""
    if not trials:
        return ""
    last = trials[-1]
    test = f" ({knowledge.test_name(last.name)})" if last.name in knowledge.tests else ""
    return f"Tried on this face{test}: {SEEN[last.seen]}."


def only_if(finish: str, works: float, effect: Effect, knowledge: Knowledge) -> str:
    """That it stands and falls with the most probable finish; empty if it does not."""
    if works >= EVEN or effect not in ("dissolves", "lifts"):
        return ""
    return f"It works only if this is {knowledge.finishes[finish].name}."


def _distance(finish: Finish, remover: Remover, effect: Effect, knowledge: Knowledge) -> str:
    """How near the liquid is to the resin, where the figures can be trusted."""
    resin = knowledge.resins.get(finish.chemistry.resin or "")
    red = relative_distance(remover, resin, knowledge.solvents) if resin else None
    if resin is None or red is None or resin.trust == "poor":
        return ""
    name, moves = _liquid(remover, knowledge), effect in ("dissolves", "lifts")
    if red < EDGE:
        near = "well within" if red < NEAR else "within"
        return f"{name} is {near} reach of its resin" + ("." if moves else ", but that alone does not move it.")
    if red < FAR:
        return f"{name} stands on the edge of what its resin takes up."
    if moves:
        return f"By the figures {name.lower()} is foreign to the raw resin; what is seen at the bench counts more."
    return f"{name} is too far from its resin to swell it."


def _liquid(remover: Remover, knowledge: Knowledge) -> str:
    """The liquid by its main solvent, or the whole blend by the remover's name."""
    main = max(remover.blend, key=lambda name: remover.blend[name])
    alone = remover.blend[main] > 0.8 * sum(remover.blend.values())
    name = knowledge.solvents[main].name if alone else remover.name
    return name[:1].upper() + name[1:]


def _expect(aim: Aim, remover: Remover) -> str:
    if remover.action in ("cutting", "abrasion"):
        return f"Expect {span_told(*(60 * h for h in aim.hours_m2))} of work a square metre."
    minutes = dwell_told(aim.dwell_likely, aim.dwell_minutes)
    if aim.effect == "no-effect":
        return f"After {minutes} of contact expect nothing."
    if remover.action == "heat":
        return f"After {minutes} on a spot {DOES[aim.effect]}. Expect {coats_told(aim.coats, 'pass', 'passes')}."
    kept = "Kept wet under cover" if "long-dwell" in remover.traits else "Kept wet"
    return f"{kept}, {DOES[aim.effect]} after {minutes} of contact in all. Expect {coats_told(aim.coats)}."


def _old(aim: Aim) -> str:
    stretched = aim.old and aim.dwell_minutes[1] > 0 and aim.effect != "no-effect"
    return (
        "If the film is as old as the piece it has tightened: keep it wet under cover and count on the long end."
        if stretched
        else ""
    )


def _others(aim: Aim, knowledge: Knowledge) -> str:
    by_effect: dict[Effect, list[str]] = {}
    for finish, effect in aim.others.items():
        by_effect.setdefault(effect, []).append(knowledge.finishes[finish].name)
    told = [f"If it is {listed(names[:3], 'or')} instead, {DOES[effect]}." for effect, names in by_effect.items()]
    return " ".join(told)
