"""How little a plan can cost: bounds proved in exact arithmetic, with no solver.

Give every piece a value v such that no stick can hold pieces worth more than that stick costs. Then the pieces of
a job, however they are cut, cost at least their values together (duality of linear programs: Gilmore and Gomory
1961). Where the values are too high for the sticks they are scaled down (Farley 1990). A stick with a limited
number on hand may hold more than it costs, by a surplus paid for once for each there is.

The values here come from the length of the pieces, from thresholds (Martello and Toth 1990, bound L2) and from
rounded multiples (the functions u(k) of Fekete and Schepers 2001); the solver brings its own.
References from memory, not confirmed; each bound is proved by its own two lines below and tried by brute force in
the tests.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from railfuncs.stock.job import Job

_MOST_MULTIPLE = 24
_MOST_THRESHOLDS = 60
_LARGEST_TABLE = 2_000_000


@dataclass(frozen=True)
class Proof:
    """A lower bound, the factor its values are scaled by, and the surplus of each limited stick."""

    bound: Fraction
    scale: Fraction
    surplus: tuple[Fraction, ...]


def proof(
    values: Sequence[int],
    most: Sequence[int],
    demand: Sequence[int],
    costs: Sequence[int],
    limits: Sequence[int | None],
) -> Proof:
    """The best bound that values, scaled, can prove.

    Args:
        values: of one piece of each width, none negative
        most: the value that each stick can hold at most (or anything above it)
        demand: pieces of each width
        costs: of each stick
        limits: of each stick on hand, None for no limit
    """
    worth = sum(value * count for value, count in zip(values, demand, strict=True))
    sticks = list(zip(most, costs, limits, strict=True))
    free = [Fraction(cost, value) for value, cost, limit in sticks if value > 0 and limit is None]
    cap = min(free, default=None)
    # The bound rises and falls along straight lines in the scale: its top is at a corner.
    corners = {Fraction(cost, value) for value, cost, _ in sticks if value > 0}
    best = Proof(Fraction(0), Fraction(0), tuple(Fraction(0) for _ in sticks))
    for scale in corners:
        if cap is not None and scale > cap:
            continue
        surplus = tuple(
            Fraction(0) if limit is None else max(Fraction(0), scale * value - cost) for value, cost, limit in sticks
        )
        bound = scale * worth - sum(each * (limit or 0) for each, (_, _, limit) in zip(surplus, sticks, strict=True))
        if bound > best.bound:
            best = Proof(bound, scale, surplus)
    return best


def least(job: Job, costs: Sequence[int]) -> Fraction:
    """The best bound found without a solver."""
    return max(
        proof(values, most, job.demand, costs, job.limits).bound
        for values, most in (*_by_length(job), *_by_multiple(job), *_by_threshold(job))
    )


def _by_length(job: Job) -> Iterator[tuple[Sequence[int], Sequence[int]]]:
    """A piece is worth its width: a stick holds its room."""
    yield job.widths, job.rooms


def _by_multiple(job: Job) -> Iterator[tuple[Sequence[int], Sequence[int]]]:
    """A piece is worth the whole multiples of R/m that it is longer than.

    Each is less than m·width/R, so together they are less than m·room/R, and whole numbers.
    """
    for whole in set(job.rooms) - {0}:
        for parts in range(2, _MOST_MULTIPLE + 1):
            yield (
                [-(-parts * width // whole) - 1 for width in job.widths],
                [max(0, -(-parts * room // whole) - 1) for room in job.rooms],
            )


def _by_threshold(job: Job) -> Iterator[tuple[Sequence[int], Sequence[int]]]:
    """Pieces under a threshold are worth nothing, those that leave less than it a whole stick, others their width.

    Beside a piece worth a whole stick there is room only for pieces worth nothing.
    """
    whole = max(job.rooms)
    small = [width for width in job.widths if 2 * width <= whole]
    for threshold in small[:: max(1, len(small) // _MOST_THRESHOLDS)]:
        large = [width for width in job.widths if width > whole - threshold]
        yield (
            [0 if w < threshold else whole if w > whole - threshold else w for w in job.widths],
            [whole if any(width <= room for width in large) else room for room in job.rooms],
        )


def reachable(bound: Fraction, costs: Sequence[int]) -> int:
    """The least sum of whole numbers of sticks that is not under `bound`.

    >>> reachable(Fraction(97), [96, 120]), reachable(Fraction(2881, 10), [96, 120])
    (120, 312)
    """
    step = math.gcd(*costs)
    target = math.ceil(bound / step) if step else 0
    if target <= 0:
        return 0
    steps = [cost // step for cost in costs if cost]
    top = target + min(steps)
    if top > _LARGEST_TABLE:
        return target * step
    sums, mask = 1, (1 << (top + 1)) - 1  # bit n: n steps can be paid with whole sticks
    for size in steps:
        shift = size
        while shift <= top:
            sums |= (sums << shift) & mask
            shift *= 2
    above = sums >> target
    return (target + (above & -above).bit_length() - 1) * step
