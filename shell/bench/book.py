"""The knowledge, fetched in the background while the user answers the first question."""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ...engine.examine import Examiner
    from ...engine.knowledge.base import Knowledge


class Book:
    """An examiner that may still be on its way. Whatever went wrong in fetching is raised by get()."""

    def __init__(self, load: Callable[[], Examiner]) -> None:
        self._load = load
        self._thread: Thread | None = None
        self._found: Examiner | None = None
        self._error: BaseException | None = None

    def start(self) -> None:
        """Begin to fetch, once."""
        if self._thread is None:
            self._thread = Thread(target=self._fetch, name="oldcoat-knowledge", daemon=True)
            self._thread.start()

    @property
    def ready(self) -> bool:
        """Whether get() returns at once."""
        return self._found is not None

    def get(self) -> Examiner:
        """The examiner, waited for if need be."""
        self.start()
        if self._thread is not None:
            self._thread.join()
        if self._error is not None:
            raise self._error
        if self._found is None:
            raise RuntimeError("the knowledge was neither fetched nor refused")
        return self._found

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge, waited for if need be."""
        return self.get().knowledge

    def _fetch(self) -> None:
        try:
            self._found = self._load()
        except BaseException as error:
            self._error = error
