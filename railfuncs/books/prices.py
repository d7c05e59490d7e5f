"""The price book: what a shop pays for sticks and items, how long work takes, and its rates; kept between jobs.

Its columns are declared in shared/price_columns.csv and its rates in shared/price_facts.csv. The rates stand above
the headers, a name and a value in two cells of a row. Every bad cell is found before anything is refused.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from railfuncs import amounts, data, lengths
from railfuncs.books.files import replacing
from railfuncs.books.grids import Grid
from railfuncs.books.look import Look, printed
from railfuncs.books.measure import folded, grid_with_header, read_choice, read_text, shown_value, usable
from railfuncs.books.template import add_choices, put_cell, refuse_old, text_box
from railfuncs.errors import InputError, RailError

SHEET = "Prices"
STICKS = ("handrail", "shoe", "baluster")
MOST_ROWS = 300
_EMPTY_ROWS = 30
_FIRST_FACT = 4
_WIDE = {"item": 30, "material": 14, "unit": 9}


@dataclass(frozen=True, slots=True)
class Priced:
    """One row of the price book; lengths in inches. `width`, `length` and `price` are None where left blank."""

    item: str
    use: str
    material: str
    width: Fraction | None
    length: Fraction | None
    each: str
    quantity: Fraction
    unit: str
    price: Fraction | None
    pack: Fraction
    waste: Fraction
    taxed: str
    on_hand: Fraction


@dataclass(frozen=True, slots=True)
class Prices:
    """A price book. Of `margin` and `markup`, the one left blank is None; percentages are parts."""

    crew_rate: Fraction
    overhead: Fraction
    contingency: Fraction
    margin: Fraction | None
    markup: Fraction | None
    tax_rate: Fraction
    kerf: Fraction
    trim: Fraction
    rows: tuple[Priced, ...]

    def of(self, *uses: str) -> list[Priced]:
        """The rows for these uses, in their order."""
        return [row for row in self.rows if row.use in uses]


@dataclass(frozen=True, slots=True)
class Column:
    """One column or rate: `kind` is text, choice, length, amount, money or percent."""

    key: str
    header: str
    kind: str
    default: str
    help: str
    choices: tuple[str, ...] = ()


@cache
def _declared(name: str) -> dict[str, Column]:
    with data.path(name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {row["key"]: Column(**row | {"choices": tuple(row.get("choices", "").split())}) for row in rows}


def columns() -> dict[str, Column]:
    """The columns of the price book by key, in their order."""
    return _declared("price_columns.csv")


def facts() -> dict[str, Column]:
    """The rates that stand above the headers, by key."""
    return _declared("price_facts.csv")


def read_prices(path: Path) -> Prices:
    """Read a filled price book.

    Args:
        path: a .xlsx (sheet "Prices", or the first with the headers) or a .csv
    Raises:
        BookError: the file as a whole cannot be read; one sentence.
        InputError: cells must be put right; one sentence for each of them, all at once.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     book = Path(folder, "prices.csv")
    ...     _ = book.write_text("Markup,25 %\\n\\nItem,Use,Length,Price\\nOak rail,handrail,12 ft,64.50\\n")
    ...     read = read_prices(book)
    >>> read.markup, read.rows[0].length, read.rows[0].price
    (Fraction(1, 4), Fraction(144, 1), Fraction(129, 2))
    """
    headers = columns()["item"].header, columns()["use"].header
    grid, header = grid_with_header(path, SHEET, headers, "a new price book")
    problems: list[str] = []
    rates = _facts(grid, header, problems)
    places = _places(grid, header, problems)
    lines = [row for row in grid.rows if row > header]
    if not lines:
        problems.append(f"{grid.whole}: no prices filled in; write one item a row under the headers")
    if len(lines) > MOST_ROWS:
        raise InputError([f"{grid.whole} holds {len(lines)} rows; keep at most {MOST_ROWS}"])
    rows = [read for line in lines if (read := _row(grid, line, places, problems)) is not None]
    names = [row.item.casefold() for row in rows]
    for name in dict.fromkeys(row.item for row in rows if names.count(row.item.casefold()) > 1):
        problems.append(f"{grid.whole}: '{name}' is the name of two rows; give each its own")
    if (rates["margin"] is None) == (rates["markup"] is None):
        problems.append(f"{grid.whole}: write a Margin or a Markup above the headers, one of the two")
    if rates["crew_rate"] is None and any(row.use == "labor" for row in rows):
        problems.append(f"{grid.whole}: there is labor but no Crew rate above the headers; write one")
    if problems:
        raise InputError(problems)
    return Prices(**rates | {"crew_rate": rates["crew_rate"] or Fraction(0)}, rows=tuple(rows))


def _facts(grid: Grid, header: int, problems: list[str]) -> dict[str, Any]:
    rates = {key: _default(column) for key, column in facts().items()}
    known = {folded(column.header): column for column in facts().values()}
    seen: set[str] = set()
    for row, cells in grid.rows.items():
        if row >= header or len(cells) == 1:
            continue  # a heading, or a rate left blank
        (_, label), (place, found), *more = sorted(cells.items())
        column = known.get(folded(label.value))
        where = f"{grid.cell(row, place)} ({label.value})"
        if column is None or more:
            names = ", ".join(each.header for each in facts().values())
            problems.append(f"{grid.line(row)}: above the headers write one of {names} and its value, in two cells")
        elif column.key in seen:
            problems.append(f"{where}: stands there twice; keep one of them")
        else:
            seen.add(column.key)
            try:
                rates[column.key] = _read(column, usable(found))
            except RailError as error:
                problems.append(f"{where}: {error}")
    if rates["margin"] is not None and rates["margin"] >= 1:
        problems.append(f"{grid.whole}: a Margin must be less than 100 %, since it is a part of the price")
    return rates


def _places(grid: Grid, header: int, problems: list[str]) -> dict[str, int]:
    keys = {folded(column.header): column.key for column in columns().values()}
    places: dict[str, int] = {}
    for place, found in sorted(grid.rows[header].items()):
        key = keys.get(folded(found.value))
        if key is None:
            problems.append(f"{grid.cell(header, place)}: {shown_value(found.value)} is not a column of the price book;"
                            " use the template's headers")  # fmt: skip
        elif key in places:
            problems.append(f"{grid.cell(header, place)}: the column '{found.value}' stands there twice; keep one")
        else:
            places[key] = place
    strays = {place: row for row in sorted(grid.rows, reverse=True) if row > header
              for place in grid.rows[row] if place not in grid.rows[header]}  # fmt: skip
    for place, row in sorted(strays.items()):
        problems.append(f"{grid.cell(row, place)}: there is no header above this cell; write one, or clear the cell")
    return places


def _row(grid: Grid, line: int, places: dict[str, int], problems: list[str]) -> Priced | None:
    before = len(problems)

    def complain(key: str, sentence: str) -> None:
        where = grid.cell(line, places[key]) if key in places else grid.line(line)
        problems.append(f"{where} ({columns()[key].header}): {sentence}")

    values: dict[str, Any] = {}
    for key, column in columns().items():
        found = grid.rows[line].get(places.get(key, 0))
        try:
            values[key] = _default(column) if found is None else _read(column, usable(found))
        except RailError as error:
            complain(key, str(error))
    if len(problems) > before:
        return None
    for key, sentence in _lacking(values):
        complain(key, sentence)
    return Priced(**values) if len(problems) == before else None


def _lacking(values: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """What a row for its use must have besides, or cannot be."""
    if not values["item"]:
        yield "item", "is blank; write what it is"
    if not values["use"]:
        yield "use", f"is blank; write one of {', '.join(columns()['use'].choices)}"
        return
    if values["use"] in STICKS:
        if not values["length"]:
            yield "length", "is blank or zero; write how long a stick is, like 12 ft or 144"
        if values["on_hand"].denominator != 1:
            yield "on_hand", "there are whole sticks only; write a whole number"
    if values["use"] != "labor" and values["price"] is None:
        yield "price", "is blank; write what one costs, like 18.50"
    if values["pack"] == 0:
        yield "pack", "a pack must hold more than nothing; write 1 where it is sold singly"


def _default(column: Column) -> Any:
    if column.kind in ("text", "choice"):
        return column.default
    return Fraction(column.default) if column.default else None


def _read(column: Column, value: Any) -> Any:
    """What a filled cell means."""
    if column.kind == "choice":
        return read_choice(value, column.choices)
    if column.kind == "text":
        return read_text(value)
    number = {"length": lengths.read, "percent": amounts.percent}.get(column.kind, amounts.read)(value)
    if number < 0:
        raise RailError(f"{shown_value(value)} cannot be less than zero; {column.help[0].lower()}{column.help[1:]}")
    return number


def write_price_book(path: Path) -> None:
    """Write an empty price book.

    Args:
        path: where, ending in .xlsx; a file already there is never replaced, since it may hold prices
    Raises:
        BookError: one sentence, when it cannot be written there.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_price_book(Path(folder, "prices.xlsx"))
    ...     [file.name for file in Path(folder).iterdir()]
    ['prices.xlsx']
    """
    refuse_old(path, "a price book", "prices")
    workbook = Workbook()
    look = Look(workbook)
    sheet = workbook.active
    sheet.title = SHEET
    put_cell(sheet, look, 1, 1, "Price book", "title")
    put_cell(sheet, look, 2, 1, "Rates first, then one row an item. What each column means stands on the second sheet.",
         "lead")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=8)
    for row, fact in enumerate(facts().values(), start=_FIRST_FACT):
        put_cell(sheet, look, row, 1, fact.header, "text")
        text_box(sheet, look, row, 2)
    header = _FIRST_FACT + len(facts()) + 1
    for number, column in enumerate(columns().values(), start=1):
        letter = get_column_letter(number)
        put_cell(sheet, look, header, number, column.header, "head")
        for row in range(header + 1, header + 1 + _EMPTY_ROWS):
            text_box(sheet, look, row, number)
        sheet.column_dimensions[letter].width = _WIDE.get(column.key, 11)
        if column.choices:
            add_choices(sheet, f"{letter}{header + 1}:{letter}{header + _EMPTY_ROWS}", column.choices)
    sheet.freeze_panes = sheet.cell(header + 1, 2)
    printed(sheet, landscape=True, tall=True)
    _help(workbook.create_sheet("How to fill this in"), look)
    workbook.properties.creator = "railfuncs"
    workbook.properties.title = "Price book"
    with replacing(path) as temporary:
        workbook.save(temporary)


def _help(sheet: Any, look: Look) -> None:
    put_cell(sheet, look, 1, 1, "How to fill this in", "title")
    row = 3
    for title, declared in (("Rate", facts()), ("Column", columns())):
        for number, (text, width) in enumerate(((title, 16), ("What to write", 78), ("Left blank", 16)), start=1):
            put_cell(sheet, look, row, number, text, "head")
            sheet.column_dimensions[get_column_letter(number)].width = width
        for column in declared.values():
            row += 1
            one_of = f" One of: {', '.join(column.choices)}." if column.choices else ""
            put_cell(sheet, look, row, 1, column.header, "wrap")
            put_cell(sheet, look, row, 2, column.help + one_of, "wrap")
            put_cell(sheet, look, row, 3, column.default or "", "wrap")
            sheet.row_dimensions[row].height = 28
        row += 2
    printed(sheet)
