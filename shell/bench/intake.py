"""The questions about the piece: under a minute, each with a sensible answer on Enter."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from .desk import Desk
from .page import Choice, Choices, Misread, Page, Question, Row
from .words import list_of_names, quoted

if TYPE_CHECKING:
    from ...engine.knowledge.entries import Named
    from ...engine.piece.form import Room
    from ...engine.problems import Problem
    from ...engine.session.store import Kept

UNKNOWN = "unknown"
WHOLE = "whole piece"
LONGEST_SHOWN = 20  # letters of the name of a surface in that list
NAMED = 2  # surfaces of a kept piece that are named in the list
MOST_UNREAD = 3  # files that cannot be read which are named, each in a line
BUILDS = (
    Choice("solid", "solid wood"),
    Choice("veneer", "veneer over a core"),
    Choice(UNKNOWN, "not known"),
)
STEPS = ("kind", "made", "region", "surfaces", "wood", "build", "place", "have", "room")
RESPIRATOR = "vapour-respirator"
ROOMS = (
    Choice("outdoors", "out of doors or under a strong fan, no flame near", "outdoors"),
    Choice("window", "a room with an open window, no flame near", "window"),
    Choice("closed", "a closed room, no flame near", "closed"),
    Choice("flame", "a flame, pilot light or heater is near", "flame"),
    Choice(UNKNOWN, "not known", "not known"),
)
AIRS: dict[str, tuple[str, bool | None]] = {
    "outdoors": ("good", False),
    "window": (UNKNOWN, False),  # between good and poor: usual solvents pass, the worst vapour does not
    "closed": ("poor", False),
    "flame": (UNKNOWN, True),
    UNKNOWN: (UNKNOWN, None),
}  # answer -> ventilation and flame, as in a piece file


def resume_question(kept: list[Kept], take: Callable[[str], None], unread: Sequence[Problem] = ()) -> Question:
    """Which of the pieces kept here to go on with, or a new one; what cannot be read is named."""
    rows = [Choice(str(k.path), _kept_line(k), "") for k in kept] + [Choice("new", "a new piece", "new")]
    page: Page = [Row("oldcoat: what is on it, what takes it off", style="bold"), Row("Go on with a piece, or begin:")]
    why: Page = [Row("Answers are kept after each question, so a piece can be left and taken up at any time.")]
    return Question("piece", [*page, Choices(rows), *_unread(unread)], take, rows, enter=rows[0].value, why=why)


def _unread(problems: Sequence[Problem]) -> Page:
    """The files that are not in the list, as they cannot be read: where, why, and that nothing was done to them."""
    page: Page = []
    for told in problems[:MOST_UNREAD]:
        line = f", line {told.line}" if told.line else ""
        page.append(Row(f"Not in the list: {told.path}{line}: {told.message} ({told.hint}).", mark="!"))
    more = len(problems) - MOST_UNREAD
    return [*page, *([Row(f"and {more} more that cannot be read, in the same folder.", mark="!")] if more > 0 else [])]


def _kept_line(kept: Kept) -> str:
    """A piece as it can be told from another of the same name."""
    piece, count = kept.state.piece, kept.state.answers
    names = [s.name if len(s.name) <= LONGEST_SHOWN else f"{s.name[:LONGEST_SHOWN].rstrip()}.." for s in piece.surfaces]
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    faces = f"{', '.join(names[:NAMED])}{more}" if names != [WHOLE] else "one surface"
    file = f", in {Path(kept.state.file).name[:30]}" if kept.state.file else ""
    answers = f"{count} answer{'s' if count != 1 else ''}"
    return f"{piece.piece[:40]}: {answers}, {kept.when:%d %b %Y %H:%M}; {faces}{file}"


def name_question(take: Callable[[str], None]) -> Question:
    """What is on the bench. Needs no knowledge, so it stands while that is fetched."""
    page: Page = [
        Row("oldcoat: what is on it, what takes it off", style="bold"),
        Row("Every answer is kept at once. At any prompt: help, back, leave.", style="dim"),
        Row("What is on the bench? A few words, such as: hall table, oak chair."),
    ]
    why: Page = [Row("A name for the piece, and a guess at what kind of object it is.")]
    return Question("piece", page, take, enter="unnamed piece", free=True, why=why)


def intake_question(desk: Desk) -> Question | None:
    """The first question about the piece that was not answered yet; None when all were."""
    for step in STEPS:
        if step not in desk.state.asked:
            return field_question(desk, step)
    return None


def field_question(desk: Desk, field: str, surface: str | None = None) -> Question:
    """The question about one field of the piece, or of a surface; without `surface` of all."""
    words = desk.knowledge.vocabulary
    match field:
        case "kind":
            return _vocabulary(desk, field, "What kind of object is it?", words.kinds, guess_kind(desk), KIND_WHY)
        case "region":
            return _vocabulary(desk, field, "Where was it made?", words.regions, UNKNOWN, AGE_WHY)
        case "style":
            return _vocabulary(desk, field, "Which style?", words.styles, UNKNOWN, AGE_WHY)
        case "place":
            ask = "Which country do you work in? Its rules on removers are applied."
            return _vocabulary(desk, field, ask, words.places, desk.state.piece.place, PLACE_WHY)
        case "made":
            return _made(desk)
        case "surfaces":
            return _surfaces(desk)
        case "wood":
            return _wood(desk, surface)
        case "build":
            return _build(desk, surface)
        case "have":
            return have_question(desk)
        case "room":
            return _room(desk)
    raise KeyError(field)


KIND_WHY = "Makers used other finishes on a piano than on a kitchen door; size and wear differ too."
AGE_WHY = "Age and place say which finishes a maker could have used before any test is done."
PLACE_WHY = "Some removers may not be sold to or used by consumers there."
WOOD_WHY = "Tannin, oil and pores decide what the wood bears: water, alkali, bleach, heat."
BUILD_WHY = "Veneer and its glue fear water, alkali and heat, and leave little to sand."
ROOM_WHY = "Vapour in a closed room, or near a flame, kills: it decides which removers are ruled out."
HAVE_WHY = "Only tests that you can do are proposed. Asked once and kept; change it with have."


def _told(desk: Desk, field: str, value: object) -> None:
    from ...engine.session.events import PieceTold

    desk.do(PieceTold(field=field, value=value))  # type: ignore[arg-type]


def _vocabulary(desk: Desk, field: str, ask: str, words: dict[str, Named], enter: str, why: str) -> Question:
    before = told_so_far(desk, field)
    kept = before in words and before != UNKNOWN
    enter = str(before) if kept else enter
    order = [w for w in words if w != UNKNOWN] + [w for w in words if w == UNKNOWN]
    choices = [Choice(w, words[w].name, words[w].name) for w in order]

    def take(value: str) -> None:
        _told(desk, field, value)
        if field == "place":
            desk.keep(msgspec.structs.replace(desk.settings, place=value))

    page: Page = [Row(ask, style="bold"), Choices(choices, short=True), _enter(words[enter].name, kept)]
    return Question(field, page, take, choices, enter=enter, why=[Row(why)])


def told_so_far(desk: Desk, field: str) -> Any:
    """What was told of a field of the piece, be it that `back` took it back; None if nothing was."""
    asked = field in desk.state.asked or field not in STEPS
    return getattr(desk.state.piece, field) if asked else desk.told_before(field, None)


def _enter(means: str, before: bool, otherwise: str = "") -> Row:
    """What Enter answers, and how to say that it is not known where Enter keeps what was told."""
    tail = f", as told before. {otherwise}".rstrip(" .") if before else ""
    return Row(f"Enter: {means}{tail}", style="dim")


def guess_kind(desk: Desk) -> str:
    """The kind of object that the name of the piece mentions, if it mentions one."""
    told = set(re.findall(r"[a-z]+", desk.state.piece.piece.lower()))
    if desk.state.piece.kind != UNKNOWN:
        return desk.state.piece.kind
    for name, entry in desk.knowledge.vocabulary.kinds.items():
        words = {*name.split("-"), *re.findall(r"[a-z]+", entry.name.lower())} - {"or", "and", "of", "case", "top"}
        if name != UNKNOWN and told & words:
            return name
    return UNKNOWN


def _made(desk: Desk) -> Question:
    from ...engine.piece.years import FORMS, BadYears, parse_years

    def take(line: str) -> None:
        try:
            parse_years(line, None, desk.knowledge.vocabulary.periods)
        except BadYears as error:
            raise Misread(f"{error}: {FORMS}.") from None
        _told(desk, "made", line)

    before = told_so_far(desk, "made") or UNKNOWN
    page: Page = [
        Row("When was it made?", style="bold"),
        Row(f"{FORMS[0].upper()}{FORMS[1:]}.", indent=2),
        _enter("not known", False) if before == UNKNOWN else _enter(str(before), True, "Not known: unknown"),
    ]
    return Question("made", page, take, enter=str(before), free=True, why=[Row(AGE_WHY)])


def _surfaces(desk: Desk) -> Question:
    from ...engine.session.events import SurfacesNamed

    def take(line: str) -> None:
        names = list_of_names(line)
        if not names:
            raise Misread("Name at least one surface.")
        desk.do(SurfacesNamed(names=names))

    before = desk.told_before("surfaces", None)
    enter = ", ".join(map(quoted, before or [WHOLE]))
    page: Page = [
        Row("Which surfaces? One name for faces that are alike, commas between.", style="bold"),
        Row("Such as: top, legs, drawer fronts. Each is tested by itself.", indent=2),
        _enter(enter, before is not None),
    ]
    why: Page = [Row("Parts of one piece may carry different finishes; a top is often redone, its legs not.")]
    return Question("surfaces", page, take, enter=enter, free=True, why=why, quoted=True)


def _wood(desk: Desk, surface: str | None) -> Question:
    from ...engine.session.events import SurfaceTold

    woods = sorted(desk.knowledge.woods)
    choices = [*(Choice(w, w, desk.knowledge.woods[w].name) for w in woods), Choice(UNKNOWN, "not known", "not known")]

    def take(value: str) -> None:
        desk.do(SurfaceTold(surface=surface, field="wood", value=value))

    before = _face_so_far(desk, "wood", surface)
    name = desk.knowledge.woods[before].name if before in desk.knowledge.woods else "not known"
    later = "" if surface else " One surface has another wood: later, with about"
    page: Page = [
        Row(f"Which wood{_of(surface)}?", style="bold"),
        Choices(choices, short=True),
        _enter(name, True, later.strip()) if before != UNKNOWN else Row(f"Enter: not known.{later}", style="dim"),
    ]
    return Question("wood", page, take, choices, enter=before, why=[Row(WOOD_WHY)])


def _face_so_far(desk: Desk, field: str, surface: str | None) -> str:
    """What was told of the wood or build of one surface, or at intake of all before `back` took it back."""
    if surface is None:
        return str(desk.told_before(field, UNKNOWN))
    return str(next(getattr(s, field) for s in desk.state.piece.surfaces if s.name == surface))


def _build(desk: Desk, surface: str | None) -> Question:
    from ...engine.session.events import SurfaceTold

    def take(value: str) -> None:
        desk.do(SurfaceTold(surface=surface, field="build", value=value))

    before = _face_so_far(desk, "build", surface)
    page: Page = [
        Row(f"Solid or veneered{_of(surface)}?", style="bold"),
        Choices(BUILDS),
        _enter(_text_of(BUILDS, before), before != UNKNOWN),
    ]
    return Question("build", page, take, BUILDS, enter=before, why=[Row(BUILD_WHY)])


def _text_of(rows: Iterable[Choice], value: str) -> str:
    return next(row.text for row in rows if row.value == value)


def _of(surface: str | None) -> str:
    return f", {surface}" if surface else ", all surfaces"


def have_question(desk: Desk) -> Question:
    """What the user owns: numbers of what is missing, or of what alone is there."""
    tools, state = desk.knowledge.vocabulary.tools, desk.state
    told = "have" in state.asked or desk.told_before("have", UNKNOWN) != UNKNOWN
    now = told_so_far(desk, "have") if told else [tool for tool in tools if tool != RESPIRATOR]
    marks = {name: "" if now is None or name in now else " (no)" for name in tools}
    choices = [Choice(name, f"{entry.name}{marks[name]}", entry.name) for name, entry in tools.items()]

    def take(line: str) -> None:
        have = told_tools(line, list(tools), now)
        _told(desk, "have", have)
        if "room" in desk.state.asked and desk.state.piece.room.respirator != masked(have):
            _tell_room(desk, respirator=masked(have))
        desk.keep(msgspec.structs.replace(desk.settings, have=have, have_told=True))

    page: Page = [
        Row("What have you at hand? Asked once and kept.", style="bold"),
        Choices(choices, short=True),
        Row(f"Numbers that you have: 1 2 6 7. Without some: not 5 21. {_as_now(now, told)}", style="dim"),
    ]
    return Question("have", page, take, choices, enter="keep", free=True, why=[Row(HAVE_WHY)])


def _as_now(have: list[str] | None, told: bool) -> str:
    if have is None:
        return "Enter: everything, the mask too"
    return f"Enter: all but those marked (no){', as told before' if told else ''}; all: everything"


def _room(desk: Desk) -> Question:
    piece, asked = desk.state.piece, "room" in desk.state.asked
    mask = piece.room.respirator if asked else masked(piece.have)

    def take(value: str) -> None:
        ventilation, flame = AIRS[value]
        _tell_room(desk, ventilation=ventilation, flame=flame, respirator=mask)

    told = msgspec.convert(desk.told_before("room", {}), type(piece.room)) if not asked else piece.room
    before = next((name for name, air in AIRS.items() if air == (told.ventilation, told.flame)), UNKNOWN)
    page: Page = [
        Row("Where do you work?", style="bold"),
        Choices(ROOMS),
        _enter(_text_of(ROOMS, before), before != UNKNOWN),
    ]
    return Question("room", page, take, ROOMS, enter=before, why=[Row(ROOM_WHY)])


def _tell_room(desk: Desk, **fields: object) -> None:
    """Change some of the room, keeping its warmth and damp."""
    _told(desk, "room", {**msgspec.to_builtins(desk.state.piece.room), **fields})


def masked(have: list[str] | None) -> bool:
    """Whether a vapour mask is among what was told to be at hand; None is everything, said in so many words."""
    return have is None or RESPIRATOR in have


def told_room(room: Room) -> str:
    """The room in the words of its question."""
    aired = (room.ventilation, room.flame)
    told = next((c.text for c in ROOMS if AIRS[c.value] == aired), None)
    told = told or f"{room.ventilation} air, {'a' if room.flame else 'no' if room.flame is False else 'unknown'} flame"
    return f"{told}; {'a' if room.respirator else 'no'} vapour mask"


def told_tools(line: str, tools: list[str], now: list[str] | None) -> list[str] | None:
    """The tools that a line names; None is everything. Raises Misread."""
    words = line.strip().lower()
    if words == "keep":
        return now
    return None if words == "all" else told_several(line, tools, tools if now is None else now)


def told_several(line: str, names: list[str], now: list[str]) -> list[str]:
    """What a line names: numbers or ids, or `not` before what is to go of what is there now. Raises Misread."""
    words = re.split(r"[\s,;]+", line.strip().lower())
    if words in (["keep"], ["none"]):
        return now if words == ["keep"] else []
    without = words[0] in ("not", "no", "without")
    named = [_one_of(word, names) for word in (words[1:] if without else words)]
    if not named:
        raise Misread("Which? Type the numbers that stand above.")
    return [n for n in now if n not in named] if without else [n for n in names if n in named]


def several_question(
    label: str, ask: str, why: str, texts: dict[str, str], now: list[str], put: Callable[[list[str]], None]
) -> Question:
    """Any number of things of a list: those that are there carry a mark."""
    choices = [Choice(name, f"{text}{' (yes)' if name in now else ''}", text) for name, text in texts.items()]
    page: Page = [
        Row(ask, style="bold"),
        Choices(choices, short=True),
        Row("Numbers: 1 4. Without some: not 4. Enter: as shown; none: nothing", style="dim"),
    ]

    def take(line: str) -> None:
        put(told_several(line, list(texts), now))

    return Question(label, page, take, choices, enter="keep", free=True, why=[Row(why)])


def told_words(name: str) -> str:
    """An id as words."""
    return name.replace("-", " ")


def _one_of(word: str, names: list[str]) -> str:
    if word.isascii() and word.isdigit() and 1 <= int(word) <= len(names):
        return names[int(word) - 1]
    if word in names:
        return word
    raise Misread(f"There is no {word[:30]!r}; type numbers of 1 to {len(names)}, or not and numbers.")
