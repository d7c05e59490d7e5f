"""What is to be added to a sheet: per block the columns, and per row the formula and the value it shows."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from railfuncs.books.addition.find import Block
from railfuncs.rules import spacing

COLUMNS = ("count", "gap", "oc", "tape", "cut", "pieces", "price")


@dataclass(frozen=True)
class Choices:
    """What the person asks for. Lengths in inches; `None` where not given."""

    columns: tuple[str, ...] = ()
    form: str = "formulas"
    host: str = "excel"  # whose spelling of the functions' names
    width: Fraction | None = None
    limit: Fraction = Fraction(spacing.LIMIT)
    target: Fraction = Fraction(0)
    parity: str = "any"
    bottom_depth: Fraction | None = None
    top_depth: Fraction | None = None
    play: Fraction = Fraction(0)
    each: Fraction | None = None  # price of one baluster


@dataclass
class Entry:
    """One new cell: formula text without its equals sign, or `None`; and the value it shows."""

    formula: str | None
    value: Any
    template: str = ""  # the formula with the row's number left open: the same text in every row of a kind


@dataclass
class Column:
    """One new column of a block."""

    key: str
    header: str
    number_format: str
    cells: dict[int, Entry] = field(default_factory=dict)
    table_formula: str | None = None


@dataclass
class Plan:
    """The new columns of one block, standing from sheet column `start` on."""

    block: Block
    start: int
    joins_table: bool
    columns: list[Column]
    problems: list[tuple[int, str]] = field(default_factory=list)
    wide: list[int] = field(default_factory=list)  # rows whose gap reaches the limit, exactly or as read on a tape

    @property
    def last(self) -> int:
        return self.start + len(self.columns) - 1
