"""Writing values into a sheet: what is written stays a value, and text stays text."""

from collections.abc import Sequence
from copy import copy
from typing import Any

from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter

from railfuncs.books.look import FRACTION, Look, printed
from railfuncs.books.sharing.choice import Shown, Table

_LETTERS = 1.48  # to a unit of column width, in our letters; a little fewer than fit
_STARTERS = ("=", "+", "-", "@")
RUNS_BESIDE = 4  # in one block of a table: more would not fit a phone or a page


class Sheet:
    """A sheet being written from the top down; `row` is the next one."""

    def __init__(self, sheet: Any, look: Look, widths: Sequence[float]) -> None:
        self.sheet, self._look, self.widths = sheet, look, widths
        self.row = 1
        for column, width in enumerate(widths, start=1):
            sheet.column_dimensions[get_column_letter(column)].width = width
        printed(sheet, tall=True)

    def put(self, column: int, shown: Shown, style: str) -> None:
        cell = self.sheet.cell(self.row, column)
        self._look.dress(cell, style)
        cell._style = copy(cell._style)  # a style is one object for all cells dressed in it
        if isinstance(shown.value, str):
            cell._value, cell.data_type = shown.value or None, "s" if shown.value else "n"
            # With the mark that a typed apostrophe leaves, it stays text when the cell is edited, too.
            cell.quotePrefix = shown.value.startswith(_STARTERS)
        else:
            whole = shown.value.denominator == 1
            cell.value = int(shown.value) if whole else float(shown.value)
            cell.number_format = "0" if whole else FRACTION if shown.in_marks else "0.####"

    def line(self, text: str, style: str, high: float | None = None) -> None:
        """A sentence over the whole width."""
        self.put(1, Shown(text), style)
        self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=1, end_column=len(self.widths))
        if style == "title":
            self.sheet.cell(self.row, 1).alignment = Alignment(vertical="top", wrap_text=True)
            high = 24.0 * lines_of(text, sum(self.widths) * 0.5)
        if high:
            self.sheet.row_dimensions[self.row].height = high
        self.row += 1

    def table(self, table: Table) -> None:
        for part in parts(table):
            if part.heads:
                for column, head in enumerate(part.heads, start=1):
                    self.put(column, head, "head")
                self.sheet.row_dimensions[self.row].height = 14.0 + self._high(part.heads)
                self.row += 1
            for values in part.rows:
                self._values(values)
            self.row += 1

    def _values(self, values: list[Shown]) -> None:
        if alone(values):
            self.line(values[0].text, "lead", 14.0 * lines_of(values[0].text, sum(self.widths)))
            return
        for column, shown in enumerate(values, start=1):
            said = "wrap" if column == 1 else "centre"
            self.put(column, shown, said if isinstance(shown.value, str) else "number")
        self.sheet.row_dimensions[self.row].height = self._high(values)
        self.row += 1

    def _high(self, values: list[Shown]) -> float:
        """Points of a row that shows all of its longest text."""
        return 14.0 * max(lines_of(shown.text, width) for shown, width in zip(values, self.widths, strict=False))


def lines_of(text: str, width: float) -> int:
    """Lines a text takes in a column so wide."""
    return max(1, -(-len(text) // int(width * _LETTERS)))


def parts(table: Table) -> list[Table]:
    """A wide table as several, each with the first column and as many others as fit beside each other."""
    wide = max([len(table.heads), *map(len, table.rows)])
    if wide <= RUNS_BESIDE + 1:
        return [table]
    made = []
    for start in range(1, wide, RUNS_BESIDE):
        chosen = slice(start, start + RUNS_BESIDE)
        # A sentence stands in the first part; a row is left out of a part whose runs have nothing in it.
        told = [(row, [*row[:1], *row[chosen]]) for row in table.rows]
        rows = [here for row, here in told if not alone(here) or (alone(row) and start == 1)]
        made.append(Table(table.title, [*table.heads[:1], *table.heads[chosen]], rows))
    return made


def alone(row: list[Shown]) -> bool:
    """Whether a row is a sentence, not values side by side."""
    return isinstance(row[0].value, str) and not any(shown.text for shown in row[1:])
