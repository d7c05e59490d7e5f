"""Plans without a solver: longest piece first, in several ways; the best one counts."""

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from railfuncs.stock.job import Job, Pattern, Solution


class Held(NamedTuple):
    """What is on a stick so far, last first."""

    before: "Held | None"
    width: int
    times: int


Choice = tuple[list[int], list[int], list[int]]
"""Sizes that could be added (less than zero, so that they rise), how many of each, and their places as widths."""

_MOST_TRIES = 2000  # for one stick
_ALL_TRIES = 200_000  # for one plan


def plan_greedily(job: Job) -> Solution | None:
    """The best of the plans found; None where the sticks on hand did not suffice for any of them."""
    return min((tidy(job, solution) for solution in _plans(job)), key=job.rank, default=None)


def _plans(job: Job) -> Iterator[Solution]:
    cheapest = sorted(
        (stick for stick, room in enumerate(job.rooms) if room),
        key=lambda stick: (job.prices[stick] / job.rooms[stick], -job.rooms[stick]),
    )
    for first in cheapest:
        order = [first, *(stick for stick in cheapest if stick != first)]
        for solution in (_best_fit(job, order), _fill(job, order[:1], order), _fill(job, cheapest, order)):
            if solution is not None:
                yield solution


def _best_fit(job: Job, order: list[int]) -> Solution | None:
    """Each piece, longest first, goes where it leaves least; a new stick is the first of `order` that can be had."""
    left = list(job.limits)
    opened: list[tuple[int, list[int]]] = []
    spare: list[tuple[int, int]] = []  # (room left, place in opened), least first
    for width, size in enumerate(job.widths):
        for _ in range(job.demand[width]):
            at = bisect_left(spare, (size, -1))
            if at < len(spare):
                room, place = spare.pop(at)
            else:
                stick = next((s for s in order if left[s] != 0 and job.rooms[s] >= size), None)
                if stick is None:
                    return None
                _take(left, stick, 1)
                room, place = job.rooms[stick], len(opened)
                opened.append((stick, []))
            opened[place][1].append(width)
            insort(spare, (room - size, place))
    return dict(Counter(_pattern(stick, Counter(cut)) for stick, cut in opened))


def _fill(job: Job, choice: list[int], order: list[int]) -> Solution | None:
    """Stick by stick: the longest piece left, then what fills the rest best; the cheapest by what it holds wins."""
    left = list(job.limits)
    remain = list(job.demand)
    most_tries = min(_MOST_TRIES, max(40, _ALL_TRIES // sum(remain)))
    solution: Counter[Pattern] = Counter()
    while any(remain):
        longest = next(width for width, count in enumerate(remain) if count)
        fits = [s for s in order if left[s] != 0 and job.rooms[s] >= job.widths[longest]]
        if not fits:
            return None
        among = [s for s in fits if s in choice] or fits[:1]
        remain[longest] -= 1  # it is on the stick already
        there = [width for width in range(longest, len(remain)) if remain[width]]
        others = [-job.widths[width] for width in there], [remain[width] for width in there], there
        remain[longest] += 1
        patterns = [_fullest(job, s, longest, others, most_tries) for s in among]
        best = min(patterns, key=lambda each: (job.prices[each[0]] / job.used(each), -job.used(each)))
        times = min(remain[width] // count for width, count in best[1])
        limit = left[best[0]]
        times = times if limit is None else min(times, limit)
        solution[best] += times
        _take(left, best[0], times)
        for width, count in best[1]:
            remain[width] -= count * times
    return dict(solution)


def _fullest(job: Job, stick: int, longest: int, choice: Choice, most_tries: int) -> Pattern:
    """Depth first, most of the longest first, for the least room left; stops after so many tries."""
    sizes, counts, widths = choice
    best: tuple[int, Held | None] = (job.rooms[stick] + 1, None)
    stack: list[tuple[int, int, Held]] = [(0, job.rooms[stick] - job.widths[longest], Held(None, longest, 1))]
    tries = 0
    while stack and best[0] and tries < most_tries:
        at, room, on = stack.pop()
        tries += 1
        if room < best[0]:
            best = (room, on)
        at = max(at, bisect_left(sizes, -room))
        if at < len(sizes):
            for some in range(min(counts[at], room // -sizes[at]) + 1):
                more = Held(on, widths[at], some) if some else on
                stack.append((at + 1, room + some * sizes[at], more))
    held: Counter[int] = Counter()
    cut: Held | None = best[1]
    while cut is not None:
        held[cut.width] += cut.times
        cut = cut.before
    return _pattern(stick, held)


def tidy(job: Job, solution: Solution) -> Solution:
    """Cut nothing twice, and put each stick's pieces on the cheapest (then shortest) stick that holds them."""
    over: list[int] = [-count for count in job.demand]
    for (_, counts), times in solution.items():
        for width, count in counts:
            over[width] += count * times
    rows = [(stick, dict(counts)) for (stick, counts), times in solution.items() for _ in range(times)]
    rows.sort(key=lambda row: sum(job.widths[width] * count for width, count in row[1].items()))  # emptiest first
    for _, counts_of in rows:
        for width in list(counts_of):
            drop = max(0, min(over[width], counts_of[width]))
            over[width] -= drop
            counts_of[width] -= drop
    kept = [_pattern(stick, counts_of) for stick, counts_of in rows if any(counts_of.values())]
    left = list(job.limits)
    for stick, _ in kept:
        _take(left, stick, 1)
    better = sorted(range(len(job.rooms)), key=lambda s: (job.prices[s], job.lengths[s]))
    result: Counter[Pattern] = Counter()
    for pattern in sorted(kept, key=job.used):
        used = job.used(pattern)
        stick = next(s for s in better if s == pattern[0] or (job.rooms[s] >= used and left[s] != 0))
        if stick != pattern[0]:
            _take(left, stick, 1)
            _take(left, pattern[0], -1)
        result[(stick, pattern[1])] += 1
    return dict(result)


def _pattern(stick: int, counts: dict[int, int]) -> Pattern:
    return stick, tuple(sorted((width, count) for width, count in counts.items() if count))


def _take(left: list[int | None], stick: int, times: int) -> None:
    limit = left[stick]
    if limit is not None:
        left[stick] = limit - times
