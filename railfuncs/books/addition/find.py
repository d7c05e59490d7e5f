"""Finding the openings in somebody's own sheet by what the headers mean."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any

from openpyxl.utils import column_index_from_string, get_column_letter

from railfuncs import data, lengths
from railfuncs.books.addition.sheet import Sheet
from railfuncs.books.addition.workbook import TableEntry
from railfuncs.errors import BookError, LengthError

ROLES = ("opening", "width", "qty", "height", "count")
_MOST_HEADERS = 500  # a word met more often, such as a clear finish, is no header
_LONGEST_GAP = 3  # blank rows within a block
_UNITS = {
    "in": "in", "inch": "in", "inches": "in", '"': "in", "ft": "ft", "feet": "ft", "foot": "ft", "lf": "ft",
    "'": "ft", "mm": "mm", "cm": "cm", "m": "m",
}  # fmt: skip
_UNIT = re.compile(r"""[(\[,/]\s*(?:in\s+)?([a-z]+|"|')\.?\s*[)\]]?\s*$|\s([a-z]+)\.?$|(["'])$""")

# A measure, not a header, though it may hold a header's word: 6'-0" clear, 45 LF; but not 2nd floor, nor 1. Opening.
_MEASURE = re.compile(r"[\s~±<>=(]*\d+(?!\d|(?:st|nd|rd|th)\b|[.)]\s)", re.IGNORECASE)


@dataclass(frozen=True)
class Found:
    """One column understood: where, what its header says, and the unit of its numbers."""

    role: str
    column: int
    header: str
    unit: str
    unit_assumed: bool

    @property
    def letter(self) -> str:
        return str(get_column_letter(self.column))


@dataclass
class Block:
    """A header row and the rows of openings under it."""

    sheet: Sheet
    header_row: int
    columns: dict[str, Found]
    look: int
    rows: list[int] = field(default_factory=list)
    skipped: list[tuple[int, str]] = field(default_factory=list)
    apart: list[int] = field(default_factory=list)  # rows with a length, too far below the others to belong to them
    table: TableEntry | None = None

    @property
    def last_row(self) -> int:
        return max([self.header_row, *self.rows, *(row for row, _ in self.skipped)])


@dataclass(frozen=True)
class Wanted:
    """What the person says about the sheet, where its headers do not: role to header text or column letter."""

    columns: dict[str, str] = field(default_factory=dict)
    header_row: int | None = None
    unit: str | None = None


@cache
def _words() -> list[tuple[str, tuple[str, ...], int]]:
    with data.path("header_words.csv").open(encoding="utf-8", newline="") as file:
        return [(row["role"], tuple(row["words"].split()), int(row["rank"])) for row in csv.DictReader(file)]


@lru_cache(maxsize=65536)
def _tokens(header: str) -> tuple[str, ...]:
    lowered = header.lower().replace("#", " no of ").replace("no.", " no ").replace("pcs", " ")
    return tuple(re.findall(r"[a-z]+", lowered))


@cache
def _known() -> frozenset[str]:
    return frozenset(word for _, phrase, _ in _words() for word in phrase)


@lru_cache(maxsize=8192)
def meaning(header: str) -> tuple[str, int] | None:
    """What a header means and how surely (a smaller rank is surer); the longest phrase in it decides.

    Linear feet are an opening where the header says nothing else: a price or a count for each foot is none.

    >>> meaning("Clear Opening (in)"), meaning("Lgth ft"), meaning("Bal. size"), meaning("Remarks")
    (('opening', 1), ('opening', 5), ('width', 1), None)
    >>> meaning("L.F."), meaning("$/LF"), meaning("45 LF"), meaning("Balusters/LF"), meaning("Qty (LF)")
    (('opening', 6), None, None, None, None)
    """
    tokens = _tokens(header)
    if not 0 < len(tokens) <= 8 or _known().isdisjoint(tokens) or _MEASURE.match(header):
        return None
    best: tuple[int, int, str] | None = None
    for role, phrase, rank in _words():
        if role == "total" or not _holds(tokens, phrase) or (role == "feet" and not in_linear_feet(header)):
            continue
        candidate = (-len(phrase), rank, "opening" if role == "feet" else role)
        best = candidate if best is None else min(best, candidate)
    if best is None or best[2] == "other":
        return None
    # A number of things has no unit: feet of rail are no number of runs.
    return None if best[2] in ("qty", "count") and unit_of(header) else (best[2], best[1])


def _holds(tokens: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    size = len(phrase)
    return any(tokens[i : i + size] == phrase for i in range(len(tokens) - size + 1))


@cache
def _feet() -> re.Pattern[str]:
    """Linear feet as they are abbreviated, with or without points."""
    phrases = (r"\.?\s*".join(phrase) for role, phrase, _ in _words() if role == "feet")
    return re.compile(rf"\b(?:{'|'.join(phrases)})\b\.?")


def in_linear_feet(header: str) -> bool:
    """Whether a header says linear feet and nothing else.

    >>> in_linear_feet("(Lin. Ft.)"), in_linear_feet("Rail LF")
    (True, False)
    """
    return _feet().fullmatch(header.lower().strip(" \t\r\n()[]:*")) is not None


def unit_of(header: str) -> str | None:
    """The unit a header names.

    >>> unit_of("Opening (in)"), unit_of("Lgth ft"), unit_of("Run, mm"), unit_of("Opening")
    ('in', 'ft', 'mm', None)
    >>> unit_of("Opening (lin. ft)"), unit_of("L.F. of rail")
    ('ft', 'ft')
    """
    plain = " ".join(header.lower().split()).replace("”", '"').replace("’", "'")
    found = _UNIT.search(plain)
    named = _UNITS.get(found[1] or found[2] or found[3]) if found else None
    return named or ("ft" if _feet().search(plain) else None)


def is_total(sheet: Sheet, row: int, opening: int) -> bool:
    """Whether a row sums others: by its words, or by the formula where the opening stands."""
    formula = sheet.formula(row, opening) or ""
    if re.match(r"\s*\+?(SUM|SUBTOTAL|AGGREGATE)\(", formula, re.IGNORECASE):
        return True
    return any(
        cell.is_text and isinstance(shown := sheet.value(row, cell.column), str) and _says_total(shown)
        for cell in sheet.cells(row).values()
    )


def _says_total(shown: str) -> bool:
    tokens = _tokens(shown)
    if not 0 < len(tokens) <= 4 or _known().isdisjoint(tokens):
        return False
    return any(role == "total" and _holds(tokens, phrase) for role, phrase, _ in _words())


def blocks(sheet: Sheet, tables: list[TableEntry], wanted: Wanted) -> list[Block]:
    """Every block of openings in a sheet, top to bottom."""
    headers = list(_header_rows(sheet, wanted))
    found = []
    for place, (row, columns) in enumerate(headers):
        stop = headers[place + 1][0] if place + 1 < len(headers) else 1 << 30
        block = Block(sheet, row, columns, _look(sheet, row, tables, columns["opening"].column))
        block.table = _table_at(tables, row, columns["opening"].column)
        _fill(block, stop)
        if block.rows:
            found.append(block)
    return found


def _look(sheet: Sheet, row: int, tables: list[TableEntry], opening: int) -> int:
    """The neighbour to look like: the last header cell of the block."""
    table = _table_at(tables, row, opening)
    if table is not None:
        return table.area.right
    return max(column for column in sheet.cells(row) if sheet.value(row, column) is not None)


def _table_at(tables: list[TableEntry], row: int, column: int) -> TableEntry | None:
    for table in tables:
        here = table.area
        if table.headers and here.top == row and here.left <= column <= here.right:
            return table
    return None


def _header_rows(sheet: Sheet, wanted: Wanted) -> Iterator[tuple[int, dict[str, Found]]]:
    if wanted.header_row is not None:
        candidates = [wanted.header_row] if wanted.header_row in sheet.rows else []
    elif "opening" in wanted.columns:
        candidates = list(sheet.rows)
    else:
        candidates = sheet.rows_with(sheet.shared.indices(_says_opening), _MOST_HEADERS)
    for row in candidates:
        columns = _columns_of(sheet, row, wanted)
        if columns is not None:
            yield row, columns


def _says_opening(text: str) -> bool:
    meant = meaning(text)
    return meant is not None and meant[0] == "opening"


def _columns_of(sheet: Sheet, row: int, wanted: Wanted) -> dict[str, Found] | None:
    cells = [c for c in sheet.cells(row).values() if c.is_text]
    if len(cells) < 2 and not (cells and wanted.header_row == row):
        return None
    texts = {c.column: shown for c in cells if isinstance(shown := sheet.value(row, c.column), str)}
    chosen: dict[str, Found] = {}
    ranks: dict[str, int] = {}
    openings: dict[int, list[Found]] = {}
    for column, header in texts.items():
        meant = meaning(header)
        if meant is None or meant[0] in wanted.columns:
            continue
        role, rank = meant
        found = _found(role, column, header, wanted)
        if role == "opening":
            openings.setdefault(rank, []).append(found)
        if role not in ranks or rank < ranks[role]:
            chosen[role], ranks[role] = found, rank
    if openings:
        chosen["opening"] = _only_one(sheet, row, openings[min(openings)])
    for role, said in wanted.columns.items():
        column_said = _said(texts, said, named=wanted.header_row == row)
        if column_said is not None:
            chosen[role] = _found(role, column_said, texts.get(column_said, ""), wanted)
        else:
            chosen.pop(role, None)
    if "opening" not in chosen:
        return None
    # A sentence with the word "run" in it is no header: something under it must be a length.
    return chosen if _leads_somewhere(sheet, row, chosen["opening"]) else None


def _only_one(sheet: Sheet, row: int, openings: list[Found]) -> Found:
    """The one of these equally likely columns that holds lengths."""
    leading = [found for found in openings if _leads_somewhere(sheet, row, found)]
    if len(leading) > 1:
        told = " and ".join(f"{found.header!r} in column {found.letter}" for found in leading)
        raise BookError(
            f"sheet {sheet.title} row {row}: {told} may each be the opening; say which with --opening, such as"
            f" --opening {leading[0].letter}"
        )
    return (leading or openings)[0]


def _said(texts: dict[int, str], said: str, *, named: bool) -> int | None:
    wanted = " ".join(said.split()).casefold()
    for column, header in texts.items():
        if " ".join(header.split()).casefold() == wanted:
            return column
    if re.fullmatch(r"[A-Za-z]{1,3}", said):
        column = column_index_from_string(said.upper())
        return column if column in texts or named else None
    return None


def _found(role: str, column: int, header: str, wanted: Wanted) -> Found:
    named = unit_of(header)
    unit = named or (wanted.unit if wanted.unit and role in ("opening", "width", "height") else None)
    return Found(role, column, " ".join(header.split()), unit or "in", unit is None)


def _leads_somewhere(sheet: Sheet, row: int, opening: Found) -> bool:
    later = [r for r in range(row + 1, row + _LONGEST_GAP + 3) if r in sheet.rows]
    return any(isinstance(read_length(sheet, r, opening), Fraction) for r in later)


def read_length(sheet: Sheet, row: int, column: Found) -> Fraction | str | None:
    """The length in a cell in inches; `None` if blank; a sentence if it cannot be read."""
    cell = sheet.cell(row, column.column)
    if cell is None:
        return None
    key = (cell.kind, cell.inner, column.unit)
    if key not in sheet.lengths:
        sheet.lengths[key] = _read(sheet.value(row, column.column), column.unit)
    known: Fraction | str | None = sheet.lengths[key]
    if known is None and b"f>" in cell.inner:
        return "its formula has no value stored beside it; save the file once in a spreadsheet program"
    return known


def _read(value: Any, unit: str) -> Fraction | str | None:
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    if isinstance(value, bool):
        return f"{value} is not a length"
    try:
        return lengths.read(float(value) if isinstance(value, Fraction) else value, unit)
    except LengthError as error:
        return str(error)


def _fill(block: Block, stop: int) -> None:
    sheet, opening = block.sheet, block.columns["opening"]
    table = block.table
    bottom = table.area.bottom - table.totals if table else 1 << 30
    blank = 0
    last = block.header_row
    sums = set(sheet.rows_with(sheet.shared.indices(_says_total)))
    for row in sheet.rows:
        if row <= block.header_row:
            continue
        if row >= stop or row > bottom:
            break
        blank += row - last - 1
        last = row
        length = read_length(sheet, row, opening)
        if table is None and blank > _LONGEST_GAP:
            if isinstance(length, Fraction) and not is_total(sheet, row, opening.column):
                block.apart.append(row)
            continue
        if length is None:
            blank = 0 if any(sheet.value(row, c) is not None for c in sheet.cells(row)) else blank + 1
            continue
        blank = 0
        if (row in sums or sheet.formula(row, opening.column)) and is_total(sheet, row, opening.column):
            block.skipped.append((row, "a row that sums"))
        elif isinstance(length, str):
            block.skipped.append((row, length))
        else:
            block.rows.append(row)


def unfilled(block: Block) -> dict[str, list[int]]:
    """Rows of a block that hold numbers but get no new cells for want of a length, by what is to be said of them."""
    sheet, opening = block.sheet, block.columns["opening"]
    told = {row for row, _ in block.skipped}
    others = [found.column for role, found in block.columns.items() if role != "opening"]
    last = max(block.rows, default=0)
    blank = [
        row
        for row in sheet.rows
        if block.header_row < row < last
        and row not in told
        and read_length(sheet, row, opening) is None
        and any(isinstance(sheet.value(row, column), Fraction) for column in others)
        and not is_total(sheet, row, opening.column)
    ]
    what = opening.header or f"column {opening.letter}"
    found = {
        f"left blank for want of {what!r}": blank,
        f"left blank, as more than {_LONGEST_GAP} blank rows part such rows from the others": block.apart,
    }
    return {why: rows for why, rows in found.items() if rows}


def not_found(title_headers: list[str]) -> BookError:
    """The sentence for a workbook in which no openings were found."""
    seen = ", ".join(title_headers[:12]) or "none"
    return BookError(
        "no column of openings was found; say which it is with --opening and its header text or column letter"
        f" (and --header-row if it has no header). Texts seen: {seen}"
    )
