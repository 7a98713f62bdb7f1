"""What a route says in figures is what was worked out: times, litres, drying, the first look, where to go then."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from msgspec.structs import replace

from oldcoat.engine.deciding.tree import Branch, Setting, tree
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Room
from oldcoat.engine.removal.predict import Prediction

Examine = Callable[..., Examination]
MINUTES = {"s": 1 / 60, "min": 1.0, "h": 60.0, "days": 1440.0}
SPAN = r"(?:up to )?(?:([0-9.]+)-)?([0-9.]+) (s|min|h|days)"
ROOM = Room()
PLAIN = Setting(room=ROOM, flooded_hours=30.0, slow=1.0, finishes=[], below=None, kept=None)


def spans(text: str) -> list[tuple[float, float]]:
    """Every time or range of times in a text, in minutes."""
    return [
        (float(low or high) * MINUTES[unit], float(high) * MINUTES[unit]) for low, high, unit in re.findall(SPAN, text)
    ]


@pytest.fixture(scope="module")
def done(examine: Examine) -> Examination:
    """An invented solid oak face of the thirties, nothing tested."""
    return examine({"made": "1930-1940"}, wood="oak", build="solid")


def stage(kind: str, first: Prediction, knowledge: Knowledge, second: Prediction | None = None) -> Branch:
    """The first stage of a kind in the plain tree of a remover."""
    return next(row for row in tree(first, second, PLAIN, knowledge) if row.kind == kind)


def allowed(done: Examination) -> Iterator[Prediction]:
    """What may be used on it."""
    return (p for p in done.predictions if p.allowed)


def test_hours_and_litres_are_those_predicted(done: Examination, knowledge: Knowledge) -> None:
    """The last time told of the coats is the work in hours, to the two figures that are told; litres as they are."""
    told_litres = 0
    for first in allowed(done):
        text = stage("coats", first, knowledge).text
        low, high = spans(text)[-1]
        assert high == pytest.approx(60 * first.hours[1], rel=0.13), (first.remover, text)
        assert low <= 60 * first.hours[0] * 1.13
        found = re.search(r"([0-9.]+)-([0-9.]+) l in all", text)
        if found:
            told_litres += 1
            assert float(found[2]) == pytest.approx(first.litres[1], abs=0.051)
            assert float(found[1]) == pytest.approx(first.litres[0], abs=0.051)
    assert told_litres > 3


def test_less_than_a_tenth_of_a_litre_is_told_in_millilitres(done: Examination, knowledge: Knowledge) -> None:
    """From a tenth of a litre on in litres, below it in millilitres."""
    first = next(p for p in allowed(done) if p.litres[1] > 0)
    assert "0.1-0.1 l in all" in stage("coats", replace(first, litres=(0.1, 0.1)), knowledge).text
    assert "90 ml in all" in stage("coats", replace(first, litres=(0.02, 0.09)), knowledge).text


def test_drying_is_told_by_what_is_wet(done: Examination, knowledge: Knowledge) -> None:
    """What brings water dries towards the wood's rest in the room; what does not airs; what wets nothing does neither."""
    seen = set()
    for first in done.predictions:
        remover, dry = knowledge.removers[first.remover], stage("dry", first, knowledge)
        low, high = remover.work.dry_hours
        if dry.text == "Nothing to dry.":
            seen.add("nothing")
            assert remover.action in ("heat", "cutting", "abrasion")
            continue
        wet = "water" in remover.traits
        seen.add("dries" if wet else "airs")
        assert dry.text.startswith("Dry " if wet else "Let it air ")
        assert dry.minutes == pytest.approx((60 * low, 60 * high))
        assert spans(dry.text)[0][1] == pytest.approx(60 * high, rel=0.13)
        assert ("A meter has the last word." in dry.text) == wet
        if wet:
            assert spans(dry.text)[-1][1] == pytest.approx(60 * PLAIN.flooded_hours, rel=0.13)
    assert seen == {"nothing", "dries", "airs"}


def test_the_first_look_comes_at_half_time_at_the_latest(done: Examination, knowledge: Knowledge) -> None:
    """Never later than half of the longest contact, sooner if it may be ready sooner; never past drying out."""
    looked = 0
    for first in allowed(done):
        text = stage("patch", first, knowledge).text
        if "first look after" not in text:
            continue
        looked += 1
        first_look, latest = spans(text)[0][1], spans(text)[-1][1]
        high = min(first.dwell_minutes[1], knowledge.removers[first.remover].work.open_minutes)
        assert latest == pytest.approx(high, rel=0.13)
        assert first_look == pytest.approx(min(first.dwell_minutes[0], high / 2), rel=0.13, abs=0.5)
    assert looked > 3


def test_every_stage_leads_on(done: Examination, knowledge: Knowledge) -> None:
    """The good way runs from stage to stage up to the next attempt, which begins again at the coats; a failure goes to it."""
    first, second = list(allowed(done))[:2]
    stages = tree(first, second, PLAIN, knowledge)
    kinds = [row.kind for row in stages]
    turn = kinds.index("if-not")
    for number, row in enumerate(stages[:turn], 1):
        wanted = number + 1 if row.kind in ("patch", "coats", "stop-when") or number < turn else None
        assert row.then == wanted, row.kind
        assert row.otherwise == (turn + 1 if row.kind in ("patch", "coats", "stop-when") else None)
    assert stages[turn].then == 2
    assert stages[turn].otherwise == len(stages)
    assert stages[-1].then is None
    assert f"If not: step {turn + 1}." in stages[0].text


@pytest.mark.parametrize(
    ("said", "told"),
    [("Wax stays.", "wax stays."), ("NMP stays", "NMP stays."), ("Is it dry?", "is it dry?"), ("A film", "A film.")],
)
def test_a_sentence_after_a_colon(done: Examination, knowledge: Knowledge, said: str, told: str) -> None:
    """Begins small unless it begins with an abbreviation or a single letter, and ends as a sentence does."""
    first = next(allowed(done))
    entry = replace(knowledge.removers[first.remover], residue=said)
    book = replace(knowledge, removers={**knowledge.removers, first.remover: entry})
    assert stage("recoat", first, book).text.endswith(f": {told}")
