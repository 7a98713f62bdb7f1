"""What lies on the bench: the session, the knowledge, the user's settings, and what was worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import replace

from ..settings import Settings
from .book import Book
from .page import Misread

if TYPE_CHECKING:
    from ...engine.casebook.store import Casebook
    from ...engine.deciding.nexttest import Worth
    from ...engine.deciding.routes import Route
    from ...engine.examine import Examination
    from ...engine.knowledge.base import Knowledge
    from ...engine.piece.form import Answer, Piece, Surface
    from ...engine.planning.facing import Facing
    from ...engine.report.assessment import RouteReport
    from ...engine.session.aside import Usable
    from ...engine.session.events import AnyEvent, PieceTold, SurfaceTold
    from ...engine.session.fold import State
    from ...engine.session.store import Session


class Desk(Struct):
    """Everything that a question may look at or change.

    folder: where sessions are kept; file: the piece file to write on leaving, if any;
    in_file: the piece that stood in it when it was last read or written; undecided: the same, while it and
    what is kept here differ and the user has not said which counts: until then nothing is told or written.
    wrote: file -> the piece that the bench wrote there; anything else is kept beside it before it is written over.
    picked: the test that is asked instead of the best one; returned: the same, come back to by `back`.
    untold: names that were set aside, as the knowledge does not know them, until the user was told.
    remember: writes the settings down; casebook: where finished pieces are kept.
    """

    book: Book
    folder: Path
    settings: Settings
    remember: Callable[[Settings], None]
    casebook: Callable[[], Casebook]
    file: Path | None = None
    in_file: Piece | None = None
    undecided: Piece | None = None
    wrote: dict[Path, Piece] = field(default_factory=dict)
    session: Session | None = None
    picked: str | None = None
    returned: str | None = None
    unsure: bool = False
    untold: tuple[str, ...] = ()
    _usable: tuple[State, Usable] | None = None
    _seen: dict[str, tuple[tuple[Piece, Surface], Examination]] = field(default_factory=dict)

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge, waited for if it is still on its way."""
        return self.book.knowledge

    @property
    def begun(self) -> bool:
        """Whether a piece is on the bench."""
        return self.session is not None and self.session.begun

    @property
    def state(self) -> State:
        """Where the session stands, as far as the knowledge knows what it names; a piece must be on the bench."""
        return self._used().state

    @property
    def whole(self) -> Piece:
        """The piece with all that was told, what the knowledge does not know included: what is written."""
        if self.session is None:
            raise LookupError("there is no piece on the bench yet")
        return self.session.state.piece

    @property
    def aside(self) -> tuple[str, ...]:
        """The names that the knowledge does not know: what was told of them waits in the log."""
        return self._used().aside

    def _used(self) -> Usable:
        from ...engine.session.aside import usable

        if self.session is None:
            raise LookupError("there is no piece on the bench yet")
        state = self.session.state
        if self._usable is None or self._usable[0] is not state:
            before = self._usable[1].aside if self._usable else ()
            self._usable = (state, usable(state, self.knowledge))
            self.untold += tuple(name for name in self._usable[1].aside if name not in before)
        return self._usable[1]

    def do(self, event: AnyEvent) -> None:
        """Let one event happen: on the disk first. Raises BadEvent or OSError, Misread for what no piece file may say."""
        from ...engine.session.events import PieceTold, SurfaceTold

        if self.session is None:
            raise LookupError("there is no piece on the bench yet")
        if isinstance(event, PieceTold | SurfaceTold):
            self._refuse_mistakes(event)
        self.session.do(event)

    def told_before(self, field: str, usual: Any) -> Any:
        """What intake was told of a field before `back` took it back; `usual` if nothing."""
        from ...engine.session.events import PieceTold, SurfacesNamed, SurfaceTold

        for event in self.session.taken_back if self.session is not None else []:
            if isinstance(event, SurfacesNamed) and field == "surfaces":
                return event.names
            if isinstance(event, PieceTold | SurfaceTold) and event.field == field and _of_all(event):
                return event.value
        return usual

    def answer_before(self, test: str) -> Answer | None:
        """The answer to a test here: as it stands, or as it was if `back` has just taken it back."""
        from ...engine.piece.aside import knows_answer
        from ...engine.piece.form import NOT_DONE, Answer, as_answer
        from ...engine.session.events import Answered

        given = self.state.here.tests.get(test)
        if given is not None:
            answer = as_answer(given)
            return None if answer.outcome == NOT_DONE else answer
        gone = self.session.taken_back[0] if self.session is not None and self.returned == test else None
        if isinstance(gone, Answered) and gone.test == test and knows_answer(test, gone.outcome, self.knowledge):
            return Answer(outcome=gone.outcome, sure=gone.sure, note=gone.note)
        return None

    def _refuse_mistakes(self, event: PieceTold | SurfaceTold) -> None:
        """Raises Misread for an event after which `assess` would no longer read the piece."""
        from ...engine.piece.reader import mistakes
        from ...engine.reading.yamltext import Document
        from ...engine.session.fold import apply

        nowhere = Document("", None, {})
        before, after = self.state.piece, apply(self.state, event).piece
        known = {p.message for p in mistakes(nowhere, before, self.knowledge)}
        for problem in mistakes(nowhere, after, self.knowledge):
            if problem.message not in known:
                raise Misread(f"That cannot be: {problem.message}{f'; {problem.hint}' if problem.hint else ''}.")

    def keep(self, settings: Settings) -> None:
        """Remember settings for the next time."""
        self.settings = settings
        self.remember(settings)

    def examined(self, name: str | None = None) -> Examination:
        """One surface worked out; only worked out again if it or its piece has changed."""
        state = self.state
        surface = next(s for s in state.piece.surfaces if s.name == (name or state.surface))
        key = (_shared(state.piece), surface)
        kept = self._seen.get(surface.name)
        if kept is None or kept[0] != key:
            kept = (key, self.book.get().examine(state.piece, surface))
            self._seen[surface.name] = kept
        return kept[1]

    def told_route(self, done: Examination, route: Route) -> RouteReport:
        """A route in words, with the cautions that matter on its surface."""
        from ...engine.report.told import only_here, told_route

        return told_route(only_here(route, self._facing(done).conditions, self.knowledge), done, self.knowledge)

    def treating(self, treatments: Iterable[str] | None = None) -> list[str]:
        """The cautions of treatments that matter here, as engine.report tells them; of those that come next if none is named."""
        from ...engine.planning.minding import cautions_here
        from ...engine.report.warned import told_cautions

        here, book = self._facing(self.examined()), self.knowledge
        names = [rung.treatment for rung in here.rungs] if treatments is None else treatments
        warned = [caution for name in names for caution in book.treatments[name].cautions]
        return told_cautions(cautions_here(warned, here.conditions, book), book)

    def _facing(self, done: Examination) -> Facing:
        from ...engine.planning.facing import facing
        from ...engine.planning.rooms import rooms

        piece, book = self.state.piece, self.knowledge
        return facing(piece, done, rooms(piece, [done], book), book)

    def odd_ones(self) -> list[str]:
        """Surfaces that depart from their sisters, in words."""
        from ...engine.report.sisters import odd_ones

        touched = [s.name for s in self.state.piece.surfaces if s.tests or s.tried or s.known]
        return odd_ones([self.examined(name) for name in touched], self.knowledge)

    def tests(self) -> list[Worth]:
        """Tests that can be proposed here, the gentlest of the best first."""
        from ...engine.deciding.escalate import gentlest_first

        return gentlest_first(self.examined().worths, self.knowledge)


def _of_all(event: PieceTold | SurfaceTold) -> bool:
    """Whether an event tells of the whole piece, and not of one surface."""
    return getattr(event, "surface", None) is None


def _shared(piece: Piece) -> Piece:
    """What all surfaces of a piece share: all but answers and notes."""
    from ...engine.piece.form import Surface

    faces = [Surface(name=s.name, area_m2=s.area_m2, hidden=s.hidden) for s in piece.surfaces]
    return replace(piece, surfaces=faces, note="", parts=[], money=None, case=None)
