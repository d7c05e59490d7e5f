"""The empty measure sheet to fill in on site, printed or on a screen."""

from copy import copy
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from railfuncs.books.files import replacing
from railfuncs.books.look import Look, printed
from railfuncs.books.measure import DENOMINATORS, FACTS, SHEET, TAPES, Column, columns
from railfuncs.errors import BookError

ROWS = 24  # runs that an empty sheet has boxes for; more rows may be added below
HELP = "How to fill this in"
_FIRST_FACT = 4
_HEADER = _FIRST_FACT + len(FACTS) + 1
_LETTER = 1
_WIDE = {"name": 20, "left": 15, "right": 15, "face": 16, "notes": 44}
STARRED = ("yes", "level", "shoe")  # what most runs need
_HOW = (
    "One row a run on the sheet 'Measure'; columns with a star must be filled in, the others may stay blank.",
    "Lengths as you read them off the tape: 63 1/2, 63½, 63.5, 5' 3-1/2\", 1600 mm. A bare number is in the row's"
    " unit; any other unit may be written behind it.",
    "The boxes hold text, so that 3/4 stays 3/4 and does not become a date. In a sheet of your own write 0 3/4 or"
    " 0.75.",
    "A stair: fill in the columns from Rise on, measured any one way; a level run leaves them blank. Balusters on"
    " treads need riser, tread, steps, first on tread and rail height, and no shoe or clear height.",
    "Measure each opening at the rail and at the shoe; where they disagree the newels lean.",
    "Job facts stand above the headers. Marks to the: 16 marks to sixteenths of an inch; runs in mm are marked to"
    " 1 mm. Tape: how inch marks read, 75 1/2 (inches) or 6' 3-1/2\" (feet). Code: the published limits to compare"
    " with, such as irc-2018, or the name of a file of your own beside this one.",
    "Guards keep people from falling: check heights and gaps with the local code and a licensed professional.",
)


def write_template(path: Path) -> None:
    """Write an empty measure sheet.

    Args:
        path: where, ending in .xlsx; a file already there is never replaced, since it may hold measurements
    Raises:
        BookError: one sentence, when it cannot be written there.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_template(Path(folder, "porch.xlsx"))
    ...     [file.name for file in Path(folder).iterdir()]
    ['porch.xlsx']
    """
    refuse_old(path, "a measure sheet", "measurements")
    workbook = Workbook()
    look = Look(workbook)
    sheet = workbook.active
    sheet.title = SHEET
    _measure(sheet, look)
    _help(workbook.create_sheet(HELP), look)
    workbook.properties.creator = "railfuncs"
    workbook.properties.title = "Measure sheet"
    with replacing(path) as temporary:
        workbook.save(temporary)


def refuse_old(path: Path, kind: str, holds: str) -> None:
    """An empty sheet to fill in is a new .xlsx file: it never takes the place of a filled one."""
    if path.suffix.lower() != ".xlsx":
        raise BookError(f"'{path}' does not end in .xlsx; {kind} is written as .xlsx")
    if path.is_file():
        raise BookError(f"'{path}' is there already and may hold {holds}; choose another name")


def put_cell(sheet: Worksheet, look: Look, row: int, column: int, value: Any, style: str) -> Any:
    cell = sheet.cell(row, column, value)
    look.dress(cell, style)
    return cell


def text_box(sheet: Worksheet, look: Look, row: int, column: int) -> None:
    """A box whose 3/4 stays text and does not become a date."""
    cell = put_cell(sheet, look, row, column, None, "input text")
    cell._style = copy(cell._style)  # the look's own is shared by every cell of that style
    cell.number_format = "@"


def _measure(sheet: Worksheet, look: Look) -> None:
    put_cell(sheet, look, 1, 1, "Measure sheet", "title")
    lead = f"One row a run. Columns with a star must be filled in; see the sheet '{HELP}'."
    put_cell(sheet, look, 2, 2, lead, "lead")
    sheet.merge_cells(start_row=2, end_row=2, start_column=2, end_column=9)
    _facts(sheet, look)
    for number, column in enumerate(columns().values(), start=1):
        put_cell(sheet, look, _HEADER, number, column.header + ("*" if column.required in STARRED else ""), "head")
        for row in range(_HEADER + 1, _HEADER + 1 + ROWS):
            if column.kind == "whole":
                put_cell(sheet, look, row, number, None, "input whole")
            else:
                text_box(sheet, look, row, number)
            sheet.row_dimensions[row].height = 20  # high enough to write in by hand
        letter = get_column_letter(number)
        sheet.column_dimensions[letter].width = _WIDE.get(column.key, 11)
        if column.choices:
            add_choices(sheet, f"{letter}{_HEADER + 1}:{letter}{_HEADER + ROWS}", column.choices)
    sheet.row_dimensions[_HEADER].height = 30
    sheet.freeze_panes = sheet.cell(_HEADER + 1, 2)
    printed(sheet, landscape=True)
    sheet.page_setup.paperSize = _LETTER
    sheet.page_setup.fitToWidth = 2  # on one page the boxes would be too small to write in
    sheet.print_title_cols = "A:A"


def _facts(sheet: Worksheet, look: Look) -> None:
    # Not in the first column, which is printed again beside the columns of the second page.
    for row, (key, label) in enumerate(FACTS.items(), start=_FIRST_FACT):
        for column in (2, 3):
            put_cell(sheet, look, row, column, label if column == 2 else None, "text")
        for column in range(4, 8):
            text_box(sheet, look, row, column)
        sheet.merge_cells(start_row=row, end_row=row, start_column=2, end_column=3)
        sheet.merge_cells(start_row=row, end_row=row, start_column=4, end_column=7)
        if key == "denominator":
            add_choices(sheet, f"D{row}", [str(each) for each in DENOMINATORS])
        if key == "tape":
            add_choices(sheet, f"D{row}", TAPES)


def add_choices(sheet: Worksheet, cells: str, choices: Any) -> None:
    rule = DataValidation("list", formula1=f'"{",".join(choices)}"', allow_blank=True, showErrorMessage=True)
    rule.error = f"Choose one of: {', '.join(choices)}."
    rule.add(cells)
    sheet.add_data_validation(rule)


def _help(sheet: Worksheet, look: Look) -> None:
    put_cell(sheet, look, 1, 1, HELP, "title")
    for row, text in enumerate(_HOW, start=2):
        put_cell(sheet, look, row, 1, text, "lead")
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=3)
        sheet.row_dimensions[row].height = 28 if len(text) > 95 else 15
    head = len(_HOW) + 3
    for number, (title, width) in enumerate((("Column", 17), ("What to write", 66), ("Left blank", 22)), start=1):
        put_cell(sheet, look, head, number, title, "head")
        sheet.column_dimensions[get_column_letter(number)].width = width
    for row, column in enumerate(columns().values(), start=head + 1):
        put_cell(sheet, look, row, 1, column.header, "wrap")
        put_cell(sheet, look, row, 2, column.help + _choices(column), "wrap")
        put_cell(sheet, look, row, 3, _left_blank(column), "wrap")
        sheet.row_dimensions[row].height = 28 if len(column.help + _choices(column)) > 75 else 15
    printed(sheet)
    sheet.page_setup.paperSize = _LETTER


def _choices(column: Column) -> str:
    return f" One of: {', '.join(column.choices)}." if column.choices else ""


_NEEDED = {
    "yes": "must be filled in",
    "level": "must be filled in, but on a slope",
    "shoe": "must be filled in, but for treads",
    "treads": "must be filled in for treads",
}


def _left_blank(column: Column) -> str:
    if column.required:
        return _NEEDED[column.required]
    if column.default_from:
        return f"as {columns()[column.default_from].header}"
    if column.kind == "length" and column.default_in not in ("", "0"):
        return f"{column.default_in} in, or {column.default_mm} mm"
    return column.default_in or "may stay blank"
