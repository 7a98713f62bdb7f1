"""Export: what the bench knows, written so that it reads back the same; what stood there is kept."""

from __future__ import annotations

from pathlib import Path

import hypothesis.strategies as st
from hypothesis import given

from oldcoat.engine.piece.form import Answer, Piece, Surface, Tried
from oldcoat.engine.reading.shape import shaped
from oldcoat.engine.reading.yamltext import parse, read
from oldcoat.engine.session.export import export
from oldcoat.engine.storage import to_yaml

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
AWKWARD = st.sampled_from(
    ["no", "1930", "012", "1:30", "~", "null", "1e3", "- a", "a: b", "# x", "'", "true", "0.10", " "]
)
SURFACES = st.builds(
    Surface,
    name=st.just("top"),
    note=TEXT | AWKWARD,
    veneer_mm=st.none() | st.floats(0.1, 6),
    tests=st.dictionaries(
        st.sampled_from(["uv-a", "water-drop"]),
        st.just("orange") | st.builds(Answer, outcome=st.just("x"), sure=st.booleans(), note=TEXT),
    ),
    tried=st.lists(
        st.builds(Tried, remover=st.just("acetone"), result=st.just("harms"), minutes=st.none() | st.floats(0.1, 1000)),
        max_size=2,
    ),
)
PIECES = st.builds(
    Piece,
    piece=(TEXT | AWKWARD).filter(lambda t: len(t) > 0),
    made=st.integers(1500, 2000) | AWKWARD,
    surfaces=st.lists(SURFACES, min_size=1, max_size=2),
    note=AWKWARD,
)


@given(PIECES)
def test_export_reads_back_the_same_to_the_last_digit(piece: Piece) -> None:
    """Text that looks like a number, a date or a key stays text; floats keep every digit."""
    assert shaped(parse(to_yaml(piece), "x"), Piece) == piece


def test_what_stood_there_is_kept_beside_it(tmp_path: Path) -> None:
    """A file with the user's own comments is set aside before it is replaced, each time under a free name."""
    path = tmp_path / "t.yaml"
    piece = Piece(piece="p", surfaces=[Surface(name="top")])
    path.write_text("# mine\npiece: p\nsurfaces: [{name: top}]\n")
    assert export(piece, path, piece) == tmp_path / "t.yaml.before"
    assert (tmp_path / "t.yaml.before").read_text().startswith("# mine")
    assert shaped(read(path), Piece) == piece
    path.write_text("piece: by hand\nsurfaces: [{name: top}]\n")
    aside = export(piece, path, piece)
    assert aside is not None
    assert "by hand" in aside.read_text()
    assert "mine" in (tmp_path / "t.yaml.before").read_text()


def test_our_own_export_is_replaced_without_litter(tmp_path: Path) -> None:
    """Writing again what we wrote ourselves leaves one file."""
    path = tmp_path / "t.yaml"
    first = Piece(piece="p", surfaces=[Surface(name="top")])
    second = Piece(piece="p", surfaces=[Surface(name="top", wood="oak")])
    assert export(first, path) is None
    assert export(second, path, first) is None
    assert [p.name for p in tmp_path.iterdir()] == ["t.yaml"]
