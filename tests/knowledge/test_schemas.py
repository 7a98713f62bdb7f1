"""The schemas that editors read are those of the types."""

from __future__ import annotations

from pathlib import Path

from oldcoat.engine.knowledge.schemas import FOLDER, schemas, stale, write


def test_the_schemas_that_are_shipped_are_made_from_the_types_as_they_are() -> None:
    """None is missing or behind the types, and none is left of a type that is gone."""
    assert stale() == []
    assert {path.name for path in FOLDER.iterdir()} == set(schemas())


def test_a_schema_that_was_changed_by_hand_is_found(tmp_path: Path) -> None:
    """Each that is missing or other is named; writing them anew puts it right."""
    write(tmp_path / "schema")
    assert stale(tmp_path / "schema") == []
    (tmp_path / "schema" / "finish.json").unlink()
    (tmp_path / "schema" / "wood.json").write_text("{}")
    assert sorted(stale(tmp_path / "schema")) == ["finish.json", "wood.json"]
