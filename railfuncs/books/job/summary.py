"""The first sheet: the job at a glance."""

from railfuncs.books.cells import Block, Cell, Page
from railfuncs.books.job.run import CAUTION, RunCells
from railfuncs.books.look import printed
from railfuncs.rules import flight
from railfuncs.rules import job as together
from railfuncs.tracing import join, total

_HEADS = ("Run", "Unit", "Opening", "Balusters", "Gap on a tape", "Widest gap is", "Gap under the shoe is", "Height is",
          "Baluster cut to", "Rail, ft", "Shoe, ft", "What is wrong")  # fmt: skip
FIRST_ROW = 8


def add(page: Page, facts: list[Cell], runs: list[RunCells]) -> None:
    sheet = page.sheet
    title, site, date = facts[:3]
    page.calc(1, 1, together.label, title, style="title")
    page.calc(2, 1, join, site, "  ·  ", date, style="lead")
    page.put(3, 1, CAUTION, "caution")
    page.put(5, 1, "Measured is the sheet to type in; the other sheets follow it.", "lead")
    for row in (2, 3, 5):
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(_HEADS))
    sheet.row_dimensions[3].height = 30
    for column, head in enumerate(_HEADS, start=1):
        page.put(FIRST_ROW - 1, column, head, "head")
    sheet.row_dimensions[FIRST_ROW - 1].height = 28
    totals: dict[int, list] = {4: [], 10: [], 11: []}  # type: ignore[type-arg]
    for run in runs:
        row, status, unit = FIRST_ROW + run.number, run["status"], run.unit
        page.calc(row, 1, together.label, run["name"], style="text")
        page.put(row, 2, unit, "centre")
        page.calc(row, 3, together.same, run["opening"], style="number", unless=status)
        totals[4].append(page.calc(row, 4, together.same, run["n"], style="whole", unless=status))
        page.calc(row, 5, together.same, run["gap_tape"], style=unit, unless=status)
        for column, said in ((6, "gap_is"), (7, "under_is"), (8, "height_is")):
            page.calc(row, column, together.label, run[said], style="wrap")
        if run.kind == "treads":
            page.put(row, 9, "see Treads", "wrap")
        else:
            page.calc(row, 9, together.same, run["baluster_length"], style=f"fine {unit}", unless=status)
        for column, piece in ((10, "cut Handrail"), (11, "cut Shoe")):
            if piece not in run.cells:
                continue
            totals[column].append(
                page.calc(row, column, together.in_feet, run[piece], run.per_inch, style="feet", unless=status)
            )
        if run.kind == "level":
            page.calc(row, 12, together.label, status, style="wrap")
        else:
            page.calc(row, 12, flight.wrong_or_apart, status, run["apart_total"], run["apart_steps"],
                      run["apart_angle"], run["allowed"], run["apart_words"], style="wrap")  # fmt: skip
        sheet.row_dimensions[row].height = 40
    if any(run.kind != "level" for run in runs):
        page.put(6, 1, "On a slope: opening and gap are level, rail and shoe along the slope.", "lead")
        sheet.merge_cells(start_row=6, end_row=6, start_column=1, end_column=len(_HEADS))
    row = FIRST_ROW + len(runs)
    page.put(row, 1, "Together (runs in order)", "group")
    for column, style in ((4, "whole"), (10, "feet"), (11, "feet")):
        if totals[column]:  # without a shoe there are no feet of it
            page.calc(row, column, total, Block([[cell] for cell in totals[column]]), style=style)
    for column, width in enumerate((18, 6, 11, 10, 11, 19, 19, 19, 11, 8, 8, 24), start=1):
        sheet.column_dimensions["ABCDEFGHIJKL"[column - 1]].width = width
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 2)
    printed(sheet, landscape=True, tall=True)

