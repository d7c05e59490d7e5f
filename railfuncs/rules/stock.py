"""Cutting pieces from stock as worksheet functions: columns in, counts or a table out."""

from collections.abc import Sequence
from typing import Any

from railfuncs import stock
from railfuncs.catalogue import function
from railfuncs.errors import RuleError
from railfuncs.tracing import at_most, both, is_number, join, largest, where


@function("cutting", formula=False, returns_list=True)
def sticks(
    pieces: Any, quantities: Any, stock_lengths: Any, kerf: Any = 0, trim: Any = 0, prices: Any = (), on_hand: Any = ()
) -> list[int]:
    """How many sticks of each stock length to take, for the least cost, then the least waste.

    Rows without a length are passed over; a stock length without a number on hand can be bought as often as needed.

    Args:
        pieces (lengths_or_blank): lengths to cut, a column
        quantities (amounts_or_blank): how many of each, a column beside it
        stock_lengths (lengths_or_blank): stock lengths, a column
        kerf (length): what one saw cut turns to dust
        trim (length): what squaring the ends takes off every stick, saw cuts included
        prices (amounts_or_blank): price of each stock length; left out, a stick costs its length
        on_hand (amounts_or_blank): how many of each there are; left out or blank, as many as needed
    Returns (counts): sticks of each stock length, in the order given
    Source: common practice, no source; the plan is compared with a proved bound
    Example:
        >>> sticks([36, 24], [5, 2], [96, 120], 0.125, 1)
        [3, 0]
    """
    return stock.sticks(*_paired(pieces, quantities, stock_lengths, kerf, trim, prices, on_hand))


@function("cutting", formula=False, returns_list=True)
def cut_plan(
    pieces: Any, quantities: Any, stock_lengths: Any, kerf: Any = 0, trim: Any = 0, prices: Any = (), on_hand: Any = ()
) -> list[Any]:
    """Which piece is cut from which stick: a row a piece, in the order they are cut.

    The columns are: number of the stick, its length, length of the piece, where the piece starts and ends from the
    squared end of the stick, and the offcut beside the last piece of the stick. Test-cut first; guards on the saw.

    Args:
        pieces (lengths_or_blank): lengths to cut, a column
        quantities (amounts_or_blank): how many of each, a column beside it
        stock_lengths (lengths_or_blank): stock lengths, a column
        kerf (length): what one saw cut turns to dust
        trim (length): what squaring the ends takes off every stick, saw cuts included
        prices (amounts_or_blank): price of each stock length; left out, a stick costs its length
        on_hand (amounts_or_blank): how many of each there are; left out or blank, as many as needed
    Returns (lengths): a row a piece: stick, stick length, piece, start, end, offcut
    Source: common practice, no source; the plan is compared with a proved bound
    Example:
        >>> for row in cut_plan([36, 24], [2, 1], [60, 96], 0.125):
        ...     print(*row)
        1 96 36 0 36 None
        1 96 36 289/8 577/8 95/4
        2 60 24 0 24 287/8
    """
    return stock.cut_plan(*_paired(pieces, quantities, stock_lengths, kerf, trim, prices, on_hand))


def _paired(
    pieces: Any, quantities: Any, lengths: Any, kerf: Any, trim: Any, prices: Any, on_hand: Any
) -> tuple[Any, ...]:
    """The columns without their empty rows; a column beside another may be shorter or longer by blanks only."""
    counts = _beside(pieces, quantities, "quantity")
    beside_stock = _beside(lengths, prices, "price") if _filled(prices) else []
    there = _beside(lengths, on_hand, "") if _filled(on_hand) else []
    return _given(pieces), counts, _given(lengths), kerf, trim, beside_stock, there


def _filled(column: Sequence[Any]) -> bool:
    return any(each is not None for each in column)


def _given(column: Sequence[Any]) -> list[Any]:
    return [each for each in column if each is not None]


def _beside(column: Sequence[Any], values: Sequence[Any], needed: str) -> list[Any]:
    """The values beside the filled cells of a column; `needed` names them where none of them may be blank."""
    padded = [*values, *[None] * (len(column) - len(values))]
    for number, value in enumerate(padded, start=1):
        length = column[number - 1] if number <= len(column) else None
        if length is None and value is not None:
            raise RuleError(f"row {number} has a {needed or 'number on hand'} but no length")
        if length is not None and value is None and needed:
            raise RuleError(f"row {number} has a length but no {needed}")
    return [value for length, value in zip(column, padded, strict=False) if length is not None]


def changed(
    made_count: Any, made_length: Any, made_width: Any, made_of: Any, count: Any, length: Any, width: Any, material: Any
) -> Any:
    """1 where pieces are not those that a plan was made for, else 0."""

    def differ() -> Any:
        lengths = both(at_most(made_length, length), at_most(length, made_length))
        widths = both(at_most(made_width, width), at_most(width, made_width))
        return where(both(both(count == made_count, join(material) == made_of), both(lengths, widths)), 0, 1)

    return where(both(both(is_number(count), is_number(length)), is_number(width)), differ, 1)


def plan_notice(flags: Any) -> Any:
    """What stands over a plan."""
    return where(largest(flags) > 0, "lengths changed, make the plan again", "made for the lengths in the cut list")
