"""A route as a small decision tree: what to do, when to look, what to see, when to stop, where to go then.

Stages are numbered from 1. `then` is the stage to go to when it goes well, `otherwise`
the one for when it does not. Cautions stand at the stage where they matter. The next
attempt has its own stages, from its patch to its drying: nothing of the first remover holds for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..knowledge.entries import Remover
from ..piece.form import Room
from ..removal.objection import CHEMICAL
from ..removal.predict import Prediction
from ..wood.moisture import room_moisture
from ..words import Span, coats_told, sentence, span_told, times

Kind = Literal[
    "patch",
    "coats",
    "stop-when",
    "after",
    "dry",
    "recoat",
    "below",
    "if-not",
    "next-coats",
    "next-after",
    "next-dry",
    "stop",
]
STOPS, WASH, BELOW = 3, 4, 7  # where those stages stand in every route that has them; drying follows the wash
NEAR = 0.05  # a contact this little longer than one coat stays wet, as a share of that, is no reason for another


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

    `flooded_hours`: hours for a flooded face to come dry in this room; `slow`: how many times as
    long as in a usual room. `finishes` are possible; the film `below` goes, one stays that is called `kept`.
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
        _patch(first, warned, setting.kept, knowledge),
        _coats(first, remover, knowledge),
        _stop_when(first, setting.kept),
        _after(first, remover, warned, setting.kept, knowledge),
        _dry(remover, setting),
        Branch(kind="recoat", text=_stays(remover), remover=first.remover),
    ]
    if setting.below is not None:
        stages.append(_below(setting.below, first, knowledge))
    if second is not None:
        stages += _next(first, second, warned, setting, knowledge)
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
        then = None if number in (fails - 1, last - 1, last) else number + 1
        otherwise = (fails if number < fails else last) if stage.kind in _MAY_FAIL else None
        text = f"{stage.text} {_ELSE[stage.kind]}: step {otherwise}." if stage.kind in _ELSE else stage.text
        found.append(replace(stage, then=then, otherwise=otherwise, text=text))
    return found


_MAY_FAIL = ("patch", "coats", "stop-when", "if-not", "next-coats")
_ELSE = {"patch": "If not", "if-not": "If that fails too"}


def _patch(first: Prediction, warned: list[str], kept: str | None, knowledge: Knowledge) -> Branch:
    """The trial, with what to do before it; the finishes' own cautions stand here."""
    remover = knowledge.removers[first.remover]
    ready = f"{sentence(remover.before)} Then trial patch" if remover.before else "Trial patch"
    return Branch(
        kind="patch",
        text=f"{ready} with {remover.name}, {on_a_spot(first, remover)} {_good(first, kept, knowledge)}",
        remover=first.remover,
        minutes=first.dwell_minutes,
        cautions=_cautions([*warned, *remover.cautions], knowledge, after=False),
    )


def _good(prediction: Prediction, kept: str | None, knowledge: Knowledge) -> str:
    """What a trial that went well looks like."""
    liquid = prediction.effects["dissolves"] >= prediction.effects["lifts"]
    seen = LOOK[knowledge.removers[prediction.remover].action]["dissolves" if liquid else "lifts"]
    under = kept or "the wood under it"
    return f"Go on if {seen} and {under} is as it was."


_FILM = {"dissolves": "the film turns liquid and wipes off", "lifts": "the film wrinkles and lifts under a scraper"}
_CUT = dict.fromkeys(_FILM, "the film comes away clean")
_WARM = dict.fromkeys(_FILM, "the film blisters or goes soft and can be pushed off")
LOOK = {"solvent": _FILM, "acid": _FILM, "alkali": _FILM, "heat": _WARM, "cutting": _CUT, "abrasion": _CUT}


def _coats(first: Prediction, remover: Remover, knowledge: Knowledge) -> Branch:
    hot = f" Never above {remover.ceiling_c:g} C." if remover.ceiling_c is not None else ""
    litres = f", {_litres(first.litres)} in all" if first.litres[1] > 0 else ""
    word = ("coat", "coats") if first.litres[1] > 0 else ("pass", "passes")
    looked = f" {AS_TRIED}" if litres and _read_late(first) else ""
    expect = f" Expect {coats_told(first.coats, *word)}{litres}, {span_told(*(60 * h for h in first.hours))} of work."
    return Branch(
        kind="coats",
        text=f"{sentence(remover.how)}{hot}{looked}{expect}",
        remover=first.remover,
        minutes=first.dwell_minutes,
        cautions=_cautions(remover.cautions, knowledge, after=False),
    )


AS_TRIED = "In contact as long as the patch took, all coats together."
AT_ONCE = 2.0  # minutes: what is over by then is seen as it happens


def _read_late(prediction: Prediction) -> bool:
    return prediction.dwell_minutes[1] > AT_ONCE


def on_a_spot(prediction: Prediction, remover: Remover) -> str:
    """Where a trial is made, how large, when to look, and how often to wet it again."""
    return f"5 x 5 cm, on a hidden spot{_looks(prediction, remover)}"


def _looks(prediction: Prediction, remover: Remover) -> str:
    """When to look; nothing where the hand sees it at once."""
    if remover.action == "heat":
        return f", {span_told(*prediction.dwell_minutes)} on a spot."
    if not _read_late(prediction):
        return "."
    wet, high = remover.work.open_minutes, prediction.dwell_minutes[1]
    low, middle = min(prediction.dwell_minutes[0], high / 2, wet / 2), min(prediction.dwell_likely, high)
    first, likely, latest = (span_told(minutes, minutes) for minutes in (low, middle, high))
    ready = f" most likely ready at {likely}," if low < middle and likely != latest else ""
    told = f": first look after {first},{ready} off after {latest} at the latest."
    again = _wettings(prediction, remover) - 1
    if again < 1:
        return told
    more = f"It dries after {_exact(wet)}: before that wet it again, {times(again)}."
    return f"{told} {more} One wetting that does nothing proves nothing."


def _exact(minutes: float) -> str:
    """A time of the book, not rounded."""
    return f"{minutes:g} min" if minutes < 90 else f"{minutes / 60:g} h"


def _wettings(prediction: Prediction, remover: Remover) -> int:
    """How often the spot must be wetted for it to have the longest contact."""
    return ceil(prediction.dwell_minutes[1] / remover.work.open_minutes - NEAR)


def _stop_when(first: Prediction, kept: str | None) -> Branch:
    text = "Stop at once if the wood darkens, colour or fibres come along, or an edge lifts."
    if kept is not None:
        text = f"Stop as soon as {kept} shows: it stays. Clean it with what does not touch it."
    return Branch(kind="stop-when", text=f"{text}{_no_further(first)} and change.")


def _no_further(prediction: Prediction) -> str:
    """What is feared most of this remover here, and after how many rounds without progress it is given up."""
    feared = f" Here above all: {_small(prediction.harms[0].why)}" if prediction.harms else ""
    most = max(2, round(prediction.coats[1]))
    return f"{feared} No progress after {most} rounds: write it down as tried"


def _after(first: Prediction, remover: Remover, warned: list[str], kept: str | None, knowledge: Knowledge) -> Branch:
    return Branch(
        kind="after",
        text=sentence(remover.after) + (" Try it on the film below first." if kept else ""),
        remover=first.remover,
        cautions=_cautions([*warned, *remover.cautions], knowledge, after=True),
    )


def _dry(remover: Remover, setting: Setting) -> Branch:
    low, high = dry_hours(remover, setting.slow)
    if low <= 0:
        return Branch(kind="dry", text="Nothing to dry.")
    wait = span_told(60 * low, 60 * high)
    if "water" not in remover.traits:
        return Branch(kind="dry", text=f"Let it air {wait}.", minutes=(60 * low, 60 * high))
    room, flooded = setting.room, 60 * setting.flooded_hours
    text = (
        f"Dry {wait}. At {room.temperature_c:g} C and {room.humidity:g} % humidity wood settles at "
        f"{room_moisture(room):.1f} %; a flooded face needs about {span_told(flooded, flooded)}. "
        "A meter has the last word."
    )
    return Branch(kind="dry", text=text, minutes=(60 * low, 60 * high))


def _below(below: Below, first: Prediction, knowledge: Knowledge) -> Branch:
    name = knowledge.finishes[below.finish].name
    if below.remover == first.remover:
        how = f"goes the same way: another round with {knowledge.removers[first.remover].name}."
    elif below.remover is None:
        how = "answers to nothing that may be used here. Clean it and keep it."
    else:
        how = f"is another matter: patch it with {knowledge.removers[below.remover].name}."
    text = f"When another film shows below, stop and test it. It is most likely {name}, and {how}"
    cautions = knowledge.removers[below.remover].cautions if below.remover else []
    return Branch(kind="below", text=text, remover=below.remover, cautions=cautions)


def _next(
    first: Prediction, second: Prediction, warned: list[str], setting: Setting, knowledge: Knowledge
) -> list[Branch]:
    """The stages of the next attempt: its patch, its coats, its washing, its drying."""
    remover = knowledge.removers[second.remover]
    coats, after, dry = (
        _coats(second, remover, knowledge),
        _after(second, remover, warned, setting.kept, knowledge),
        _dry(remover, setting),
    )
    below = f" Another film below: step {BELOW}." if setting.below else ""
    halt = f"Stop as in step {STOPS}.{below}{_no_further(second)} and stop."
    return [
        _turn(first, second, warned, setting.kept, knowledge),
        replace(coats, kind="next-coats", text=f"{coats.text} {halt}"),
        replace(after, kind="next-after"),
        replace(dry, kind="next-dry", text=f"{dry.text} {_stays(remover)}"),
    ]


def _turn(first: Prediction, second: Prediction, warned: list[str], kept: str | None, knowledge: Knowledge) -> Branch:
    """The trial of the next remover, once all of the first is off and dry."""
    one, two = knowledge.removers[first.remover], knowledge.removers[second.remover]
    off = f"clean off all of the {one.name} and let it dry, as in steps {WASH} and {WASH + 1}"
    ready = [*([off] if one.action in CHEMICAL else []), *([_small(two.before).rstrip(".")] if two.before else [])]
    told = "".join(f"{part}; then " for part in ready)
    text = f"If nothing moves, {told}try a patch with {two.name}{_looks(second, two)} {_good(second, kept, knowledge)}"
    return Branch(
        kind="if-not",
        text=text,
        remover=second.remover,
        minutes=second.dwell_minutes,
        cautions=_cautions([*warned, *two.cautions], knowledge, after=False),
    )


def _stays(remover: Remover) -> str:
    return f"What stays for the next coat: {_small(remover.residue)}"


def _cautions(names: Sequence[str], knowledge: Knowledge, after: bool) -> list[str]:
    """Those that matter while working, or those for clearing up."""
    return [c for c in dict.fromkeys(names) if knowledge.cautions[c].after == after]


def _litres(span: Span) -> str:
    return f"{span[0]:.1f}-{span[1]:.1f} l" if span[1] >= 0.1 else f"{span[1] * 1000:.0f} ml"


def _small(text: str) -> str:
    """A sentence set after a colon."""
    first = text[:1].lower() + text[1:] if text[1:2].islower() else text
    return first if first.endswith((".", "!", "?")) else f"{first}."
