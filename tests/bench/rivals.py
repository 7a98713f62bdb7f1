"""The ways of naming a finish that the tool is measured against, all on the same answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, log
from operator import mul

from worlds import Subject

from oldcoat.engine.belief.evidence import Evidence, answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.tables import ORIGINS, Tables, scaled
from oldcoat.engine.deciding.costs import CostTable
from oldcoat.engine.deciding.nexttest import worths
from oldcoat.engine.knowledge.base import PATCH_PREFIX

Chances = dict[str, float]
Answers = Mapping[str, str]
MOST = 10  # tests that anybody has the patience for
LEAST = 1e-300  # for what is held impossible


class Rival:
    """A way of naming a finish from the answers to tests."""

    name = ""

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        """finish -> chance, summing to 1."""
        raise NotImplementedError

    def name_it(self, subject: Subject, tests: Sequence[str]) -> tuple[Chances, Sequence[str]]:
        """The chances, and the tests that were needed for them."""
        answers = subject.told(tests)
        return self(subject, answers), list(answers)


class Oldcoat(Rival):
    """The model under test."""

    name = "oldcoat"

    def __init__(self, tables: Tables) -> None:
        self.tables = tables

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        model = Model(self.tables, subject.prior)
        return model.posterior([answer_evidence(t, o, self.tables.knowledge) for t, o in answers.items()]).finishes


class NaiveBayes(Rival):
    """The same tables with every test taken as independent given the finish."""

    name = "naive Bayes"

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.shares = [tables.belief.contamination[c].share for c in tables.contaminations]

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        logs = {f: log(max(sum(subject.prior.joint[f]), LEAST)) for f in self.tables.finishes}
        for test, outcome in answers.items():
            for index, finish in enumerate(self.tables.finishes):
                logs[finish] += log(self._alone(subject, test, outcome, index))
        top = max(logs.values())
        return scaled({f: exp(v - top) for f, v in logs.items()})

    def _alone(self, subject: Subject, test: str, outcome: str, index: int) -> float:
        origin = self.tables.origin_likelihood(test)
        if origin:
            width = len(ORIGINS)
            shares = [max(share, LEAST) for share in subject.prior.joint[self.tables.finishes[index]]]
            return sum(map(mul, origin[outcome][index * width : (index + 1) * width], shares)) / sum(shares)
        group = self.tables.group_of(test)
        states = len(self.tables.states_of(group))
        shares = self.tables.state_shares(group)[index * states : (index + 1) * states] if group else [1.0]
        width = len(self.shares) * states
        row = self.tables.likelihood(test)[outcome][index * width : (index + 1) * width]
        return sum(p * c * s for p, (c, s) in zip(row, ((c, s) for c in self.shares for s in shares), strict=True))


class Ladder(Rival):
    """The published ladder: alcohol, then lacquer thinner, then aromatic; inside a rung the prior decides.

    Woodworking and trade magazines, "Identifying finishes for repair", "Stripping a finish".
    A rung is trusted at nine to one, which is generous: the sources give no figure.
    """

    name = "ladder"
    trust = 0.9

    def __init__(self, tables: Tables) -> None:
        finishes = tables.knowledge.finishes
        self.rungs = {
            "alcohol": {f for f, e in finishes.items() if e.family == "spirit-resin" or f == "latex-paint"},
            "thinner": {f for f, e in finishes.items() if e.family == "solvent-lacquer"},
            "aromatic": {"waterborne", "latex-paint", "wax"} & finishes.keys(),
            "wood": {f for f, e in finishes.items() if e.film.in_wood or e.film.typical_um[1] <= 0},
        }
        named = set().union(*self.rungs.values())
        self.rungs["reactive"] = set(finishes) - named

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        rung = self._rung(answers)
        prior = {f: sum(row) for f, row in subject.prior.joint.items()}
        if rung is None:
            return prior
        inside = sum(p for f, p in prior.items() if f in self.rungs[rung])
        return {
            f: p * (self.trust / inside if f in self.rungs[rung] else (1 - self.trust) / (1 - inside))
            for f, p in prior.items()
        }

    def name_it(self, subject: Subject, tests: Sequence[str]) -> tuple[Chances, Sequence[str]]:
        """The rungs up to the one that answers."""
        answers = subject.told(("alcohol-drop", "lacquer-thinner-drop", "xylene-drop"))
        steps = list(answers)
        if answers.get("alcohol-drop") in ("dissolves-fast", "soaks-in"):
            steps = steps[:1]
        elif answers.get("lacquer-thinner-drop") in ("dissolves", "soaks-in"):
            steps = steps[:2]
        return self(subject, {t: answers[t] for t in steps}), steps

    def _rung(self, answers: Answers) -> str | None:
        alcohol, thinner = answers.get("alcohol-drop"), answers.get("lacquer-thinner-drop")
        if "soaks-in" in (alcohol, thinner) or answers.get("oil-drop") == "soaks-in":
            return "wood"
        if alcohol == "dissolves-fast":
            return "alcohol"
        if thinner == "dissolves":
            return "thinner"
        if answers.get("xylene-drop") == "softens-tacky":
            return "aromatic"
        return "reactive" if alcohol == "no-effect" and thinner == "no-effect" else None


class NearestNeighbour(Rival):
    """The finish of the nearest cases of a casebook, by share of answers that agree; age and place count half an answer.

    Of 3, 7, 15 and 25 neighbours the most did best, in names and in log loss.
    """

    name = "nearest neighbour"

    def __init__(self, tables: Tables, cases: Sequence[tuple[Subject, Answers]], k: int = 25) -> None:
        self.tables, self.cases, self.k = tables, cases, k

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        known = (case for case in self.cases if any(subject.prior.joint[case[0].truth]))
        scored = sorted(known, key=lambda case: -self._likeness(subject, answers, *case))[: self.k]
        votes = dict.fromkeys(self.tables.finishes, 0.2)
        for case, _ in scored:
            votes[case.truth] += 1.0
        return scaled(votes)

    @staticmethod
    def _likeness(subject: Subject, answers: Answers, other: Subject, theirs: Answers) -> float:
        common = answers.keys() & theirs.keys()
        agree = sum(answers[t] == theirs[t] for t in common) / max(len(common), 1)
        return agree * len(common) + 0.5 * (subject.setting == other.setting)


class Asking(Rival):
    """The tool with its own choice of tests and its own stop."""

    name = "oldcoat, own choice"

    def __init__(self, tables: Tables, costs: CostTable) -> None:
        self.tables, self.costs = tables, costs

    def name_it(self, subject: Subject, tests: Sequence[str]) -> tuple[Chances, Sequence[str]]:
        """Asks while a test saves more than it costs."""
        model = Model(self.tables, subject.prior)
        evidence: list[Evidence] = []
        while len(evidence) < MOST:
            best = next(
                (w for w in worths(model, evidence, self.costs, None) if w.test[: len(PATCH_PREFIX)] != PATCH_PREFIX),
                None,
            )
            if best is None or best.saves <= 0:
                break
            evidence.append(answer_evidence(best.test, subject.answer(best.test), self.tables.knowledge))
        return model.posterior(evidence).finishes, [item.test for item in evidence]


class PriorOnly(Rival):
    """Always what age, place and kind say."""

    name = "prior only"

    def name_it(self, subject: Subject, tests: Sequence[str]) -> tuple[Chances, Sequence[str]]:
        """Asks nothing."""
        return self(subject, {}), []

    def __init__(self, tables: Tables) -> None:
        self.tables = tables

    def __call__(self, subject: Subject, answers: Answers) -> Chances:
        return {f: sum(row) for f, row in subject.prior.joint.items()}
