"""The two worksheet functions: lists in, counts or a table out."""

from collections.abc import Sequence
from fractions import Fraction

from railfuncs.errors import RuleError
from railfuncs.stock.job import Length, Money, Piece, Stick
from railfuncs.stock.plan import CutStick, plan

_SECONDS = 5.0  # a spreadsheet waits for its functions


def sticks(
    pieces: Sequence[Length],
    quantities: Sequence[Length],
    stock: Sequence[Length],
    kerf: Length = 0,
    trim: Length = 0,
    prices: Sequence[Money] = (),
    on_hand: Sequence[Length | None] = (),
) -> list[int]:
    """How many sticks of each stock length to take, for the least cost, then the least waste.

    Args:
        pieces (lengths): lengths to cut
        quantities (counts): how many of each
        stock (lengths): stock lengths
        kerf (length): what one saw cut turns to dust
        trim (length): what squaring the ends takes off every stick, saw cuts included
        prices (counts): price of each stock length; left out, a stick costs its length
        on_hand (counts): how many of each there are; left out, as many as needed can be bought
    Returns (counts): sticks of each stock length, in the order given
    Source: common practice, no source; least by column generation, bound proved exactly
    Example:
        >>> sticks([36, 24], [5, 2], [96, 120], Fraction(1, 8), 1)
        [3, 0]
    """
    counts = [0] * len(stock)
    for used in _cut(pieces, quantities, stock, kerf, trim, prices, on_hand):
        counts[used.place] += 1
    return counts


def cut_plan(
    pieces: Sequence[Length],
    quantities: Sequence[Length],
    stock: Sequence[Length],
    kerf: Length = 0,
    trim: Length = 0,
    prices: Sequence[Money] = (),
    on_hand: Sequence[Length | None] = (),
) -> list[list[Fraction | int | None]]:
    """Which piece is cut from which stick: a row a piece, in the order they are cut.

    The columns are: number of the stick, its length, length of the piece, where the piece starts and ends from the
    squared end of the stick, and the offcut beside the last piece of the stick (blank beside the others).

    Args:
        pieces (lengths): lengths to cut
        quantities (counts): how many of each
        stock (lengths): stock lengths
        kerf (length): what one saw cut turns to dust
        trim (length): what squaring the ends takes off every stick, saw cuts included
        prices (counts): price of each stock length; left out, a stick costs its length
        on_hand (counts): how many of each there are; left out, as many as needed can be bought
    Returns (lengths): a row a piece: stick, stick length, piece, start, end, offcut
    Source: common practice, no source; least by column generation, bound proved exactly
    Example:
        >>> for row in cut_plan([36, 24], [2, 1], [60, 96], Fraction(1, 8)):
        ...     print(*row)
        1 96 36 0 36 None
        1 96 36 289/8 577/8 95/4
        2 60 24 0 24 287/8
    """
    return [
        [number, used.stick.length, cut.piece.length, cut.start, cut.end, None if more else used.offcut]
        for number, used in enumerate(_cut(pieces, quantities, stock, kerf, trim, prices, on_hand), 1)
        for more, cut in zip(range(len(used.cuts) - 1, -1, -1), used.cuts, strict=True)
    ]


def _cut(
    pieces: Sequence[Length],
    quantities: Sequence[Length],
    stock: Sequence[Length],
    kerf: Length,
    trim: Length,
    prices: Sequence[Money],
    on_hand: Sequence[Length | None],
) -> tuple[CutStick, ...]:
    if len(pieces) != len(quantities):
        raise RuleError(f"there are {len(pieces)} lengths and {len(quantities)} quantities; give one for each")
    for name, given in (("prices", prices), ("numbers on hand", on_hand)):
        if given and len(given) != len(stock):
            raise RuleError(f"there are {len(stock)} stock lengths and {len(given)} {name}; give one for each")
    no_numbers: list[None] = [None] * len(stock)
    choice = [
        Stick(length, price, count if count is None else _whole(count))
        for length, price, count in zip(stock, prices or no_numbers, on_hand or no_numbers, strict=True)
    ]
    needed = [Piece(length, _whole(count)) for length, count in zip(pieces, quantities, strict=True)]
    return plan(needed, choice, kerf, trim, time_limit=_SECONDS).sticks


def _whole(count: Length) -> int:
    if count != int(count) or count < 0:
        raise RuleError(f"{count} is not a number of pieces; write a whole number")
    return int(count)
