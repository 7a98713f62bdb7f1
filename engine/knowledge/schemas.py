"""JSON Schemas of every file, generated from the types, for editors."""

from __future__ import annotations

import json
from pathlib import Path

from ..piece.form import Piece
from ..reading.shape import json_schema
from .layout import FOLDERS, TABLES, TOPICS
from .loader import SHIPPED

FOLDER = SHIPPED / "schema"


def schemas() -> dict[str, str]:
    """File name -> JSON text, for all kinds of file."""
    forms = {word: form for form, word in FOLDERS.values()} | TABLES | TOPICS | {"piece": Piece}
    return {
        f"{name}.json": json.dumps(json_schema(form), indent=1, sort_keys=True) + "\n" for name, form in forms.items()
    }


def stale(folder: Path = FOLDER) -> list[str]:
    """Names of schema files that are missing or do not match the types."""
    wanted = schemas()
    return [
        name
        for name, text in wanted.items()
        if not (folder / name).is_file() or (folder / name).read_text("utf-8") != text
    ]


def write(folder: Path = FOLDER) -> None:
    """Write all schema files."""
    folder.mkdir(exist_ok=True)
    for name, text in schemas().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write()
