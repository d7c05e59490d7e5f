"""Opening a job workbook for the values stored in it; nothing else is ever taken from it."""

import datetime
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter

from railfuncs.books.look import FRACTION
from railfuncs.errors import BookError, LengthError
from railfuncs.lengths import exact

LARGEST_UNPACKED = 300_000_000  # bytes
_MONEY = ("$", "€", "£", "¥", "CHF", "USD", "EUR", "#,##0.00", "%")  # in a cell's number format


def folded(text: Any) -> str:
    """A label without what does not matter: case and spaces."""
    return " ".join(str(text).split()).casefold()


class SheetView:
    """The values of one sheet, and what of it is hidden."""

    def __init__(self, values: Any, formulas: Any) -> None:
        self._values, self._formulas = values, formulas
        self.title: str = values.title
        self.hidden: bool = values.sheet_state != "visible"
        self.rows: int = values.max_row
        self.columns: int = values.max_column
        self._hidden_columns = {
            column
            for part in values.column_dimensions.values()
            if part.hidden or part.width == 0
            for column in range(part.min or 0, (part.max or 0) + 1)
        }

    def shown(self, row: int, column: int) -> bool:
        """Whether a person looking at the sheet can see this cell."""
        line = self._values.row_dimensions.get(row)
        return column not in self._hidden_columns and not (line is not None and (line.hidden or line.height == 0))

    def value(self, row: int, column: int) -> Any:
        """The stored value; blank text and blank cells alike give None."""
        cell = self._values.cell(row, column)
        if cell.value is None and self._formulas.cell(row, column).data_type == "f" and self._unsaved:
            raise BookError(f"{self.where(row, column)} holds a formula without its value; open the workbook in a"
                            " spreadsheet and save it there")  # fmt: skip
        if cell.data_type == "e":
            raise BookError(f"{self.where(row, column)} shows the error {cell.value}; put it right first")
        return None if isinstance(cell.value, str) and not cell.value.strip() else cell.value

    @cached_property
    def _unsaved(self) -> bool:
        """An empty text is stored as no value at all: only a sheet where no formula has one was never calculated."""
        return not any(
            self._values.cell(row, column).value is not None
            for (row, column), cell in self._formulas._cells.items()
            if cell.data_type == "f"
        )

    def is_money(self, row: int, column: int) -> bool:
        """Whether a cell is formatted as an amount of money, or as a percentage of one."""
        style = str(self._values.cell(row, column).number_format)
        return any(sign in style for sign in _MONEY)

    def is_fraction(self, row: int, column: int) -> bool:
        """Whether a number is shown as on an inch tape."""
        return str(self._values.cell(row, column).number_format) == FRACTION

    def where(self, row: int, column: int) -> str:
        return f"sheet '{self.title}' cell {get_column_letter(column)}{row}"

    def labelled(self, label: str) -> list[int]:
        """Rows whose first cell reads so."""
        return [row for row in range(1, self.rows + 1) if folded(self.value(row, 1) or "") == folded(label)]


@dataclass(frozen=True)
class JobBook:
    """A job workbook opened for its values."""

    path: Path
    values: Workbook
    formulas: Workbook

    def sheet(self, title: str) -> SheetView:
        for name in self.values.sheetnames:
            if folded(name) == folded(title):
                return SheetView(self.values[name], self.formulas[name])
        raise BookError(f"'{self.path.name}' has no sheet '{title}'; make the workbook again with railfuncs job")


def open_job(path: Path) -> JobBook:
    """Open a job workbook.

    Raises:
        BookError: one sentence, when the file cannot be read.
    """
    if not path.is_file():
        raise BookError(f"there is no file '{path}'; check its name and folder")
    if path.suffix.lower() != ".xlsx":
        raise BookError(f"'{path}' does not end in .xlsx; save the job workbook as .xlsx")
    try:
        data = path.read_bytes()
    except OSError as error:
        raise BookError(f"'{path}' cannot be read; close it in any other program and check you may open it") from error
    try:
        with ZipFile(BytesIO(data)) as archive:
            unpacked = sum(part.file_size for part in archive.infolist())
        if unpacked <= LARGEST_UNPACKED:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # about parts that are not values
                return JobBook(path, *(load_workbook(BytesIO(data), data_only=only) for only in (True, False)))
    except Exception as error:  # a broken part makes zipfile, openpyxl or lxml raise nearly anything
        raise BookError(f"'{path}' is damaged, locked or not a workbook; save it anew in a spreadsheet") from error
    raise BookError(f"'{path}' is far too large for a job workbook")


def one_row(sheet: SheetView, label: str) -> int:
    """The one row whose first cell reads so."""
    rows = sheet.labelled(label)
    if len(rows) != 1:
        raise BookError(f"sheet '{sheet.title}' has {len(rows)} rows named '{label}', where one is needed; make the"
                        " workbook again with railfuncs job")  # fmt: skip
    return rows[0]


def row_starting(sheet: SheetView, start: str) -> int:
    """The one row whose first cell begins so."""
    labels = (sheet.value(row, 1) for row in range(1, sheet.rows + 1))
    return one_row(sheet, next((str(label) for label in labels if str(label).startswith(start)), start))


def number_in(sheet: SheetView, row: int, column: int) -> Fraction:
    """The number of a cell that must hold one."""
    value = sheet.value(row, column)
    try:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise LengthError("write a number, like 63.5")
        return exact(value)
    except LengthError as error:
        raise BookError(f"{sheet.where(row, column)}: {error}") from error


def as_text(value: Any) -> str:
    """A value as words: dates as year-month-day, whole numbers without a point."""
    if value is None:
        return ""
    if isinstance(value, datetime.datetime | datetime.date):
        return value.isoformat()[:10]
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def filled(sheet: SheetView) -> Iterator[tuple[int, int, Any]]:
    """Cells of a sheet that hold something and can be seen."""
    for row, column in sorted(sheet._values._cells):
        value = sheet.value(row, column)
        if value is not None and sheet.shown(row, column):
            yield row, column, value
