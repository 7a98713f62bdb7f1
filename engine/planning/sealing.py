"""Whether what is in the wood or on its film has to be sealed in before the coat, why, and whether the coat bears it."""

from __future__ import annotations

from typing import Literal

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..knowledge.entries import Recoat
from .handling import Handling, ends_bare, film_stays, films_there
from .recoat import NOTED, CoatPlan, bears, meaning, under_rows

Sealing = Literal[
    "none", "step", "first-coat", "refused"
]  # its own step, what the first coat does, not under this coat
SEAL = "note.seal-in"  # what the rules of the book conclude for the planner
SEAL_UNDER_WATER = "note.seal-under-water"


def seal_reasons(done: Examination, how: Handling, coat: CoatPlan | None, knowledge: Knowledge) -> list[str]:
    """Why: the rules that say so, and what stays in or on the face that this coat does not go over as it is.

    What comes up from the wood comes up through oil and wax too, and not through a film that
    stays. Empty where nothing wants it, or where the film that stays bears no seal.
    """
    bare = ends_bare(how, done.surface) or how == "seal"
    if not bare and not _takes_seal(done, how, coat, knowledge):
        return []
    wet = coat is not None and knowledge.recoat.coats[coat.over].water
    asked = {SEAL, SEAL_UNDER_WATER} if wet else {SEAL}
    rises = bare or _open(done, how, knowledge)
    why = [firing.rule.why for firing in done.firings if rises and asked & set(firing.rule.then.facts)]
    recoat, over = knowledge.recoat, done.posterior.contamination
    left = [r for name, r in recoat.residue.items() if r.in_wood and over.get(name, 0.0) >= NOTED]
    why += [r.text for r in left if coat is None or meaning(recoat, r.row, coat.over) != "works"]
    return why if bare or coat is None else why + _asked_by_film(done, how, coat, knowledge)


def _open(done: Examination, how: Handling, knowledge: Knowledge) -> bool:
    """Whether the film that stays lets through what comes up from the wood: it is in the wood, or it is wax."""
    films, recoat = films_there(done, how), knowledge.recoat
    film = knowledge.finishes[max(films, key=lambda f: (films[f], f))]
    return film.film.in_wood or film.recoat_row in {residue.row for residue in recoat.residue.values()}


def _takes_seal(done: Examination, how: Handling, coat: CoatPlan | None, knowledge: Knowledge) -> bool:
    """Whether the seal holds on the film that stays, or that is washed off for the coat, and the coat on the seal."""
    recoat, seal = knowledge.recoat, knowledge.work.seal
    if not film_stays(how, done.surface) or coat is None or seal is None or not _bears(coat, seal, recoat):
        return False
    return coat.means == "remove" or bears(under_rows(done, how, knowledge), seal, recoat)


def _asked_by_film(done: Examination, how: Handling, coat: CoatPlan, knowledge: Knowledge) -> list[str]:
    """What the matrix says of a seal between the coat and a film that may be there."""
    recoat, rows = knowledge.recoat, under_rows(done, how, knowledge)
    live = {row for row, (p, _) in rows.items() if p >= knowledge.decide.possible}
    cells = [cell.note for cell in recoat.cells if cell.seal and cell.over == coat.over and cell.under in live]
    maybe = [recoat.words[other.word] for other in coat.otherwise]
    return [*filter(None, cells), *(word.text for word in maybe if word.between == knowledge.work.seal)]


def sealing(reasons: list[str], coat: CoatPlan | None, knowledge: Knowledge) -> Sealing:
    """What becomes of the seal under the coat that goes on; where none was named it is a step."""
    recoat, seal = knowledge.recoat, knowledge.work.seal
    if not reasons or seal is None:
        return "none"
    if coat is None:
        return "step"
    if seal in (coat.between, coat.over):
        return "first-coat"
    return "step" if _bears(coat, seal, recoat) else "refused"


def _bears(coat: CoatPlan, seal: str, recoat: Recoat) -> bool:
    return meaning(recoat, recoat.coats[seal].as_under, coat.between or coat.over) in ("works", "after-cure")
