"""The entry point: runs a command and turns every way of failing into a message and an exit code."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import NoReturn

from ..engine.version import VERSION
from . import exits

SELDOM = 100_000  # a book of many small objects: looking through it for cycles at each 700 costs a sixth of a command


def main() -> NoReturn:
    """Run the command line; never returns, never shows a traceback."""
    if sys.argv[1:] == ["--version"]:
        print(f"oldcoat {VERSION}")
        sys.exit(exits.DONE)
    if sys.stderr is None:
        sys.stderr = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  # open to the end
    if sys.stdout is None:
        print("oldcoat: the output cannot be written: standard output is closed", file=sys.stderr)
        sys.exit(exits.BAD_INPUT)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    gc.set_threshold(SELDOM, 20, 20)
    sys.exit(_run(sys.argv[1:]))


def _run(arguments: list[str]) -> int:
    try:
        from .cli import run

        code = run(arguments)
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        return exits.CANCELLED
    except (BrokenPipeError, SystemExit):  # the libraries below leave by SystemExit when nobody reads on
        _let_go()
        return exits.DONE
    except Exception as error:  # the last line of defence: a bug of ours, told as such
        if isinstance(error, OSError) and error.filename is None:  # a stream, not a file: the output
            _let_go()
            print(f"oldcoat: the output cannot be written: {error.strerror or error}", file=sys.stderr)
            return exits.BAD_INPUT
        if isinstance(error, OSError):  # a place that refuses
            print(f"oldcoat: {error.filename}: {error.strerror or error}", file=sys.stderr)
            return exits.BAD_INPUT
        from .crash import tell_crash

        return tell_crash(error)


def _let_go() -> None:
    """Send what is still to be written nowhere, so that leaving says nothing more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
