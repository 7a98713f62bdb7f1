"""From what was worked out to what is told: words, reasons and sources on every line."""

from __future__ import annotations

from msgspec.structs import replace

from ..deciding.changes import went_well
from ..deciding.routes import Route
from ..deciding.tree import Branch
from ..examine import Examination
from ..knowledge.base import Knowledge
from ..piece.form import Piece
from ..planning.facing import Facing
from ..planning.ledger import ledger
from ..planning.minding import cautions_here
from ..planning.order import Node
from ..planning.plan import Plan
from ..removal.objection import Objection
from ..removal.predict import Prediction
from ..removal.reason import SEEN
from ..wood.moisture import told_movement
from ..words import certainty, likely, sentence
from .asking import told_evidence, told_test, verdict_why
from .assessment import (
    SCHEMA_VERSION,
    Assessment,
    FitReport,
    KnowledgeReport,
    Layer,
    Ranked,
    Reason,
    RemoverReport,
    RouteReport,
    Shopping,
    StageReport,
    Step,
    SurfaceReport,
)
from .sanding import told_sanding
from .warned import (
    before_stripping,
    cautions,
    flags,
    hazards,
    told_cautions,
)

NOTABLE_DB = 0.5
SHOWN_LAYER = 0.15
OTHER_TESTS = 3


def surface_report(facing: Facing, piece: Piece, knowledge: Knowledge) -> SurfaceReport:
    """The report on one surface."""
    done = facing.done
    low, high = done.ranges[done.posterior.top]
    paying = [w for w in done.worths if w.saves > 0]
    next_test = paying[0] if paying and done.verdict == "test-more" else None
    return SurfaceReport(
        name=done.surface.name,
        ranking=ranking(done, knowledge),
        none_of_these=done.posterior.other,
        certainty=certainty(low, high, seen=bool(done.evidence or done.surface.known)),
        layers=layers(done, knowledge),
        fit=FitReport(
            ok=done.fit.ok,
            surprise_db=done.fit.surprise_db,
            clashes=done.fit.clashes,
            repeat=done.fit.doubtful,
            astray=done.fit.astray,
        ),
        verdict=done.verdict,
        verdict_why=verdict_why(done, knowledge),
        next_test=told_test(next_test, done, knowledge) if next_test else None,
        other_tests=[told_test(w, done, knowledge) for w in done.worths if w is not next_test][:OTHER_TESTS],
        removers=[
            told_remover(p, knowledge)
            for p in sorted(done.predictions, key=lambda p: (bool(p.vetoes), -p.works, p.remover))
        ],
        routes=[told_route(only_here(r, facing.conditions, knowledge), done, knowledge) for r in done.routes],
        tried=[change.text for change in done.changes],
        sanding=told_sanding(done),
        handling=facing.how,
        before_stripping=before_stripping(done) if facing.how == "strip" else [],
        area_m2=round(facing.area_m2, 2),
        stains=facing.stains,
        recoat=facing.coats,
        moves=told_movement(done.surface.wood, piece.room.temperature_c, knowledge)
        if done.surface.build == "solid"
        else None,
        flags=flags(done, piece, knowledge),
        flags_here=flags(done, piece, knowledge, facing.conditions),
        cautions=cautions(facing, knowledge),
        reasons=[Reason(rule=f.rule.id, matched=f.facts, why=f.rule.why, source=f.rule.source) for f in done.firings],
    )


def assembled(piece: Piece, planned: Plan, knowledge: Knowledge, odd: list[str]) -> Assessment:
    """The whole answer from the plan and its surfaces."""
    surfaces = [surface_report(_as_worked(facing, planned, knowledge), piece, knowledge) for facing in planned.facings]
    warned = [c for task in planned.tasks.values() for c in task.cautions]
    return Assessment(
        schema_version=SCHEMA_VERSION,
        piece=piece.piece,
        knowledge=KnowledgeReport(
            version=knowledge.version, layers=knowledge.layers, left_out=[str(p) for p in knowledge.left_out]
        ),
        surfaces=surfaces,
        triage=planned.triage,
        order_of_work=[told_step(node, planned, knowledge) for node in planned.order],
        held=[told_step(node, planned, knowledge) for node in planned.held],
        if_anyway=[told_step(node, planned, knowledge) for node in planned.if_anyway],
        schedule=planned.schedule,
        shopping=Shopping(items=planned.shopping, tools=planned.tools),
        parts=ledger(piece),
        flags=[*odd, *planned.flags],
        cautions=list(dict.fromkeys([*(c for s in surfaces for c in s.cautions), *told_cautions(warned, knowledge)])),
        hazards=hazards(planned, knowledge),
    )


def _as_worked(facing: Facing, planned: Plan, knowledge: Knowledge) -> Facing:
    """The surface with its stains in the order in which they are treated; last those that need nothing."""
    steps, at = knowledge.work.steps, dict[str | None, int]()
    for number, node in enumerate([*planned.order, *planned.held, *planned.if_anyway]):
        if node.surface == facing.name:
            at.setdefault(steps[node.step].treatment or steps[node.step].takes, number)
    last = len(planned.tasks)
    marks = at.get("dry-marks", last)  # all that has no step of its own
    stains = sorted(facing.stains, key=lambda s: last + 1 if s.next is None else at.get(s.next, marks))
    return replace(facing, stains=stains)


def told_step(node: Node, planned: Plan, knowledge: Knowledge) -> Step:
    """One step of the order of work with its reasons, hours and cautions."""
    step, task = knowledge.work.steps[node.step], planned.tasks[node]
    before = planned.graph.before[node] if planned.graph is not None else {}
    early = planned.triage.early
    return Step(
        step=node.step,
        name=step.name,
        surface=node.surface,
        after=list(dict.fromkeys(b.step for b in before)),
        why="; ".join(dict.fromkeys(before.values())) or "it comes first",
        how=step.how,
        note=task.note,
        hours=_rounded(task.hours),
        wait_hours=round(task.wait, 1),
        early=early is not None and node.surface in ("", early.surface) and node.step in early.steps,
        cautions=told_cautions(task.cautions, knowledge),
    )


def ranking(done: Examination, knowledge: Knowledge) -> list[Ranked]:
    """All finishes, most probable first, with what speaks for and against each."""
    order = sorted(done.posterior.finishes.items(), key=lambda pair: (-pair[1], pair[0]))
    return [
        Ranked(
            finish=name,
            name=knowledge.finishes[name].name,
            p=p,
            low=min(done.ranges[name][0], p),
            high=max(done.ranges[name][1], p),
            supports=_pulls(done, name, knowledge, +1),
            against=_pulls(done, name, knowledge, -1),
        )
        for name, p in order
    ]


def _pulls(done: Examination, finish: str, knowledge: Knowledge, sign: int) -> list[str]:
    """Answers that pull this way, strongest first, then what age and kind say."""
    rows = [
        (pulls[finish], f"{told_evidence(item.name, item.seen, knowledge)} ({pulls[finish]:+.0f} dB)")
        for item, pulls in zip(done.weighed.evidence, done.weighed.decibans, strict=True)
        if pulls[finish] * sign >= NOTABLE_DB
    ]
    told = [text for _, text in sorted(rows, key=lambda row: -abs(row[0]))]
    before, even = sum(done.prior.joint[finish]), 1 / len(done.prior.joint)
    if (sign > 0 and before >= 2 * even) or (sign < 0 and before < 0.5 * even):
        told.append(f"age, place and kind of piece: {likely(before)} before any test ({before:.0%})")
    return told


def layers(done: Examination, knowledge: Knowledge) -> list[Layer]:
    """What lies over the top finish, and what probably lies under it."""
    found = []
    over = done.posterior.contamination
    for name, p in sorted(over.items(), key=lambda pair: -pair[1]):
        if name != "clean" and p >= SHOWN_LAYER and not knowledge.belief.contamination[name].drowns:
            found.append(Layer(finish=name, where="over", p=p, text=knowledge.belief.contamination[name].about))
    return found + _under(done, knowledge)


def _under(done: Examination, knowledge: Knowledge) -> list[Layer]:
    shown = sorted(((p, f) for f, p in done.below.items() if p >= 0.1), reverse=True)[:3]
    return [
        Layer(finish=f, where="under", p=p, text=f"{likely(p)}: {knowledge.finishes[f].name} lies under the top film")
        for p, f in shown
    ]


def told_remover(prediction: Prediction, knowledge: Knowledge) -> RemoverReport:
    """A remover's prospects here."""
    return RemoverReport(
        remover=prediction.remover,
        name=knowledge.removers[prediction.remover].name,
        outcome=prediction.effects,
        works=prediction.works,
        harm=prediction.harm,
        vetoed_by=[_objection(v) for v in prediction.vetoes],
        because=prediction.because,
        hours=_rounded(prediction.hours),
        coats=prediction.coats,
        dwell_minutes=_rounded(prediction.dwell_minutes),
        dwell_likely_minutes=round(prediction.dwell_likely, 1),
        coat_minutes=_rounded(_of_a_coat(prediction, knowledge.removers[prediction.remover].work.open_minutes)),
        exception=prediction.exception,
        warnings=[_objection(h) for h in (*prediction.warnings, *prediction.harms)],
        reason=prediction.reason(knowledge),
        litres=_rounded(prediction.litres),
    )


def _of_a_coat(prediction: Prediction, open_minutes: float) -> tuple[float, float]:
    """Minutes of contact by the coat; the remover dries on after `open_minutes`."""
    ends = zip(prediction.dwell_minutes, prediction.coats, strict=True)
    low, high = sorted(min(whole / max(1, round(coats)), open_minutes) for whole, coats in ends)
    return low, high


def only_here(route: Route, held: frozenset[str], knowledge: Knowledge) -> Route:
    """The route without the cautions that do not matter on this surface."""
    stages = [replace(s, cautions=cautions_here(s.cautions, held, knowledge)) for s in route.stages]
    return replace(route, stages=stages, cautions=cautions_here(route.cautions, held, knowledge))


def told_route(route: Route, done: Examination, knowledge: Knowledge) -> RouteReport:
    """A route as steps in words; a trial of it that went well on this surface is not asked for again."""
    seen = went_well(done.changes, route.remover)
    if seen is not None:
        route = replace(route, stages=[_trial_done(s, seen, knowledge) for s in route.stages])
    elif tried := [change.seen for change in done.changes if change.remover == route.remover]:
        again = f"Tried here before: {SEEN[tried[-1]]}. "
        stages = [replace(s, text=again + s.text) if s.kind == "patch" else s for s in route.stages]
        route = replace(route, stages=stages)
    return RouteReport(
        remover=route.remover,
        name=knowledge.removers[route.remover].name,
        then=route.then,
        steps=[stage.text for stage in route.stages],
        tree=[
            StageReport(
                kind=stage.kind,
                text=stage.text,
                minutes=_rounded(stage.minutes),
                then=stage.then,
                otherwise=stage.otherwise,
                cautions=stage.cautions,
            )
            for stage in route.stages
        ],
        covers=route.covers,
        hazard=route.hazard,
        expected_hours=round(route.expected_hours, 2),
        expected_minutes=round(route.expected_minutes, 1),
        works=route.works,
        harm=route.harm,
        litres=_rounded(route.litres),
        litres_m2=_rounded(route.litres_m2),
        dry_hours=route.dry_hours,
        cautions=told_cautions(route.cautions, knowledge),
        trial_done=seen is not None,
    )


def _trial_done(stage: Branch, seen: str, knowledge: Knowledge) -> Branch:
    """The stage of the trial once that went well: what is left of it is to look at what lies under the film."""
    if stage.kind != "patch" or stage.remover is None:
        return stage
    remover = knowledge.removers[stage.remover]
    ready = f"{sentence(remover.before)} " if remover.before else ""
    told = f"{ready}The trial with {remover.name} is done: {SEEN[seen]}. Go on if what lies under it is as it was."
    return replace(stage, text=f"{told} If not: step {stage.otherwise}.", minutes=(0.0, 0.0))


def _objection(objection: Objection) -> str:
    return f"{objection.rule}: {objection.why}"


def _rounded(span: tuple[float, float]) -> tuple[float, float]:
    return round(span[0], 2), round(span[1], 2)
