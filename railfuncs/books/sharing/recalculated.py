"""Whether what a job workbook stores is what follows from its measurements; else it was not recalculated."""

from fractions import Fraction
from typing import Any

from railfuncs.books.job import marks, slope, spacing
from railfuncs.books.job.checks import HEIGHT_LABEL
from railfuncs.books.sharing.laid import LaidRun
from railfuncs.books.sharing.reading import JobBook, SheetView, one_row, row_starting
from railfuncs.errors import BookError
from railfuncs.rules import job as together
from railfuncs.rules.rake import rake_height

_CLOSE = 1e-6  # of a unit: spreadsheets keep some fifteen digits
_COUNT, _GAP, _STATUS = (spacing.LABELS[row - spacing.NAME] for row in (spacing.COUNT, spacing.GAP, spacing.STATUS))


def fit_stored(book: JobBook, runs: list[LaidRun]) -> None:
    """See that count, gap, slope, marks and height of every run are stored as they are laid out.

    Raises:
        BookError: the first run that says what is wrong with it, or was not recalculated.
    """
    spaced, checks = book.sheet("Spacing"), book.sheet("Checks")
    count, even, status = (one_row(spaced, label) for label in (_COUNT, _GAP, _STATUS))
    height = row_starting(checks, HEIGHT_LABEL)
    sloped = iter(range(2, len(runs) + 2))
    listed = book.sheet("Marks")
    for column, laid in enumerate(runs, start=2):
        wrong = spaced.value(status, column)
        if wrong is not None:
            raise BookError(f"run '{laid.run.name}': {wrong}")
        stored = [(spaced.value(count, column), laid.count), (spaced.value(even, column), laid.gap),
                  (checks.value(height, column), rail_height(laid))]  # fmt: skip
        if laid.slope:
            stored += _slope(book.sheet("Slope"), next(sloped), laid)
        stored += _marks(listed, laid)
        if not all(_same(value, of_rules) for value, of_rules in stored):
            raise BookError(f"run '{laid.run.name}': the stored spacing is not that of what is measured; open the"
                            " workbook in a spreadsheet, let it recalculate, and save it")  # fmt: skip


def _same(stored: Any, laid: Any) -> bool:
    if isinstance(laid, str):
        return (stored or "") == laid
    return isinstance(stored, int | float) and abs(float(stored) - float(laid)) <= _CLOSE


def rail_height(laid: LaidRun) -> Fraction:
    """Top of the rail above the floor, or plumb above the nosings of a slope."""
    run = laid.run
    stack = run.floor_gap, run.shoe_thickness, run.clear, run.rail_thickness
    if laid.kind == "treads":
        assert run.height is not None  # a run on treads is not read without it
        return run.height
    return Fraction(rake_height(*stack, *laid.slope) if laid.slope else together.guard_height(*stack))


def _slope(sheet: SheetView, column: int, laid: LaidRun) -> list[tuple[Any, Any]]:
    """Every number of the sheet Slope; its sentences follow from them."""
    return [(sheet.value(one_row(sheet, step.label), column), laid.worked[step.key])
            for step in slope.steps_of(laid.kind)
            if isinstance(step, slope.Calc) and step.style != "wrap"]  # fmt: skip


def _marks(sheet: SheetView, laid: LaidRun) -> list[tuple[Any, Any]]:
    title = f"{laid.run.name}, {laid.run.unit}"
    columns = [column for column in range(2, sheet.columns + 1) if sheet.value(marks.FIRST_ROW - 3, column) == title]
    return [
        (sheet.value(marks.FIRST_ROW + i, columns[0] + offset) if columns else None, mark)
        for offset, board in enumerate(laid.marked)
        for i, mark in enumerate(laid.marks(board))
    ]
