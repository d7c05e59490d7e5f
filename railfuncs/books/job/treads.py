"""Every step of each stair, tread by tread: where its nosing is and what stands on it."""

from collections.abc import Iterator
from typing import Any

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.measured import refuse_text
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import flight
from railfuncs.rules import job as together
from railfuncs.tracing import is_number, join, need, where

_LEAST_LINES = 16
_HEADS = ("Step", "Nosing above the floor", "Nosing from the lower newel", "Balusters on it", "1st cut to",
          "2nd cut to", "3rd cut to", "Riser as measured", "Tread as measured")  # fmt: skip
_PLACES = (5, 6, 7)
_LEAD = (
    "From the lowest step up. Nosing heights are plumb, from the floor the flight starts on; level lengths are from the"
    " lower newel's face. Measure every riser and tread and type them in the boxed cells: Checks compares the largest"
    " with the smallest."
)


def lines_for(runs: list[RunCells]) -> int:
    """Lines of a flight: half as many again as the longest has now."""
    most = max((run.run.steps or 0 for run in runs), default=0)
    return min(flight.TREADS_MOST, max(_LEAST_LINES, -(-most * 3 // 2)))


def add(book: Book, runs: list[RunCells]) -> None:
    """The page, where a run slopes."""
    sloped = [run for run in runs if run.kind != "level"]
    if not sloped:
        return
    page = book.page("Treads")
    sheet = page.sheet
    page.put(1, 1, "Treads", "title")
    page.put(2, 1, _LEAD, "lead")
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=len(_HEADS))
    sheet.row_dimensions[2].height = 44
    lines = lines_for(sloped)
    row = 4
    for run in sloped:
        row = _flight(page, row, run, lines) + 2
    for letter, width in zip("ABCDEFGHI", (8, 14, 14, 11, 12, 12, 12, 13, 13), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "B4"
    printed(sheet, tall=True)


def _steps_shown(steps: Any, lines: int) -> None:
    need(where(is_number(steps), 1, 0) == 1, "count the steps in the sheet Measured to see them here")
    need(steps <= lines, f"more than {lines} steps: this workbook's lists are too short; make it again")


def _flight(page: Page, row: int, run: RunCells, lines: int) -> int:
    page.calc(row, 1, join, run["name"], f", {run.unit}", style="group")
    for column in range(2, len(_HEADS) + 1):
        page.put(row, column, None, "group")
    status = page.status(row + 1, 1, [(_steps_shown, (run["steps"], lines))], unless=run["status"])
    page.sheet.merge_cells(start_row=row + 1, end_row=row + 1, start_column=1, end_column=len(_HEADS))
    for column, head in enumerate(_HEADS, start=1):
        page.put(row + 2, column, head, "head")
    page.sheet.row_dimensions[row + 2].height = 30
    risers, sizes = [], []
    for step, at in enumerate(range(row + 3, row + 3 + lines), start=1):
        page.calc(at, 1, together.line_number, step, run["steps"], style="whole", unless=status)
        page.calc(at, 2, flight.step_height, step, run["step_riser"], run["steps"], style="exact", unless=status)
        for column in (3, 4, *_PLACES):
            page.put(at, column, None, "text")
        if run.kind == "treads":
            _standing(page, at, step, run, status)
        risers.append([page.put(at, 8, None, "input in")])
        sizes.append([page.put(at, 9, None, "input in")])
    refuse_text(page, [cell for cells in (*risers, *sizes) for cell in cells], run.unit)
    run.blocks = {"riser": Block(risers), "tread": Block(sizes)}
    return row + 3 + lines


def _standing(page: Page, at: int, step: int, run: RunCells, status: Cell) -> None:
    stand = run["first_no"], run["last_no"], run["each_tread"]
    page.calc(at, 3, flight.step_place, step, run["tread"], run["nosing"], run["steps"], style="exact", unless=status)
    page.calc(at, 4, flight.on_this_step, step, *stand, run["steps"], style="whole", unless=status)
    for number, (column, piece) in enumerate(zip(_PLACES, _bundles(run), strict=True), start=1):
        page.calc(at, column, flight.length_here, step, number, *stand, piece, style=f"fine {run.unit}", unless=status)


def _bundles(run: RunCells) -> Iterator[Cell]:
    return (piece.cut for piece in run.pieces if piece.name == "Baluster")


