"""Where sources disagree the book says so, and what the lesser voice saw stays possible."""

from __future__ import annotations

import pytest

from oldcoat.engine.checking.walks import row_of
from oldcoat.engine.knowledge.base import Knowledge


def test_a_disputed_line_says_who_and_leaves_room(knowledge: Knowledge) -> None:
    """Each line marked as disputed has a note, two sources or more, and more than one outcome."""
    rows = [(test, row) for test, entry in knowledge.tests.items() for row in entry.bands if row.disputed]
    assert len(rows) > 15
    for test, row in rows:
        assert row.note, (test, row.finishes)
        assert min(len(row.source), len(row.gives)) > 1, (test, row.finishes)


@pytest.mark.parametrize(
    ("test", "finish", "outcome"),
    [
        # A finisher's letter: one make of denatured alcohol took lacquer off like thinner; most say it does nothing.
        ("alcohol-drop", "nitrocellulose-lacquer", "dissolves-fast"),
        ("alcohol-drop", "nitrocellulose-lacquer", "no-effect"),
        # A question-and-answer page has acetone do nothing to alkyd; two published rules have it gel.
        ("acetone-rub", "alkyd-varnish", "no-effect-sheds"),
        # Mechanical music digest, 27 April 2011: thinner leaves old piano shellac.
        ("lacquer-thinner-drop", "shellac", "no-effect"),
        # A finishing author: sound shellac takes no ring but from heat; household guides: rings mean shellac.
        ("mark-history", "shellac", "no-rings"),
        # A column on polyurethane: it flows out, brush marks mostly go.
        ("application-marks", "oil-modified-polyurethane", "wiped-none"),
        # A floor guide: lacquer stands a coin; a bench test has it scratch as easily as shellac.
        ("coin-edge", "nitrocellulose-lacquer", "no-mark"),
        # Old handbooks: the best copal varnish does not powder; household guides have varnish flake.
        ("coin-edge", "oil-resin-varnish", "no-mark"),
        # Four copal-oil varnishes had hardly coloured in fifteen years; old varnish is brown.
        ("colour-cast", "oil-resin-varnish", "slight-amber"),
        # Two writers: nobody tells polyurethane from varnish by sight or feel; others call it plastic.
        ("surface-feel", "oil-modified-polyurethane", "glassy"),
        # A chair repairer: it chips; a bench test has it among the most scratch-resistant.
        ("wear-pattern", "oil-modified-polyurethane", "sharp-chips"),
        # A piano technician: polyester on wood cracks; another has it flawless after thirty years.
        ("crack-pattern", "polyester", "straight-checks"),
        # Floor finishers: hardwax oil builds no film; an explainer has a thin layer of wax stay on top.
        ("film-build", "hardwax-oil", "none-in-wood"),
        # A home page: milk paint shows no brush stroke; a teacher has the brush show through.
        ("application-marks", "casein-paint", "wiped-none"),
    ],
)
def test_the_lesser_voice_is_not_ruled_out(knowledge: Knowledge, test: str, finish: str, outcome: str) -> None:
    """An outcome that a source has seen is not among those that the book holds almost impossible."""
    index = row_of(test, finish, knowledge)
    assert index is not None
    row = knowledge.tests[test].bands[index]
    assert row.disputed
    assert row.gives.get(outcome, knowledge.belief.unlisted) != "almost-never"
