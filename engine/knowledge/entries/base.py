"""What all files of the knowledge base share: ids, words for chances, sources."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct

Id = Annotated[str, Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", description="lower-case words joined by hyphens")]
Text = Annotated[str, Meta(min_length=3)]
Band = Literal["almost-always", "usually", "often", "sometimes", "rarely", "almost-never"]
Status = Literal["draft", "tested", "reviewed"]
Sources = Annotated[list[str], Meta(min_length=1, description="ids of sources.yaml, or common-practice, or memory")]
Range = tuple[float, float]
Effect = Literal["dissolves", "lifts", "softens", "no-effect"]
EFFECTS: tuple[Effect, ...] = ("dissolves", "lifts", "softens", "no-effect")
Level = Literal["none", "low", "medium", "high"]
Meaning = Literal["works", "after-cure", "barrier", "test", "remove", "no"]


class Row(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Base of everything that stands in a knowledge file: no unknown key passes."""


class Entry(Row, frozen=True, kw_only=True):
    """What every one-file entry carries beside its own matter."""

    name: Text
    status: Status
    about: Text
    source: Sources
    wrong_if: Annotated[list[Text], Meta(min_length=1, description="known ways in which this entry misleads")]
