"""What was compared with which published limit. Never a verdict on the job."""

from collections.abc import Iterator
from typing import Any

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job.measured import refuse_text
from railfuncs.books.job.run import CAUTION, LOCALLY, Published, RunCells, published
from railfuncs.books.job.step_checks import add_steps, step_limits
from railfuncs.books.look import a_column_a_run
from railfuncs.books.measure import Job, Run
from railfuncs.rules import job as together
from railfuncs.rules.rake import rake_height

HEIGHT_LABEL, SLOPED_HEIGHT = "Top of the rail above the floor", " (on a slope: plumb above the nosings)"
SOURCES_LABEL = "Published limits named here, with how sure we are of each"
_LABELS = (
    "Run", "Unit", "Widest gap as marked", "Your gap limit", "Widest gap is",
    "Published gap limit (change it to the local one)", "Your gap limit is", "Gap under the shoe",
    "Gap under the shoe is", HEIGHT_LABEL, "Published least height (change it to the local one)",
    "Height is", "What is wrong, if anything",
)  # fmt: skip
(
    NAME, UNIT, WIDEST, LIMIT, GAP_IS, PUBLISHED, LIMIT_IS, UNDER, UNDER_IS, HEIGHT, LEAST, HEIGHT_IS, STATUS,
) = range(4, 4 + len(_LABELS))  # fmt: skip


def add(book: Book, runs: list[RunCells], code: str) -> None:
    page = book.page("Checks")
    sheet = page.sheet
    page.put(1, 1, "Openings and heights compared with limits", "title")
    page.put(2, 1, CAUTION, "caution")
    sloped = [run for run in runs if run.kind != "level"]
    for row, label in enumerate(_LABELS, start=NAME):
        more = SLOPED_HEIGHT if sloped and label == HEIGHT_LABEL else ""
        page.put(row, 1, label + more, "head" if row == NAME else "wrap")
    for run in runs:
        _run(page, run, code)
    sheet.row_dimensions[NAME].height = 30
    for row in (GAP_IS, LIMIT_IS, UNDER_IS, HEIGHT_IS, STATUS):
        sheet.row_dimensions[row].height = 32
    row = add_steps(page, STATUS + 2, sloped, code) if sloped else STATUS
    _sources(page, row + 2, runs, code)
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 42
    a_column_a_run(sheet, len(runs), (50 if sloped else 44, 19), NAME + 1, not sloped or len(runs) > 4)


_ADVICE = {"treads": "check opening, first nosing and steps, or add a baluster"}


def _place(run: RunCells | Run) -> str:
    return "level" if run.kind == "level" else "slope"


def _run(page: Page, run: RunCells, code: str) -> None:
    column, unit, status = run.number + 2, run.unit, run["status"]
    page.calc(NAME, column, together.label, run["name"], style="head")
    page.put(UNIT, column, unit, "centre")

    def calc(row: int, rule: Any, *args: Any, style: str = "wrap") -> Cell:
        return page.calc(row, column, rule, *args, style=style, unless=status)

    wide = calc(WIDEST, together.same, run["widest"], style="exact")
    limit = calc(LIMIT, together.same, run["limit"], style="number")
    sphere = page.put(PUBLISHED, column, _value(published("gap", _place(run), unit, code)), "input in")
    run.cells["gap_is"] = calc(GAP_IS, together.compared, wide, limit, sphere, _ADVICE.get(run.kind, "add a baluster,"
                               " measure again"))  # fmt: skip
    run.cells["limit_is"] = calc(LIMIT_IS, together.compared_limit, limit, sphere)
    if run.kind == "level":
        below = calc(UNDER, together.same, run["floor_gap"], style="number")
        run.cells["under_is"] = calc(UNDER_IS, together.compared_under, below, limit)
    else:
        page.put(UNDER, column, None, "centre")
        run.cells["under_is"] = page.put(UNDER_IS, column, "see the steps" if run.kind == "rake" else "no shoe", "wrap")
    height = _height(run, calc)
    least = page.put(LEAST, column, _value(published("height", _place(run), unit, code)), "input in")
    run.cells["height_is"] = calc(HEIGHT_IS, together.compared_height, height, least)
    refuse_text(page, [sphere, least], unit)
    page.calc(STATUS, column, together.label, status, style="status")


def _value(limit: Published | None) -> Any:
    return None if limit is None else limit.value


def _height(run: RunCells, calc: Any) -> Cell:
    if run.kind == "treads":
        height: Cell = calc(HEIGHT, together.same, run["height"], style="number")
    elif run.kind == "rake":
        boards = run["floor_gap"], run["shoe_thickness"], run["clear"], run["rail_thickness"]
        height = calc(HEIGHT, rake_height, *boards, run["slope_rise"], run["slope_run"], style="exact")
    else:
        boards = run["floor_gap"], run["shoe_thickness"], run["clear"], run["rail_thickness"]
        height = calc(HEIGHT, together.guard_height, *boards, style="number")
    run.cells["rail_height"] = height
    return height


def _sources(page: Page, row: int, runs: list[RunCells], code: str) -> None:
    page.put(row, 1, SOURCES_LABEL, "group")
    in_order = sorted((run.run for run in runs), key=lambda run: run.unit)
    for cited in dict.fromkeys(cited for run in in_order for cited in cited_for(run, code)):
        row += 1
        page.put(row, 1, cited, "lead")
        page.sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=5)
        page.sheet.row_dimensions[row].height = 28
    row += 1
    page.put(row, 1, LOCALLY, "lead")
    page.sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=5)
    page.sheet.row_dimensions[row].height = 28


def cited_for(run: Run, code: str) -> Iterator[str]:
    """Where the published limits that a run is compared with stand, and how sure we are of each."""
    for check in ("gap", "height"):
        limit = published(check, _place(run), run.unit, code)
        if limit is not None:
            yield limit.cited
    if run.kind != "level":
        yield from (limit.cited for limit in step_limits(run, code).values())


def to_see(book: Book, job: Job) -> list[str]:
    """The comparisons of a workbook that came out on the wrong side, in its own words: sheet, run, what is said."""
    sheet, values = book.workbook["Checks"], book.values["Checks"]
    labels = {row: str(sheet.cell(row, 1).value) for row in range(NAME, sheet.max_row + 1)}
    return [
        f"Checks: {run.name}: {label[0].lower()}{label[1:].removesuffix(' is')} {values[row, column]}"
        for column, run in enumerate(job.runs, start=2)
        for row, label in labels.items()
        if label.endswith(" is") and str(values.get((row, column), "")).split(" ")[0].isupper()
    ] + _disagreeing(book, job)


def _disagreeing(book: Book, job: Job) -> list[str]:
    """Runs whose slope was measured two ways that do not agree."""
    if "Slope" not in book.values:
        return []
    names = [run.name for run in job.runs if run.kind != "level"]
    return [f"Slope: {names[column - 2]}: {value}" for (_, column), value in book.values["Slope"].items()
            if isinstance(value, str) and "DISAGREE" in value]  # fmt: skip
