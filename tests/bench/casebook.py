"""What the casebook costs and what it brings.

    python tests/bench/casebook.py [costs | learning | writers]

Costs: start with 10 and with 10,000 cases, adding with fsync, a full rebuild, a score. The
bench reads the casebook behind its first question; the first examination waits for it.
Writers: eight processes that add and confirm 2,000 cases in one folder at once.
Learning: simulated worlds that differ from the book; log loss on fresh surfaces against
the number of cases learnt from, beside the model that knows that world, with every
label right and with one in ten wrong. `shares`: a workshop that mostly sees a handful of
finishes. `two tests`: that workshop, and two of eight tests go differently there by a
step and a jitter. `all rows`: all of them do, in a workshop that sees all finishes alike,
where 200 cases are 8 a finish. All cases are invented.

How near it can come at all: over four seeds, told the true shares and the very law by which
the rows were moved, the mean of the posterior over 200 cases is 1.03 times the loss of the
model that knows (`two tests`) and 1.11 times (`all rows`; 1.06 with 1,000).
"""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from math import log
from multiprocessing import get_context
from pathlib import Path
from statistics import median

from compare import ASKED
from start_and_latency import OURS, until
from worlds import Subject, draw

from oldcoat.engine import Examiner, open_knowledge
from oldcoat.engine.belief.evidence import answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.prior import Prior, Setting, prior, shares_under
from oldcoat.engine.belief.tables import Row, Tables, scaled, stepped
from oldcoat.engine.casebook.index import Index
from oldcoat.engine.casebook.learn import Teacher, counts_of
from oldcoat.engine.casebook.record import FORMAT, Case, Change
from oldcoat.engine.casebook.score import score
from oldcoat.engine.casebook.store import Casebook
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Confirmed, Piece, Surface
from oldcoat.engine.storage import to_yaml

MANY, FEW = 10_000, 10
SIZES = (0, 10, 50, 200, 1000, 4000)
WRITERS, WRITTEN = 8, 2_000
SHOP = ("shellac", "nitrocellulose-lacquer", "oil-modified-polyurethane", "alkyd-varnish", "waterborne")
SELDOM = 0.02  # how much of the book's share any other finish has in that workshop
START = """
import sys, time
from pathlib import Path
from oldcoat.shell.app import App
home = Path(sys.argv[1])
from oldcoat.engine import parse_piece
begun = time.perf_counter()
app = App(home=home)
piece = parse_piece("piece: x\\nsurfaces: [{name: top}]\\n", "x", app.knowledge)
app.examiner.examine(piece, piece.surfaces[0])
print(time.perf_counter() - begun)
"""


def case_of(number: int, subject: Subject, truth: str) -> Case:
    """A simulated surface as a case."""
    setting = subject.setting
    surface = Surface(
        name="top",
        wood=setting.wood or "unknown",
        tests={t: subject.answer(t) for t in ASKED},
        confirmed=Confirmed(finish=truth, how="laboratory"),
    )
    piece = Piece(
        piece=f"invented piece {number}",
        made="-".join(map(str, setting.years)) if setting.years else "unknown",
        region=setting.region or "unknown",
        kind=setting.kind or "unknown",
        surfaces=[surface],
    )
    history = [Change(when="2026-01-01T00:00:00Z", what="invented")]
    return Case(format=FORMAT, id=f"invented-{number}", added="2026-01-01T00:00:00Z", history=history, piece=piece)


def labelled(subjects: list[Subject], names: list[str], wrong: float = 0.0, seed: int = 7) -> list[Case]:
    """Simulated surfaces as cases, a share of them with a wrong label."""
    rng = random.Random(seed)
    return [case_of(i, s, rng.choice(names) if rng.random() < wrong else s.truth) for i, s in enumerate(subjects)]


def log_loss(tables: Tables, subjects: list[Subject], start: Callable[[Setting], Prior]) -> float:
    """Mean -ln P(truth) over simulated surfaces."""
    priors = {s.setting: start(s.setting) for s in subjects}
    total = 0.0
    for subject in subjects:
        evidence = [answer_evidence(t, subject.answer(t), tables.knowledge) for t in ASKED]
        total -= log(Model(tables, priors[subject.setting]).posterior(evidence).finishes[subject.truth])
    return total / len(subjects)


def of_shop(start: Prior) -> Prior:
    """A prior as this workshop would know it: mostly its own handful of finishes."""
    kept = {f: 1.0 if f in SHOP else SELDOM for f in start.joint}
    total = sum(kept[f] * sum(row) for f, row in start.joint.items())
    joint = {f: (kept[f] * a / total, kept[f] * b / total, kept[f] * c / total) for f, (a, b, c) in start.joint.items()}
    return Prior(joint, start.maker, start.contexts)


class PartlyShifted(Tables):
    """The book with the rows of some tests made flatter or more pointed at random, and jittered."""

    def __init__(self, knowledge: Knowledge, seed: int, shifted: Sequence[str]) -> None:
        super().__init__(knowledge)
        self.seed, self.shifted = seed, shifted

    def base_row(self, test: str, finish: str) -> Row | None:
        """The line of the book, moved."""
        row = super().base_row(test, finish)
        if row is None or test not in self.shifted:
            return row
        rng = random.Random(f"{self.seed}/{test}/{finish}")
        moved = stepped(row, rng.choice([0.65, 1.0, 1.35]))
        return scaled({o: p * rng.lognormvariate(0, 0.35) for o, p in moved.items()})


def learning(
    knowledge: Knowledge, name: str, shop: bool, shifted: Sequence[str], fresh: int = 1000, seed: int = 7
) -> None:
    """Print log loss against the number of cases."""
    teacher, world = Teacher(Tables(knowledge)), PartlyShifted(knowledge, seed, shifted)
    wanted, rng = fresh + max(SIZES), random.Random(seed)
    subjects = draw("own", knowledge, 6 * wanted if shop else wanted, seed)
    for subject in subjects:
        subject.tables = world
    if shop:
        subjects = [s for s in subjects if s.truth in SHOP or rng.random() < SELDOM]
    subjects, rest = subjects[:fresh], subjects[fresh:wanted]

    def true_prior(setting: Setting) -> Prior:
        start = prior(setting, knowledge)
        return of_shop(start) if shop else start

    knows = log_loss(world, subjects, true_prior)
    print(f"\nlearning, {name}: {fresh} fresh surfaces, {len(ASKED)} answers each")
    print(f"{'cases':>8}{'log loss':>10}{'of knowing':>12}{'10 % wrong':>12}{'of knowing':>12}")
    names = sorted(knowledge.finishes)
    taught = [
        [lesson for case in labelled(rest, names, wrong) for lesson in teacher.lessons(case)] for wrong in (0.0, 0.1)
    ]
    for size in (size for size in SIZES if size <= len(rest)):
        losses = []
        for lessons in taught:
            counts = counts_of(lessons[:size])
            losses.append(
                log_loss(
                    Tables(knowledge, counts),
                    subjects,
                    partial(prior, knowledge=knowledge, shares=shares_under(knowledge, counts)),
                )
            )
        print(f"{size:8}" + "".join(f"{loss:10.4f}{loss / knows:12.3f}  " for loss in losses))
    print(f"{'knowing':>8}{knows:10.4f}{1:12.3f}")


def costs(knowledge: Knowledge, folder: Path) -> None:
    """Print times beside what they must reach."""
    tables = Tables(knowledge)
    print("\ncosts")
    homes = {}
    cases = labelled(draw("own", knowledge, MANY, 7), sorted(knowledge.finishes))
    for size in (FEW, MANY):
        home = homes[size] = folder / f"home-{size}"
        (home / "cases").mkdir(parents=True)
        for case in cases[:size]:
            (home / "cases" / f"{case.id}.yaml").write_text(to_yaml(case), encoding="utf-8")
        begun = time.perf_counter()
        Index(Casebook(home / "cases"), tables, home / "cache").counts()
        print(f"  full rebuild, {size:6,} cases     {time.perf_counter() - begun:8.2f} s   (10,000: below 30 s)")
    asked: dict[int, list[float]] = {FEW: [], MANY: []}
    examined: dict[int, list[float]] = {FEW: [], MANY: []}
    for _ in range(9):
        for size, home in homes.items():
            asked[size].append(until("piece>", OURS, "--home", str(home)))
            begun = time.perf_counter()
            subprocess.run([sys.executable, "-c", START, str(home)], check=True, capture_output=True)
            examined[size].append(time.perf_counter() - begun)
    for name, taken in (("start to first question, terminal", asked), ("start to first examination", examined)):
        few, many = median(taken[FEW]), median(taken[MANY])
        told = f"{few * 1000:5.0f} and {many * 1000:5.0f} ms, ratio {many / few:.3f}"
        print(f"  {name:33} {told}   (below 1.10)")
    book, added = Casebook(homes[MANY] / "cases"), []
    for case in cases[:200]:
        begun = time.perf_counter()
        book.add(case.piece)
        added.append(time.perf_counter() - begun)
    print(
        f"  add with fsync, among {MANY:,}     {median(added) * 1000:6.1f} ms, slowest {max(added) * 1000:.0f} ms   (below 20 ms)"
    )
    begun = time.perf_counter()
    Index(book, tables, homes[MANY] / "cache").counts()
    print(f"  index after 200 new cases         {time.perf_counter() - begun:7.2f} s")
    begun = time.perf_counter()
    done = score(cases[:1000], tables)
    print(f"  score over 1,000 cases            {time.perf_counter() - begun:7.2f} s   (below 10 s)")
    if done.casebook and done.book:
        print(f"    (log loss {done.casebook.log_loss:.3f}, book alone {done.book.log_loss:.3f})")


def _write(folder: str, count: int, seed: int) -> list[str]:
    book, rng, kept = Casebook(Path(folder)), random.Random(seed), []
    for number in range(count):
        case = book.add(Piece(piece=f"invented {rng.random()}", surfaces=[Surface(name="top")]))
        book.confirm(case.id, "top", Confirmed(finish="shellac", how="removal", when=f"{seed}/{number}"))
        kept.append(case.id)
    return kept


def writers(folder: Path) -> None:
    """Print whether eight processes at once lost anything."""
    begun = time.perf_counter()
    with get_context("spawn").Pool(WRITERS) as pool:
        rows = pool.starmap(_write, [(str(folder / "shared"), WRITTEN // WRITERS, seed) for seed in range(WRITERS)])
    took = time.perf_counter() - begun
    told = [name for row in rows for name in row]
    book = Casebook(folder / "shared")
    confirmed = sum(book.get(name).piece.surfaces[0].confirmed is not None for name in told)
    print(f"\nwriters: {WRITERS} processes, {WRITTEN:,} cases added and confirmed in {took:.1f} s")
    print(f"  kept {len(book.ids()):,}, ids told twice {len(told) - len(set(told))}, confirmations kept {confirmed:,}")


def main() -> None:
    """Run what was asked for."""
    asked = sys.argv[1:] or ["learning", "costs", "writers"]
    folder = Path(tempfile.mkdtemp(prefix="oldcoat-bench-"))
    knowledge = open_knowledge(cache=folder / "cache")
    Examiner(knowledge)
    try:
        if "learning" in asked:
            learning(knowledge, "shares", True, ())
            learning(knowledge, "two tests", True, ("alcohol-drop", "scraper"))
            learning(knowledge, "all rows", False, ASKED)
        if "costs" in asked:
            costs(knowledge, folder)
        if "writers" in asked:
            writers(folder)
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
