"""The sheet on which a person marks what a contractor may see. What is not marked yes stays private."""

from openpyxl.worksheet.datavalidation import DataValidation

from railfuncs.books.cells import Book
from railfuncs.books.job.checks import HEIGHT_LABEL, SLOPED_HEIGHT, SOURCES_LABEL
from railfuncs.books.job.run import RunCells
from railfuncs.books.job.step_checks import STEPS_LABEL
from railfuncs.books.look import printed

TITLE = "Sharing"
WHOLE = "(whole sheet)"
HEADS = ("Sheet", "Row or column", "Share", "Shown as (blank: the same words)")
REVISION_ROW, HEAD_ROW = 4, 6
SPARE = 20  # boxed lines for a person's own

_LINES: tuple[tuple[str, str, str, str], ...] = (
    ("Measured", "Job", "yes", ""),
    ("Measured", "Site", "yes", ""),
    ("Measured", "Date", "yes", "Measured on"),
    ("Measured", "Made by", "no", ""),
    ("Measured", "Opening at the rail, newel to newel", "yes", "Opening, newel to newel"),
    ("Measured", "Width along the rail", "yes", "Baluster width"),
    ("Measured", "Made of", "yes", "Balusters made of"),
    ("Measured", "Handrail width", "yes", ""),
    ("Measured", "Handrail thickness", "yes", ""),
    ("Measured", "Shoe width", "yes", ""),
    ("Measured", "Shoe thickness", "yes", ""),
    ("Measured", "Left end at", "no", ""),
    ("Measured", "Right end at", "no", ""),
    ("Spacing", "Balusters", "yes", ""),
    ("Spacing", "Gap on a tape", "yes", "Gap, to the nearest mark"),
    ("Spacing", "On center on a tape", "no", ""),
    ("Elevation", WHOLE, "yes", ""),
    ("Checks", "Widest gap as marked", "yes", ""),
    ("Checks", "Your gap limit", "yes", "Gap limit used"),
    ("Checks", "Widest gap is", "yes", ""),
    ("Checks", "Published gap limit (change it to the local one)", "yes", "Gap limit of the code, as entered"),
    ("Checks", "Your gap limit is", "yes", "Gap limit used is"),
    ("Checks", "Gap under the shoe", "yes", ""),
    ("Checks", "Gap under the shoe is", "yes", ""),
    ("Checks", HEIGHT_LABEL, "yes", ""),
    ("Checks", "Published least height (change it to the local one)", "yes", "Least height of the code, as entered"),
    ("Checks", "Height is", "yes", ""),
    ("Marks", WHOLE, "no", ""),
    ("Cut list", WHOLE, "no", ""),
    ("Shop", WHOLE, "no", ""),
)


_SLOPE_LINES: tuple[tuple[str, str, str, str], ...] = (
    ("Slope", "Opening at the rail, level", "yes", "Opening, newel to newel, level"),
    ("Slope", "Angle from level, degrees", "yes", ""),
    ("Slope", "So", "yes", "Slope, measured in two ways"),
    ("Slope", "Riser", "yes", ""),
    ("Slope", "Tread", "yes", ""),
    ("Treads", WHOLE, "no", ""),
)


def _lines(book: Book, runs: list[RunCells]) -> list[tuple[str, str, str, str]]:
    """The lines of this job: those of a slope where a run has one, with the comparisons of its steps."""
    if all(run.kind == "level" for run in runs):
        return list(_LINES)
    labels = [str(cell.value or "") for cell in book.workbook["Checks"]["A"]]
    steps = labels[labels.index(STEPS_LABEL) + 1 : labels.index(SOURCES_LABEL)]
    checked = [("Checks", label, "yes", "") for label in steps if label]
    lines = [(sheet, label + SLOPED_HEIGHT if label == HEIGHT_LABEL else label, share, called)
             for sheet, label, share, called in _LINES]  # fmt: skip
    last = max(at for at, line in enumerate(lines) if line[0] == "Checks")
    first = next(at for at, line in enumerate(lines) if line[0] == "Spacing")
    return [*lines[:first], *_SLOPE_LINES, *lines[first : last + 1], *checked, *lines[last + 1 :]]


def add(book: Book, runs: list[RunCells]) -> None:
    page = book.page(TITLE)
    sheet = page.sheet
    page.put(1, 1, "What a contractor may see", "title")
    page.put(2, 1, "Only lines marked yes are shared by `railfuncs share`; add lines for rows, columns or whole"
                   " sheets of your own. Notes, labour and money, hidden rows, columns and sheets, and comments are"
                   " never shared. The caution, the published limits and a place to sign always are.",
             "lead")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=len(HEADS))
    sheet.row_dimensions[2].height = 42
    page.put(REVISION_ROW, 1, "Revision")
    page.put(REVISION_ROW, 2, "1", "input text")
    for column, head in enumerate(HEADS, start=1):
        page.put(HEAD_ROW, column, head, "head")
    spare = [("", "", "", "")] * SPARE
    choices = DataValidation("list", formula1='"yes,no"', allow_blank=True, showErrorMessage=True)
    choices.error = "Choose yes or no."
    for row, line in enumerate([*_lines(book, runs), *spare], start=HEAD_ROW + 1):
        for column, text in enumerate(line, start=1):
            page.put(row, column, text or None, "input text")
        choices.add(f"C{row}")
    sheet.add_data_validation(choices)
    for letter, width in zip("ABCD", (16, 52, 9, 36), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = sheet.cell(HEAD_ROW + 1, 1)
    sheet.print_title_rows = f"{HEAD_ROW}:{HEAD_ROW}"
    printed(sheet, tall=True)
