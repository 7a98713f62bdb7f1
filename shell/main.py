"""The entry point: runs a command and turns every way of failing into a message and an exit code."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

from ..engine.version import VERSION
from . import exits


def main() -> NoReturn:
    """Run the command line; never returns, never shows a traceback."""
    if sys.argv[1:] == ["--version"]:
        print(f"oldcoat {VERSION}")
        sys.exit(exits.DONE)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(_run(sys.argv[1:]))


def _run(arguments: list[str]) -> int:
    try:
        from .cli import run

        return run(arguments)
    except KeyboardInterrupt:
        return exits.CANCELLED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return exits.DONE
    except Exception as error:  # the last line of defence: a bug of ours, told as such
        from .crash import tell_crash

        return tell_crash(error)
