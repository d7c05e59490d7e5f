"""Marks to read off a tape: every run side by side, and one run at a time for a phone."""

from collections.abc import Iterator
from typing import Any

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import flight
from railfuncs.rules import job as together
from railfuncs.rules.measure import reading
from railfuncs.tracing import call, join, round_half_up, traced, where

FIRST_ROW = 7
FROM_WHERE = (
    "Baluster centres from the LEFT. Handrail: from the left newel's face, not from the end of what is let into the"
    " newel. Shoe: from the shoe's left end, at the base trim. Lay the tape once and mark every place."
)
ON_A_SLOPE = (
    " On a slope along the board's edge, from where that edge meets the newel; gaps are level. Tread: level, from the"
    " nosing in to the baluster's centre."
)
_HEADS = ("Handrail", "Shoe", "Gap before")
_IN_FEET = ("Handrail, ft", "Shoe, ft")


def add(book: Book, runs: list[RunCells], lines: int, tape: str) -> None:
    """The marks of every run; with a tape that reads in feet, also as feet and inches."""
    heads = _HEADS + (_IN_FEET if tape == "feet" else ())
    page = book.page("Marks")
    sheet = page.sheet
    # Not in the first column, which is printed again on every page.
    page.put(1, 2, "Marks", "title")
    sloped = any(run.kind != "level" for run in runs)
    page.put(2, 2, FROM_WHERE + (ON_A_SLOPE if sloped else ""), "lead")
    sheet.merge_cells(start_row=2, end_row=2, start_column=2, end_column=1 + len(heads) * min(len(runs), 2))
    sheet.row_dimensions[2].height = 84 if sloped else 44
    page.put(FIRST_ROW - 1, 1, "No.", "head")
    numbers = [page.put(FIRST_ROW + i, 1, i + 1, "whole") for i in range(lines + 1)]
    for run in runs:
        _run(page, run, numbers, heads)
    sheet.column_dimensions["A"].width = 6
    for column in range(2, len(heads) * len(runs) + 2):
        sheet.column_dimensions[get_column_letter(column)].width = 11
    sheet.row_dimensions[FIRST_ROW - 3].height = 28
    sheet.row_dimensions[FIRST_ROW - 2].height = 54
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 2)
    sheet.print_title_cols = "A:A"
    sheet.print_title_rows = f"{FIRST_ROW - 3}:{FIRST_ROW - 1}"
    printed(sheet, landscape=True)
    # Pages break between runs only, which fitting to pages would not do.
    sheet.sheet_properties.pageSetUpPr.fitToPage = False
    sheet.page_setup.scale = 72
    a_page = max(1, 10 // len(heads))
    for run in runs[a_page::a_page]:
        sheet.col_breaks.append(Break(id=1 + len(heads) * run.number))
    _card(book, runs, lines, heads)


def _run(page: Page, run: RunCells, numbers: list[Cell], heads: tuple[str, ...]) -> None:
    column = 2 + len(heads) * run.number
    status, unit = run["status"], run.unit
    page.calc(FIRST_ROW - 3, column, join, run["name"], f", {unit}", style="head")
    for offset in range(1, len(heads)):
        page.put(FIRST_ROW - 3, column + offset, None, "head")
    if run.kind == "level":
        page.calc(FIRST_ROW - 2, column, _notice, status, run["lean_words"], style="status")
    else:
        ways = run["apart_total"], run["apart_steps"], run["apart_angle"]
        page.calc(FIRST_ROW - 2, column, flight.notice, status, run["lean_words"], *ways, run["allowed"],
                  run["apart_words"], style="status")  # fmt: skip
    for row in (FIRST_ROW - 3, FIRST_ROW - 2):
        page.merge(row, column, column + len(heads) - 1)
    for offset, head in enumerate(heads):
        page.put(FIRST_ROW - 1, column + offset, _head(head, run.kind), "head")
    lines = _ROWS_OF[run.kind](page, run, numbers, column)
    for number, (rail, shoe, gap) in zip(numbers, lines, strict=True):
        run.rail_marks.append(rail)
        run.shoe_marks.append(shoe)
        run.gaps.append(gap)
        for offset, mark in zip(range(len(_HEADS), len(heads)), (rail, shoe), strict=False):
            cell = page.calc(number.row, column + offset, _feet, mark, run["per_unit"], unit, style="mark text",
                             unless=status)  # fmt: skip
            run.feet_marks.append(cell)


_Line = tuple[Cell, Cell, Cell]
_Before = tuple[Cell | int, Cell | int]


def _on_a_shoe(page: Page, run: RunCells, numbers: list[Cell], column: int) -> Iterator[_Line]:
    """Marks on rail and shoe, as they lie on the boards, and the gap before each, level."""
    status, mark, nothing = run["status"], f"mark {run.unit}", 0
    before: _Before = nothing, nothing
    spaced = run["n"], run.along("gap"), run.along("width"), run["step"]
    ends = run.along("shoe"), run.along("trim_left"), run.along("trim_right")
    slope = (run["slope_rise"], run["slope_run"]) if run.kind == "rake" else ()
    widest = flight.widest_on_slope if slope else together.widest_here
    for number in numbers:
        row = number.row
        rail = page.calc(row, column, together.rail_mark, number, *spaced, nothing, style=mark, unless=status)
        shoe = page.calc(row, column + 1, together.rail_mark, number, *spaced, run.along("shift"), style=mark,
                         unless=status)  # fmt: skip
        gap = page.calc(
            row, column + 2, widest, number, run["n"], run.along("width"), run.along("opening"), before[0], rail,
            before[1], shoe, *ends, *slope, style="exact", unless=status,
        )  # fmt: skip
        before = rail, shoe
        yield rail, shoe, gap


def _on_treads(page: Page, run: RunCells, numbers: list[Cell], column: int) -> Iterator[_Line]:
    """Marks on the rail along the slope, on each tread in from its nosing, and the gap before each, level."""
    status, mark, nothing = run["status"], f"mark {run.unit}", 0
    before: _Before = nothing, nothing
    stand, slope = (run["first_no"], run["last_no"]), (run["slope_rise"], run["slope_run"])
    for number in numbers:
        row = number.row
        rail = page.calc(row, column, flight.rail_mark_on_treads, number, *stand, run["start"], run["each"],
                         run["opening"], run["up"], run["step"], *slope, style=mark, unless=status)  # fmt: skip
        foot = page.calc(row, column + 1, flight.tread_mark, number, *stand, run["each"], run["each_tread"],
                         run["first"], run["up"], run["step"], style=mark, unless=status)  # fmt: skip
        gap = page.calc(row, column + 2, flight.widest_on_treads, number, run["n"], run["width"], run["opening"],
                        before[0], rail, before[1], foot, *stand, run["each_tread"], run["nosing"], run["tread"],
                        run["up"], *slope, style="exact", unless=status)  # fmt: skip
        before = rail, foot
        yield rail, foot, gap


_ROWS_OF = {"level": _on_a_shoe, "rake": _on_a_shoe, "treads": _on_treads}


def _head(head: str, kind: str) -> str:
    """What a column holds for a run: where balusters stand on treads, there is no shoe."""
    return head.replace("Shoe", "Tread") if kind == "treads" else head


def find(name: Any, names: Any) -> Any:
    """Which run a name is, from 1; 0 where no run has that name."""
    if traced(name):
        # MATCH takes ~ * ? for wild cards; a name may hold them.
        sought = name
        for sign in "~*?":
            sought = call("SUBSTITUTE", sought, sign, "~" + sign)
        return call("IFERROR", call("MATCH", sought, names, 0), 0)
    return names.index(name) + 1 if name in names else 0


def pick(table: Any, line: Any, which: Any, offset: int, together: int, runs: int) -> Any:
    """One cell of the marks table: a line, and a column of a run that takes so many columns together."""
    column = (which - 1) * together + offset
    if traced(table):
        return call("INDEX", table, line, column)
    return table[int((line - 1) * together * runs + column - 1)]


def _feet(mark: Any, per_unit: Any, unit: str) -> Any:
    """A mark as feet and inches; millimetres stay millimetres; blank where there is none."""
    if unit == "mm":
        return mark
    return where(mark == "", "", lambda: reading(round_half_up(mark * per_unit), per_unit, "feet"))


def _card(book: Book, runs: list[RunCells], lines: int, heads: tuple[str, ...]) -> None:
    """One run on a phone: choose it, then read down."""
    page = book.page("Card")
    sheet = page.sheet
    page.put(1, 1, "Marks of one run, from the LEFT", "title")
    page.put(2, 1, "Choose the run:")
    chosen = page.put(2, 2, runs[0].run.name, "input text")
    sheet.merge_cells("B2:C2")
    names = Block([[run["name"] for run in runs]])
    rule = DataValidation("list", formula1=f"{names.page}!{names.address}", allow_blank=False, showErrorMessage=True)
    rule.error = "Choose one of the runs of this job."
    rule.add(chosen.address)
    sheet.add_data_validation(rule)
    page.put(3, 1, "Run, balusters")
    which = page.calc(3, 2, find, chosen, names, style="whole")
    page.put(4, 1, "What is wrong")
    wrong = page.calc(4, 2, _wrong, Block([[run["status"] for run in runs]]), which, style="status")
    sheet.merge_cells("B4:C4")
    sheet.row_dimensions[4].height = 30
    count = page.calc(3, 3, _of_run, Block([[run["n"] for run in runs]]), which, style="whole", unless=wrong)
    page.calc(2, 4, _of_run, Block([[run["unit"] for run in runs]]), which, style="centre", unless=wrong)
    page.put(5, 1, "No.", "head")
    table = Block([[cell for run in runs for cell in run.marks_line(i)] for i in range(lines)])
    shown = [offset for offset, head in enumerate(heads, start=1) if head != "Gap before"]
    for column, offset in enumerate(shown, start=2):
        on_treads = any(run.kind == "treads" for run in runs) and "Shoe" in heads[offset - 1]
        page.put(5, column, heads[offset - 1] + (" or tread" if on_treads else ""), "head")
        sheet.column_dimensions[get_column_letter(column)].width = 15
    for i in range(lines):
        line = i + 1
        page.calc(6 + i, 1, together.line_number, line, count, style="whole", unless=wrong)
        for column, offset in enumerate(shown, start=2):
            # The fraction format shows whole millimetres as they are.
            page.calc(6 + i, column, pick, table, line, which, offset, len(heads), len(runs), style="mark in",
                      unless=wrong)  # fmt: skip
    sheet.column_dimensions["A"].width = 15
    sheet.freeze_panes = "A6"
    sheet.print_title_rows = "5:5"
    printed(sheet, tall=True)


def _of_run(values: Any, which: Any) -> Any:
    if traced(values):
        return call("INDEX", values, 1, which)
    return values[which - 1]


def _wrong(states: Any, which: Any) -> Any:
    return where(which == 0, "no run has that name: choose one", lambda: _of_run(states, which))


def _notice(status: Any, lean_words: Any) -> Any:
    return where(status == "", lean_words, status)
