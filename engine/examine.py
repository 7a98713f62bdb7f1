"""One examination of one surface: evidence to belief to predictions to routes.

A pure function of knowledge, piece and casebook. What is costly and does not change
between two examinations (tables, rule network) is held by an Examiner.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from msgspec import Struct, structs

from .belief.counts import Counts
from .belief.evidence import Evidence, evidence_of
from .belief.posterior import Model, Posterior
from .belief.prior import Prior, prior, setting_for, shares_under
from .belief.tables import Tables, scaled
from .belief.under import with_film_seen_below
from .belief.weigh import STEP_FLATTER, STEP_SHARPER, Fit, Weighed, fit, span, weigh
from .deciding.changes import Change, told_change
from .deciding.costs import CostTable, Weights, cost_table
from .deciding.nexttest import Worth, asked_for, safety_first, worths
from .deciding.routes import Ground, Route, rank_routes
from .deciding.verdict import Verdict, verdict
from .knowledge.base import PATCH_PREFIX, Knowledge
from .piece.form import Piece, Room, Surface
from .piece.years import years_of
from .reasoning.network import Firing, Network
from .reasoning.surface import believed_facts, given_facts
from .removal.clock import Clock
from .removal.film import told
from .removal.layers import films_under, kept_films
from .removal.predict import Here, Prediction, predict_all
from .wood.moisture import flooded_hours
from .wood.substrate import Wooden, wooden

DEFAULT_AREA_M2 = 1.0


class Examination(Struct, frozen=True, kw_only=True):
    """Everything that was worked out for one surface. `elsewhere`: the better way off in a room without limits."""

    surface: Surface
    prior: Prior
    evidence: list[Evidence]
    posterior: Posterior
    ranges: dict[str, tuple[float, float]]
    weighed: Weighed
    fit: Fit
    firings: list[Firing]
    under: Wooden
    predictions: list[Prediction]
    routes: list[Route]
    elsewhere: Route | None
    worths: list[Worth]
    verdict: Verdict
    costs: CostTable
    below: dict[str, float]
    changes: list[Change]


class Settled(Struct, frozen=True):
    """What does not change with belief: piece, surface, prior, years of making, rules that fired."""

    piece: Piece
    surface: Surface
    prior: Prior
    years: tuple[int, int] | None
    firings: list[Firing]


class WayOff(Struct, frozen=True):
    """Predictions, costs and routes under one belief, what may lie below the film, and what the routes rest on."""

    predictions: list[Prediction]
    costs: CostTable
    routes: list[Route]
    below: dict[str, float]
    ground: Ground


class Examiner:
    """Knowledge made ready for examining many surfaces."""

    def __init__(self, knowledge: Knowledge, counts: Counts | None = None, this_year: int | None = None) -> None:
        self.knowledge = knowledge
        self.counts = counts or Counts()
        self.this_year = this_year
        self.tables = Tables(knowledge, self.counts)
        self.flatter = Tables(knowledge, self.counts, STEP_FLATTER)
        self.sharper = Tables(knowledge, self.counts, STEP_SHARPER)
        rules = [rule for file in knowledge.rules.values() if file.scope == "surface" for rule in file.rules]
        self._network = Network(rules)
        self._clock = Clock(self.tables)
        self._flooded: dict[Room, float] = {}
        self._shares = shares_under(knowledge, counts)
        self._of_the_room = {rule.id for rule in rules if all(fact.startswith("room.") for fact in rule.when)}
        self._over = Network([rule for rule in rules if rule.then.contamination])

    def examine(self, piece: Piece, surface: Surface, skip: frozenset[str] = frozenset()) -> Examination:
        """Everything about one surface of a piece; tests named in `skip` are not proposed."""
        years = years_of(piece, self.knowledge, self.this_year)
        under = wooden(surface, years, self.knowledge)
        given = given_facts(piece, surface, years, under, self.knowledge)
        book = prior(setting_for(piece, surface, years, self.this_year), self.knowledge, self._shares)
        start = with_film_seen_below(book, surface.under, self.knowledge)
        over = self._contamination(self._over.run(given))
        evidence = evidence_of(surface, self.knowledge)
        model, *stepped = self._models(surface, start, over)
        posterior = model.posterior(evidence)
        weighed = weigh(model, evidence)
        ranges = span(model, weighed, *stepped)
        firings = self._network.run({**given, **believed_facts(posterior, years, self.knowledge, surface.under)})
        settled = Settled(piece, surface, start, years, firings)
        way = self.way_off(settled, posterior, evidence)
        costs = way.costs
        asked = frozenset(asked_for(firings))
        open_tests = worths(model, evidence, costs, piece.have, skip | surface.tests.keys(), asked)
        tests = safety_first(open_tests, firings, piece.have, self.knowledge)
        fitting = fit(model, posterior, weighed)
        return Examination(
            surface=surface,
            prior=start,
            evidence=evidence,
            posterior=posterior,
            ranges=ranges,
            weighed=weighed,
            fit=fitting,
            firings=firings,
            under=under,
            predictions=way.predictions,
            routes=way.routes,
            elsewhere=self._elsewhere(way),
            worths=tests,
            verdict=verdict(
                posterior,
                ranges[posterior.top][0],
                fitting,
                tests[0] if tests else None,
                costs,
                self.tables.finishes,
                self.knowledge.decide,
            ),
            costs=costs,
            below=way.below,
            changes=self._changes(settled, model, evidence, posterior, way.routes),
        )

    def _models(self, surface: Surface, start: Prior, over: dict[str, float]) -> tuple[Model, Model, Model, Model]:
        """Of one surface: as believed, with bands a step flatter, a step sharper, with a flatter prior."""
        return (
            Model(self.tables, start, surface.known, over),
            Model(self.flatter, start, surface.known, over),
            Model(self.sharper, start, surface.known, over),
            Model(self.tables, _flattened(start), surface.known, over),
        )

    def way_off(self, settled: Settled, posterior: Posterior, evidence: Sequence[Evidence]) -> WayOff:
        """Predictions, costs and routes under a belief."""
        piece, surface = settled.piece, settled.surface
        area = surface.area_m2 or DEFAULT_AREA_M2
        weights = Weights(taste=self.knowledge.decide.tastes[piece.prefer], area_m2=area)
        kept = kept_films(surface, posterior, settled.prior, self.knowledge)
        below = (
            {surface.under: 1.0} if surface.under else films_under(surface, posterior, settled.prior, self.knowledge)
        )
        here = Here(
            surface=surface,
            film=told(surface, settled.years, self.this_year or date.today().year),
            kept=kept,
            place=piece.place,
            celsius=piece.room.temperature_c,
            area_m2=area,
            posterior=posterior,
            evidence=evidence,
            firings=settled.firings,
            tables=self.tables,
            clock=self._clock,
        )
        predictions = predict_all(here)
        costs = cost_table(predictions, self.tables, weights)
        flooded = self._flooded_hours(piece.room)
        ground = Ground(
            posterior=posterior,
            costs=costs,
            tables=self.tables,
            weights=weights,
            room=piece.room,
            flooded_hours=flooded,
            slow=max(1.0, flooded / self._flooded_hours(Room())),
            below={} if surface.keep_under else below,
            kept=kept,
        )
        return WayOff(predictions, costs, rank_routes(predictions, ground), below, ground)

    def _elsewhere(self, way: WayOff) -> Route | None:
        """The way off that only this room stands against, if it is better than the best one here."""
        book = self.knowledge
        opened = [
            structs.replace(p, vetoes=[veto for veto in p.vetoes if veto.rule not in self._of_the_room])
            if book.removers[p.remover].hazard <= book.decide.elsewhere_most_hazard
            else p
            for p in way.predictions
        ]
        if opened == way.predictions:
            return None
        costs = cost_table(opened, self.tables, way.ground.weights)
        best = next(iter(rank_routes(opened, structs.replace(way.ground, costs=costs))), None)
        saved = book.decide.same_route_minutes
        here = {p.remover for p in way.predictions if p.allowed}
        if (
            best is None
            or best.remover in here
            or (way.routes and way.routes[0].expected_minutes - best.expected_minutes < saved)
        ):
            return None
        return best

    def _changes(
        self,
        settled: Settled,
        model: Model,
        evidence: Sequence[Evidence],
        posterior: Posterior,
        routes: Sequence[Route],
    ) -> list[Change]:
        """What each try of a remover has changed: belief and way off without it against what they are now."""
        changes = []
        for item in evidence:
            if item.test.startswith(PATCH_PREFIX):
                others = [e for e in evidence if e is not item]
                before = model.posterior(others)
                way = self.way_off(settled, before, others)
                changes.append(
                    told_change(item, settled.surface, before, posterior, way.routes, routes, self.knowledge)
                )
        return changes

    def _flooded_hours(self, room: Room) -> float:
        if room not in self._flooded:
            self._flooded[room] = flooded_hours(room, self.knowledge)
        return self._flooded[room]

    def _contamination(self, firings: Sequence[Firing]) -> dict[str, float]:
        """Factors on the chance of each contamination, from rules about the context."""
        factors: dict[str, float] = {}
        bands = self.knowledge.belief.bands
        for firing in firings:
            for name, band in firing.rule.then.contamination.items():
                factors[name] = factors.get(name, 1.0) * bands[band] / bands["sometimes"]
        return factors


def _flattened(start: Prior) -> Prior:
    """The prior one step less sure of itself."""
    names = list(start.joint)
    flat = scaled({f"{f}|{i}": start.joint[f][i] ** STEP_FLATTER for f in names for i in range(3)})
    return Prior({f: (flat[f"{f}|0"], flat[f"{f}|1"], flat[f"{f}|2"]) for f in names}, start.maker, start.contexts)
