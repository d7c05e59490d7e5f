"""How many balusters each run takes and how they are spaced."""

from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter

from railfuncs.books.cells import Block, Book, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import job as together
from railfuncs.rules.measure import drift, round_to
from railfuncs.rules.spacing import count, gap, oc, stepped_end

LABELS = (
    "Run", "Unit", "Where the openings disagree", "Shoe, trim to trim",
    "Newels wider apart at the shoe by (minus: narrower)", "Shoe marks read less than the rail's by",
    "Limit for an even gap", "Balusters", "Exact gap", "Gap on a tape", "Exact on center", "On center on a tape",
    "Widest gap as marked", "A mark of the tape", "What is wrong, if anything",
    "If the rounded on center were stepped from the middle",
    "each end gap would be", "stepped from one end instead, you would be out by",
)  # fmt: skip
(
    NAME, UNIT, WORDS, SHOE, LEAN, SHIFT, LIMIT, COUNT, GAP, GAP_TAPE,
    OC, OC_TAPE, WIDEST, STEP, STATUS, _, END, OUT,
) = range(4, 4 + len(LABELS))


SOUND, BY_RULE = OUT + 2, OUT + 3  # hidden steps


def _step(per_unit: Any) -> Any:
    return 1 / per_unit


def add(book: Book, runs: list[RunCells], lines: int) -> Page:
    page = book.page("Spacing")
    sheet = page.sheet
    page.put(1, 1, "Spacing", "title")
    page.put(2, 1, f"Every gap of a run is the same, ends included. Marks are listed for up to {lines} balusters a"
                   " run; past that the run says so.", "lead")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 30
    for row, text in enumerate(LABELS, start=NAME):
        page.put(row, 1, text, "head" if row == NAME else "text" if text else "lead")
    page.put(END - 1, 1, LABELS[END - 1 - NAME], "group")
    for run in runs:
        _run(page, run, lines)
    sheet.row_dimensions[NAME].height = 30
    sheet.row_dimensions[STATUS].height = sheet.row_dimensions[WORDS].height = 66
    for row in (SOUND, BY_RULE):
        sheet.row_dimensions[row].hidden = True
    sheet.column_dimensions["A"].width = 50
    for column in range(2, max(6, len(runs) + 2)):
        sheet.column_dimensions[get_column_letter(column)].width = 17
    sheet.freeze_panes = sheet.cell(NAME + 1, 2)
    sheet.print_title_cols = "A:A"
    printed(sheet, landscape=len(runs) > 4, wide=len(runs) > 8)
    return page


def _run(page: Page, run: RunCells, lines: int) -> None:
    column, cells, measured = run.number + 2, run.cells, run["measured"]

    def calc(name: str, row: int, rule: Any, *args: Any, style: str, unless: Any) -> None:
        cells[name] = page.calc(row, column, rule, *args, style=style, unless=unless)

    page.calc(NAME, column, together.label, run["name"], style="head")
    page.put(UNIT, column, run.unit, "centre")
    trims = run["trim_left"], run["trim_right"]
    calc("shoe", SHOE, together.shoe_length, run["opening"], run["shoe_opening"], *trims, style="number",
         unless=measured)  # fmt: skip
    calc("lean", LEAN, together.lean, run["opening"], run["shoe"], *trims, style="number", unless=measured)
    calc("lean_words", WORDS, together.lean_in_words, run["lean"], style="wrap", unless=measured)
    calc("shift", SHIFT, together.shoe_shift, run["lean"], run["trim_left"], style="number", unless=measured)
    calc("even_limit", LIMIT, together.effective_limit, run["limit"], run["lean"], style="number", unless=measured)
    calc("step", STEP, _step, run["per_unit"], style="number", unless=measured)
    sound = page.status(SOUND, column, [
        (together.sound_run, (run["shoe"], run["lean"], run["opening"], run["limit"], run["floor_gap"])),
    ], unless=measured)  # fmt: skip
    by_rule = page.calc(BY_RULE, column, count, run["opening"], run["width"], run["even_limit"], run["target"],
                        run["parity"], style="whole", unless=sound)  # fmt: skip
    calc("n", COUNT, together.chosen_count, run["count"], by_rule, style="whole", unless=sound)
    cells["status"] = page.status(STATUS, column, [
        (together.within_capacity, (run["n"], Fraction(lines))),
        (together.on_the_shoe, (run["opening"], run["width"], run["n"], run["shift"], run["shoe"])),
    ], unless=sound)  # fmt: skip
    status = run["status"]
    unit = run.unit
    spaced = run["opening"], run["width"], run["n"]
    calc("gap", GAP, gap, *spaced, style="exact", unless=status)
    calc("oc", OC, oc, *spaced, style="exact", unless=status)
    calc("gap_tape", GAP_TAPE, round_to, run["gap"], run["step"], style=unit, unless=status)
    calc("oc_tape", OC_TAPE, round_to, run["oc"], run["step"], style=unit, unless=status)
    calc("end", END, stepped_end, *spaced, run["step"], style="exact", unless=status)
    calc("out", OUT, drift, run["oc"], run["n"], run["step"], style="exact", unless=status)


def add_widest(page: Page, runs: list[RunCells]) -> None:
    """The widest gap as marked, once the marks are listed."""
    for run in runs:
        gaps = Block([[cell] for cell in run.gaps])
        run.cells["widest"] = page.calc(WIDEST, run.number + 2, together.widest, gaps, style="exact",
                                        unless=run["status"])  # fmt: skip
