"""Which YAML file holds what: one folder for each kind of entry, one file for each topic."""

from __future__ import annotations

from typing import Any, Final

from .entries import (
    Belief,
    Caution,
    Decide,
    Family,
    Finish,
    Id,
    Priors,
    Recoat,
    Remover,
    Resin,
    RuleFile,
    Solute,
    Solvent,
    Source,
    Stain,
    Substrate,
    Test,
    Treatment,
    Vocabulary,
    Wood,
    WorkOrder,
)

# Folder -> (type of each file in it, word for one entry).
FOLDERS: Final[dict[str, tuple[Any, str]]] = {
    "finishes": (Finish, "finish"),
    "tests": (Test, "test"),
    "removers": (Remover, "remover"),
    "woods": (Wood, "wood"),
    "stains": (Stain, "stain"),
    "treatments": (Treatment, "treatment"),
    "rules": (RuleFile, "rules"),
}
# Topic file -> type. A later layer adds to a table by id, and replaces any other topic whole.
TABLES: Final[dict[str, Any]] = {
    "sources": dict[Id, Source],
    "cautions": dict[Id, Caution],
    "families": dict[Id, Family],
    "solvents": dict[Id, Solvent],
    "resins": dict[Id, Resin],
    "solutes": dict[Id, Solute],
}
TOPICS: Final[dict[str, Any]] = {
    "vocabulary": Vocabulary,
    "belief": Belief,
    "priors": Priors,
    "substrate": Substrate,
    "recoat": Recoat,
    "work": WorkOrder,
    "decide": Decide,
}
RESERVED_SOURCES: Final = ("common-practice", "memory")
