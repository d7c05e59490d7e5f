"""A workbook of the functions as defined names: no add-in, no macros, for a spreadsheet that knows LAMBDA."""

from fractions import Fraction
from pathlib import Path
from textwrap import wrap
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName

from railfuncs.books.files import replacing
from railfuncs.books.look import Look, printed
from railfuncs.books.stored import Stored, save
from railfuncs.catalogue import Argument, Function, functions
from railfuncs.hosts.examples import example_calls, literal
from railfuncs.hosts.named import NamedFunction, named_function

TITLE = "Functions"
KNOWN = "These functions calculate here."
UNKNOWN = (
    "This program does not know LAMBDA, so the results below show an error or what was stored."
    " Use the add-in, or a spreadsheet that knows LAMBDA (Excel 2024, Microsoft 365)."
)
_LEAD = (
    "Type =RAIL_GAP( in any cell of this workbook, or copy a sheet of yours into it. Every argument is given; a blank"
    " cell stands for its default. Lengths are numbers, all in one unit where the text does not say inches; single"
    " cells, filled down. What is refused shows #N/A."
)
_CAUTION = "Arithmetic, not advice. Guards and stairs: check with the local code and a licensed professional."
_HEADS = ("Function", "What it gives", "Arguments", "Type this", "Result", "Refused (#N/A) where it does not hold that")
_TOP = 6
_WIDTHS = (24, 34, 52, 34, 14, 46)
_LINE = 13  # points


def write_functions(path: Path) -> None:
    """Write the workbook: the defined names, and a sheet with each function, its arguments and a live example."""
    book = Workbook()
    look = Look(book)
    sheet = book.active
    sheet.title = TITLE
    values: Stored = {}
    named = {entry.name: named_function(entry) for entry in functions().values() if entry.has_formula}
    for name, made in named.items():
        book.defined_names[name] = DefinedName(name, attr_text=made.text)
    # A number, so that the sheet can tell whether it calculates here.
    _head(sheet, look, values, trial=f"E{_TOP + 1 + list(named).index('RAIL_GAP')}")
    row = _TOP
    for name, made in named.items():
        row += 1
        _example(sheet, look, values, row, functions()[name], made)
    _without(sheet, look, row + 2, [entry for entry in functions().values() if not entry.has_formula])
    for column, width in enumerate(_WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = f"B{_TOP + 1}"
    printed(sheet, landscape=True, tall=True)
    with replacing(path) as temporary:
        save(book, temporary, {TITLE: values})


def _head(sheet: Any, look: Look, values: Stored, trial: str) -> None:
    texts = ((1, "Rail functions with no add-in", "title"), (2, _LEAD, "lead"), (4, _CAUTION, "caution"))
    for row, text, style in texts:
        _put(sheet, look, row, 1, text, style)
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(_HEADS))
    sheet.row_dimensions[2].height = sheet.row_dimensions[3].height = 30
    # By way of the first example's cell: Calc 7.4 cannot even read a formula that calls one of these names.
    _put(sheet, look, 3, 1, f'=IF(ISNUMBER({trial}),"{KNOWN}","{UNKNOWN}")', "status")
    sheet.merge_cells(start_row=3, end_row=3, start_column=1, end_column=len(_HEADS))
    values[3, 1] = KNOWN
    for column, text in enumerate((*_HEADS, "Example values, in the order of the arguments"), start=1):
        _put(sheet, look, _TOP, column, text, "head")


def _example(sheet: Any, look: Look, values: Stored, row: int, entry: Function, made: NamedFunction) -> None:
    """One row: the function, its example's values in cells, and the result of the formula on those cells."""
    call = dict(zip([a.name for a in entry.arguments], example_calls(entry)[0], strict=False))
    given = [call.get(argument.name, argument.default) for argument in made.arguments]
    addresses: list[str] = []
    column = len(_HEADS)
    for argument, value in zip(made.arguments, given, strict=True):
        first = column + 1
        for each in value if isinstance(value, list) else [value]:
            column += 1
            _put(sheet, look, row, column, each, "input text" if argument.choices else "input in")
        ends = [sheet.cell(row, at).coordinate for at in (first, column)]
        addresses.append(":".join(ends) if argument.takes_range else ends[0])
    formula = f"={entry.name}({','.join(addresses)})"
    fixed = [f"{a.name} is {literal(a.default)}" for a in made.fixed]
    about = [f"{a.name}: {_described(a)}" for a in made.arguments]
    gives = entry.summary + (f" Here {'; '.join(fixed)}." if fixed else "")
    for at, text in enumerate((entry.name, gives, "\n".join(about), formula[1:]), start=1):
        _put(sheet, look, row, at, text, "wrap")
    _put(sheet, look, row, 5, formula, "wrap")
    result = values[row, 5] = entry(*[call.get(a.name, a.default) for a in entry.arguments])
    refusals = "; ".join(made.refusals)
    _put(sheet, look, row, 6, refusals, "wrap")
    shown = result if isinstance(result, str) else ""
    texts = ("", gives, "\n".join(about), formula, shown, refusals)
    sheet.row_dimensions[row].height = _LINE * max(map(_lines, texts, _WIDTHS))


def _lines(text: str, width: int) -> int:
    """How many lines a text takes when it is wrapped at spaces in a column so wide."""
    return sum(max(1, len(wrap(line, width - 2))) for line in text.split("\n"))


def _described(argument: Argument) -> str:
    kind = ", ".join(argument.choices) if argument.choices else argument.kind.replace("_", " ")
    default = "" if argument.default is None else f"; blank for {literal(argument.default)}"
    return f"{argument.help} ({kind}{default})"


def _without(sheet: Any, look: Look, row: int, entries: list[Function]) -> None:
    _put(sheet, look, row, 1, "Only with the add-in (they give or read whole columns, or texts)", "group")
    for line, entry in enumerate(entries, start=row + 1):
        _put(sheet, look, line, 1, entry.name, "wrap")
        _put(sheet, look, line, 2, entry.summary, "wrap")
        sheet.row_dimensions[line].height = _LINE * _lines(entry.summary, _WIDTHS[1])


def _put(sheet: Any, look: Look, row: int, column: int, value: Any, style: str) -> None:
    cell = sheet.cell(row, column, float(value) if isinstance(value, Fraction) else value)
    look.dress(cell, style)
