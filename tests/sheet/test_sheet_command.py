"""`oldcoat sheet`: where the page goes, and what is said if it cannot go there."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from oldcoat.shell import exits
from oldcoat.shell.cli import run

from .conftest import DEMOS
from .markup import Page


def _sheet(cache: Path, *more: str) -> int:
    return run(["--home", str(cache.parent), "sheet", str(DEMOS[0]), *more])


def test_the_page_goes_to_the_file_that_was_named(cache: Path, tmp_path: Path) -> None:
    """Whole, in UTF-8, and nothing beside it."""
    out = tmp_path / "out.html"
    assert _sheet(cache, "-o", str(out)) == exits.DONE
    assert Page(out.read_text("utf-8")).all("main")
    assert [p.name for p in tmp_path.iterdir()] == ["out.html"]


def test_without_a_file_the_page_goes_to_standard_output(cache: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same page, and nothing else there."""
    assert _sheet(cache) == exits.DONE
    assert Page(capsys.readouterr().out).all("main")


@pytest.mark.parametrize("where", ["a folder", "a device", "below a file", "the piece file"])
def test_a_place_that_cannot_be_written_is_refused_in_words(
    where: str, cache: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 3, one line that names the place, and what was there is still there."""
    taken = tmp_path / "taken.txt"
    taken.write_text("kept", "utf-8")
    piece = tmp_path / "piece.yaml"
    piece.write_text(DEMOS[0].read_text("utf-8"), "utf-8")
    out = {
        "a folder": tmp_path,
        "a device": Path(os.devnull),
        "below a file": taken / "x.html",
        "the piece file": piece,
    }
    assert run(["--home", str(cache.parent), "sheet", str(piece), "-o", str(out[where])]) == exits.BAD_INPUT
    told = capsys.readouterr().err
    assert str(out[where]) in told
    assert "cannot be written" in told
    assert "Traceback" not in told
    assert taken.read_text("utf-8") == "kept"
    assert piece.read_text("utf-8") == DEMOS[0].read_text("utf-8")
    assert not Path(os.devnull).is_file()
