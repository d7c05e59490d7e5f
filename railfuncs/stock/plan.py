"""The plan: every stick with its pieces, the cost, and how far from the least possible it can be at most."""

import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from importlib.util import find_spec

from railfuncs.errors import RuleError
from railfuncs.stock import bounds
from railfuncs.stock.greedy import plan_greedily
from railfuncs.stock.job import Job, Length, Piece, Solution, Stick, check, inches, on_grid

_WIDEST_GRID = 2**53


@dataclass(frozen=True)
class Cut:
    """One piece on its stick; `start` and `end` are inches from the squared end."""

    piece: Piece
    start: Fraction
    end: Fraction


@dataclass(frozen=True)
class CutStick:
    """One stick with its pieces in the order they are cut.

    Args:
        stick: what it is cut from
        place: where that stick stands in the list given, from 0
        cuts: the pieces
        offcut: inches left whole after the last cut
    """

    stick: Stick
    place: int
    cuts: tuple[Cut, ...]
    offcut: Fraction


@dataclass(frozen=True)
class Plan:
    """A plan and what is proved about it.

    Args:
        sticks: every stick used, alike ones together
        cost: price of the sticks (their length, where none has a price)
        cost_bound: no plan at all costs less
        waste: inches bought or taken that do not end up in a piece: offcuts, kerfs and end trim
        waste_bound: no plan of this cost wastes less
    """

    sticks: tuple[CutStick, ...]
    cost: Fraction
    cost_bound: Fraction
    waste: Fraction
    waste_bound: Fraction

    @property
    def least_cost(self) -> bool:
        """Whether the cost is proved to be the least."""
        return self.cost == self.cost_bound

    @property
    def proven(self) -> bool:
        """Whether cost, and waste at that cost, are both proved to be the least."""
        return self.least_cost and self.waste == self.waste_bound

    @property
    def gap(self) -> Fraction:
        """How much of the cost could be saved at most, as a part of it; 0 where it is proved least."""
        return (self.cost - self.cost_bound) / self.cost if self.cost else Fraction(0)

    @property
    def statement(self) -> str:
        """What is proved, in words for the person who cuts."""
        if self.proven:
            return "least cost, and least waste at that cost: proven"
        if self.least_cost:
            return f"least cost: proven; waste {inches(self.waste)}, at least {inches(self.waste_bound)} at that cost"
        return f"not proven least: at most {_percent_up(self.gap)} of the cost could be saved"


def _percent_up(part: Fraction) -> str:
    return f"{-(-part * 10_000 // 1) / 100:.2f} %"


def plan(
    pieces: Iterable[Piece],
    sticks: Iterable[Stick],
    kerf: Length = 0,
    trim: Length = 0,
    *,
    time_limit: float = 10.0,
    solver: bool | None = None,
) -> Plan:
    """Cut pieces from sticks for the least cost, then the least waste.

    How a stick is cut is stated at the head of `railfuncs.stock`. Pieces are cut from sticks of their own kind.

    Args:
        pieces: what is needed
        sticks: what there is or can be bought
        kerf: inches that one saw cut turns to dust
        trim: inches taken off the ends of every stick to square it, saw cuts included
        time_limit: seconds for the solver in all
        solver: True to use the solver, False not to, None to use it where the `solver` extra is installed
    Raises:
        RuleError: one sentence saying what cannot be planned and what to do

    >>> pieces = [Piece(36, 5, "baluster"), Piece(24, 2, "short baluster")]
    >>> made = plan(pieces, [Stick(96, price=9), Stick(120, price=11)], kerf=Fraction(1, 8), trim=1)
    >>> [[int(cut.piece.length) for cut in stick.cuts] for stick in made.sticks]
    [[36, 24, 24], [36, 36], [36, 36]]
    >>> made.cost, made.statement
    (Fraction(27, 1), 'least cost, and least waste at that cost: proven')
    """
    needed, stock = [_exact_piece(piece) for piece in pieces], [_exact_stick(stick) for stick in sticks]
    exact_kerf, exact_trim = Fraction(kerf), Fraction(trim)
    check(needed, stock, exact_kerf, exact_trim)
    by_kind: dict[str, list[Piece]] = defaultdict(list)
    for piece in needed:
        if piece.quantity:
            by_kind[piece.kind].append(piece)
    until = time.monotonic() + time_limit
    parts = []
    for done, (kind, of_kind) in enumerate(by_kind.items()):
        share = time.monotonic() + (until - time.monotonic()) / (len(by_kind) - done)
        own = [place for place, stick in enumerate(stock) if stick.kind == kind]
        parts.append(_plan_kind(of_kind, stock, own, exact_kerf, exact_trim, share, solver))
    return Plan(
        tuple(stick for part in parts for stick in part.sticks),
        sum((part.cost for part in parts), Fraction(0)),
        sum((part.cost_bound for part in parts), Fraction(0)),
        sum((part.waste for part in parts), Fraction(0)),
        sum((part.waste_bound for part in parts), Fraction(0)),
    )


def _exact_piece(piece: Piece) -> Piece:
    return replace(piece, length=piece.length)


def _exact_stick(stick: Stick) -> Stick:
    price = None if stick.price is None else Fraction(stick.price)
    return replace(stick, length=Fraction(stick.length), price=price)


def _plan_kind(
    pieces: list[Piece],
    stock: list[Stick],
    own: list[int],
    kerf: Fraction,
    trim: Fraction,
    until: float,
    solver: bool | None,
) -> Plan:
    job = on_grid(pieces, [stock[place] for place in own], kerf, trim)
    _check_enough(job)
    solution, least_price, least_length = _solve(job, until, solver)
    if solution is None:
        raise RuleError(
            "no way was found to cut all the pieces from the sticks on hand; add a stick, or let more be bought"
        )
    if faults := job.faults(solution):
        raise AssertionError(f"the stock planner made a wrong plan: {faults}")
    price, length = job.rank(solution)
    in_pieces = sum((piece.length * piece.quantity for piece in pieces), Fraction(0))
    return Plan(
        tuple(_laid_out(job, solution, pieces, stock, own)),
        price * job.price_unit,
        least_price * job.price_unit,
        length * job.unit - in_pieces,
        least_length * job.unit - in_pieces,
    )


def _check_enough(job: Job) -> None:
    if any(limit is None for limit in job.limits):
        return
    short = sum(w * n for w, n in zip(job.widths, job.demand, strict=True))
    short -= sum(room * (limit or 0) for room, limit in zip(job.rooms, job.limits, strict=True))
    if short > 0:
        raise RuleError(
            f"the sticks on hand are {inches(short * job.unit)} too short for all the pieces together; add sticks,"
            " or let more be bought"
        )


def _solve(job: Job, until: float, solver: bool | None) -> tuple[Solution | None, int, int]:
    """A plan, the least its prices can be, and the least its sticks can measure at that price."""
    known = plan_greedily(job)
    price = bounds.reachable(bounds.least(job, job.prices), job.prices)
    length = bounds.reachable(bounds.least(job, job.lengths), job.lengths)
    if solver is None:
        solver = find_spec("highspy") is not None
    if not solver or max(job.rooms) * max(job.demand) > _WIDEST_GRID:
        return known, price, length
    from railfuncs.stock.search import search  # only here: the solver is an optional extra

    if known is not None and job.rank(known) == (price, length):
        return known, price, length
    found, price, at_price = search(job, known, price, until)
    return found, price, max(length, at_price)


def _laid_out(
    job: Job, solution: Solution, pieces: list[Piece], stock: list[Stick], own: list[int]
) -> Iterator[CutStick]:
    """Sticks with real pieces on them: alike ones together, long sticks and long pieces first."""
    waiting: dict[int, list[Piece]] = defaultdict(list)
    for piece in reversed(pieces):
        size = int(piece.length / job.unit) + job.kerf
        waiting[job.widths.index(size)] += [replace(piece, quantity=1)] * int(piece.quantity)
    for pattern in sorted(solution, key=lambda each: (-job.lengths[each[0]], each)):
        at, counts = pattern
        for _ in range(solution[pattern]):
            start = 0
            cuts = []
            for width in (width for width, count in counts for _ in range(count)):
                end = start + job.widths[width] - job.kerf
                cuts.append(Cut(waiting[width].pop(), start * job.unit, end * job.unit))
                start = end + job.kerf
            offcut = max(0, job.rooms[at] - job.used(pattern) - job.kerf)
            yield CutStick(stock[own[at]], own[at], tuple(cuts), offcut * job.unit)
