"""A new file of the user's own knowledge: a commented template, or a copy of what it replaces."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from ..storage import write_whole
from .base import Knowledge
from .layout import FOLDERS

TEMPLATES = Path(__file__).resolve().parent / "templates"
KINDS: Final[dict[str, str]] = {
    "finish": "finishes",
    "test": "tests",
    "remover": "removers",
    "rule": "rules",
    "wood": "woods",
    "stain": "stains",
}


def new_entry(kind: str, name: str, folder: Path, knowledge: Knowledge) -> tuple[Path, bool]:
    """Write the file for a new entry under `folder`; (its path, whether it is a copy of one that it replaces).

    Raises FileExistsError if there is such a file already, OSError if it cannot be written.
    """
    inner = KINDS[kind]
    path = folder / inner / f"{name}.yaml"
    if path.exists():
        raise FileExistsError(f"{path} is there already")
    origin = knowledge.origins.get(f"{inner}/{name}")
    if origin is None:
        text = (TEMPLATES / f"{kind}.yaml").read_text("utf-8").replace("RULE-ID", name)
    else:
        head = f"# Replaces the {FOLDERS[inner][1]} {name} of the layer {origin.layer}; delete this file to have that back.\n"
        text = head + Path(origin.path).read_text("utf-8")
    write_whole(path, text)
    return path, origin is not None
