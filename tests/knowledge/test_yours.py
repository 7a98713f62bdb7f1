"""The user's own entries in force: fire that was not said, a share among makers, the mark that they are his. All invented."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.checking.lint import lint
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Trait
from oldcoat.engine.knowledge.loader import SHIPPED, layers_for
from oldcoat.engine.piece.reader import read_piece
from oldcoat.engine.problems import BadInput

FLAME = "piece: x\nroom: {flame: true}\nsurfaces: [{name: top, known: {finish: shellac, how: removal}}]"


def copied(folder: Path, source: str, name: str, **fields: str) -> Path:
    """A shipped entry under another id in an own layer, some one-line fields changed or, if there are none, added."""
    text = (SHIPPED / source).read_text("utf-8")
    for field, value in fields.items():
        text = re.sub(rf"(?m)^{field}:.*\n", "", text) + f"{field}: {value}\n"
    path = folder / source.split("/")[0] / f"{name}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    ("traits", "blend", "trait"),
    [
        ("[]", "{acetone: 1.0}", "very-flammable"),
        ("[strong-fume]", "{benzyl-alcohol: 0.9, ethanol: 0.1}", "flammable"),
        ("[]", "{benzyl-alcohol: 0.995, acetone: 0.005}", None),
        ("[water]", "{benzyl-alcohol: 1.0}", None),
        ("[]", "{}", "flammable"),
        ("[toxic-vapour]", "{dichloromethane: 1.0}", None),
        ("[flammable]", "{acetone: 1.0}", None),
    ],
)
def test_what_burns_is_forbidden_beside_a_flame_whether_it_says_so_or_not(
    tmp_path: Path, traits: str, blend: str, trait: Trait | None
) -> None:
    """By the lowest flash point of more than a trace; without one, a solvent burns; said for itself it is left so."""
    copied(tmp_path, "removers/acetone.yaml", "mine", traits=traits, blend=blend, cautions="[waste-disposal]")
    book = open_knowledge([tmp_path])
    assert book.left_out == []
    remover = book.removers["mine"]
    assert [t for t in remover.traits if t not in traits] == ([trait] if trait else [])
    assert ("mine" in book.burn) is (trait is not None)
    assert bool({"flammable-solvent", "very-flammable"} & {*remover.cautions}) is (trait is not None)
    piece = parse_piece(FLAME, "x", book)
    reached = next(r for r in Examiner(book).examine(piece, piece.surfaces[0]).predictions if r.remover == "mine")
    burns = trait is not None or "flammable" in traits
    assert ("open-flame-in-the-room" in {row.rule for row in reached.vetoes}) is burns
    notes = [p.message for p in lint(layers_for([tmp_path])).notes if "mine" in p.message]
    assert any(f"taken as {trait}" in note for note in notes) is (trait is not None)


def test_the_shipped_removers_are_taken_at_their_word(knowledge: Knowledge) -> None:
    """Nothing is derived for the book itself, nor marked as the user's."""
    assert knowledge.burn == {}
    assert not any("(yours)" in entry.name for entry in knowledge.removers.values())


def test_a_share_lets_an_own_finish_come_to_mind(tmp_path: Path) -> None:
    """Without it the lint says so; with it the chance before any test is many times greater in its years, and not in others."""
    plain = copied(tmp_path / "a", "finishes/spirit-varnish.yaml", "bodge")
    copied(tmp_path / "b", "finishes/spirit-varnish.yaml", "bodge", share="[{years: [1900, 1940], share: 0.1}]")
    assert [p.path for p in lint(layers_for([tmp_path / "a"])).notes if p.code == "no-share"] == [str(plain)]
    assert not [p for p in lint(layers_for([tmp_path / "b"])).notes if p.code == "no-share"]

    def chance(layer: str, made: int) -> float:
        book = open_knowledge([tmp_path / layer])
        piece = parse_piece(f"piece: x\nmade: {made}\nsurfaces: [{{name: top}}]", "x", book)
        return sum(Examiner(book).examine(piece, piece.surfaces[0]).prior.joint["bodge"])

    assert chance("b", 1920) > 5 * chance("a", 1920)
    assert chance("b", 1870) < 2 * chance("a", 1870)


def test_one_typo_in_an_own_test_does_not_lock_the_pieces_that_used_it(tmp_path: Path) -> None:
    """Its answer is set aside, with the line to mend; a name that is nobody's is a mistake as ever, and so is all without `aside`."""
    test = copied(tmp_path / "k", "tests/alcohol-drop.yaml", "my-drop", surprise="1")
    book, file, told = open_knowledge([tmp_path / "k"]), tmp_path / "x.yaml", list[str]()
    start = "piece: x\nsurfaces: [{name: top, tests: {alcohol-drop: no-effect, my-drop: no-effect"
    file.write_text(f"{start}}}}}]")
    assert list(read_piece(file, book, told).surfaces[0].tests) == ["alcohol-drop"]
    assert len(told) == 1
    line = len(test.read_text().splitlines())
    assert told[0].startswith(f"my-drop is yours, left out because of {test}:{line};")
    with pytest.raises(BadInput, match="my-drop"):
        read_piece(file, book)
    file.write_text(f"{start}, nobodys: yes}}}}]")
    with pytest.raises(BadInput, match="nobodys"):
        read_piece(file, book, told)
    assert len(told) == 1
