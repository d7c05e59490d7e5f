"""The contractor's workbook, built anew from values: no formula, link, comment, name or hidden thing can come along."""

from copy import copy
from datetime import datetime, time
from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.drawing.image import Image
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.job.run import CAUTION
from railfuncs.books.look import FRACTION, Look, printed
from railfuncs.books.sharing.choice import Shared, Shown, Table
from railfuncs.books.sharing.elevation import picture
from railfuncs.books.sharing.words import SIGNING, VALUES_ONLY, caption, published_lines

_STARTERS = ("=", "+", "-", "@")
RUNS_BESIDE = 4  # in one block of a table: more would not fit a phone or a page
_SMALLER = 0.34  # of the picture's pixels, on the sheet
_LINE = 20  # pixels of a row
_PAGE_LINES = 44
_WIDTHS = (30.0, *[15.0] * RUNS_BESIDE)


class _Sheet:
    def __init__(self, sheet: Any, look: Look) -> None:
        self.sheet, self._look = sheet, look
        self.row = 1

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
            cell.alignment = Alignment(horizontal="right", vertical="top")
            cell.value = int(shown.value) if whole else float(shown.value)
            cell.number_format = "0" if whole else FRACTION if shown.in_marks else "0.####"

    def line(self, text: str, style: str, high: float | None = None) -> None:
        """A sentence over the whole width."""
        self.put(1, Shown(text), style)
        self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=1, end_column=len(_WIDTHS))
        if high:
            self.sheet.row_dimensions[self.row].height = high
        self.row += 1

    def table(self, table: Table) -> None:
        for part in parts(table):
            if part.heads:
                for column, head in enumerate(part.heads, start=1):
                    self.put(column, head, "head")
                self.sheet.row_dimensions[self.row].height = 28
                self.row += 1
            for values in part.rows:
                self._values(values)
            self.row += 1

    def _values(self, values: list[Shown]) -> None:
        for column, shown in enumerate(values, start=1):
            self.put(column, shown, "wrap" if isinstance(shown.value, str) else "number")
        lines = max(-(-len(shown.text) // int(_WIDTHS[min(column, len(_WIDTHS) - 1)] * 0.95))
                    for column, shown in enumerate(values))  # fmt: skip
        self.sheet.row_dimensions[self.row].height = 14.0 * max(1, lines)
        self.row += 1


def parts(table: Table) -> list[Table]:
    """A wide table as several, each with the first column and as many others as fit beside each other."""
    wide = max([len(table.heads), *map(len, table.rows)])
    if wide <= RUNS_BESIDE + 1:
        return [table]
    made = []
    for start in range(1, wide, RUNS_BESIDE):
        chosen = slice(start, start + RUNS_BESIDE)
        made.append(Table(table.title, [*table.heads[:1], *table.heads[chosen]],
                          [[*row[:1], *row[chosen]] for row in table.rows]))  # fmt: skip
    return made


def write_workbook(shared: Shared, path: Path) -> None:
    book = Workbook()
    look = Look(book)
    sheet = _Sheet(book.active, look)
    book.active.title = "Railing"
    _top(sheet, shared)
    for table in shared.tables:
        sheet.line(table.title, "group")
        sheet.table(table)
    _bottom(sheet, shared)
    _dress(sheet)
    if shared.elevations:
        _elevations(_Sheet(book.create_sheet("Elevation"), look), shared)
    book.properties.creator = "railfuncs"
    book.properties.created = datetime.combine(shared.on, time())
    book.save(path)


def _top(sheet: _Sheet, shared: Shared) -> None:
    sheet.line(shared.title, "title")
    sheet.line(f"Revision {shared.revision}  ·  {shared.on.isoformat()}", "lead")
    for label, shown in shared.facts:
        if label != "Job":
            sheet.line(f"{label}: {shown.text}", "lead")
    sheet.line(CAUTION, "caution", 42)
    sheet.line(VALUES_ONLY, "lead", 28 if len(VALUES_ONLY) > 95 else 15)
    sheet.row += 1


def _bottom(sheet: _Sheet, shared: Shared) -> None:
    sheet.line("Published limits named here, with how sure we are of each", "group")
    for text in published_lines(shared):
        sheet.line(text, "lead", 28 if len(text) > 95 else 15)
    sheet.row += 1
    sheet.line("To sign", "group")
    for label in SIGNING:
        sheet.put(1, Shown(label), "text")
        for column in range(2, len(_WIDTHS) + 1):
            sheet.put(column, Shown(""), "text")
        sheet.sheet.row_dimensions[sheet.row].height = 30
        sheet.row += 1


def _elevations(sheet: _Sheet, shared: Shared) -> None:
    sheet.line("Elevation", "title")
    sheet.line("Each run to its own scale, seen from the room.", "lead")
    sheet.row += 1
    page_start = 1
    for laid in shared.runs:
        data, wide, tall = picture(laid)
        image = Image(BytesIO(data))
        image.width, image.height = round(wide * _SMALLER), round(tall * _SMALLER)
        lines = -(-image.height // _LINE) + 2
        if sheet.row + lines - page_start > _PAGE_LINES:
            sheet.sheet.row_breaks.append(Break(id=sheet.row - 1))
            page_start = sheet.row
        sheet.line(caption(laid), "group", 28)
        sheet.sheet.add_image(image, f"A{sheet.row}")
        sheet.row += lines - 1
    _dress(sheet)


def _dress(sheet: _Sheet) -> None:
    for column, width in enumerate(_WIDTHS, start=1):
        sheet.sheet.column_dimensions[get_column_letter(column)].width = width
    printed(sheet.sheet, tall=True)
