"""How many sticks of which length could be bought for less than the plan at hand costs."""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from railfuncs.stock.job import Job

_MOST_LISTED = 20_000
_MOST_STEPS = 100_000

Counts = tuple[int, ...]


@dataclass(frozen=True)
class Shortfall:
    """Values of pieces: all pieces are worth `worth`, and each stick can hold at most `most` of it."""

    worth: int
    most: tuple[int, ...]

    @classmethod
    def of(cls, job: Job, values: Sequence[int], most: Sequence[int]) -> "Shortfall":
        worth = sum(value * count for value, count in zip(values, job.demand, strict=True))
        return cls(worth, tuple(most))

    def rules_out(self, counts: Counts) -> bool:
        """Whether so many sticks cannot hold all the pieces, however they are cut."""
        return sum(most * count for most, count in zip(self.most, counts, strict=True)) < self.worth


def ways_to_buy(
    job: Job, costs: Sequence[int], rank: tuple[int, int], shortfalls: Sequence[Shortfall], until: float
) -> list[Counts] | None:
    """Counts of sticks better than `rank` and not ruled out, best first; None if there are too many to list.

    Args:
        costs: prices; or lengths, where no stick has a price
        rank: price and length of the plan to beat
        shortfalls: what rules counts out
    """
    listing = _Listing(job, costs, rank, [Shortfall.of(job, job.widths, job.rooms), *shortfalls], until)
    listing.from_stick(0, (), rank[0] if costs is job.prices else rank[1])
    if listing.stopped:
        return None
    return sorted(listing.found, key=lambda counts: (job.bought(counts), sum(counts)))  # few long sticks fill easiest


class _Listing:
    def __init__(
        self, job: Job, costs: Sequence[int], rank: tuple[int, int], shortfalls: list[Shortfall], until: float
    ) -> None:
        self._job, self._costs, self._rank, self._shortfalls = job, costs, rank, shortfalls
        self._until = until
        self._steps = 0
        self.stopped = False
        self.found: list[Counts] = []
        pieces = sum(job.demand)  # never more sticks than pieces
        self._limits = [pieces if limit is None else min(limit, pieces) for limit in job.limits]

    def from_stick(self, stick: int, counts: Counts, budget: int) -> None:
        """Go on from the counts of the sticks before `stick`, with `budget` left for it and those after it."""
        self._steps += 1
        if self._steps > _MOST_STEPS or len(self.found) > _MOST_LISTED or time.monotonic() > self._until:
            self.stopped = True
        if self.stopped or not all(self._could_hold(each, stick, counts, budget) for each in self._shortfalls):
            return
        if stick == len(self._costs):
            if self._job.bought(counts) < self._rank:
                self.found.append(counts)
            return
        cost = self._costs[stick]
        most = min(self._limits[stick], budget // cost) if cost else self._limits[stick]
        for count in range(most + 1):
            self.from_stick(stick + 1, (*counts, count), budget - count * cost)

    def _could_hold(self, short: Shortfall, stick: int, counts: Counts, budget: int) -> bool:
        """Whether the budget left could still buy what the pieces need, were fractions of sticks sold."""
        lacking = short.worth - sum(most * count for most, count in zip(short.most, counts, strict=False))
        if lacking <= 0:
            return True
        best = Fraction(0)
        for most, cost, limit in zip(short.most[stick:], self._costs[stick:], self._limits[stick:], strict=True):
            if not cost:
                lacking -= most * limit
            else:
                best = max(best, Fraction(most, cost))
        return lacking <= best * budget
