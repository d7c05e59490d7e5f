"""What was compared with which published limit. Never a verdict on the job."""

from openpyxl.utils import get_column_letter

from railfuncs.books.cells import Book, Page
from railfuncs.books.job.measured import refuse_text
from railfuncs.books.job.run import CAUTION, RunCells, published
from railfuncs.books.look import printed
from railfuncs.books.measure import Job
from railfuncs.rules import job as together

_LABELS = (
    "Run", "Unit", "Widest gap as marked", "Your gap limit", "Widest gap is",
    "Published gap limit (change it to the local one)", "Your gap limit is", "Gap under the shoe",
    "Gap under the shoe is", "Top of the rail above the floor", "Published least height (change it to the local one)",
    "Height is", "What is wrong, if anything",
)  # fmt: skip
(
    NAME, UNIT, WIDEST, LIMIT, GAP_IS, PUBLISHED, LIMIT_IS, UNDER, UNDER_IS, HEIGHT, LEAST, HEIGHT_IS, STATUS,
) = range(4, 4 + len(_LABELS))  # fmt: skip


def add(book: Book, runs: list[RunCells]) -> None:
    page = book.page("Checks")
    sheet = page.sheet
    page.put(1, 1, "Openings and heights compared with limits", "title")
    page.put(2, 1, CAUTION, "caution")
    for row, label in enumerate(_LABELS, start=NAME):
        page.put(row, 1, label, "head" if row == NAME else "wrap")
    for run in runs:
        column, unit, status = run.number + 2, run.unit, run["status"]
        page.calc(NAME, column, together.label, run["name"], style="head")
        page.put(UNIT, column, unit, "centre")
        wide = page.calc(WIDEST, column, together.same, run["widest"], style="exact", unless=status)
        limit = page.calc(LIMIT, column, together.same, run["limit"], style="number", unless=status)
        run.cells["gap_is"] = page.calc(GAP_IS, column, together.compared, wide, limit, style="wrap", unless=status)
        sphere = page.put(PUBLISHED, column, published("opening", unit).value, "input in")
        run.cells["limit_is"] = page.calc(LIMIT_IS, column, together.compared_limit, limit, sphere, style="wrap",
                                          unless=status)  # fmt: skip
        below = page.calc(UNDER, column, together.same, run["floor_gap"], style="number", unless=status)
        run.cells["under_is"] = page.calc(UNDER_IS, column, together.compared_under, below, limit, style="wrap",
                                          unless=status)  # fmt: skip
        boards = run["floor_gap"], run["shoe_thickness"], run["clear"], run["rail_thickness"]
        height = page.calc(HEIGHT, column, together.guard_height, *boards, style="number", unless=status)
        least = page.put(LEAST, column, published("height", unit).value, "input in")
        run.cells["height_is"] = page.calc(HEIGHT_IS, column, together.compared_height, height, least, style="wrap",
                                           unless=status)  # fmt: skip
        refuse_text(page, [sphere, least], unit)
        page.calc(STATUS, column, together.label, status, style="status")
    sheet.row_dimensions[NAME].height = 30
    for row in (GAP_IS, LIMIT_IS, UNDER_IS, HEIGHT_IS, STATUS):
        sheet.row_dimensions[row].height = 32
    _sources(page, runs)
    sheet.column_dimensions["A"].width = 44
    for column in range(2, max(6, len(runs) + 2)):
        sheet.column_dimensions[get_column_letter(column)].width = 19
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 42
    sheet.freeze_panes = sheet.cell(NAME + 1, 2)
    sheet.print_title_cols = "A:A"
    printed(sheet, landscape=True, wide=len(runs) > 8)


def _sources(page: Page, runs: list[RunCells]) -> None:
    row = STATUS + 2
    page.put(row, 1, "Published limits named here, with how sure we are of each", "group")
    for unit in sorted({run.unit for run in runs}):
        for key in ("opening", "height"):
            row += 1
            page.put(row, 1, published(key, unit).cited, "lead")
            page.sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=5)
            page.sheet.row_dimensions[row].height = 28
    row += 1
    page.put(row, 1, "Codes are adopted and amended locally. A gap exactly as wide as the limit is taken to reach it.",
             "lead")  # fmt: skip
    page.sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=5)
    page.sheet.row_dimensions[row].height = 28


def to_see(book: Book, job: Job) -> list[str]:
    """The comparisons of a workbook that came out on the wrong side, in its own words."""
    values = book.values["Checks"]
    about = {GAP_IS: "the widest gap as marked", LIMIT_IS: "your gap limit is", UNDER_IS: "the gap under the shoe",
             HEIGHT_IS: "the height is"}  # fmt: skip
    return [
        f"{run.name}: {what} {values[row, column]}"
        for column, run in enumerate(job.runs, start=2)
        for row, what in about.items()
        if str(values[row, column]).split(" ")[0].isupper()
    ]
