"""Where things are kept on this machine: nothing is littered in the home folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Places:
    """The folders that the program may write to, and the user's own knowledge."""

    cases: Path
    sessions: Path
    cache: Path
    knowledge: Path
    settings: Path
    history: Path


def places(home: Path | None) -> Places:
    """Folders under `home`, or the platform's own folders if it is None."""
    if home is not None:
        return Places(
            home / "cases",
            home / "sessions",
            home / "cache",
            home / "knowledge",
            home / "settings.json",
            home / "history",
        )
    from platformdirs import PlatformDirs

    dirs = PlatformDirs("oldcoat", appauthor=False)
    data = dirs.user_data_path
    return Places(
        data / "cases",
        dirs.user_state_path / "sessions",
        dirs.user_cache_path,
        data / "knowledge",
        dirs.user_config_path / "settings.json",
        dirs.user_state_path / "history",
    )
