"""The runs of a job workbook, laid out anew from what was measured.

What was measured is read from the sheet Measured, where a person may have changed it, and laid out by the same rules as
the sheets; stored values that disagree mean that the file was not recalculated, and nothing is made from it.
"""

from fractions import Fraction
from typing import Any

from railfuncs.books.job import measured
from railfuncs.books.measure import Run
from railfuncs.books.sharing.laid import LaidRun, lay_out
from railfuncs.books.sharing.reading import JobBook, SheetView, as_text, number_in, one_row, row_starting
from railfuncs.books.sharing.recalculated import fit_stored
from railfuncs.errors import BookError, RuleError
from railfuncs.rules import flight

_LABELS = {key: label for key, label, _ in measured.rows_of(sloped=True)}
# What the sheet does not ask of a kind of run, as an empty measure sheet would have it.
_NOT_ASKED: dict[str, Any] = {
    **dict.fromkeys(key for key in _LABELS if key),
    **dict.fromkeys(measured.TEXTS, ""),
    **dict.fromkeys(("trim_left", "trim_right", "shoe_width", "shoe_thickness", "clear", "floor_gap", "nosing"),
                    Fraction(0)),
    "parity": "any", "up": "right", "stands": "shoe",
}  # fmt: skip


def laid_runs(book: JobBook) -> list[LaidRun]:
    """The runs of a job workbook, laid out from its sheet Measured.

    Raises:
        BookError: a run cannot be laid out, or what is stored is not that of what is measured.
    """
    sheet = book.sheet("Measured")
    names = one_row(sheet, "Run")
    steps = {"in": row_starting(sheet, "Marks to the inch"), "mm": row_starting(sheet, "Marks to the millimetre")}
    runs = []
    for column in range(2, sheet.columns + 1):
        if sheet.value(names, column) is None:
            continue
        run = _run(sheet, column, str(sheet.value(names, column)))
        for key, sentence in measured.run_problems(run):
            raise BookError(f"sheet 'Measured', run '{run.name}', {_LABELS[key]}: {sentence}")
        runs.append(lay_out(run, 1 / number_in(sheet, steps[run.unit], 2)))
    if not runs:
        raise BookError("sheet 'Measured' holds no runs; make the workbook again with railfuncs job")
    fit_stored(book, runs)
    return runs


def _run(sheet: SheetView, column: int, name: str) -> Run:
    unit = sheet.value(one_row(sheet, "Unit"), column)
    if unit not in ("in", "mm"):
        raise BookError(f"sheet 'Measured', run '{name}': the unit must be in or mm")
    sloping = bool(sheet.labelled(_LABELS["stands"]))
    # Only a run that slopes says what its balusters stand on.
    stands = as_text(sheet.value(one_row(sheet, _LABELS["stands"]), column)) if sloping else ""
    kind = "treads" if stands == "treads" else "rake" if stands else "level"
    values: dict[str, Any] = {"name": name, "unit": unit, **_NOT_ASKED}
    for key, label, blank in measured.rows_of(sloping):
        if key and measured.asked_of(kind, key):
            values[key] = _measure(sheet, one_row(sheet, label), column, key, blank, kind)
    if kind != "level":
        try:
            flight.known_side(values["up"])
        except RuleError as error:
            raise BookError(f"sheet 'Measured', run '{name}': {error}") from error
    run = Run(**values)
    if run.kind != kind:
        raise BookError(f"sheet 'Measured', run '{name}': the slope is not measured any more; measure it, or make the"
                        " workbook again with railfuncs job")  # fmt: skip
    return run


def _measure(sheet: SheetView, row: int, column: int, key: str, blank: Any, kind: str) -> Any:
    if key in measured.TEXTS or key in measured.CHOICES:
        return as_text(sheet.value(row, column))
    if sheet.value(row, column) is not None:
        return number_in(sheet, row, column)
    if measured.may_be_blank(kind, key):
        return None
    if blank is None:
        raise BookError(f"{sheet.where(row, column)} ({_LABELS[key]}) is blank; write a number, like 63.5")
    return Fraction(blank)
