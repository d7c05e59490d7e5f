"""What the shop needs to set up the mortiser and the saw."""

from fractions import Fraction
from functools import cache
from typing import Any

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import a_column_a_run
from railfuncs.rules import cutting, flight
from railfuncs.rules import job as together
from railfuncs.rules.measure import round_to
from railfuncs.rules.rake import end_cut, pitch, rake_baluster

SHOP_CAUTION = (
    "Eyes, ears and lungs protected; work clamped; machine unplugged for set-up; guards on. Cut a test piece first,"
    " and dry-fit and check one opening before cutting the batch."
)


def set_up_step(unit: str) -> Fraction:
    """What set-up lengths are rounded to: a 64th of an inch, or half a millimetre."""
    return Fraction(1, 64) if unit == "in" else Fraction(1, 2)


@cache
def fine(rule: Any) -> Any:
    """Set-up is finer than layout: a rule's length to the nearest 64th, or half millimetre."""

    def rounded(step: Any, *args: Any) -> Any:
        return round_to(rule(*args), step)

    return rounded


_Line = tuple[Any, tuple[str, ...]]


def _where_level(rise: Any, run: Any) -> Any:
    return end_cut(rise, run, "level")


_SLOPE = "slope_rise", "slope_run"
_SAME = together.same
# What is set, by the label: for a run on the level, and where it is another rule for one on a slope.
_SETUP: tuple[tuple[str, _Line, _Line | None], ...] = (
    ("Chisel", (_SAME, ("chisel",)), None),
    ("Handrail: fence to near face of chisel (spacer)", (cutting.fence, ("rail_width", "chisel")), None),
    ("Handrail: depth stop", (_SAME, ("rail_depth",)), None),
    ("Handrail: wood left under the mortise", (cutting.floor_left, ("rail_thickness", "rail_depth")),
     (flight.floor_on_slope, ("rail_thickness", "rail_depth", "width", *_SLOPE))),
    ("Handrail: mortises", (_SAME, ("n",)), None),
    ("Shoe: fence to near face of chisel (spacer)", (cutting.fence, ("shoe_width", "chisel")), None),
    ("Shoe: depth stop", (_SAME, ("shoe_depth",)), None),
    ("Shoe: wood left under the mortise", (cutting.floor_left, ("shoe_thickness", "shoe_depth")),
     (flight.floor_on_slope, ("shoe_thickness", "shoe_depth", "width", *_SLOPE))),
    ("Shoe: mortises", (_SAME, ("n",)), None),
    ("Baluster: left in the handrail's mortise", (together.seat, ("rail_depth", "play")),
     (flight.seat_on_slope, ("rail_depth", "play", "width", *_SLOPE))),
    ("Balusters in the bundle", (_SAME, ("n",)), None),
    ("Baluster: cut to", (cutting.cut_baluster, ("clear", "shoe_depth", "rail_depth", "play")),
     (rake_baluster, ("clear", "shoe_depth", "rail_depth", *_SLOPE, "play"))),
)  # fmt: skip
_COUNTS = "Handrail: mortises", "Shoe: mortises", "Balusters in the bundle"
_NOT_ON_TREADS = "Shoe", "Baluster: cut to"
FINE_ROW = 6 + len(_SETUP)
_ON_A_SLOPE: tuple[tuple[str, Any, tuple[Any, ...], str], ...] = (
    ("Tilt of the board under the chisel, degrees", pitch, _SLOPE, "degrees"),
    ("Mouth of a mortise along the board", _SAME, ("along width",), ""),
    ("Handrail: depth at the mortise's shallow side", flight.shallow, ("rail_depth", "width", *_SLOPE), ""),
    ("Handrail: depth at its deep side", flight.deep, ("rail_depth", "width", *_SLOPE), ""),
    ("Shoe: depth at the mortise's shallow side", flight.shallow, ("shoe_depth", "width", *_SLOPE), ""),
    ("Shoe: depth at its deep side", flight.deep, ("shoe_depth", "width", *_SLOPE), ""),
    ("Saw, off square, at a plumb newel, degrees", end_cut, _SLOPE, "degrees"),
    ("Saw, off square, where sloped meets level, each, degrees", _where_level, _SLOPE, "degrees"),
)


def add(book: Book, runs: list[RunCells]) -> None:
    page = book.page("Shop")
    sheet = page.sheet
    page.put(1, 1, "Shop set-up", "title")
    page.put(2, 1, SHOP_CAUTION, "caution")
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 42
    page.put(4, 1, "Run", "head")
    sheet.row_dimensions[4].height = 30
    page.put(5, 1, "Unit", "centre")
    page.put(FINE_ROW + 1, 1, "Set the fence with the spacer against the chisel, then take the spacer out.", "lead")
    for row, (label, *_) in enumerate(_SETUP, start=6):
        page.put(row, 1, label)
    sloped = any(run.kind != "level" for run in runs)
    if sloped:
        _slope_labels(page)
    for run in runs:
        column = run.number + 2
        page.calc(4, column, together.label, run["name"], style="head")
        page.put(5, column, run.unit, "centre")
        run.cells["fine"] = page.put(FINE_ROW, column, set_up_step(run.unit), f"fine {run.unit}")
        _set_up(page, run, column)
        if run.kind != "level":
            _on_a_slope(page, run, column)
    page.put(FINE_ROW, 1, "Set-up lengths to the nearest")
    a_column_a_run(sheet, len(runs), (50 if sloped else 42, 17), 6)


def _set_up(page: Page, run: RunCells, column: int) -> None:
    for row, (label, level, sloped) in enumerate(_SETUP, start=6):
        if run.kind == "treads" and label.startswith(_NOT_ON_TREADS):
            page.put(row, column, "see Treads" if label.startswith("Baluster") else None, "centre")
            continue
        rule, keys = level if run.kind == "level" or sloped is None else sloped
        cells = [run[key] for key in keys]
        if label in _COUNTS:
            page.calc(row, column, rule, *cells, style="whole", unless=run["status"])
        else:
            run.cells[label] = _length(page, row, column, run, rule, cells)
    if run.kind != "treads":
        run.cells["baluster_length"] = run["Baluster: cut to"]


def _length(page: Page, row: int, column: int, run: RunCells, rule: Any, cells: list[Cell]) -> Cell:
    return page.calc(row, column, fine(rule), run["fine"], *cells, style=f"fine {run.unit}", unless=run["status"])


def _slope_labels(page: Page) -> None:
    row = FINE_ROW + 3
    page.put(row, 1, "On a slope", "group")
    page.put(row + 1, 1, "The chisel stands plumb, the board is tilted. Depths are along the baluster; the shallow side"
                         " must still hide a hole or pin at the baluster's end.", "lead")  # fmt: skip
    page.sheet.merge_cells(start_row=row + 1, end_row=row + 1, start_column=1, end_column=5)
    page.sheet.row_dimensions[row + 1].height = 30
    for at, (label, *_) in enumerate(_ON_A_SLOPE, start=row + 2):
        page.put(at, 1, label)


def _on_a_slope(page: Page, run: RunCells, column: int) -> None:
    for row, (label, rule, keys, style) in enumerate(_ON_A_SLOPE, start=FINE_ROW + 5):
        if run.kind == "treads" and label.startswith("Shoe"):
            page.put(row, column, None, "centre")
            continue
        cells = [run[key] for key in keys]
        if style:
            run.cells[label] = page.calc(row, column, rule, *cells, style=style, unless=run["status"])
        else:
            _length(page, row, column, run, rule, cells)
    run.cells["saw"] = run["Saw, off square, at a plumb newel, degrees"]
