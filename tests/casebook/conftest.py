"""A casebook in a temporary folder, and the command line in a home of its own."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented import Say, piece

from oldcoat.engine.casebook.store import Casebook
from oldcoat.engine.storage import to_yaml
from oldcoat.shell.cli import run


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    """An empty casebook."""
    return Casebook(tmp_path / "data" / "cases")


@pytest.fixture
def say(tmp_path: Path, cache: Path, capsys: pytest.CaptureFixture[str]) -> Say:
    """Runs a command line in a home of its own, an invented piece beside it; (exit code, output, errors)."""
    (tmp_path / "home" / "cases").mkdir(parents=True)
    (tmp_path / "home" / "cache").symlink_to(cache)
    (tmp_path / "table.yaml").write_text(to_yaml(piece()))

    def call(*words: str) -> tuple[int, str, str]:
        code = run(["--home", str(tmp_path / "home"), *words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return call
