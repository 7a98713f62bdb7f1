"""A bug of ours: say so, keep what a report needs, lose nothing."""

from __future__ import annotations

import sys
import tempfile
import traceback
from pathlib import Path

from ..engine.version import VERSION
from . import exits


def tell_crash(error: BaseException) -> int:
    """Write the details to a file of their own and ask for a report."""
    details = "".join(traceback.format_exception(error))
    kept = ""
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="oldcoat-bug-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(f"oldcoat {VERSION}, Python {sys.version}\narguments: {sys.argv[1:]!r}\n\n{details}")
        kept = f" Details are in {Path(file.name)}."
    except OSError:
        pass
    print(
        f"oldcoat: a bug of ours ({type(error).__name__}).{kept} Please report it. Your answers are saved.",
        file=sys.stderr,
    )
    return exits.OUR_BUG
