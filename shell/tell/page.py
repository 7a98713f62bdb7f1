"""The page of one knowledge entry on a terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from ...engine.knowledge.base import Knowledge
from ...engine.knowledge.entries import EFFECTS, Effect, Family, Finish, Likelihood, Remover, Test
from .because import RESERVED
from .fields import told_field
from .lookup import origin_of
from .miniatures import miniature
from .pages import PAGES, tell_law
from .screen import Screen

SET = {
    "none": "dried and not cured",
    "light": "cured, lightly linked",
    "dense": "cured, tightly crosslinked",
}
MARKS = ("no mark", "a mark that polishes out", "a mark to be mended", "nothing of the spot")


def tell_page(kind: str, name: str, entry: Any, knowledge: Knowledge, screen: Screen) -> None:
    """The whole page, with its layer and its sources."""
    screen.heading(f"{getattr(entry, 'name', name)} ({kind})")
    page = _PAGES.get(kind, _any)
    page(name, entry, knowledge, screen)
    origin = origin_of(kind, name, knowledge)
    if hasattr(entry, "status"):
        screen.line(f"Status: {entry.status}.", indent=2)
    for phrase in getattr(entry, "wrong_if", []):
        screen.marked("misleads if", phrase)
    names = [s for s in getattr(entry, "source", []) if isinstance(s, str)]
    for source in names:
        cite = RESERVED.get(source) or (knowledge.sources[source].cite if source in knowledge.sources else source)
        screen.marked(f"[{source}]", cite)
    if origin:
        screen.line(f"Layer: {origin.layer}.", "dim", indent=2)


def _finish(name: str, entry: Finish, knowledge: Knowledge, screen: Screen) -> None:
    family = knowledge.families[entry.family].name
    rows = (
        ("What it is", entry.about),
        ("Family", family),
        ("Used", entry.used),
        ("Looks", entry.looks),
        ("Ages", entry.ages),
        ("Comes off", entry.takes_off),
        ("Harmed by", entry.harmed_by),
    )
    for head, text in rows:
        screen.marked(f"{head}:", text)
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)
    low, high = entry.film.typical_um
    links = f" ({', '.join(entry.chemistry.bonds)} links)" if entry.chemistry.bonds else ""
    film = f"{low:.0f}-{high:.0f} um, {SET[entry.chemistry.network]}{links}" if high else "none"
    screen.marked("Film:", film)
    screen.line("How to tell it from its neighbours", "bold", indent=2)
    for row in entry.neighbours:
        tests = ", ".join(knowledge.test_name(t) for t in row.tests)
        screen.marked(screen.bullet, f"{knowledge.finishes[row.finish].name}: {row.tell} Tests: {tests}.", 4)
    screen.line("What takes it off, by rule", "bold", indent=2)
    pairs = sorted(
        knowledge.pairs[name].items(), key=lambda pair: _cleanness(knowledge.removers[pair[0]], pair[1].gives)
    )
    for remover, pair in pairs:
        told = ", ".join(f"{e.replace('-', ' ')} {pair.gives[e]:.0%}" for e in EFFECTS if pair.gives[e] >= 0.1)
        screen.marked(screen.bullet, f"{knowledge.removers[remover].name}: {told}", 4)


def _test(_name: str, entry: Test, knowledge: Knowledge, screen: Screen) -> None:
    screen.marked("Asks:", entry.ask)
    screen.marked("How:", entry.how)
    screen.marked("Watch:", entry.watch)
    screen.marked("Cost:", f"{entry.minutes:g} min; {entry.stage.replace('-', ' ')}; leaves {MARKS[entry.mark]}")
    screen.marked("Tools:", ", ".join(knowledge.vocabulary.tools[t].name for t in entry.tools) or "none")
    if entry.helps:
        screen.marked("Helps:", ", ".join(knowledge.vocabulary.tools[t].name for t in entry.helps))
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)
    for distrust in entry.distrust:
        screen.marked("distrust if", distrust)
    for outcome in entry.outcomes:
        screen.line(outcome.id, "bold", indent=2)
        screen.line(outcome.sees, indent=4)
        if outcome.drawing and not screen.plain:
            screen.lines(miniature(outcome.drawing), indent=6)
        for band in sorted(knowledge.belief.bands, key=lambda b: -knowledge.belief.bands[b]):
            rows = [row for row in entry.bands if row.gives.get(outcome.id) == band]
            if rows:
                screen.marked(f"{band.replace('-', ' ')}:", _told_rows(rows, knowledge), 4)


def _told_rows(rows: Sequence[Likelihood], knowledge: Knowledge) -> str:
    """Finishes and families by name, those that the sources disagree on marked, then all the sources."""
    groups: dict[str, Family | Finish] = {**knowledge.families, **knowledge.finishes}
    names = [groups[f].name + (" (sources disagree)" if row.disputed else "") for row in rows for f in row.finishes]
    sources = dict.fromkeys(s for row in rows for s in row.source)
    return f"{', '.join(dict.fromkeys(names))} [{', '.join(sources)}]"


def _cleanness(remover: Remover, gives: Mapping[Effect, float]) -> tuple[bool, float, float]:
    """Sorts what dissolves first, in steps of a tenth, then what lifts; what takes wood along comes last."""
    return remover.action in ("abrasion", "cutting"), -round(gives["dissolves"], 1), -gives["lifts"]


def _remover(name: str, entry: Remover, knowledge: Knowledge, screen: Screen) -> None:
    for head, text in (
        ("What it is", entry.about),
        ("Before", entry.before),
        ("How", entry.how),
        ("After", entry.after),
        ("Residue", entry.residue),
    ):
        if text:
            screen.marked(f"{head}:", text)
    if name in knowledge.burn:
        screen.marked("Burns:", f"taken as {entry.traits[-1]}, {knowledge.burn[name]}")
    for caution in entry.cautions:
        screen.marked("!", knowledge.cautions[caution].text)
    tell_law(entry.law, knowledge, screen)
    screen.line("On each finish", "bold", indent=2)
    for finish, pairs in sorted(knowledge.pairs.items()):
        pair = pairs[name]
        told = ", ".join(f"{e.replace('-', ' ')} {pair.gives[e]:.0%}" for e in EFFECTS if pair.gives[e] >= 0.1)
        mark = " (exception)" if pair.exception else ""
        screen.marked(screen.bullet, f"{knowledge.finishes[finish].name}: {told}{mark}", 4)


def _any(_name: str, entry: Any, _knowledge: Knowledge, screen: Screen) -> None:
    for field in entry.__struct_fields__:
        if field not in ("name", "status", "wrong_if", "source"):
            value = getattr(entry, field)
            if value not in (None, [], {}, ""):
                label, told = told_field(field, value)
                screen.marked(f"{label}:", told)


_PAGES: dict[str, Callable[[str, Any, Knowledge, Screen], None]] = {
    "finish": _finish,
    "test": _test,
    "remover": _remover,
    **PAGES,
}
