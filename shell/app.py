"""What every command shares: places, knowledge, screen, and how failure is told."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from .places import Places, places
from .settings import Settings, Units, keep_settings, read_settings

if TYPE_CHECKING:
    from ..engine import Examiner
    from ..engine.casebook.index import Index
    from ..engine.casebook.store import Casebook
    from ..engine.knowledge.base import Knowledge
    from ..engine.piece.form import Piece
    from ..engine.problems import Problem
    from .tell.screen import Screen


@dataclass
class App:
    """The global options and what follows from them."""

    extra: Sequence[Path] = ()
    home: Path | None = None
    asked_units: Units | None = None
    plain: bool = False
    as_json: bool = False
    with_casebook: bool = True
    told_left_out: bool = False
    set_aside: list[str] = field(default_factory=list)

    @cached_property
    def places(self) -> Places:
        """Folders of this user."""
        return places(self.home)

    @cached_property
    def settings(self) -> Settings:
        """What this user told earlier; units as asked for now."""
        kept = read_settings(self.places.settings)
        return msgspec.structs.replace(kept, units=self.asked_units) if self.asked_units else kept

    @property
    def units(self) -> Units:
        """Units for what is shown and typed."""
        return self.settings.units

    def remember(self, settings: Settings) -> None:
        """Keep settings for the next time; a disk that refuses costs only that."""
        with contextlib.suppress(OSError):
            keep_settings(self.places.settings, settings)

    @cached_property
    def screen(self) -> Screen:
        """Standard output."""
        from .tell.screen import Screen

        return Screen(self.plain, us=self.units == "us")

    @cached_property
    def knowledge(self) -> Knowledge:
        """Shipped knowledge with the user's own over it. Raises BadKnowledge."""
        from ..engine import open_knowledge

        own = [self.places.knowledge] if self.places.knowledge.is_dir() else []
        return open_knowledge([*own, *self.extra], self.places.cache)

    @cached_property
    def examiner(self) -> Examiner:
        """The knowledge made ready, with what the casebook adds unless it is switched off."""
        from ..engine import Examiner

        return Examiner(self.knowledge, self.index.counts() if self.uses_casebook else None)

    @property
    def uses_casebook(self) -> bool:
        """Whether cases are to count and there may be any."""
        return self.with_casebook and self.places.cases.is_dir()

    @cached_property
    def casebook(self) -> Casebook:
        """The user's cases."""
        from ..engine.casebook.store import Casebook

        return Casebook(self.places.cases)

    @cached_property
    def index(self) -> Index:
        """The index of the user's cases under this knowledge."""
        from ..engine.belief.tables import Tables
        from ..engine.casebook.index import Index
        from .tell.progress import progress

        return Index(self.casebook, Tables(self.knowledge), self.places.cache, progress("reading the casebook"))

    def read_piece(self, file: Path) -> Piece:
        """The piece in a file, without what it says of own entries that were left out, which is told. Raises BadInput."""
        from ..engine import read_piece

        return read_piece(file, self.knowledge, self.set_aside)

    def left_out(self) -> tuple[list[Problem], list[Problem], list[Problem]]:
        """What was used and does not count: of the user's knowledge, cases that cannot be read, words of cases.

        Told once: the second time there is nothing. Nothing is fetched for it: what was not
        looked at is not told of.
        """
        told, self.told_left_out = self.told_left_out, True
        if told:
            return [], [], []
        ready = vars(self)
        own = self.knowledge.left_out if "knowledge" in ready else []
        return (own, self.index.unread, self.index.unknown) if "index" in ready else (own, [], [])

    def tell_left_out(self, most: int = 3) -> None:
        """Name on standard error what does not count, the first few and where to see all, unless that was done."""
        from .tell.safe import safe

        own, unread, unknown = self.left_out()
        cases = [f"left out of your casebook: {problem}" for problem in unread]
        cases += [f"does not count in your casebook: {problem}" for problem in unknown]
        knowledge = [f"left out of your knowledge: {problem}" for problem in own]
        for line in self.set_aside:
            print(safe(line), file=sys.stderr)
        for rows, see in ((knowledge, ("knowledge", "check")), (cases, ("case", "list"))):
            for row in rows[:most]:
                print(safe(row), file=sys.stderr)
            if len(rows) > most:
                print(f"... and {len(rows) - most} more: {self.command(*see)}", file=sys.stderr)

    def command(self, *words: str) -> str:
        """A command line that does something under the same home and knowledge as this one, fit to be pasted."""
        import shlex

        own = [word for folder in self.extra for word in ("--knowledge", str(folder))]
        home = ["--home", str(self.home)] if self.home is not None else []
        return shlex.join(["oldcoat", *home, *own, *words])

    def interactive(self) -> bool:
        """Whether a person sits at both ends."""
        return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
