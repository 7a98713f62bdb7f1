"""A new file of the user's own knowledge: a commented template, or a copy of what it replaces."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from msgspec import structs, to_builtins

from ..storage import to_yaml, write_whole
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
    rule = _rule(name, knowledge) if kind == "rule" and origin is None else None
    if origin is not None:
        text = _head(FOLDERS[inner][1], name, origin.layer) + Path(origin.path).read_text("utf-8")
    elif rule is not None:
        file, text = rule
        text = _head("rule", name, knowledge.origins[f"rules/{file}"].layer) + text
    else:
        text = (TEMPLATES / f"{kind}.yaml").read_text("utf-8").replace("RULE-ID", name)
        text = text.replace("RECOAT-ROWS", " ".join(knowledge.recoat.under))
    write_whole(path, text)
    return path, origin is not None or rule is not None


def _head(what: str, name: str, layer: str) -> str:
    return f"# Replaces the {what} {name} of the layer {layer}; delete this file to have that back.\n"


def _rule(name: str, knowledge: Knowledge) -> tuple[str, str] | None:
    """(file it stands in, text of a file with it alone) of a rule of the book; None if there is none of that id."""
    for file, entry in knowledge.rules.items():
        for rule in entry.rules:
            if rule.id == name:
                return file, to_yaml(_filled(to_builtins(structs.replace(entry, rules=[rule]))))
    return None


def _filled(value: Any) -> Any:
    """Plain values without the keys that say nothing."""
    if isinstance(value, dict):
        return {key: _filled(inner) for key, inner in value.items() if inner not in (None, [], {})}
    return [_filled(inner) for inner in value] if isinstance(value, list) else value
