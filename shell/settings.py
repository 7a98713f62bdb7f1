"""What is remembered between sessions: units, whose rules apply, what the user has at hand."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

Units = Literal["metric", "us"]


class Settings(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """The user's own settings; `have` None means that nothing is left out, once `have_told`."""

    units: Units = "metric"
    place: str | None = None
    have: list[str] | None = None
    have_told: bool = False


def read_settings(path: Path) -> Settings:
    """What is kept at `path`; the defaults if nothing readable is."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=Settings)
    except (OSError, msgspec.DecodeError):
        return Settings()


def keep_settings(path: Path, settings: Settings) -> None:
    """Write the settings whole. Raises OSError."""
    from ..engine.storage import write_whole

    write_whole(path, msgspec.json.encode(settings).decode() + "\n")
