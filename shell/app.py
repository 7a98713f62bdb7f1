"""What every command shares: places, knowledge, screen, and how failure is told."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from .places import Places, places

if TYPE_CHECKING:
    from ..engine import Examiner
    from ..engine.knowledge.base import Knowledge
    from .tell.screen import Screen


@dataclass
class App:
    """The global options and what follows from them."""

    extra: Sequence[Path] = ()
    home: Path | None = None
    units: str = "metric"
    plain: bool = False
    as_json: bool = False
    with_casebook: bool = True
    _made: dict[str, object] = field(default_factory=dict)

    @cached_property
    def places(self) -> Places:
        """Folders of this user."""
        return places(self.home)

    @cached_property
    def screen(self) -> Screen:
        """Standard output."""
        from .tell.screen import Screen

        return Screen(self.plain)

    @cached_property
    def knowledge(self) -> Knowledge:
        """Shipped knowledge with the user's own over it. Raises BadKnowledge."""
        from ..engine import open_knowledge

        own = [self.places.knowledge] if self.places.knowledge.is_dir() else []
        return open_knowledge([*own, *self.extra], self.places.cache)

    @cached_property
    def examiner(self) -> Examiner:
        """The knowledge made ready, with what the casebook adds."""
        from ..engine import Examiner

        return Examiner(self.knowledge)

    def interactive(self) -> bool:
        """Whether a person sits at both ends."""
        return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
