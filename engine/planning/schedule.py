"""Working sessions: one person, so many hours a day, waits that run while other work is done.

Times are hours from the start of the first day. A step needs its hours of open time
(the first `session` hours of each day) and then waits round the clock; what follows
starts when the wait is over. Three plans are made (by the order given, by the longest
chain that hangs on a step, and one thing after the other) and the shortest is kept, so
that a schedule is never longer than doing all in sequence.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from .order import Node, Precedence

Rank = Callable[[Node], tuple[float, ...]]
HOURS_A_DAY = 24.0
GRAIN = 1e-9


class Job(Struct, frozen=True):
    """Hours of work of a step and the hours that it then waits."""

    hours: float
    wait: float


class Turn(Struct, frozen=True, kw_only=True):
    """When a step is done: hours from the start; `ready` is when its wait is over."""

    step: str
    surface: str
    start: float
    end: float
    ready: float


class Session(Struct, frozen=True, kw_only=True):
    """One day of work: what is done, for how long, what waits over it."""

    day: int
    hours: float
    steps: list[str]
    waiting: list[str]


class Schedule(Struct, frozen=True, kw_only=True):
    """The plan of days. Hours of work and of waiting; `elapsed` from the first step to the end of the last wait."""

    sessions: list[Session]
    turns: list[Turn]
    work_hours: float
    elapsed_hours: float
    sequence_hours: float
    longest_chain_hours: float
    days: int
    sequence_days: int


def schedule(order: Sequence[Node], graph: Precedence, jobs: Mapping[Node, Job], session: float) -> Schedule:
    """The shortest of the plans. `order` is a topological order of `graph`; `session` open hours of a day."""
    below = _chains(order, graph, jobs)
    rank = {node: index for index, node in enumerate(order)}
    sequence = _in_sequence(order, jobs, session)
    plans = [
        _greedy(order, graph, jobs, session, lambda node: (rank[node],)),
        _greedy(order, graph, jobs, session, lambda node: (-below[node], rank[node])),
        sequence,
    ]
    turns = min(plans, key=_end)
    return Schedule(
        sessions=_sessions(turns, session),
        turns=turns,
        work_hours=sum(jobs[node].hours for node in order),
        elapsed_hours=_end(turns),
        sequence_hours=_end(sequence),
        longest_chain_hours=max(below.values(), default=0.0),
        days=_days(turns),
        sequence_days=_days(sequence),
    )


def _chains(order: Sequence[Node], graph: Precedence, jobs: Mapping[Node, Job]) -> dict[Node, float]:
    """Hours of work and waiting from the start of each step to the end of all that hangs on it."""
    below: dict[Node, float] = {}
    for node in reversed(order):
        after = max((below[then] for then in graph.after[node]), default=0.0)
        below[node] = jobs[node].hours + jobs[node].wait + after
    return below


def _greedy(
    order: Sequence[Node], graph: Precedence, jobs: Mapping[Node, Job], session: float, rank: Rank
) -> list[Turn]:
    """Always the best-ranked step that may start; idle only while everything waits."""
    missing = {node: len(graph.before[node]) for node in order}
    free = {node: 0.0 for node in order if not missing[node]}  # step -> when what comes before it is over
    since: dict[Node, float] = {}
    now, turns = 0.0, []
    while free:
        node, now = _next(free, jobs, now, session, rank)
        since_free = free.pop(node)
        turn = _turn(node, now if jobs[node].hours else since_free, jobs[node], session)
        turns.append(turn)
        now = turn.end if jobs[node].hours else now
        for then in graph.after[node]:
            since[then] = max(since.get(then, 0.0), turn.ready)
            missing[then] -= 1
            if not missing[then]:
                free[then] = since[then]
    return turns


def _next(
    free: Mapping[Node, float], jobs: Mapping[Node, Job], now: float, session: float, rank: Rank
) -> tuple[Node, float]:
    """The step to do next, and the time by then: mere waits at once, else the best of those that may start first."""
    waits = [node for node in free if not jobs[node].hours]
    if waits:
        return min(waits, key=rank), now
    now = min(_opens(max(now, start), session) for start in free.values())
    return min((node for node, start in free.items() if start <= now + GRAIN), key=rank), now


def _in_sequence(order: Sequence[Node], jobs: Mapping[Node, Job], session: float) -> list[Turn]:
    """One thing after the other, each wait waited out."""
    now, turns = 0.0, []
    for node in order:
        turn = _turn(node, _opens(now, session) if jobs[node].hours else now, jobs[node], session)
        turns.append(turn)
        now = turn.ready
    return turns


def _turn(node: Node, start: float, job: Job, session: float) -> Turn:
    end = _worked(start, job.hours, session) if job.hours else start
    return Turn(step=node.step, surface=node.surface, start=start, end=end, ready=end + job.wait)


def _opens(now: float, session: float) -> float:
    """The first open moment at or after `now`."""
    day, hour = divmod(now, HOURS_A_DAY)
    return now if hour < session - GRAIN else (day + 1) * HOURS_A_DAY


def _worked(start: float, hours: float, session: float) -> float:
    """When so many open hours from `start` (an open moment) are over."""
    today = session - start % HOURS_A_DAY
    if hours <= today + GRAIN:
        return start + hours
    more = hours - today
    full = int((more - GRAIN) // session)
    return (start // HOURS_A_DAY + 1 + full) * HOURS_A_DAY + more - full * session


def _days(turns: Sequence[Turn]) -> int:
    return int(_end(turns) // HOURS_A_DAY) + 1 if turns else 0


def _end(turns: Sequence[Turn]) -> float:
    return max((turn.ready for turn in turns), default=0.0)


def _sessions(turns: Sequence[Turn], session: float) -> list[Session]:
    """The days with work; a step that runs over a night stands in each of its days, a mere wait in none."""
    days: dict[int, list[tuple[Turn, float]]] = {}
    for turn in turns:
        for day in range(int(turn.start // HOURS_A_DAY), int(turn.end // HOURS_A_DAY) + 1):
            opens = day * HOURS_A_DAY
            hours = min(turn.end, opens + session) - max(turn.start, opens)
            if hours > GRAIN:
                days.setdefault(day, []).append((turn, hours))
    return [
        Session(
            day=day + 1,
            hours=round(sum(hours for _, hours in rows), 2),
            steps=[_told(turn) for turn, _ in rows],
            waiting=[_told(t) for t in turns if t.end <= (day + 1) * HOURS_A_DAY < t.ready],
        )
        for day, rows in sorted(days.items())
    ]


def _told(turn: Turn) -> str:
    return f"{turn.step} ({turn.surface})" if turn.surface else turn.step
