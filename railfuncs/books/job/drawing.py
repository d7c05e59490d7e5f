"""An elevation of each run, drawn to scale by the spreadsheet's own chart from cells that follow the inputs."""

from dataclasses import dataclass

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.cells import Book, Page
from railfuncs.books.job import outline, treads
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import job as together

ACROSS = 100  # the picture's own units, the same both ways
WIDE_CM = 17.5
FIRST_ROW = 4


@dataclass(frozen=True)
class Size:
    """How high a picture is: in its own units, on paper, and in rows from one picture to the next."""

    up: int
    high_cm: float
    every: int


LEVEL, SLOPED = Size(40, 7.0, 17), Size(80, 14.0, 30)
ROWS_A_PAGE = 3 * LEVEL.every


def add(book: Book, pictures: Page, runs: list[RunCells], lines: int) -> None:
    pictures.put(1, 1, "Elevation", "title")
    pictures.put(2, 1, "Each run to scale, seen from the room: shoe, balusters and handrail between newel faces."
                       " Floor, base trim and lean are left out. The drawings follow the measured cells.",
                 "lead")  # fmt: skip
    pictures.sheet.merge_cells("A2:J2")
    data = book.page("Drawing")
    data.put(1, 1, "Points of the elevations", "title")
    data.put(2, 1, "Worked out from the other sheets; nothing to type here.", "lead")
    row = on_page = 0
    steps = treads.lines_for(runs)
    for run in runs:
        size = LEVEL if run.kind == "level" else SLOPED
        if on_page + size.every > ROWS_A_PAGE:
            pictures.sheet.row_breaks.append(Break(id=FIRST_ROW + row - 1))
            on_page = 0
        last = outline.points(data, run, lines, steps, ACROSS, size.up)
        _caption(pictures, run, FIRST_ROW + row)
        pictures.sheet.add_chart(_chart(data, run, last, size), f"A{FIRST_ROW + row + 1}")
        row, on_page = row + size.every, on_page + size.every
    for column in "ABCDEFGHIJ":
        pictures.sheet.column_dimensions[column].width = 9.5
    printed(pictures.sheet, tall=True)
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


def _chart(page: Page, run: RunCells, last: int, size: Size) -> ScatterChart:
    chart = ScatterChart()
    chart.style = 1
    chart.scatterStyle = "lineMarker"
    column = 1 + 2 * run.number
    series = Series(
        Reference(page.sheet, min_col=column + 1, min_row=outline.FIRST_POINT, max_row=last),
        Reference(page.sheet, min_col=column, min_row=outline.FIRST_POINT, max_row=last),
    )
    series.smooth = False
    series.marker.symbol = "none"
    series.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill="1E1E1E", w=9525))
    chart.series.append(series)
    margin = 2
    for axis, span in ((chart.x_axis, ACROSS), (chart.y_axis, size.up)):
        axis.scaling.min, axis.scaling.max = float(-margin), float(span + margin)
        axis.delete = True
        axis.majorGridlines = None
    # The same scale both ways: the plot's width to its height as its spans.
    wide, high = float(ACROSS + 2 * margin), float(size.up + 2 * margin)
    chart.width, chart.height = WIDE_CM, size.high_cm
    unit = min(WIDE_CM / wide, size.high_cm / high)
    w, h = unit * wide / WIDE_CM, unit * high / size.high_cm
    chart.layout = Layout(ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge",
                                       x=(1 - w) / 2, y=(1 - h) / 2, w=w, h=h))  # fmt: skip
    chart.legend = None
    chart.graphical_properties = GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    return chart
