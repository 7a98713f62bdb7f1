"""A route as a small decision tree: what to do, when to look, what to see, when to stop, where to go then.

Stages are numbered from 1. `then` is the stage to go to when it goes well, `otherwise`
the one for when it does not. Cautions stand at the stage where they matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..knowledge.entries import Remover
from ..piece.form import Room
from ..removal.moisture import room_moisture
from ..removal.objection import CHEMICAL
from ..removal.predict import Prediction
from ..words import coats_told, sentence, span_told

Kind = Literal["patch", "coats", "stop-when", "after", "dry", "recoat", "below", "if-not", "stop"]
Span = tuple[float, float]


class Branch(Struct, frozen=True, kw_only=True):
    """One stage of a route: what to do, with what, contact in minutes, and where to go from it."""

    kind: Kind
    text: str
    remover: str | None = None
    minutes: Span = (0.0, 0.0)
    then: int | None = None
    otherwise: int | None = None
    cautions: list[str] = []


class Below(Struct, frozen=True):
    """The film under the top one, and the remover that takes it, if any may be used that does."""

    finish: str
    remover: str | None


class Setting(Struct, frozen=True, kw_only=True):
    """The room, and what else the text of a route rests on.

    `flooded_hours`: for a flooded face to come dry in this room; `slow`: how many times as
    long as in a usual room. `finishes` are possible; the film `below` goes, one `kept` stays.
    """

    room: Room
    flooded_hours: float
    slow: float
    finishes: Sequence[str]
    below: Below | None
    kept: str | None


def tree(first: Prediction, second: Prediction | None, setting: Setting, knowledge: Knowledge) -> list[Branch]:
    """The stages of a route, numbered by their place in the list, from 1."""
    remover = knowledge.removers[first.remover]
    warned = list(dict.fromkeys(c for f in setting.finishes for c in knowledge.finishes[f].cautions))
    stages = [
        _patch(first, remover, warned, knowledge),
        _coats(first, remover, knowledge),
        _stop_when(first, setting.kept, knowledge),
        _after(first, remover, warned, setting.kept, knowledge),
        _dry(remover, setting),
        Branch(kind="recoat", text=f"What stays for the next coat: {_small(remover.residue)}", remover=first.remover),
    ]
    if setting.below is not None:
        stages.append(_below(setting.below, first, knowledge))
    stages += [_turn(first, second, knowledge)] if second else []
    stages.append(Branch(kind="stop", text=LAST))
    return _joined(stages)


LAST = "Stop and test again: the film is not what it seemed, or there is another under it."


def dry_hours(remover: Remover, slow: float) -> Span:
    """Hours to wait after this remover; where it brings water, `slow` times as long as the book says."""
    low, high = remover.work.dry_hours
    return (round(low * slow, 1), round(high * slow, 1)) if "water" in remover.traits else (low, high)


def _joined(stages: list[Branch]) -> list[Branch]:
    """The same stages with `then` and `otherwise` filled in."""
    fails = next(i for i, stage in enumerate(stages, 1) if stage.kind in ("if-not", "stop"))
    last = len(stages)
    found = []
    for number, stage in enumerate(stages, 1):
        if stage.kind in ("patch", "coats", "stop-when"):
            stage = replace(stage, then=number + 1, otherwise=fails)
            text = f"{stage.text} If not: step {fails}." if stage.kind == "patch" else stage.text
            stage = replace(stage, text=text)
        elif stage.kind == "if-not":
            stage = replace(stage, then=2, otherwise=last, text=f"{stage.text} If that fails too: step {last}.")
        elif stage.kind != "stop" and number + 1 < fails:
            stage = replace(stage, then=number + 1)
        found.append(stage)
    return found


def _patch(first: Prediction, remover: Remover, warned: list[str], knowledge: Knowledge) -> Branch:
    seen = LOOK[remover.action]["dissolves" if first.effects["dissolves"] >= first.effects["lifts"] else "lifts"]
    text = f"Trial patch with {remover.name}, 5 x 5 cm, on a hidden spot{_looks(first, remover)} Go on if {seen} and the wood under it is as it was."
    return Branch(
        kind="patch",
        text=text,
        remover=first.remover,
        minutes=first.dwell_minutes,
        cautions=_cautions([*warned, *remover.cautions], knowledge, after=False),
    )


_FILM = {"dissolves": "the film turns liquid and wipes off", "lifts": "the film wrinkles and lifts under a scraper"}
_CUT = dict.fromkeys(_FILM, "the film comes away clean")
_WARM = dict.fromkeys(_FILM, "the film blisters or goes soft and can be pushed off")
LOOK = {"solvent": _FILM, "acid": _FILM, "alkali": _FILM, "heat": _WARM, "cutting": _CUT, "abrasion": _CUT}


def _coats(first: Prediction, remover: Remover, knowledge: Knowledge) -> Branch:
    hot = f" Never above {remover.ceiling_c:g} C." if remover.ceiling_c is not None else ""
    litres = f", {_litres(first.litres)} in all" if first.litres[1] > 0 else ""
    word = ("coat", "coats") if first.litres[1] > 0 else ("pass", "passes")
    expect = f" Expect {coats_told(first.coats, *word)}{litres}, {span_told(*(60 * h for h in first.hours))} of work."
    return Branch(
        kind="coats",
        text=f"{sentence(remover.how)}{hot}{expect}",
        remover=first.remover,
        minutes=first.dwell_minutes,
        cautions=_cautions(remover.cautions, knowledge, after=False),
    )


def _looks(first: Prediction, remover: Remover) -> str:
    """When to look at the trial, or nothing where the hand sees it at once."""
    high = min(first.dwell_minutes[1], remover.work.open_minutes)
    if high <= 2:
        return "."
    low, middle = min(first.dwell_minutes[0], high / 2), min(first.dwell_likely, high)
    ready = f" most likely ready at {span_told(middle, middle)}," if low < middle < high else ""
    return f": first look after {span_told(low, low)},{ready} off after {span_told(high, high)} at the latest."


def _stop_when(first: Prediction, kept: str | None, knowledge: Knowledge) -> Branch:
    most = max(2, round(first.coats[1]))
    text = "Stop at once if the wood darkens, colour or fibres come along, or an edge lifts."
    if kept is not None:
        text = f"Stop as soon as the {knowledge.finishes[kept].name} below shows: it stays. Clean it with what does not touch it."
    feared = f" Here above all: {_small(first.harms[0].why)}" if first.harms else ""
    return Branch(
        kind="stop-when", text=f"{text}{feared} No progress after {most} rounds: write it down as tried and change."
    )


def _after(first: Prediction, remover: Remover, warned: list[str], kept: str | None, knowledge: Knowledge) -> Branch:
    return Branch(
        kind="after",
        text=sentence(remover.after) + (" Try it on the film below first." if kept else ""),
        remover=first.remover,
        cautions=_cautions([*warned, *remover.cautions], knowledge, after=True),
    )


def _dry(remover: Remover, setting: Setting) -> Branch:
    low, high = dry_hours(remover, setting.slow)
    if remover.action not in CHEMICAL:
        return Branch(kind="dry", text="Nothing to dry.")
    wait = span_told(60 * low, 60 * high)
    if "water" not in remover.traits:
        return Branch(kind="dry", text=f"Let it air {wait}.", minutes=(60 * low, 60 * high))
    room = setting.room
    text = f"Dry {wait}. At {room.temperature_c:g} C and {room.humidity:g} % humidity wood settles at {room_moisture(room):.1f} %; a flooded face needs about {span_told(60 * setting.flooded_hours, 60 * setting.flooded_hours)}. A meter has the last word."
    return Branch(kind="dry", text=text, minutes=(60 * low, 60 * high))


def _below(below: Below, first: Prediction, knowledge: Knowledge) -> Branch:
    name = knowledge.finishes[below.finish].name
    if below.remover == first.remover:
        how = "goes the same way: another round."
    elif below.remover is None:
        how = "answers to nothing that may be used here. Clean it and keep it."
    else:
        how = f"is another matter: patch it with {knowledge.removers[below.remover].name}."
    text = f"When another film shows below, stop and test it. It is most likely {name}, and {how}"
    cautions = knowledge.removers[below.remover].cautions if below.remover else []
    return Branch(kind="below", text=text, remover=below.remover, cautions=cautions)


def _turn(first: Prediction, second: Prediction, knowledge: Knowledge) -> Branch:
    one, two = knowledge.removers[first.remover], knowledge.removers[second.remover]
    clear = f"clean off all of the {one.name} and let it dry. Then try" if one.action in CHEMICAL else "try"
    text = f"If nothing moves, {clear} a patch with {two.name}{_looks(second, two)} Good: go on as from step 2 with it."
    return Branch(kind="if-not", text=text, remover=second.remover, minutes=second.dwell_minutes, cautions=two.cautions)


def _cautions(names: Sequence[str], knowledge: Knowledge, after: bool) -> list[str]:
    """Those that matter while working, or those for clearing up."""
    return [c for c in dict.fromkeys(names) if knowledge.cautions[c].after == after]


def _litres(span: Span) -> str:
    return f"{span[0]:.1f}-{span[1]:.1f} l" if span[1] >= 0.1 else f"{span[1] * 1000:.0f} ml"


def _small(text: str) -> str:
    """A sentence set after a colon."""
    first = text[:1].lower() + text[1:] if text[1:2].islower() else text
    return first if first.endswith((".", "!", "?")) else f"{first}."
