"""Pages of woods, stains, treatments and removers say names and words, not ids."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner
from oldcoat.shell.tell.page import tell_page
from oldcoat.shell.tell.pages import named
from oldcoat.shell.tell.screen import Screen

KINDS = {"wood": "woods", "stain": "stains", "treatment": "treatments", "remover": "removers"}


@pytest.mark.parametrize("kind", KINDS)
def test_no_id_is_shown(kind: str, examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """No hyphened id of a treatment, remover, finish, tool or caution, and no bare figure without its word."""
    knowledge = examiner.knowledge
    ids = {
        word
        for rows in (knowledge.treatments, knowledge.removers, knowledge.finishes, knowledge.cautions)
        for word in rows
        if "-" in word
    } | {word for word in knowledge.vocabulary.tools if "-" in word}
    names = " ".join(str(getattr(e, "name", "")) for k in KINDS.values() for e in getattr(knowledge, k).values())
    for name, entry in getattr(knowledge, KINDS[kind]).items():
        tell_page(kind, name, entry, knowledge, Screen(plain=True))
        told = capsys.readouterr().out
        shown = {word for word in ids if word in told and word not in names and word not in str(entry.about)}
        prose = " ".join(
            str(getattr(entry, field)) for field in entry.__struct_fields__ if isinstance(getattr(entry, field), str)
        )
        assert not {word for word in shown if word not in prose}, name
        assert "not-known" not in told
        assert max(map(len, told.splitlines())) < 2000


def test_what_an_id_is_called(examiner: Examiner) -> None:
    """An entry by its name, a tool by its name, any other word of ids with blanks, prose as it stands."""
    assert named("black-ring", examiner.knowledge) == "black ring of iron and tannin"
    assert named("white-cloth", examiner.knowledge) == "white cotton cloth"
    assert named("in-film", examiner.knowledge) == "in film"
    assert named("two or three-part", examiner.knowledge) == "two or three-part"


def test_the_page_of_a_finish_warns(examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """What a finish can do to whoever works on it stands on its page, in the words of the caution."""
    knowledge = examiner.knowledge
    for name, entry in knowledge.finishes.items():
        tell_page("finish", name, entry, knowledge, Screen(plain=True))
        told = " ".join(capsys.readouterr().out.split())
        assert all(" ".join(knowledge.cautions[c].text.split()) in told for c in entry.cautions), name
