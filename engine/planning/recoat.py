"""What may go on next: over what is left on a surface, under all that it may be, and over each other.

The film is known as a spread of chances. A coat that would lift one of the possible
films is a matter for a test patch, whatever the likeliest film says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Coat, Meaning, Recoat
from ..physics import temperature_factor
from ..piece.form import Piece, told_outcome
from ..words import or_span
from .bars import not_in_this_room
from .handling import RENEW, Handling, ends_bare, film_stays, films_there, handling, notes, top_goes

CAUTION: tuple[Meaning, ...] = ("works", "after-cure", "barrier", "test", "remove", "no")
FORBIDDING: tuple[Meaning, ...] = ("remove", "no")
NOTED = 0.15  # a residue this likely is told
DECISIVE = 0.5  # one this likely decides


Toned = Literal["none", "holds", "sealed", "no"]
HOLDS: tuple[Toned, ...] = ("holds", "sealed")


class Otherwise(Struct, frozen=True, kw_only=True):
    """Another word of the matrix that may hold, how likely, and over what."""

    word: str
    p: float
    under: list[str]


class CoatPlan(Struct, frozen=True, kw_only=True):
    """One coat over what is left of one surface.

    `p`: the chance that `word` holds. Hours and days at the room's temperature, or at the
    coat's own least where the room is colder and has to be warmed. `coats`: least and most, `between` not counted.
    `toner`: whether one holds between these coats, by itself or on the coat `between`.
    """

    over: str
    name: str
    chosen: bool
    means: Meaning
    word: str
    p: float
    told: str
    between: str | None
    coats: tuple[int, int]
    toner: Toned
    over_toner: str
    stack: list[str]
    otherwise: list[Otherwise]
    notes: list[str]
    recoat_hours: tuple[float, float]
    use_hours: float
    cure_days: float
    too_cold: bool
    least_c: float
    wears: str
    back_off: str
    later: dict[str, Meaning]
    cautions: list[str]

    @property
    def toned(self) -> bool:
        """Whether a toner goes on between the coats."""
        return self.toner in HOLDS


def word(recoat: Recoat, under: str, over: str) -> str:
    """The word of the matrix for one pair. Raises KeyError for a row or coat that it has not."""
    return recoat.under[under][over]


def meaning(recoat: Recoat, under: str, over: str) -> Meaning:
    """What the word for one pair comes to. Raises KeyError as `word`."""
    return recoat.words[word(recoat, under, over)].means


def cure_hours(hours: float, celsius: float) -> float:
    """A drying or curing time given for 20 degrees C, at `celsius`: twice as long for each 10 degrees colder."""
    return hours / temperature_factor(celsius)


def coating_c(room_c: float, coat: Coat) -> float:
    """The temperature at which this coat is put on: the room's, or its own least, to which the room is warmed first."""
    return max(room_c, coat.min_c)


def chosen_coat(piece: Piece, done: Examination, knowledge: Knowledge) -> str | None:
    """The coat that the user wants on this surface; where none was named, more of the same on what is renewed."""
    named = done.surface.next_coat or piece.next_coat
    if named or RENEW not in notes(done) or top_goes(handling(done, knowledge)):
        return named
    row = knowledge.finishes[done.posterior.top].recoat_row
    return next((name for name, coat in knowledge.recoat.coats.items() if coat.as_under == row), None)


def recoat_plans(piece: Piece, done: Examination, knowledge: Knowledge, toned: bool = False) -> list[CoatPlan]:
    """Every coat over what is left, the chosen one first, then from works to no; none if the face is left alone.

    toned: whether a toner is to lie between the coats. A toner that was asked for as the
    last coat lies there too, under the clear coat that is then taken for the chosen one.
    """
    how = handling(done, knowledge)
    if how == "leave":
        return []
    rows = under_rows(done, how, knowledge)
    wanted = chosen_coat(piece, done, knowledge)
    closed = wanted == knowledge.recoat.toner
    plans = [_plan(name, rows, piece, done, how, toned or closed, knowledge) for name in knowledge.recoat.coats]
    chosen = _clear_over(plans, knowledge.recoat) if closed else wanted
    plans = [_chosen(plan, closed, notes(done), knowledge) if plan.over == chosen else plan for plan in plans]
    return sorted(plans, key=lambda plan: (not plan.chosen, CAUTION.index(plan.means)))


def _clear_over(plans: Sequence[CoatPlan], recoat: Recoat) -> str:
    """The clear coat over a toner: of those that take one, and of those that go on easiest here, the book's first."""
    found = {plan.over: plan for plan in plans}
    return min(recoat.toner_under, key=lambda name: (not found[name].toned, CAUTION.index(found[name].means)))


def _chosen(plan: CoatPlan, closed: bool, held: frozenset[str], knowledge: Knowledge) -> CoatPlan:
    """The coat that was chosen: why it is this one, and whether the room bears it or what goes under it."""
    why = ["A toner is never the last coat: this clear coat goes over it."] if closed else []
    below = knowledge.recoat.coats[plan.between].cautions if plan.between else []
    room = not_in_this_room([*plan.cautions, *below], held, knowledge) if plan.means != "no" else []
    return replace(plan, chosen=True, told=" ".join([plan.told, *room]), notes=[*why, *plan.notes])


def under_rows(done: Examination, how: Handling, knowledge: Knowledge) -> dict[str, tuple[float, list[str]]]:
    """Row of the matrix -> (chance, what it is in words): bare wood, or what the film that stays may be."""
    wood = knowledge.woods.get(done.surface.wood)
    oily = wood is not None and wood.oily
    bare = knowledge.recoat.bare["oily" if oily else "clean"]
    if ends_bare(how, done.surface) or how == "seal":
        return {bare: (1.0, ["bare oily wood" if oily else "bare wood"])}
    rows: dict[str, tuple[float, list[str]]] = {}
    for finish, p in sorted(films_there(done, how).items(), key=lambda pair: -pair[1]):
        entry = knowledge.finishes[finish]
        row = bare if entry.recoat_row in knowledge.recoat.bare.values() else entry.recoat_row
        before, names = rows.get(row, (0.0, []))
        told = [*names, entry.name] if p >= knowledge.decide.possible else names
        rows[row] = (before + p, told)
    return rows


def _plan(
    over: str,
    rows: Mapping[str, tuple[float, list[str]]],
    piece: Piece,
    done: Examination,
    how: Handling,
    wanted: bool,
    knowledge: Knowledge,
) -> CoatPlan:
    recoat, coat = knowledge.recoat, knowledge.recoat.coats[over]
    celsius = coating_c(piece.room.temperature_c, coat)
    lowered = not top_goes(how) and coat.bonds and _lowered(done, knowledge)
    risen = _risen(rows, done, knowledge)
    words = _by_word(over, rows, risen, recoat, lowered)
    residue = _residue(over, done, how, knowledge)
    left = [w for name, (_, w) in residue.items() if done.posterior.contamination[name] >= DECISIVE]
    said = _bridged(_gravest([_judged(words, recoat, knowledge.decide.possible), *left], recoat), rows, recoat)
    entry = recoat.words[said]
    toned, between = _toned(over, entry.between, wanted, rows, recoat)
    over_toner = _over_toner(over, recoat) if toned in HOLDS else ""
    count = _how_many(coat, film_stays(how, done.surface), parted=toned in HOLDS and between in (None, over))
    notes = [*(text for text, _ in residue.values()), *_cell_notes(over, rows, risen, knowledge)]
    notes += [*_film_notes(lowered, coat), *filter(None, [over_toner])]
    low, high = coat.recoat_hours
    return CoatPlan(
        over=over,
        name=coat.name,
        chosen=False,
        means=entry.means,
        word=said,
        p=words.get(said, (0.0, []))[0],
        told=entry.text,
        between=between,
        coats=count,
        toner=toned,
        over_toner=over_toner,
        stack=_stack(over, count, between, toned, recoat, celsius),
        otherwise=[
            Otherwise(word=w, p=p, under=names)
            for w, (p, names) in words.items()
            if w != said and p >= knowledge.decide.possible
        ],
        notes=notes,
        recoat_hours=(round(cure_hours(low, celsius), 1), round(cure_hours(high, celsius), 1)),
        use_hours=round(cure_hours(coat.use_hours, celsius), 1),
        cure_days=round(cure_hours(coat.cure_days, celsius), 1),
        too_cold=piece.room.temperature_c < coat.min_c,
        least_c=coat.min_c,
        wears=coat.wears,
        back_off=coat.back_off,
        later={name: meaning(recoat, coat.as_under, name) for name in recoat.coats},
        cautions=coat.cautions,
    )


def _risen(rows: Iterable[str], done: Examination, knowledge: Knowledge) -> dict[str, list[str]]:
    """Row -> the rows that the wood under it makes besides: bare wood, and what lies in it as oil and wax do, let it through."""
    recoat = knowledge.recoat
    lets_in = {f.recoat_row for f in knowledge.finishes.values() if f.film.in_wood} | set(recoat.bare.values())
    lets_in |= {residue.row for residue in recoat.residue.values()}
    held = notes(done)
    return {row: [made for note, made in recoat.risen.items() if note in held] for row in rows if row in lets_in}


def _gravest(words: Sequence[str], recoat: Recoat) -> str:
    """Of some words of the matrix the one that warns most, the first of equals."""
    return max(words, key=lambda word: CAUTION.index(recoat.words[word].means))


def _how_many(coat: Coat, over_film: bool, parted: bool) -> tuple[int, int]:
    """Coats, least and most; `parted`: a toner lies between them, so there is one under it and one over it."""
    fewest, most = coat.over_film if over_film else (coat.coats, coat.coats)
    least = 2 if parted else 1
    return max(fewest, least), max(most, least)


def _film_notes(lowered: bool, coat: Coat) -> list[str]:
    """What the film that stays, and the thickness of the new one, want said."""
    notes = ["The film is thick, cracked or crazed: one class worse than over a sound one."] if lowered else []
    if coat.max_dry_um is not None:
        notes.append(f"No more than {coat.max_dry_um:g} um dry in all coats together.")
    return notes


def _by_word(
    over: str,
    rows: Mapping[str, tuple[float, list[str]]],
    risen: Mapping[str, list[str]],
    recoat: Recoat,
    lowered: bool,
) -> dict[str, tuple[float, list[str]]]:
    """Word -> (chance, films), likeliest first; of a row and of what rises under it the graver."""
    found: dict[str, tuple[float, list[str]]] = {}
    for row, (p, names) in rows.items():
        said = _gravest([word(recoat, each, over) for each in (*risen.get(row, ()), row)], recoat)
        said = recoat.words[said].lower if lowered else said
        before, listed = found.get(said, (0.0, []))
        found[said] = (before + p, listed + names)
    return dict(sorted(found.items(), key=lambda pair: -pair[1][0]))


def _judged(words: Mapping[str, tuple[float, list[str]]], recoat: Recoat, possible: float) -> str:
    """One word for all that the film may be, on the safe side.

    Of the words that are possible the most careful; but where only some of the films
    forbid the coat, a test patch instead of a plain no.
    """
    live = [w for w, (p, _) in words.items() if p >= possible] or [next(iter(words))]
    forbidding = [w for w in live if recoat.words[w].means in FORBIDDING]
    if forbidding and len(forbidding) < len(live):
        return recoat.mixed
    return max(live, key=lambda w: (CAUTION.index(recoat.words[w].means), words[w][0]))


def _bridged(said: str, rows: Mapping[str, tuple[float, list[str]]], recoat: Recoat) -> str:
    """The word, unless the coat that should go between would not hold itself."""
    between = recoat.words[said].between
    if between is None:
        return said
    return said if bears(rows, between, recoat) else recoat.words[said].lower


def bears(rows: Mapping[str, tuple[float, list[str]]], over: str, recoat: Recoat) -> bool:
    """Whether the likeliest of what is left bears this coat without a trial."""
    main = max(rows, key=lambda row: rows[row][0])
    return CAUTION.index(meaning(recoat, main, over)) < CAUTION.index("test")


def _residue(over: str, done: Examination, how: Handling, knowledge: Knowledge) -> dict[str, tuple[str, str]]:
    """Contamination -> (what to say, word) for what may lie over the film or stay in the wood."""
    recoat = knowledge.recoat
    return {
        name: (f"{entry.text} ({done.posterior.contamination[name]:.0%})", word(recoat, entry.row, over))
        for name, entry in recoat.residue.items()
        if done.posterior.contamination.get(name, 0.0) >= NOTED and (entry.in_wood or not top_goes(how))
    }


def _lowered(done: Examination, knowledge: Knowledge) -> bool:
    """Whether the film is thick, cracked or crazed."""
    recoat, surface = knowledge.recoat, done.surface
    thick = (
        surface.film_um if surface.film_um is not None else knowledge.finishes[done.posterior.top].film.typical_um[0]
    )
    answers = {t: told_outcome(a) for t, a in surface.tests.items()}
    cracked = any(answers.get(test) in outcomes for test, outcomes in recoat.lowered_by.items())
    return cracked or thick > recoat.thick_um


def _cell_notes(
    over: str, rows: Mapping[str, tuple[float, list[str]]], risen: Mapping[str, list[str]], knowledge: Knowledge
) -> list[str]:
    live = {row for row, (p, _) in rows.items() if p >= knowledge.decide.possible}
    live |= {made for row in live for made in risen.get(row, ())}
    return [cell.note for cell in knowledge.recoat.cells if cell.over == over and cell.note and cell.under in live]


def _toned(
    over: str, between: str | None, wanted: bool, rows: Mapping[str, tuple[float, list[str]]], recoat: Recoat
) -> tuple[Toned, str | None]:
    """Whether a toner that is wanted holds over and under this coat, and the coat that goes on first for it.

    It lies between two coats. Where the coat itself does not bear it, one coat of
    `toner_over` goes first, if that holds on what is left and bears the toner and what comes next.
    """
    if not wanted:
        return "none", between
    as_toner, seal = recoat.coats[recoat.toner].as_under, recoat.toner_over
    if not _works(recoat, as_toner, over):
        return "no", between
    if _works(recoat, recoat.coats[between or over].as_under, recoat.toner):
        return "holds", between
    as_seal = recoat.coats[seal].as_under
    holds = _works(recoat, as_seal, recoat.toner) and _works(recoat, as_seal, over)
    if between is None and holds and bears(rows, seal, recoat):
        return "sealed", seal
    return "no", between


def _over_toner(over: str, recoat: Recoat) -> str:
    """How this coat goes over the toner."""
    return f"Over the toner: {recoat.words[word(recoat, recoat.coats[recoat.toner].as_under, over)].text}"


def _works(recoat: Recoat, under: str, over: str) -> bool:
    return meaning(recoat, under, over) == "works"


def _stack(
    over: str, count: tuple[int, int], between: str | None, toned: Toned, recoat: Recoat, celsius: float
) -> list[str]:
    """The coats from the wood up, with the hours to wait after each."""
    coat = recoat.coats[over]
    low, high = (f"{cure_hours(h, celsius):.2g}" for h in coat.recoat_hours)
    rows = [f"{or_span(count)} coat{'s' if count[1] != 1 else ''} of {coat.name}, {low}-{high} h apart"]
    if toned in HOLDS:
        rows.insert(0, f"the {recoat.coats[recoat.toner].name}, on the first coat and under the rest")
    if between is None or between == over:
        return rows
    first = recoat.coats[between]
    how = recoat.words[word(recoat, first.as_under, over)]
    return [f"1 coat of {first.name}, then {cure_hours(first.recoat_hours[1], celsius):.2g} h. {how.text}", *rows]
