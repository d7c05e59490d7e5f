"""Reading somebody's file into grids of filled cells, each of which knows how to say where it is."""

import csv
import warnings
from dataclasses import dataclass, field
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter

from railfuncs.data import decoded
from railfuncs.errors import BookError

LARGEST_FILE = 20_000_000  # bytes; a measure sheet of 200 runs takes some 30,000
LARGEST_UNPACKED = 200_000_000
LAST_COLUMN = 16384  # XFD
_OLE = bytes.fromhex("D0CF11E0A1B11AE1")  # the container of encrypted workbooks and of the old .xls
_SAVE_AS = "save it as .xlsx or .csv"


@dataclass(frozen=True, slots=True)
class Found:
    """What one filled cell holds, or in `problem` why it cannot be used."""

    value: Any
    problem: str = ""


@dataclass(slots=True)
class Grid:
    """The filled cells of one sheet (or of a CSV file, where `sheet` is None): rows, then columns, from 1.

    `broken` is a sentence when the file could not be followed to its end.
    """

    sheet: str | None = None
    rows: dict[int, dict[int, Found]] = field(default_factory=dict)
    broken: str = ""

    def cell(self, row: int, column: int) -> str:
        """Where a cell is, in words.

        >>> Grid("Measure").cell(7, 3), Grid().cell(7, 3)
        ("sheet 'Measure' cell C7", 'line 7, column C')
        """
        letter = get_column_letter(column)
        return f"line {row}, column {letter}" if self.sheet is None else f"{self.whole} cell {letter}{row}"

    def line(self, row: int) -> str:
        """Where a row is, in words."""
        return f"line {row}" if self.sheet is None else f"{self.whole} row {row}"

    @property
    def whole(self) -> str:
        """The sheet itself, in words."""
        return "the file" if self.sheet is None else f"sheet '{self.sheet}'"


def read_grids(path: Path, preferred: str) -> list[Grid]:
    """Read a file (.xlsx or .csv) into the grids it may be meant as.

    Args:
        path: the file
        preferred: the sheet that is wanted; only where a workbook lacks it, all its sheets are read
    Returns: one grid a sheet; for CSV one a delimiter (comma, semicolon, tab) that it may have been written with
    Raises:
        BookError: one sentence, when the file cannot be read.
    """
    data = _bytes_of(path)
    if path.suffix.lower() == ".csv":
        return _csv_grids(path, data)
    return _sheets(path, data, preferred)


def _bytes_of(path: Path) -> bytes:
    try:
        if not path.exists():
            raise BookError(f"there is no file '{path}'; check its name and folder")
        if path.is_dir():
            raise BookError(f"'{path}' is a folder; name the measure sheet in it")
        if not path.is_file():
            raise BookError(f"'{path}' is not an ordinary file; name a measure sheet (.xlsx or .csv)")
        if path.suffix.lower() not in (".xlsx", ".csv"):
            raise BookError(f"'{path}' is neither .xlsx nor .csv; {_SAVE_AS}")
        if path.stat().st_size > LARGEST_FILE:
            raise BookError(f"'{path}' is far too large for a measure sheet; copy the runs into a new one")
        data = path.read_bytes()
    except OSError as error:
        raise BookError(f"'{path}' cannot be read; close it in any other program and check you may open it") from error
    if not data:
        raise BookError(f"'{path}' is empty; fill in a measure sheet and save it again")
    return data


def _csv_grids(path: Path, data: bytes) -> list[Grid]:
    if data.startswith(b"PK\x03\x04"):
        raise BookError(f"'{path}' is a workbook, not CSV; rename it to end in .xlsx")
    if b"\0" in data:
        raise BookError(f"'{path}' is not readable as CSV text; save it as CSV UTF-8 or as .xlsx")
    try:
        text = decoded(data)
    except UnicodeDecodeError as error:
        raise BookError(f"'{path}' is not readable as CSV text; save it as CSV UTF-8 or as .xlsx") from error
    return [_csv_grid(path, text, delimiter) for delimiter in ",;\t"]


def _csv_grid(path: Path, text: str, delimiter: str) -> Grid:
    grid = Grid()
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    try:
        for fields in reader:
            filled = {
                column: Found(on_one_line) for column, value in enumerate(fields, start=1)
                if (on_one_line := " ".join(value.split()))
            }  # fmt: skip
            if max(filled, default=0) > LAST_COLUMN:
                grid.broken = f"'{path}' line {line} has more columns than a sheet can have; save it again as .xlsx"
                break
            if filled:
                grid.rows[line] = filled
            line = reader.line_num + 1
    except csv.Error:
        grid.broken = (
            f"'{path}' line {line}: a quote mark is missing or stands in the wrong place; inside a quoted cell write"
            ' inches with two of them ("8\' 4-1/2"""), or write decimals'
        )
    return grid


def _sheets(path: Path, data: bytes, preferred: str) -> list[Grid]:
    formulas, stored = _workbook(path, data, values=False), _workbook(path, data, values=True)
    names = [sheet.title for sheet in formulas.worksheets]
    wanted = [name for name in names if name.strip().casefold() == preferred.casefold()] or names
    return [Grid(name, _filled_rows(formulas[name], stored[name])) for name in wanted]


def _workbook(path: Path, data: bytes, values: bool) -> Workbook:
    if data.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise BookError(f"'{path}' is locked with a password; save it without one")
        raise BookError(f"'{path}' is in an older format; {_SAVE_AS}")
    try:
        with ZipFile(BytesIO(data)) as archive:
            unpacked = sum(part.file_size for part in archive.infolist())
        if unpacked <= LARGEST_UNPACKED:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # about parts of a workbook that hold no measurements
                book = load_workbook(BytesIO(data), data_only=values)
            if any(row < 1 for sheet in book.worksheets for row, _ in sheet._cells):
                raise ValueError("a cell above the first row")
            return book
    except Exception as error:  # a broken part makes zipfile, openpyxl or lxml raise nearly anything
        raise BookError(
            f"'{path}' is damaged, half-written or not a workbook; open it in a spreadsheet and {_SAVE_AS}"
        ) from error
    raise BookError(f"'{path}' is far too large for a measure sheet; copy the runs into a new one")


def _filled_rows(formulas: Any, stored: Any) -> dict[int, dict[int, Found]]:
    """Filled cells by row. Only cells the file has are visited: a sheet can reach to XFD1048576 and be empty."""
    rows: dict[int, dict[int, Found]] = {}
    for (row, column), cell in sorted(formulas._cells.items()):
        if cell.value is None or (isinstance(cell.value, str) and not cell.value.strip()):
            continue
        value, problem = stored.cell(row, column).value, ""
        if value is None:
            problem = "the formula has no stored value; save the file in a spreadsheet, or write the value itself"
        elif stored.cell(row, column).data_type == "e":
            problem = f"holds the error {value}; write the value itself"
        # A line break within a cell means no more than a space, and sentences that quote it stay on one line.
        rows.setdefault(row, {})[column] = Found(" ".join(value.split()) if isinstance(value, str) else value, problem)
    return rows
