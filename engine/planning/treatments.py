"""Treatments in words: their names, what they must not meet, how strong they are mixed, where they stop short."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Remover, Treatment
from ..piece.form import Room, Surface
from ..words import listed
from .handling import Handling, ends_bare, films_there
from .solubility import clear_above, crystal_grams, stays_clear

BARE = "bare"  # the family of a face without a film


def named(name: str, knowledge: Knowledge) -> str:
    """What a treatment or remover goes by in a sentence; an id that is neither, as it is."""
    for book in (knowledge.treatments, knowledge.removers):
        if name in book:
            return str(book[name].name).lower()
    return name


def on_film(name: str, done: Examination, how: Handling, knowledge: Knowledge) -> Treatment:
    """A treatment as it is done here: the book's own words for this film, where all that it may be is of one kind."""
    films, book = knowledge.finishes, knowledge.treatments[name]
    may = [films[f].family for f, p in films_there(done, how).items() if p >= knowledge.decide.possible]
    here = {BARE} if ends_bare(how, done.surface) else {*may}
    row = next((row for row in book.by_film if here <= {*row.families}), None)
    return book if row is None else replace(book, how=row.how, buy=row.buy, tools=row.tools)


def enemies(name: str, met: Iterable[str], knowledge: Knowledge) -> set[str]:
    """Of the things met, those that must never meet this treatment."""
    book: dict[str, Treatment | Remover] = {**knowledge.removers, **knowledge.treatments}
    mine = set(book[name].never_with)
    theirs = {n for n in met if name in book[n].never_with}
    return (mine & set(met) | theirs) - {name}


def strength(treatment: Treatment, attempt: int, room: Room, knowledge: Knowledge) -> tuple[float | None, str | None]:
    """Grams to the litre for the next attempt, and the mix in words with what the water can hold."""
    if treatment.solution is None:
        return None, treatment.mix
    strengths = treatment.solution.g_l
    grams = strengths[min(attempt, len(strengths) - 1)]
    solute = knowledge.solutes[treatment.solution.solute]
    most = crystal_grams(solute, room.temperature_c)
    told = f"{grams:g} g of crystals to the litre of water; at {room.temperature_c:g} C up to {most:.0f} g dissolve"
    if stays_clear(solute, grams, room.temperature_c):
        return grams, f"{told}, so it stays clear."
    warm = clear_above(solute, grams)
    return grams, f"{told}, so it throws crystals: use it at {warm:g} C or above." if warm else f"{told}: use less."


def stop_short(surface: Surface, knowledge: Knowledge) -> list[str]:
    """That what is laid on a face stops at what is masked in it, named; empty where nothing is."""
    names = masked(surface, knowledge)
    return [f"Stop short of what is masked: {listed(names)}."] if names else []


def masked(surface: Surface, knowledge: Knowledge) -> list[str]:
    """What in this face no liquid may reach, in the words of the book."""
    return [row.name for feature, row in knowledge.work.masks.items() if feature in surface.features]
