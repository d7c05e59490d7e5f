"""Plans with a solver: how many sticks of which length first, then how to cut them.

1. Patterns are made as they are wanted (column generation) for the least price in fractions of sticks. The solver's
   floating-point prices only suggest values of the pieces; what they prove is worked out exactly (`bounds`).
2. The ways to buy that could beat the plan at hand are listed, cheapest first. Values of the pieces that show, exactly,
   that a way to buy cannot hold them all rule it out, and many others with it.
3. For a way to buy that is left, the solver looks for whole numbers of patterns; where all that could serve were few
   enough to be listed, its "none" rules the way out too. Only that answer rests on the solver's own branch and bound.
"""

import os
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import islice
from math import ceil, inf

import highspy
import numpy as np

from railfuncs.stock import bounds
from railfuncs.stock.buying import Shortfall, ways_to_buy
from railfuncs.stock.greedy import plan_greedily, tidy
from railfuncs.stock.job import Job, Pattern, Solution
from railfuncs.stock.knapsack import Fillings

_FINE = 2**30  # values of pieces are whole numbers of this part of the dearest stick
_MOST_LISTED = 5_000
_EACH_ROUND = 4
_NOT_CUT = 10.0  # what leaving a piece uncut costs, in dearest sticks, while patterns are still wanting
_LOSS = 1e-7
_FEW_WAYS = 200  # beyond it, better a good plan first
_SHARES = 4  # one way to buy may take this part of the time left, the last one all of it


@dataclass(frozen=True)
class _Proved:
    """The bound of one round, with what is needed to tell which patterns a cheaper plan could use."""

    bound: Fraction
    proof: bounds.Proof
    fillings: Fillings


def search(job: Job, known: Solution | None, lower: int, until: float) -> tuple[Solution | None, int, int]:
    """A plan no worse than `known`; a bound on its price no lower than `lower`; one on its length at that price."""
    costs = job.prices if any(job.prices) else job.lengths
    master = _Master(job, costs, [*(known or ()), *_plain_patterns(job)])
    best, shortfalls = _generate(job, costs, master, until)
    if best is None:
        return known, lower, 0
    if costs is job.prices:
        lower = max(lower, bounds.reachable(best.bound, costs))
    plan = _better(job, known, _rounded(job, master))
    return _by_buying(job, costs, master, best, shortfalls, plan, lower, until)


def bound_in_fractions(job: Job, seconds: float) -> Fraction:
    """The least price if fractions of sticks were sold, proved from below."""
    best, _ = _generate(job, job.prices, _Master(job, job.prices, _plain_patterns(job)), time.monotonic() + seconds)
    return best.bound if best else Fraction(0)


def _better(job: Job, one: Solution | None, other: Solution | None) -> Solution | None:
    return min((plan for plan in (one, other) if plan is not None), key=job.rank, default=None)


def _plain_patterns(job: Job) -> list[Pattern]:
    """As many of one width as a stick takes: every piece can be cut in some way from the start."""
    return [
        (stick, ((at, min(job.demand[at], room // width)),))
        for stick, room in enumerate(job.rooms)
        for at, width in enumerate(job.widths)
        if width <= room
    ]


class _Master:
    """The linear program: how often to cut each pattern, in fractions of sticks."""

    def __init__(self, job: Job, costs: Sequence[int], patterns: Iterable[Pattern] = ()) -> None:
        self._pieces = len(job.demand)
        self._costs = [cost / max(1, *costs) for cost in costs]
        self.patterns: dict[Pattern, None] = {}
        self._lp = _quiet()
        for count in job.demand:
            self._lp.addRow(float(count), inf, 0, [], [])
        for limit in job.limits:
            self._lp.addRow(-inf, inf if limit is None else float(limit), 0, [], [])
        for row in range(self._pieces):
            self._lp.addCol(_NOT_CUT, 0.0, inf, 1, [row], [1.0])
        for pattern in patterns:
            self.add(pattern)

    def add(self, pattern: Pattern) -> bool:
        if pattern in self.patterns:
            return False
        self.patterns[pattern] = None
        stick, counts = pattern
        rows = [*(width for width, _ in counts), self._pieces + stick]
        entries = [*(float(count) for _, count in counts), 1.0]
        self._lp.addCol(self._costs[stick], 0.0, inf, len(rows), rows, entries)
        return True

    def solve(self, until: float) -> bool:
        self._lp.setOptionValue("time_limit", self._lp.getRunTime() + max(0.05, until - time.monotonic()))
        self._lp.run()
        return bool(self._lp.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def uncut(self) -> float:
        return float(sum(list(self._lp.getSolution().col_value)[: self._pieces]))

    def worth(self) -> tuple[list[int], list[float]]:
        """What each piece is worth at the moment, and what a filling of each stick must be worth to be of use."""
        dual = list(self._lp.getSolution().row_dual)
        # No piece is worth nothing, so that listing patterns passes over none.
        values = [max(1, int(each * _FINE)) for each in dual[: self._pieces]]
        surplus = [max(0.0, -each) for each in dual[self._pieces :]]
        return values, [cost + more + _LOSS for cost, more in zip(self._costs, surplus, strict=True)]

    def times(self) -> dict[Pattern, float]:
        values = list(self._lp.getSolution().col_value)[self._pieces :]
        return dict(zip(self.patterns, values, strict=True))

    def extend(self, job: Job, fillings: Fillings, most: list[int], needed: list[float]) -> bool:
        """Add the best fillings of each stick, and some nearly as good; False where none is of use."""
        new = False
        for stick, room in enumerate(job.rooms):
            if most[stick] <= needed[stick] * _FINE:
                continue
            nearly = max(int(needed[stick] * _FINE), most[stick] - _FINE // 50)
            for value in (most[stick], nearly):
                for cut in islice(fillings.worth_at_least(room, value), _EACH_ROUND):
                    new |= self.add((stick, cut))
        return new


def _generate(job: Job, costs: Sequence[int], master: _Master, until: float) -> tuple[_Proved | None, list[Shortfall]]:
    """Add patterns until none is missing or time is up; the best bound on the way, and the last values."""
    best: _Proved | None = None
    last: list[Shortfall] = []
    while time.monotonic() < until and master.solve(until):
        values, needed = master.worth()
        fillings = Fillings(job.widths, job.demand, values, max(job.rooms))
        most = [fillings.best(room) for room in job.rooms]
        proof = bounds.proof(values, most, job.demand, costs, job.limits)
        last = [Shortfall.of(job, values, most)]
        if best is None or proof.bound > best.bound:
            best = _Proved(proof.bound, proof, fillings)
        if not master.extend(job, fillings, most, needed):
            break
    return best, last


def _rounded(job: Job, master: _Master) -> Solution | None:
    """The whole sticks of the linear program's answer, and the rest cut greedily."""
    whole = {pattern: int(times + _LOSS) for pattern, times in master.times().items() if times + _LOSS >= 1}
    demand, limits = list(job.demand), list(job.limits)
    for (stick, counts), times in whole.items():
        for width, count in counts:
            demand[width] = max(0, demand[width] - count * times)
        limit = limits[stick]
        limits[stick] = None if limit is None else max(0, limit - times)
    rest = plan_greedily(replace(job, demand=tuple(demand), limits=tuple(limits))) if any(demand) else {}
    if rest is None:
        return None
    for pattern, times in whole.items():
        rest[pattern] = rest.get(pattern, 0) + times
    return _checked(job, rest)


def _checked(job: Job, solution: Solution) -> Solution | None:
    plan = tidy(job, solution)
    return None if job.faults(plan) else plan


def _by_buying(
    job: Job,
    costs: Sequence[int],
    master: _Master,
    best: _Proved,
    shortfalls: list[Shortfall],
    plan: Solution | None,
    lower: int,
    until: float,
) -> tuple[Solution | None, int, int]:
    """Go through the ways to buy, cheapest first; the first that is neither ruled out nor done is the bound."""
    if plan is None:
        plan = _choose(job, list(master.patterns), costs, (time.monotonic() + until) / 2)[0]
    if plan is None:
        return None, lower, 0
    ways = ways_to_buy(job, costs, job.rank(plan), shortfalls, until)
    if ways is None or len(ways) > _FEW_WAYS:
        target = lower if costs is job.prices else 0
        whole = _choose(job, list(master.patterns), costs, (3 * time.monotonic() + until) / 4, target)[0]
        plan = plan if whole is None else min(plan, whole, key=job.rank)
    if ways is None:
        return plan, lower, 0
    ways = [counts for counts in ways if job.bought(counts) < job.rank(plan)]
    bound: tuple[int, int] | None = None  # rank of the first way left open
    patterns = dict(master.patterns)
    for tried, counts in enumerate(ways):
        if any(each.rules_out(counts) for each in shortfalls):
            continue
        found, out = None, False
        if time.monotonic() < until:
            share = time.monotonic() + (until - time.monotonic()) / min(_SHARES, len(ways) - tried)
            found, out = _cut_from(replace(job, limits=counts), costs, best, patterns, shortfalls, share)
        if not out:
            bound = bound or job.bought(counts)
        if found is not None:
            plan = min(plan, found, key=job.rank)
            break
    price, length = min(bound or job.rank(plan), job.rank(plan))
    return plan, max(lower, price), length if price == job.rank(plan)[0] else 0


def _cut_from(
    bought: Job,
    costs: Sequence[int],
    best: _Proved,
    patterns: dict[Pattern, None],
    shortfalls: list[Shortfall],
    until: float,
) -> tuple[Solution | None, bool]:
    """All pieces cut from what is bought, if a way is found; else whether it is proved that there is none."""
    master = _Master(bought, [0] * len(costs), patterns)
    while time.monotonic() < until and master.solve(until) and master.uncut() > _LOSS:
        values, needed = master.worth()
        fillings = Fillings(bought.widths, bought.demand, values, max(bought.rooms))
        most = [fillings.best(room) for room in bought.rooms]
        short = Shortfall.of(bought, values, most)
        if short.rules_out(tuple(limit or 0 for limit in bought.limits)):
            shortfalls.append(short)
            return None, True
        if not master.extend(bought, fillings, most, needed):
            return None, False
    patterns.update(master.patterns)
    half = (time.monotonic() + until) / 2
    found, _ = _choose(bought, list(patterns), [0] * len(costs), half)
    if found is not None or time.monotonic() > until:
        return found, False
    spent = sum(cost * (limit or 0) for cost, limit in zip(costs, bought.limits, strict=True))
    listed = _listed(bought, costs, best, spent - best.bound, until)
    return (None, False) if listed is None else _choose(bought, listed, [0] * len(costs), until)


def _listed(job: Job, costs: Sequence[int], best: _Proved, slack: Fraction, until: float) -> list[Pattern] | None:
    """Every full pattern that loses at most `slack` against the bound; None if there are too many.

    What patterns lose against the values of the bound adds up: a plan that costs no more than bound + slack has
    none that loses more by itself.
    """
    found: list[Pattern] = []
    if not best.proof.scale:
        return None
    for stick, room in enumerate(job.rooms):
        wanted = ceil((costs[stick] + best.proof.surplus[stick] - slack) / best.proof.scale)
        for tried, cut in enumerate(best.fillings.worth_at_least(room, wanted)):
            if cut and _is_full(job, room, cut):
                found.append((stick, cut))
            if len(found) > _MOST_LISTED or (tried % 64 == 0 and time.monotonic() > until):
                return None
    return found


def _is_full(job: Job, room: int, cut: tuple[tuple[int, int], ...]) -> bool:
    """Whether no more piece fits: a fuller pattern loses less and serves every plan that this one does."""
    counts = dict(cut)
    left = room - sum(job.widths[width] * count for width, count in cut)
    for width in range(len(job.widths) - 1, -1, -1):
        if job.widths[width] > left:
            return True
        if counts.get(width, 0) < job.demand[width]:
            return False
    return True


def _choose(
    job: Job, patterns: Sequence[Pattern], costs: Sequence[int], until: float, target: int = 0
) -> tuple[Solution | None, bool]:
    """Whole numbers of patterns that cut all, for the least cost; else whether the solver says there are none.

    A cost of `target` is good enough.
    """
    dearest = max(1, *costs)
    mip = _quiet()
    mip.setOptionValue("objective_target", (target + 0.25) / dearest)
    mip.setOptionValue("time_limit", max(0.1, until - time.monotonic()))
    rows: list[dict[int, float]] = [{} for _ in (*job.demand, *job.limits)]
    for column, (stick, counts) in enumerate(patterns):
        for width, count in counts:
            rows[width][column] = float(count)
        rows[len(job.demand) + stick][column] = 1.0
        most = max(-(-job.demand[width] // count) for width, count in counts)
        mip.addCol(costs[stick] / dearest, 0.0, float(most), 0, [], [])
    lows = [*(float(count) for count in job.demand), *(-inf for _ in job.limits)]
    highs = [*(inf for _ in job.demand), *(inf if limit is None else float(limit) for limit in job.limits)]
    for low, high, entries in zip(lows, highs, rows, strict=True):
        mip.addRow(low, high, len(entries), list(entries), list(entries.values()))
    integer = np.full(len(patterns), int(highspy.HighsVarType.kInteger), np.uint8)
    mip.changeColsIntegrality(len(patterns), np.arange(len(patterns), dtype=np.int32), integer)
    mip.run()
    if mip.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return None, True
    if mip.getInfo().primal_solution_status != highspy.kSolutionStatusFeasible:
        return None, False
    times = [round(each) for each in mip.getSolution().col_value]
    chosen = {pattern: count for pattern, count in zip(patterns, times, strict=True) if count}
    return _checked(job, chosen), False


@cache
def _greeted() -> None:
    """The solver prints its name when it is first made, before it can be told not to: let it do so to nobody."""
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output
        return
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        try:
            highspy.Highs()  # type: ignore[no-untyped-call]
        finally:
            os.dup2(kept, 1)
            os.close(kept)


def _quiet() -> highspy.Highs:
    _greeted()
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    return solver
