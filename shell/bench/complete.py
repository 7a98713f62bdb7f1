"""What a half-typed line may become, with what each completion means. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from .page import Question
from .words import BY_NAME, WORDS, split

if TYPE_CHECKING:
    from ...engine.knowledge.base import Knowledge


class Completion(NamedTuple):
    """A whole word to put in place of the last `replaces` characters, and its meaning."""

    text: str
    means: str
    replaces: int


def complete(text: str, question: Question, knowledge: Knowledge | None) -> list[Completion]:
    """Completions of the line so far: answers and words first, after a word what it takes."""
    word, _ = split(text)
    if word is not None and " " in text:
        begun = text.lstrip().partition(" ")[2].lstrip()
        return _begun(begun, _after(word.name, question, knowledge))
    begun = text.lstrip()
    return _begun(begun, [*_answers(question), *((w.name, w.means) for w in WORDS)]) if begun else []


def _begun(begun: str, rows: list[tuple[str, str]]) -> list[Completion]:
    low = begun.lower()
    return [Completion(name, means, len(begun)) for name, means in rows if name.lower().startswith(low)]


def _answers(question: Question) -> list[tuple[str, str]]:
    return [(c.value, c.text) for c in question.choices if c.value not in BY_NAME]


def _after(word: str, question: Question, knowledge: Knowledge | None) -> list[tuple[str, str]]:
    if word in ("whatif", "unsure", "sure"):
        return _answers(question)
    if word == "surface":
        rows = (("add", "another surface"), ("rename", "this surface"), ("copy", "its wood and build, not its answers"))
        return [*rows, ("drop", "this surface")]
    if word == "units":
        return [("metric", "mm, m2, litres"), ("us", "inches, square feet")]
    if word in ("whynot", "find") and knowledge is not None:
        tables: list[dict[str, Any]] = [knowledge.finishes, knowledge.removers]
        tables += [knowledge.tests, knowledge.woods, knowledge.stains] if word == "find" else []
        return [(name, entry.name) for table in tables for name, entry in table.items()]
    if word == "result":
        return [("all", "in full, with reasons"), ("piece", "the whole piece in short")]
    return []
