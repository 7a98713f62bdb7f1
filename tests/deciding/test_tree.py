"""What a route says in figures is what was worked out: times, litres, drying, the first look, where to go then."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from msgspec.structs import replace

from oldcoat.engine.assessing import assess
from oldcoat.engine.deciding.tree import Below, Branch, Setting, tree
from oldcoat.engine.examine import Examination, Examiner
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Room
from oldcoat.engine.piece.reader import parse_piece
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


def test_what_is_brushed_on_goes_in_coats_and_what_is_not_in_passes(done: Examination, knowledge: Knowledge) -> None:
    """By the litres it takes: none at all is a tool."""
    seen = set()
    for first in done.predictions:
        text, wet = stage("coats", first, knowledge).text, knowledge.removers[first.remover].work.litres_m2[1] > 0
        seen.add(wet)
        expects = re.search(r"Expect [0-9.-]+(?: to [0-9.]+)? (coat|pass)", text)
        assert expects, text
        assert expects[1] == ("coat" if wet else "pass"), first.remover
        assert (" in all, " in text) == wet
    assert seen == {True, False}
    little = replace(next(p for p in allowed(done) if p.litres[1] > 0), litres=(0.2, 0.4))
    assert re.search(
        r"Expect \S+(?: to \S+)? coats?, [0-9]+-[0-9]+ ml|Expect .*coats?, 0.2-0.4 l",
        stage("coats", little, knowledge).text,
    )


def test_what_a_good_patch_looks_like(done: Examination, knowledge: Knowledge) -> None:
    """The likelier of turning liquid and lifting is what to look for; under heat it goes soft."""
    by_name = {p.remover: p for p in done.predictions}
    for dissolves, seen in ((0.6, "turns liquid"), (0.3, "wrinkles and lifts")):
        effects = {"dissolves": dissolves, "lifts": 0.4, "softens": 0.0, "no-effect": 0.0}
        told = stage("patch", replace(by_name["acetone"], effects=effects), knowledge).text
        assert f"Go on if the film {seen}" in told
        assert "goes soft" in stage("patch", replace(by_name["hot-air"], effects=effects), knowledge).text


def test_drying_is_told_by_what_is_wet(done: Examination, knowledge: Knowledge) -> None:
    """What brings water dries towards the wood's rest in the room; what does not airs; what wets nothing does neither."""
    seen = set()
    for first in done.predictions:
        remover, dry = knowledge.removers[first.remover], stage("dry", first, knowledge)
        low, high = remover.work.dry_hours
        if dry.text == "Nothing to dry.":
            seen.add("nothing")
            assert remover.action in ("cutting", "abrasion")
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
    """Never later than half of the longest contact, sooner if it may be ready sooner; never past half of drying out."""
    looked = 0
    for first in allowed(done):
        text = stage("patch", first, knowledge).text
        if "first look after" not in text:
            continue
        looked += 1
        looks = spans(text.partition(" It dries")[0])
        high = min(first.dwell_minutes[1], knowledge.removers[first.remover].work.open_minutes)
        assert looks[-1][1] == pytest.approx(first.dwell_minutes[1], rel=0.13)
        assert looks[0][1] == pytest.approx(min(first.dwell_minutes[0], high / 2), rel=0.13, abs=0.5)
    assert looked > 3
    late = replace(next(p for p in allowed(done) if p.remover == "benzyl-alcohol-gel"), dwell_minutes=(40.0, 60.0))
    assert "first look after 30 min" in stage("patch", late, knowledge).text


@pytest.mark.parametrize(
    ("contact", "again"),
    [((60.0, 1440.0), None), ((60.0, 1500.0), None), ((60.0, 1700.0), "once"), ((4000.0, 11000.0), "up to 7 times")],
)
def test_a_contact_longer_than_one_coat_stays_wet_is_told(
    done: Examination, knowledge: Knowledge, contact: tuple[float, float], again: str | None
) -> None:
    """A gel that dries after a day: a day is one wetting, eight days are eight; one without effect proves nothing."""
    gel = replace(next(p for p in allowed(done) if p.remover == "benzyl-alcohol-gel"), dwell_minutes=contact)
    for text in (stage("patch", gel, knowledge).text, stage("if-not", next(allowed(done)), knowledge, gel).text):
        assert ("One wetting that does nothing proves nothing." in text) == (again is not None)
        assert again is None or f"It dries after 24 h: before that wet it again, {again}." in text


def test_only_the_patch_names_the_contact(knowledge: Knowledge) -> None:
    """How a remover is used names no time of its own: the room and the film set it. A watch after heat is no contact."""
    for name, remover in knowledge.removers.items():
        texts = [part for part in remover.how.split(". ") if "after the last heat" not in part]
        assert not [t for t in texts if re.search(r"minute|hour|overnight|morning|count to", t)], name
        assert not re.search(r"(to|from film to) (the )?wood", remover.how), name


def test_every_stage_leads_on(done: Examination, knowledge: Knowledge) -> None:
    """Each of the two ways runs from its patch to its end; a failure of the first leads to the second, of that to the stop."""
    first, second = list(allowed(done))[:2]
    stages = tree(first, second, PLAIN, knowledge)
    kinds = [row.kind for row in stages]
    turn, last = kinds.index("if-not") + 1, len(stages)
    for number, row in enumerate(stages, 1):
        assert row.then == (None if number in (turn - 1, last - 1, last) else number + 1), row.kind
        fails = row.kind in ("patch", "coats", "stop-when", "if-not", "next-coats")
        assert row.otherwise == ((turn if number < turn else last) if fails else None), row.kind
    assert f"If not: step {turn}." in stages[0].text
    assert "steps 4 and 5;" in stages[turn - 1].text
    assert (kinds[2], kinds[3], kinds[4]) == ("stop-when", "after", "dry")
    assert "Stop as in step 3." in stages[turn].text


def test_the_next_attempt_stands_on_its_own(done: Examination, knowledge: Knowledge) -> None:
    """Whatever the pair: its how, wash, drying, residue and all its cautions; and the finishes' own before its patch."""
    setting = replace(PLAIN, finishes=["oil-paint"])
    rows = list(allowed(done))
    for first, second in zip(rows, [*rows[1:], rows[0]], strict=True):
        two = knowledge.removers[second.remover]
        stages = tree(first, second, setting, knowledge)
        told = {row.kind: row for row in stages[[row.kind for row in stages].index("if-not") :]}
        alone = {row.kind: row for row in tree(second, None, setting, knowledge)}
        assert two.how in told["next-coats"].text
        assert two.after in told["next-after"].text
        assert told["next-dry"].text == f"{alone['dry'].text} {alone['recoat'].text}"
        assert told["next-dry"].minutes == alone["dry"].minutes
        assert set(two.cautions) | {"lead-until-tested"} <= {c for row in told.values() for c in row.cautions}
        assert "lead-until-tested" in told["if-not"].cautions
        assert all(row.remover == second.remover for row in told.values() if row.kind in ("if-not", "next-coats"))


@pytest.mark.parametrize("build", ["solid", "veneer"])
def test_water_on_veneer_is_warned_of_on_veneer_alone(examiner: Examiner, build: str) -> None:
    """An invented pine face of the nineties: of the same gels, in the route, its stages and the trial patches."""
    known = "known: {finish: alkyd-varnish, how: laboratory}"
    text = f"piece: p\nmade: 1990-1999\nplace: us\nsurfaces:\n  - {{name: face, wood: pine, build: {build}, {known}}}\n"
    piece = parse_piece(text, "invented", examiner.knowledge)
    face = assess(piece, examiner.knowledge, examiner=examiner).surfaces[0]
    by_route = {r.remover: [*r.cautions, *(c for stage in r.tree for c in stage.cautions)] for r in face.routes}
    assert by_route
    tests = [test for test in (face.next_test, *face.other_tests) if test]
    told = [c for names in by_route.values() for c in names] + [c for test in tests for c in test.cautions]
    assert any(c.startswith("water-veneer") for c in told) == (build == "veneer")


def test_no_solvent_is_left_before_heat(done: Examination, knowledge: Knowledge) -> None:
    """A day of airing stands before the first heat, as the first remover and as the next one."""
    by_name = {p.remover: p for p in done.predictions}
    for hot in (name for name, remover in knowledge.removers.items() if remover.action == "heat"):
        for row in (
            stage("patch", replace(by_name[hot], dwell_minutes=(3.0, 6.0)), knowledge),
            stage("if-not", by_name["lacquer-thinner"], knowledge, by_name[hot]),
        ):
            assert re.search(r"[Tt]ake all solvent off and air the piece for a day.*patch with", row.text), row.text
            assert "on a spot. Go on if" in row.text
            assert "dries after" not in row.text


def test_nothing_sends_down_to_the_wood_where_a_film_stays(done: Examination, knowledge: Knowledge) -> None:
    """Both trials are judged by the film below, and the work stops there."""
    rows = list(allowed(done))
    for first, second in zip(rows, [*rows[1:], rows[0]], strict=True):
        stages = tree(first, second, replace(PLAIN, kept="the milk paint (casein) below"), knowledge)
        for row in stages:
            assert not re.search("wood under it|wood darkens|to the wood", row.text), row.text
            if row.kind in ("patch", "if-not"):
                assert "the milk paint (casein) below is as it was" in row.text


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


@pytest.mark.parametrize(
    ("remover", "told"),
    [
        ("acetone", "another round with {acetone}"),
        ("lacquer-thinner", "another matter: patch it with {lacquer-thinner}"),
        (None, "Clean it and keep it"),
    ],
)
def test_the_film_below_by_what_takes_it(
    done: Examination, knowledge: Knowledge, remover: str | None, told: str
) -> None:
    """The remover at hand, another one, or none that may be used; cautions are those of what is named."""
    first = next(p for p in done.predictions if p.remover == "acetone")
    setting = replace(PLAIN, below=Below("shellac", remover))
    (below,) = (row for row in tree(first, None, setting, knowledge) if row.kind == "below")
    names = {name: knowledge.removers[name].name for name in ("acetone", "lacquer-thinner")}
    assert told.format(**names) in below.text
    assert below.text.count(knowledge.finishes["shellac"].name) == 1
    assert below.remover == remover
    assert bool(below.cautions) == bool(remover and knowledge.removers[remover].cautions)
