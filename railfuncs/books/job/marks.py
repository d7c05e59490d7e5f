"""Marks to read off a tape: every run side by side, and one run at a time for a phone."""

from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import job as together
from railfuncs.tracing import call, need, traced

FIRST_ROW = 7
TOGETHER = 3  # columns a run: rail, shoe, gap


def add(book: Book, runs: list[RunCells], lines: int) -> None:
    page = book.page("Marks")
    sheet = page.sheet
    page.put(1, 1, "Marks", "title")
    page.put(2, 1, "Baluster centres from the LEFT end of each board. Hook the tape once and mark every place; each"
                   " mark is rounded from its exact place.", "lead")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=10)
    sheet.row_dimensions[2].height = 30
    page.put(FIRST_ROW - 1, 1, "No.", "head")
    numbers = [page.put(FIRST_ROW + i, 1, Fraction(i + 1), "whole") for i in range(lines + 1)]
    for run in runs:
        _run(page, run, numbers)
    sheet.column_dimensions["A"].width = 6
    for column in range(2, TOGETHER * len(runs) + 2):
        sheet.column_dimensions[get_column_letter(column)].width = 11
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 2)
    sheet.print_title_cols = "A:A"
    sheet.print_title_rows = f"1:{FIRST_ROW - 1}"
    printed(sheet, landscape=len(runs) > 2, tall=len(runs) <= 4, wide=len(runs) > 4)
    _card(book, runs, lines)


def _run(page: Page, run: RunCells, numbers: list[Cell]) -> None:
    column = 2 + TOGETHER * run.number
    status, unit = run["status"], run.unit
    page.calc(FIRST_ROW - 3, column, together.label, run["name"], style="head")
    page.put(FIRST_ROW - 3, column + 1, run.unit, "head")
    page.put(FIRST_ROW - 3, column + 2, "", "head")
    page.calc(FIRST_ROW - 2, column, together.label, status, style="status")
    for offset, head in enumerate(("Handrail", "Shoe", "Gap before")):
        page.put(FIRST_ROW - 1, column + offset, head, "head")
    nothing = Fraction(0)
    before: tuple[Cell | Fraction, Cell | Fraction] = nothing, nothing
    spaced = run["n"], run["gap"], run["width"], run["step"]
    for number in numbers:
        row = number.row
        rail = page.calc(row, column, together.rail_mark, number, *spaced, nothing, style=f"mark {unit}",
                         unless=status)  # fmt: skip
        shoe = page.calc(row, column + 1, together.rail_mark, number, *spaced, run["shift"], style=f"mark {unit}",
                         unless=status)  # fmt: skip
        gap = page.calc(
            row, column + 2, together.widest_here, number, run["n"], run["width"], run["opening"], before[0], rail,
            before[1], shoe, run["shoe"], run["trim_left"], run["trim_right"], style=unit, unless=status,
        )  # fmt: skip
        run.rail_marks.append(rail)
        run.shoe_marks.append(shoe)
        run.gaps.append(gap)
        before = rail, shoe


def find(name: Any, names: Any) -> Any:
    """Which run a name is, from 1."""
    if traced(name):
        return call("MATCH", name, names, 0)
    need(name in names, "no such run")
    return Fraction(names.index(name) + 1)


def pick(table: Any, line: Any, which: Any, offset: int, across: int) -> Any:
    """One cell of the marks table: a line, and a run's column by its number."""
    column = which * TOGETHER - TOGETHER + offset
    if traced(table):
        return call("INDEX", table, line, column)
    return table[int((line - 1) * across + column - 1)]


def _card(book: Book, runs: list[RunCells], lines: int) -> None:
    """One run on a phone: choose it, then read down."""
    page = book.page("Card")
    sheet = page.sheet
    page.put(1, 1, "Marks of one run", "title")
    page.put(2, 1, "Choose the run:")
    chosen = page.put(2, 2, runs[0].run.name, "input text")
    sheet.merge_cells("B2:C2")
    heads = Block([[run["name"] for run in runs]])
    rule = DataValidation("list", formula1=f"{heads.page}!{heads.address}", allow_blank=False, showErrorMessage=True)
    rule.error = "Choose one of the runs of this job."
    rule.add(chosen.address)
    sheet.add_data_validation(rule)
    page.put(3, 1, "Run number")
    which = page.calc(3, 2, find, chosen, heads, style="whole")
    page.put(4, 1, "What is wrong")
    page.calc(4, 2, _at, Block([[run["status"] for run in runs]]), which,
              style="status")  # fmt: skip
    for column, head in enumerate(("No.", "Handrail", "Shoe"), start=1):
        page.put(5, column, head, "head")
    table = Block([
        [cell for run in runs for cell in (run.rail_marks[i], run.shoe_marks[i], run.gaps[i])] for i in range(lines)
    ])  # fmt: skip
    across = TOGETHER * len(runs)
    for i in range(lines):
        number = page.put(6 + i, 1, Fraction(i + 1), "whole")
        for offset in (1, 2):
            # The fraction format shows whole millimetres as they are.
            page.calc(6 + i, 1 + offset, pick, table, number, which, offset, across, style="mark in")
    sheet.column_dimensions["A"].width = 15
    sheet.column_dimensions["B"].width = sheet.column_dimensions["C"].width = 15
    sheet.freeze_panes = "A6"
    sheet.print_title_rows = "5:5"
    printed(sheet, tall=True)


def _at(values: Any, number: Any) -> Any:
    if traced(values):
        return call("INDEX", values, 1, number)
    return values[int(number) - 1]
