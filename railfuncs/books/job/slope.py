"""The slope of each sloped run: worked out from however it was measured, and the places of balusters on treads.

What is worked out is a list of steps in order, calculations and checks. The page writes a row for each; `work_out` runs
the same list on numbers, so that a run is refused when it is read for the same reasons as in the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Any

from railfuncs.books.cells import Book, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import a_column_a_run
from railfuncs.books.measure import Run
from railfuncs.errors import RuleError
from railfuncs.rules import cutting, flight, treads
from railfuncs.rules import job as together
from railfuncs.rules.rake import pitch, rake, rake_baluster, secant
from railfuncs.rules.spacing import gap
from railfuncs.tracing import need


@dataclass(frozen=True)
class Calc:
    """One row: what it is called, the rule, and the cells that the rule reads."""

    key: str
    label: str
    rule: Any
    args: tuple[str, ...]
    style: str = "number"


@dataclass(frozen=True)
class Check:
    """What must hold before the rows below it mean anything: (column to blame, rule, cells it reads)."""

    checks: tuple[tuple[str, Any, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Group:
    """A heading."""

    label: str


Step = Calc | Check | Group


def fits(opening: Any, width: Any, limit: Any) -> None:
    """An opening that takes balusters."""
    gap(opening, width, Fraction(0))
    need(width < opening, "the baluster is wider than the opening")
    need(limit > 0, "the gap limit must be more than zero")


_SLOPE = "slope_rise", "slope_run"
_WAYS: tuple[Step, ...] = (
    Group("How the slope was measured"),
    Calc("total_rise", "Rise and run: rise", flight.by_total, ("rise", "level_run")),
    Calc("total_run", "Rise and run: run", flight.by_total, ("level_run", "rise")),
    Calc("steps_rise", "Riser and tread: rise", flight.by_steps, ("riser", "tread", "steps")),
    Calc("steps_run", "Riser and tread: run", flight.by_steps, ("tread", "riser", "steps")),
    Calc("angle_rise", "Angle and sloped length: rise", flight.rise_by_angle, ("sloped", "angle"), "exact"),
    Calc("angle_run", "Angle and sloped length: run", flight.run_by_angle, ("sloped", "angle"), "exact"),
)
_APART: tuple[Step, ...] = (
    Check((
        ("rise", secant, _SLOPE),
        ("opening", flight.opening_known, ("opening", "total_run", "steps_run", "angle_run")),
    )),
    Group("Do they agree?"),
    Calc("apart_total", "Rise and run put the upper end away by", flight.apart,
         (*_SLOPE, "total_rise", "total_run"), "exact"),
    Calc("apart_steps", "Risers and treads put the upper end away by", flight.apart,
         (*_SLOPE, "steps_rise", "steps_run"), "exact"),
    Calc("apart_angle", "Angle and sloped length put the upper end away by", flight.apart,
         (*_SLOPE, "angle_rise", "angle_run"), "exact"),
    Calc("apart_words", "So", flight.apart_in_words, ("apart_total", "apart_steps", "apart_angle", "allowed", "unit"),
         "wrap"),
    Group("The slope"),
    Calc("pitch", "Angle from level, degrees", pitch, _SLOPE, "exact"),
    Calc("step_riser", "Riser", flight.one_step, ("riser", "slope_rise", "steps"), "exact"),
    Calc("step_tread", "Tread", flight.one_step, ("tread", "slope_run", "steps"), "exact"),
    Calc("level_opening", "Opening at the rail, level", flight.level_opening, ("opening", "slope_run")),
)  # fmt: skip
_WITH_SHOE: tuple[Step, ...] = (
    Check((
        ("opening", fits, ("level_opening", "width", "limit")),
        ("trim_left", cutting.cut_shoe, ("level_opening", "trim_left", "trim_right")),
        ("rail_depth", flight.shallow, ("rail_depth", "width", *_SLOPE)),
        ("shoe_depth", flight.shallow, ("shoe_depth", "width", *_SLOPE)),
        ("rail_depth", flight.floor_on_slope, ("rail_thickness", "rail_depth", "width", *_SLOPE)),
        ("shoe_depth", flight.floor_on_slope, ("shoe_thickness", "shoe_depth", "width", *_SLOPE)),
        ("clear", rake_baluster, ("clear", "shoe_depth", "rail_depth", *_SLOPE, "play")),
        ("play", flight.seat_on_slope, ("rail_depth", "play", "width", *_SLOPE)),
    )),
)  # fmt: skip
_ON_TREADS: tuple[Step, ...] = (
    Check((
        ("opening", fits, ("level_opening", "width", "limit")),
        ("rail_depth", flight.shallow, ("rail_depth", "width", *_SLOPE)),
        ("rail_depth", flight.floor_on_slope, ("rail_thickness", "rail_depth", "width", *_SLOPE)),
        ("play", flight.seat_on_slope, ("rail_depth", "play", "width", *_SLOPE)),
        ("tread", treads.tread_count, ("tread", "width", "limit")),
    )),
    Group("Balusters on the treads"),
    Calc("each_by_rule", "Fewest on each tread under the gap limit", treads.tread_count, ("tread", "width", "limit"),
         "whole"),
    Calc("each_tread", "On each tread", together.chosen_count, ("count", "each_by_rule"), "whole"),
    Check((("count", flight.few_on_a_tread, ("each_tread",)),)),
    Check((("first", flight.places_on_treads, ("tread", "width", "first", "each_tread")),)),
    Check((
        ("height", flight.shortest, ("height", "rail_thickness", "riser", "tread", "first", "each_tread", "shoe_depth",
                                     "rail_depth", "play")),
    )),
    Calc("each", "From centre to centre, level", flight.each_apart, ("tread", "each_tread"), "exact"),
    Calc("start", "First place from the lower newel's face, level", flight.first_place, ("nosing", "first")),
    Calc("first_no", "First place clear of the lower newel", flight.first_standing, ("width", "start", "each"),
         "whole"),
    Calc("last_no", "Last place clear of the upper newel", flight.last_standing,
         ("level_opening", "width", "start", "each", "steps", "each_tread"), "whole"),
    Calc("standing", "Balusters standing", flight.standing, ("first_no", "last_no"), "whole"),
    Check((("steps", flight.some_stand, ("standing",)),)),
)  # fmt: skip
# Along the slope, once the run is spaced: every length that is laid out on the boards.
_ALONG = {
    "rake": (("opening", "Opening"), ("width", "Baluster: mouth of its mortise"), ("gap", "Gap"),
             ("shoe", "Shoe"), ("shift", "Shoe marks read less than the rail's by"), ("trim_left", "Trim, left"),
             ("trim_right", "Trim, right")),
    "treads": (("opening", "Opening"), ("width", "Baluster: mouth of its mortise")),
}  # fmt: skip
MEASURED_FIRST: tuple[tuple[str, Any, tuple[str, ...]], ...] = (
    ("rise", flight.rise_and_run, ("rise", "level_run")),
    ("riser", flight.riser_and_tread, ("riser", "tread")),
    ("angle", flight.angle_and_length, ("angle", "sloped")),
    ("rise", flight.measured_somehow, ("rise", "level_run", "riser", "tread", "angle", "sloped")),
    ("angle", flight.steep, ("angle",)),
    ("steps", flight.whole_steps, ("steps",)),
)


def _used(kind: str) -> tuple[Step, ...]:
    """Which way of measuring is used: the steps first, where they carry the balusters."""
    ways = ("total", "steps", "angle") if kind == "rake" else ("steps", "total", "angle")
    return (
        Calc("slope_rise", "Rise used", flight.first_known, (*(f"{way}_rise" for way in ways), "riser")),
        Calc("slope_run", "Run used", flight.first_known, (*(f"{way}_run" for way in ways), "tread")),
    )


def steps_of(kind: str) -> tuple[Step, ...]:
    """What is worked out for a run of this kind, in order."""
    if kind == "level":
        return ()
    return (*_WAYS, *_used(kind), *_APART, *(_WITH_SHOE if kind == "rake" else _ON_TREADS))


def allowed(unit: str) -> Fraction:
    """How far apart two ways of measuring may put the upper end before the sheet asks to measure again."""
    return Fraction(1, 8) if unit == "in" else Fraction(3)


def work_out(run: Run) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    """The run's measurements and all that follows for its slope; and what is wrong: (column, sentence)."""
    values: dict[str, Any] = {field.name: getattr(run, field.name) for field in fields(run)}
    values |= {"allowed": allowed(run.unit), "level_opening": run.opening}
    problems: list[tuple[str, str]] = []
    for step in steps_of(run.kind):
        if isinstance(step, Check):
            problems = failing(step.checks, values)
            if problems:
                break
        elif isinstance(step, Calc):
            values[step.key] = step.rule(*(values[key] for key in step.args))
    return values, problems


def failing(checks: Sequence[tuple[str, Any, tuple[str, ...]]], values: dict[str, Any]) -> list[tuple[str, str]]:
    """The checks that do not hold: (column, sentence)."""
    problems: list[tuple[str, str]] = []
    for column, rule, keys in checks:
        try:
            rule(*(values[key] for key in keys))
        except RuleError as error:
            if all(str(error) != told for _, told in problems):
                problems.append((column, str(error)))
    return problems


_FIRST_ROW = 5


def add(book: Book, runs: list[RunCells]) -> Page | None:
    """The page, where a run slopes; without one the job has none."""
    sloped = [run for run in runs if run.run.kind != "level"]
    if not sloped:
        return None
    page = book.page("Slope")
    page.put(1, 1, "Slope", "title")
    page.put(2, 1, "Only runs that slope. Level lengths and plumb heights, but for what is along the slope. The slope"
                   " used is the first that was measured; the other ways are compared with it.", "lead")  # fmt: skip
    for column, run in enumerate(sloped, start=2):
        page.calc(_FIRST_ROW - 1, column, together.label, run["name"], style="head")
        page.put(_FIRST_ROW, column, run.unit, "centre")
        run.slope_column = column
    page.put(_FIRST_ROW - 1, 1, "Run", "head")
    page.put(_FIRST_ROW, 1, "Unit", "centre")
    rows = _labels(page, sloped)
    for run in sloped:
        _run(page, run, rows)
        run.rows = rows
    sheet = page.sheet
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=4)
    sheet.row_dimensions[2].height = 42
    sheet.row_dimensions[_FIRST_ROW - 1].height = 30
    sheet.row_dimensions[rows["So"]].height = 54
    a_column_a_run(sheet, len(sloped), (48, 19), _FIRST_ROW + 1)
    return page


def _labels(page: Page, sloped: list[RunCells]) -> dict[str, int]:
    """A row for every label of any run, in order; where each stands."""
    rows: dict[str, int] = {}
    row = _FIRST_ROW
    kinds = dict.fromkeys(run.run.kind for run in sloped)
    steps = [step for kind in ("rake", "treads") if kind in kinds for step in steps_of(kind)]
    labels = [*dict.fromkeys((step.label, isinstance(step, Group)) for step in steps if not isinstance(step, Check))]
    place = labels.index(("So", False))
    labels.insert(place, ("They may differ by", False))
    labels.append(("Along the slope", True))
    labels += [(label, False) for label in dict.fromkeys(label for kind in kinds for _, label in _ALONG[kind])]
    for label, heading in labels:
        row += 1
        rows[label] = row
        page.put(row, 1, label, "group" if heading else "text")
    rows["What is wrong, if anything"] = row + 1
    page.put(row + 1, 1, "What is wrong, if anything", "group")
    page.sheet.row_dimensions[row + 1].height = 66
    return rows


def _run(page: Page, run: RunCells, rows: dict[str, int]) -> None:
    column = run.slope_column
    run.cells["allowed"] = page.put(rows["They may differ by"], column, allowed(run.unit), "input in")
    status, hidden = run["measured"], max(rows.values()) + 2
    for step in steps_of(run.run.kind):
        if isinstance(step, Calc):
            args = [run[key] for key in step.args]
            run.cells[step.key] = page.calc(rows[step.label], column, step.rule, *args, style=step.style, unless=status)
        elif isinstance(step, Check):
            checks = [(rule, tuple(run[key] for key in keys)) for _, rule, keys in step.checks]
            status = page.status(hidden, column, checks, unless=status)
            page.sheet.row_dimensions[hidden].hidden = True
            hidden += 1
    run.cells["ready"] = status
    run.cells["measured opening"], run.cells["opening"] = run["opening"], run["level_opening"]
    page.calc(rows["What is wrong, if anything"], column, together.label, status, style="status")


def add_along(page: Page, runs: list[RunCells]) -> None:
    """Lengths along the slope, for marking and cutting, once the run is spaced."""
    for run in runs:
        for key, label in _ALONG.get(run.run.kind, ()):
            run.cells[f"along {key}"] = page.calc(
                run.rows[label], run.slope_column, rake, run[key], run["slope_rise"], run["slope_run"],
                style="exact", unless=run["status"],
            )  # fmt: skip
