"""The words that are understood at every prompt: one list for doing, help and completion."""

from __future__ import annotations

import re

from msgspec import Struct

from .page import Misread

PLAIN = re.compile(r"(?!\d+\Z)[^\s,;\"]+( [^\s,;\"]+)*")  # a name that needs no quotes
LONGEST = 200


class Word(Struct, frozen=True):
    """A word, its short forms, what may follow it, what it does."""

    name: str
    short: tuple[str, ...]
    takes: str
    means: str


WORDS = (
    Word("why", (), "", "Why this is asked."),
    Word("how", (), "all", "How the ranking came about: what weighed most, or all."),
    Word("whynot", (), "FINISH or REMOVER", "Why not that finish, or that remover."),
    Word("whatif", ("if",), "NUMBER", "What an answer would change, without giving it."),
    Word("back", ("undo", "b"), "", "Take the last answer back; in a list or in done: one question back."),
    Word("list", ("answers", "l"), "notes", "The answers on this surface; pick one to change it. The notes in full."),
    Word("skip", ("s",), "", "Leave this test out; it stays in the list of tests."),
    Word("cannot", (), "", "This test could not be done."),
    Word("unsure", ("u",), "NUMBER", "Give an answer that you are not sure of."),
    Word("tests", ("t",), "", "All tests; pick any."),
    Word("more", ("m",), "", "The next part of a long list; the space bar does it too."),
    Word("cautions", (), "", "The cautions of this test or route in full."),
    Word("result", ("route",), "all or piece", "What is on it and what takes it off; in full; the whole piece."),
    Word("about", ("a",), "SURFACE", "More about a surface: size, inlay, repairs, plan, stains."),
    Word("note", (), "TEXT", "A note on the last answer here, or on the surface."),
    Word("sure", (), "NUMBER", "Give an answer that you are sure of."),
    Word("time", (), "MINUTES", "Count the time of this test down; Enter leaves early."),
    Word("surface", (), "NUMBER, add, rename, copy or drop NAME", "Go to a surface, or change the list of them."),
    Word("drop", (), "SURFACE", "Drop a surface and its answers."),
    Word("rename", (), "SURFACE NEW-NAME", "Give a surface another name."),
    Word("piece", (), "", "Correct what was told of the piece, the room and the work."),
    Word("have", (), "", "What you have at hand."),
    Word("tried", (), "", "Tell what a remover did that was tried here."),
    Word("stain", (), "", "Tell of a stain on this surface."),
    Word("find", ("show",), "NAME", "The page of a finish, test, remover, wood or stain."),
    Word("units", (), "metric or us", "Units for what is shown and typed."),
    Word("save", (), "FILE", "Write a piece file, which `oldcoat assess` reads."),
    Word("done", (), "", "The work is over: what was really there and what took it off, for the casebook."),
    Word("help", ("h", "?"), "", "These words."),
    Word("leave", ("quit", "exit", "q"), "", "Keep everything and leave."),
)

BY_NAME = {name: word for word in WORDS for name in (word.name, *word.short)}
IN_TWO = {"why not": "whynot", "what if": "whatif"}  # words that people write in two


def quoted(name: str) -> str:
    """A name as it can be typed back: in quotes where it would else be read as something else."""
    return name if PLAIN.fullmatch(name) else f'"{name}"'


def list_of_names(line: str) -> list[str]:
    """Names of a list with commas or semicolons between; quotes keep one together. Raises Misread."""
    names = [name[:LONGEST] for name in (word.strip() for word in in_quotes(line, ",;")) if name]
    alike = next((n for i, n in enumerate(names) if n.casefold() in {m.casefold() for m in names[:i] if m != n}), None)
    if alike is not None:
        raise Misread(f"There is another {quoted(alike)} in the list: capitals alone do not make another name.")
    if any(name.isdigit() for name in names):
        raise Misread("A figure alone is no name: it would be read as a number of the list.")
    return names


def in_quotes(line: str, between: str = " ") -> list[str]:
    """The words of a line as a shell parts them, by any of `between`; only \" quotes. Raises Misread."""
    import shlex

    lexer = shlex.shlex(line, posix=True)
    lexer.whitespace, lexer.whitespace_split, lexer.quotes = between, True, '"'
    lexer.commenters = lexer.escape = ""
    try:
        return list(lexer)
    except ValueError:
        raise Misread('A quote has no end. Type such as: "left; right".') from None


def new_name(text: str) -> str:
    """A name for a surface that can be typed back. Raises Misread."""
    name = text[1:-1].strip() if len(text) > 2 and text[0] == text[-1] == '"' else text.strip()
    if '"' in name or not name:
        raise Misread("A name is one or more words, without quotes in it.")
    if text == name and not PLAIN.fullmatch(name):
        raise Misread(f'A name with a comma or ; in it, or of figures alone, stands in quotes: "{name[:40]}".')
    return name[:LONGEST]


def split(line: str) -> tuple[Word | None, str]:
    """The word that a line begins with, and the rest; no word if it begins with something else."""
    parts = line.strip().split(maxsplit=2)
    for apart, whole in IN_TWO.items():
        if " ".join(parts[:2]).lower() == apart:
            return BY_NAME[whole], "".join(parts[2:])
    head, _, rest = line.strip().partition(" ")
    return BY_NAME.get(head.lower()), rest.strip()
