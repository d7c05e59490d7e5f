"""What is to be cut and from what: as people give it, and on a common grid of whole numbers."""

import math
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from railfuncs.errors import RuleError

Length = int | Fraction
Money = int | Fraction | Decimal


@dataclass(frozen=True)
class Piece:
    """Pieces of one length.

    Args:
        length: inches
        quantity: how many
        label: what is written on the piece
        kind: the stock it must come from ("baluster", "rail", ...); the same word as the stick's
    """

    length: Length
    quantity: int = 1
    label: str = ""
    kind: str = ""


@dataclass(frozen=True)
class Stick:
    """Stock of one length.

    Args:
        length: inches
        price: of one stick; left out for every stick, a stick costs its length
        on_hand: how many there are; None where as many as wanted can be bought
        kind: what it is ("baluster", "rail", ...)
    """

    length: Length
    price: Money | None = None
    on_hand: int | None = None
    kind: str = ""


Pattern = tuple[int, tuple[tuple[int, int], ...]]
"""A stick by its place in the job, and how many of which width are cut from it: (width's place, count) pairs."""

Solution = dict[Pattern, int]
"""How many sticks are cut to each pattern."""


@dataclass(frozen=True)
class Job:
    """Pieces and sticks of one kind on a grid of `unit` inches, in whole numbers.

    A width is a piece with one kerf, a room a squared stick with one kerf: so a stick holds the pieces whose
    widths add up to its room at most, and the kerf that the last piece may not need is given back.
    """

    unit: Fraction
    kerf: int
    widths: tuple[int, ...]  # different, longest first
    demand: tuple[int, ...]
    rooms: tuple[int, ...]
    lengths: tuple[int, ...]  # whole sticks
    prices: tuple[int, ...]
    price_unit: Fraction
    limits: tuple[int | None, ...]

    def total(self, solution: Solution, costs: tuple[int, ...]) -> int:
        return sum(costs[stick] * times for (stick, _), times in solution.items())

    def rank(self, solution: Solution) -> tuple[int, int]:
        """Least cost first, then least stock, which is least waste."""
        return self.total(solution, self.prices), self.total(solution, self.lengths)

    def bought(self, counts: tuple[int, ...]) -> tuple[int, int]:
        """Rank of buying so many of each stick."""
        price = sum(price * count for price, count in zip(self.prices, counts, strict=True))
        return price, sum(length * count for length, count in zip(self.lengths, counts, strict=True))

    def used(self, pattern: Pattern) -> int:
        return sum(self.widths[width] * count for width, count in pattern[1])

    def faults(self, solution: Solution) -> list[str]:
        """What is wrong with a plan, counted anew: sticks overfilled or not there, pieces missing or too many."""
        cut: Counter[int] = Counter()
        taken: Counter[int] = Counter()
        found = []
        for pattern, times in solution.items():
            taken[pattern[0]] += times
            for width, count in pattern[1]:
                cut[width] += count * times
            if self.used(pattern) > self.rooms[pattern[0]]:
                found.append(f"stick overfilled: {pattern}")
        if any(cut[width] != count for width, count in enumerate(self.demand)):
            found.append("pieces missing or cut twice")
        if any(limit is not None and taken[stick] > limit for stick, limit in enumerate(self.limits)):
            found.append("more sticks used than on hand")
        return found


def check(pieces: list[Piece], sticks: list[Stick], kerf: Fraction, trim: Fraction) -> None:
    """Refuse, in one sentence, what cannot be planned."""
    if not any(piece.quantity for piece in pieces):
        raise RuleError("there are no pieces to cut; give their lengths and quantities")
    if kerf < 0 or trim < 0:
        raise RuleError(f"the {'saw kerf' if kerf < 0 else 'end trim'} cannot be negative")
    for piece in pieces:
        if piece.length <= 0 or piece.quantity < 0 or piece.quantity != int(piece.quantity):
            raise RuleError(
                f"{_name(piece)} must be longer than zero and its quantity a whole number, not"
                f" {piece.quantity} of {inches(piece.length)}"
            )
    for stick in sticks:
        if stick.length <= 0 or (stick.price or 0) < 0 or (stick.on_hand or 0) < 0:
            raise RuleError(
                f"the {inches(stick.length)} stick: its length must be more than zero, its price and the number"
                " on hand not negative"
            )
    if len({stick.price is None for stick in sticks}) > 1:
        raise RuleError("some sticks have a price and some have none; give a price for every stick or for none")
    for piece in pieces:
        if piece.quantity:
            _check_fits(piece, [stick for stick in sticks if stick.kind == piece.kind], trim)


def _check_fits(piece: Piece, sticks: list[Stick], trim: Fraction) -> None:
    usable = [stick for stick in sticks if stick.on_hand != 0]
    if not usable:
        kind = f" of the kind '{piece.kind}'" if piece.kind else ""
        raise RuleError(f"there is no stock{kind} to cut {_name(piece)} from; add a stick of it")
    longest = max(stick.length for stick in usable)
    if Fraction(piece.length) > Fraction(longest) - trim:
        less = f", less {inches(trim)} of end trim" if trim else ""
        raise RuleError(
            f"{_name(piece)} is {inches(piece.length)} long and the longest stick is {inches(longest)}{less}: add a"
            f" stick of at least {inches(Fraction(piece.length) + trim)}, or shorten the piece"
        )


def _name(piece: Piece) -> str:
    return f"the piece '{piece.label or piece.kind}'" if piece.label or piece.kind else "a piece"


def inches(length: Length) -> str:
    """A length in a sentence: exact where a tape can show it, else to a ten-thousandth.

    >>> inches(Fraction(195, 2)), inches(96), inches(Fraction(1600 * 5, 127))
    ('97 1/2 in', '96 in', '62.9921 in')
    """
    exact = Fraction(length)
    whole, rest = divmod(exact, 1)
    if not rest:
        return f"{whole} in"
    if exact < 0 or rest.denominator > 64 or rest.denominator & (rest.denominator - 1):
        return f"{float(exact):.4f} in"
    return f"{whole} {rest} in" if whole else f"{rest} in"


def on_grid(pieces: list[Piece], sticks: list[Stick], kerf: Fraction, trim: Fraction) -> Job:
    """Pieces and sticks of one kind in whole numbers."""
    count: Counter[Fraction] = Counter()
    for piece in pieces:
        if piece.quantity:
            count[Fraction(piece.length) + kerf] += int(piece.quantity)
    widths = sorted(count, reverse=True)
    lengths = [Fraction(stick.length) for stick in sticks]
    rooms = [length - trim + kerf for length in lengths]
    prices = [
        length if stick.price is None else Fraction(stick.price) for stick, length in zip(sticks, lengths, strict=True)
    ]
    unit = _common_measure([*widths, *rooms, *lengths, kerf])
    price_unit = _common_measure(prices)
    return Job(
        unit=unit,
        kerf=int(kerf / unit),
        widths=tuple(int(width / unit) for width in widths),
        demand=tuple(count[width] for width in widths),
        rooms=tuple(max(0, int(room / unit)) for room in rooms),
        lengths=tuple(int(length / unit) for length in lengths),
        prices=tuple(int(price / price_unit) for price in prices),
        price_unit=price_unit,
        limits=tuple(stick.on_hand for stick in sticks),
    )  # fmt: skip


def _common_measure(values: list[Fraction]) -> Fraction:
    """The largest length that goes into every one of `values` a whole number of times."""
    below = math.lcm(*(value.denominator for value in values))
    return Fraction(math.gcd(*(int(value * below) for value in values)) or 1, below)
