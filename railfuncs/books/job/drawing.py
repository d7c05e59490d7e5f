"""An elevation of each run, drawn to scale by the spreadsheet's own chart from cells that follow the inputs."""

from typing import Any

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import job as together

ACROSS, UP = 100, 40  # the picture's own units, the same both ways
WIDE_CM, HIGH_CM = 17.5, 7.0
EVERY = 17  # rows from one picture to the next
FIRST_ROW, FIRST_POINT = 4, 8


def add(book: Book, pictures: Page, runs: list[RunCells], lines: int) -> None:
    pictures.put(1, 1, "Elevation", "title")
    pictures.put(2, 1, "Each run to scale, seen from the room: shoe, balusters and handrail between newel faces."
                       " Floor, base trim and lean are left out. The drawings follow the measured cells.",
                 "lead")  # fmt: skip
    pictures.sheet.merge_cells("A2:J2")
    data = book.page("Drawing")
    data.put(1, 1, "Points of the elevations", "title")
    data.put(2, 1, "Worked out from the other sheets; nothing to type here.", "lead")
    for run in runs:
        last = _points(data, run, lines)
        row = FIRST_ROW + EVERY * run.number
        _caption(pictures, run, row)
        pictures.sheet.add_chart(_chart(data, run, last), f"A{row + 1}")
    for column in "ABCDEFGHIJ":
        pictures.sheet.column_dimensions[column].width = 9.5
    printed(pictures.sheet, tall=True)
    for run in runs[3::3]:
        pictures.sheet.row_breaks.append(Break(id=FIRST_ROW + EVERY * run.number - 1))
    data.sheet.sheet_state = "hidden"
    printed(data.sheet, tall=True)


def _caption(page: Page, run: RunCells, row: int) -> None:
    page.calc(row, 1, together.label, run["name"], style="group")
    for column in range(2, 11):
        page.put(row, column, None, "group")
    page.calc(row + 1, 1, together.label, run["status"], style="status")
    page.put(row, 4, f"opening ({run.unit})", "group")
    page.calc(row, 6, together.same, run["opening"], style="number", unless=run["status"])
    page.put(row, 7, "balusters", "group")
    page.calc(row, 8, together.same, run["n"], style="whole", unless=run["status"])
    page.put(row, 9, f"gap ({run.unit})", "group")
    page.calc(row, 10, together.same, run["gap_tape"], style=run.unit, unless=run["status"])


def _points(page: Page, run: RunCells, lines: int) -> int:
    """The outline of shoe, balusters and rail as one line; returns its last row."""
    across, up = 1 + 2 * run.number, 2 + 2 * run.number
    status = run["status"]

    def calc(row: int, column: int, rule: Any, *args: Any) -> Cell:
        return page.calc(row, column, rule, *args, style="drawing", unless=status)

    page.calc(3, across, together.label, run["name"], style="drawing")
    bottom = run["shoe_thickness"]
    height = calc(4, across, together.guard_height, 0, bottom, run["clear"], run["rail_thickness"])
    scale = calc(4, up, together.drawing_scale, run["opening"], height, ACROSS, UP)
    row = FIRST_POINT
    top = calc(6, across, together.guard_height, 0, bottom, run["clear"], 0)
    high = calc(6, up, together.times, top, scale)

    def corner(x: Any, y: Any) -> None:
        nonlocal row
        calc(row, across, together.times, x, scale)
        calc(row, up, together.times, y, scale)
        row += 1

    low = calc(5, across, together.times, bottom, scale)
    nothing = 0
    # Shoe, then the left newel face up to the rail's underside and back down to the shoe's top.
    right = run["opening"]
    for x, y in ((nothing, bottom), (nothing, nothing), (right, nothing), (right, height), (nothing, height),
                 (nothing, top), (right, top), (nothing, top), (nothing, bottom)):  # fmt: skip
        corner(x, y)
    for number in range(1, lines + 1):
        for side in (-1, 1):
            # Up at its left side, down at its right; past the last baluster this retraces the right newel face.
            edge = calc(row, across, together.corner_across, number, run["n"], run["gap"], run["width"],
                        side, run["opening"], scale)  # fmt: skip
            calc(row + 1, across, together.same, edge)
            calc(row, up, together.same, low if side < 0 else high)
            calc(row + 1, up, together.same, high if side < 0 else low)
            row += 2
    corner(run["opening"], bottom)
    return row - 1


def _chart(page: Page, run: RunCells, last: int) -> ScatterChart:
    chart = ScatterChart()
    chart.style = 1
    chart.scatterStyle = "lineMarker"
    column = 1 + 2 * run.number
    series = Series(
        Reference(page.sheet, min_col=column + 1, min_row=FIRST_POINT, max_row=last),
        Reference(page.sheet, min_col=column, min_row=FIRST_POINT, max_row=last),
    )
    series.smooth = False
    series.marker.symbol = "none"
    series.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill="1E1E1E", w=9525))
    chart.series.append(series)
    margin = 2
    for axis, span in ((chart.x_axis, ACROSS), (chart.y_axis, UP)):
        axis.scaling.min, axis.scaling.max = float(-margin), float(span + margin)
        axis.delete = True
        axis.majorGridlines = None
    # The same scale both ways: the plot's width to its height as its spans.
    wide, high = float(ACROSS + 2 * margin), float(UP + 2 * margin)
    chart.width, chart.height = WIDE_CM, HIGH_CM
    unit = min(WIDE_CM / wide, HIGH_CM / high)
    w, h = unit * wide / WIDE_CM, unit * high / HIGH_CM
    chart.layout = Layout(ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge",
                                       x=(1 - w) / 2, y=(1 - h) / 2, w=w, h=h))  # fmt: skip
    chart.legend = None
    chart.graphical_properties = GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    return chart
