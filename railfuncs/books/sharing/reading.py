"""Reading a job workbook back: the values stored in it, and its runs laid out anew from what was measured.

Only values are ever taken from the workbook. What was measured is read from its sheet Measured, where a person may have
changed it, and laid out by the same rules as the sheets; stored counts and gaps that disagree mean that the file was
not recalculated, and nothing is made from it.
"""

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

from railfuncs.books.job import measured, spacing
from railfuncs.books.look import FRACTION
from railfuncs.books.measure import Run
from railfuncs.errors import BookError, LengthError
from railfuncs.lengths import exact
from railfuncs.rules import cutting
from railfuncs.rules import job as together
from railfuncs.rules.measure import round_to
from railfuncs.rules.spacing import gap, place

LARGEST_UNPACKED = 300_000_000  # bytes
_MONEY = ("$", "€", "£", "¥", "CHF", "USD", "EUR", "#,##0.00", "%")  # in a cell's number format
BOARDS = ("Handrail", "Shoe")


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


@dataclass(frozen=True)
class LaidRun:
    """A run as measured in the workbook and laid out by the rules; lengths exact, in the run's own unit."""

    run: Run
    step: Fraction
    count: int
    gap: Fraction
    shoe: Fraction
    shift: Fraction

    def length(self, board: str) -> Fraction:
        return self.run.opening if board == "Handrail" else self.shoe

    def places(self, board: str) -> list[Fraction]:
        """Exact centres from the left end of a board."""
        shift = Fraction(0) if board == "Handrail" else self.shift
        return [Fraction(place(self.gap, self.run.width, i, shift)) for i in range(1, self.count + 1)]

    def marks(self, board: str) -> list[Fraction]:
        """Centres as marked, each rounded once from its exact place."""
        return [Fraction(round_to(place, self.step)) for place in self.places(board)]

    def cut(self, piece: str) -> Fraction:
        """Length a piece is cut to, to the set-up's own step."""
        fine = Fraction(1, 64) if self.run.unit == "in" else Fraction(1, 2)
        run = self.run
        if piece == "Baluster":
            exactly = cutting.cut_baluster(run.clear, run.shoe_depth, run.rail_depth, run.play)
        else:
            exactly = self.length(piece)
        return Fraction(round_to(exactly, fine))


def laid_runs(book: JobBook) -> list[LaidRun]:
    """The runs of a job workbook, laid out from its sheet Measured.

    Raises:
        BookError: a run cannot be laid out, or the stored spacing is not that of what is measured.
    """
    sheet = book.sheet("Measured")
    names = _row(sheet, "Run")
    steps = {"in": _row_starting(sheet, "Marks to the inch"), "mm": _row_starting(sheet, "Marks to the millimetre")}
    runs = []
    for column in range(2, sheet.columns + 1):
        if sheet.value(names, column) is None:
            continue
        run = _run(sheet, column, str(sheet.value(names, column)))
        for key, sentence in measured.run_problems(run):
            label = next(label for name, label, _ in measured.ROWS if name == key)
            raise BookError(f"sheet 'Measured', run '{run.name}', {label}: {sentence}")
        step = 1 / _number(sheet, steps[run.unit], 2)
        runs.append(_laid(run, step))
    if not runs:
        raise BookError("sheet 'Measured' holds no runs; make the workbook again with railfuncs job")
    _fit_stored(book, runs)
    return runs


def _laid(run: Run, step: Fraction) -> LaidRun:
    shoe = together.shoe_length(run.opening, run.shoe_opening, run.trim_left, run.trim_right)
    leaning = together.lean(run.opening, shoe, run.trim_left, run.trim_right)
    count = int(measured.spaced_count(run))
    even = Fraction(gap(run.opening, run.width, count))
    return LaidRun(run, step, count, even, shoe, together.shoe_shift(leaning, run.trim_left))


def _run(sheet: SheetView, column: int, name: str) -> Run:
    unit = sheet.value(_row(sheet, "Unit"), column)
    if unit not in ("in", "mm"):
        raise BookError(f"sheet 'Measured', run '{name}': the unit must be in or mm")
    values: dict[str, Any] = {"name": name, "unit": unit}
    for key, label, blank in measured.ROWS:
        if not key:
            continue
        row = _row(sheet, label)
        if key in measured.TEXTS or key == "parity":
            values[key] = as_text(sheet.value(row, column))
        elif sheet.value(row, column) is not None:
            values[key] = _number(sheet, row, column)
        elif key in measured.MAY_BE_BLANK:
            values[key] = None
        elif blank is None:
            raise BookError(f"{sheet.where(row, column)} ({label}) is blank; write a number, like 63.5")
        else:
            values[key] = Fraction(blank)
    return Run(**values)


def _fit_stored(book: JobBook, runs: list[LaidRun]) -> None:
    sheet = book.sheet("Spacing")
    labels = {key: spacing.LABELS[row - spacing.NAME] for key, row in
              (("count", spacing.COUNT), ("gap", spacing.GAP), ("status", spacing.STATUS))}  # fmt: skip
    rows = {key: _row(sheet, label) for key, label in labels.items()}
    for column, laid in enumerate(runs, start=2):
        wrong = sheet.value(rows["status"], column)
        if wrong is not None:
            raise BookError(f"run '{laid.run.name}': {wrong}")
        count, even = sheet.value(rows["count"], column), sheet.value(rows["gap"], column)
        if count != laid.count or not isinstance(even, int | float) or abs(float(even) - float(laid.gap)) > 1e-6:
            raise BookError(f"run '{laid.run.name}': the stored spacing is not that of what is measured; open the"
                            " workbook in a spreadsheet, let it recalculate, and save it")  # fmt: skip


def _row(sheet: SheetView, label: str) -> int:
    rows = sheet.labelled(label)
    if len(rows) != 1:
        raise BookError(f"sheet '{sheet.title}' has {len(rows)} rows named '{label}', where one is needed; make the"
                        " workbook again with railfuncs job")  # fmt: skip
    return rows[0]


def _row_starting(sheet: SheetView, start: str) -> int:
    labels = (sheet.value(row, 1) for row in range(1, sheet.rows + 1))
    return _row(sheet, next((str(label) for label in labels if str(label).startswith(start)), start))


def _number(sheet: SheetView, row: int, column: int) -> Fraction:
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
