"""What a surface warns of: flags of the rules, and the cautions of the work that is planned."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..deciding.nexttest import stage_name
from ..deciding.routes import to_be_tried
from ..examine import Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Flag
from ..piece.form import Piece
from ..piece.years import years_of
from ..planning.facing import Facing
from ..planning.handling import notes
from ..planning.minding import cautions_here
from ..planning.plan import Plan
from ..reasoning.surface import lead_chance
from ..removal.layers import NAMED_FROM, loss_below
from ..words import likely, listed, percent
from .assessment import Hazard

KEEP_FIRST = "note.keep-first"  # what the rules conclude of a film that may be worth more than the wood bare
SHOWN_ASTRAY = 0.15
TRUSTED = 0.9  # whoever knows the finish this well is not told that the book may lack it
UNLIKELY_BELOW = 0.5
WORTH_TELLING = 0.5  # a remover that works less often than this is not one to reckon with


def flags(done: Examination, piece: Piece, knowledge: Knowledge, held: frozenset[str] | None = None) -> list[str]:
    """What the rules of the surface want said, and that a shaded face will not match.

    With `held`, the conditions of the work that hold here: only what bears on it.
    """
    raised = [f.rule.then.flag for f in done.firings if f.rule.then.flag]
    if held is not None:
        raised = _bearing(raised, done, held)
    paint = lead_chance(done.posterior, years_of(piece, knowledge), knowledge, done.surface.under)
    said = [f"{flag.id}: {flag.text.replace('{lead}', f'{percent(paint)}, {likely(paint)}')}" for flag in raised]
    if done.surface.shaded:
        wood = knowledge.woods.get(done.surface.wood)
        light = f" {wood.light}" if wood else ""
        said.append(f"will-not-match: {knowledge.recoat.shaded.text}{light}")
    return list(
        dict.fromkeys(
            [
                *said,
                *_astray_flags(done, knowledge),
                *_kept_flags(done, knowledge),
                *_gamble_flags(done, knowledge),
                *_elsewhere_flags(done, knowledge),
                *_no_way_flags(done, knowledge),
            ]
        )
    )


def before_stripping(done: Examination) -> list[str]:
    """The flags of the rules that want the old film looked at, cleaned or revived first."""
    raised = [f.rule.then for f in done.firings if f.rule.then.facts.get(KEEP_FIRST) is True]
    return [then.flag.text for then in raised if then.flag is not None]


def _bearing(raised: Sequence[Flag], done: Examination, held: frozenset[str]) -> list[Flag]:
    """The flags that bear on the work here and that no other of them covers."""
    used = {p.remover for p in done.predictions if p.allowed and p.works >= WORTH_TELLING}
    bears = [
        flag
        for flag in raised
        if not (flag.only_if or flag.removers) or held & set(flag.only_if) or used & set(flag.removers)
    ]
    covered = {name for flag in bears for name in flag.covers}
    return [flag for flag in bears if flag.id not in covered]


def _astray_flags(done: Examination, knowledge: Knowledge) -> list[str]:
    """That the answers may speak of nothing that is in the book."""
    known = done.surface.known
    if done.fit.astray < SHOWN_ASTRAY or (known and knowledge.belief.known[known.how] >= TRUSTED):
        return []
    return [f"astray: {knowledge.decide.astray.replace('{p}', f'{done.fit.astray:.0%}')}"]


def _gamble_flags(done: Examination, knowledge: Knowledge) -> list[str]:
    """That even the best way off does damage too often to be taken lightly."""
    best = done.routes[0] if done.routes else None
    if best is None or best.harm < knowledge.decide.gamble_from:
        return []
    told = knowledge.decide.gamble.replace("{remover}", knowledge.removers[best.remover].name)
    return [f"gamble: {told.replace('{p}', percent(best.harm))}"]


def _elsewhere_flags(done: Examination, knowledge: Knowledge) -> list[str]:
    """That only this room stands against a better way off."""
    way = done.elsewhere
    if way is None:
        return []
    name, hours = knowledge.removers[way.remover].name, f"{way.expected_hours:.1f}"
    told = knowledge.decide.elsewhere.replace("{remover}", name).replace("{hours}", hours)
    return [f"better-elsewhere: {told.replace('{p}', percent(way.harm))}"]


def _no_way_flags(done: Examination, knowledge: Knowledge) -> list[str]:
    """That nothing which may be used here is worth a try, said plainly."""
    told = _kept_flags(done, knowledge)
    if told or done.routes or knowledge.finishes[done.posterior.top].film.in_wood:
        return []
    return [f"no-way-off: {knowledge.decide.no_way}"]


def _kept_flags(done: Examination, knowledge: Knowledge) -> list[str]:
    """What is to be said of a film that the user wants to keep under the top one."""
    if not done.surface.keep_under:
        return []
    below, likeliest = sum(done.below.values()), max(done.below.values(), default=0.0)
    told = []
    if done.surface.under is None and below < UNLIKELY_BELOW:
        told.append(
            f"film-below: little speaks for an older film below ({below:.0%}). {_look_first(done, knowledge)}"
            "Clear a small window to the wood and look before you plan to keep one."
        )
    elif done.surface.under is None and likeliest < NAMED_FROM * below:
        told.append(
            f"film-below-unknown: it is not known what lies below and is to stay. {_look_first(done, knowledge)}"
            "Clear a small window to it, test that film by itself, and tell it (`under:`) before anything is tried."
        )
    return told if done.routes else [*told, _spared_by_none(done, knowledge)]


def _look_first(done: Examination, knowledge: Knowledge) -> str:
    """The looks, not yet taken here, that tell what lies below."""
    tells = (t for t, entry in knowledge.tests.items() if any(o.below for o in entry.outcomes))
    names = [knowledge.tests[test].name.lower() for test in tells if test not in done.surface.tests]
    return f"Look first: {listed(names)}. " if names else ""


def _spared_by_none(done: Examination, knowledge: Knowledge) -> str:
    """That no way surely leaves the film that is to stay, and which trial patch could show otherwise."""
    said = "film-at-risk: nothing here takes the top film and surely leaves the one below: keep both, or take both"
    tried = to_be_tried(done.predictions)
    if tried is None:
        return f"{said}."
    name, loss = knowledge.removers[tried.remover].name, loss_below(tried.harms)
    below = f"would take the film below about {percent(loss)} of the time" if loss else "leaves the film below"
    return (
        f"{said}, or let a trial patch of {name} decide: it works with a chance of {percent(tried.works)} and {below}. "
        "If the top came off and the lower film stood, tell the try, that it took the film off, and ask again."
    )


def cautions(facing: Facing, knowledge: Knowledge) -> list[str]:
    """Cautions of the rules, of the probable finishes, of the best route, of the treatments and the coat chosen."""
    done = facing.done
    names = [f.rule.then.caution for f in done.firings if f.rule.then.caution]
    names += [c for f, _ in possible_here(done, knowledge) for c in knowledge.finishes[f].cautions]
    names += [c for route in done.routes[:1] for c in route.cautions]
    names += [c for stain in facing.stains for rung in stain.ladder for c in rung.cautions]
    names += facing.coat.cautions if facing.coat else []
    return told_cautions(cautions_here(names, facing.conditions, knowledge), knowledge)


def on_touch(done: Examination, test: str, knowledge: Knowledge) -> list[str]:
    """The cautions that a test carries for what the surface may be: any test that does more than look."""
    return [] if stage_name(test, knowledge) == "looking" else of_the_film(done, knowledge)


def of_the_film(done: Examination, knowledge: Knowledge, answered: str | None = None) -> list[str]:
    """The cautions that go with every touch of this surface; with `answered`, those that this very answer raised."""
    book, held = knowledge.cautions, notes(done)
    found = [
        f.rule.then.caution
        for f in done.firings
        if f.rule.then.caution
        and book[f.rule.then.caution].on_touch
        and (answered is None or f"test.{answered}" in f.rule.when)
    ]
    kept = [next((other for where, other in book[name].instead.items() if where in held), name) for name in found]
    return list(dict.fromkeys(kept))


def told_cautions(names: Iterable[str], knowledge: Knowledge) -> list[str]:
    """Cautions in full, grave ones first, each once."""
    unique = list(dict.fromkeys(names))
    unique.sort(key=lambda name: not knowledge.cautions[name].grave)
    return [f"{name}: {knowledge.cautions[name].text}" for name in unique]


def hazards(planned: Plan, knowledge: Knowledge) -> list[Hazard]:
    """The cautions of the steps that are planned, grave ones first."""
    met: dict[str, list[str]] = {}
    for node in (*planned.order, *planned.held):
        for name in planned.tasks[node].cautions:
            met.setdefault(name, []).append(node.surface)
    rows = [
        Hazard(
            caution=name,
            text=knowledge.cautions[name].short or knowledge.cautions[name].text,
            grave=knowledge.cautions[name].grave,
            surfaces=list(dict.fromkeys(filter(None, where))),
        )
        for name, where in met.items()
    ]
    return sorted(rows, key=lambda row: not row.grave)


def possible_here(done: Examination, knowledge: Knowledge) -> list[tuple[str, float]]:
    """The finishes that are worth a thought, most probable first."""
    rows = [(f, p) for f, p in done.posterior.finishes.items() if p >= knowledge.decide.possible]
    return sorted(rows, key=lambda pair: (-pair[1], pair[0]))
