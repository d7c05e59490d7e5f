"""Saving a workbook whose formulas carry their values.

openpyxl writes a formula without its value, so mail previews and phones show blanks. These two subclasses write both.
They repeat three method bodies of openpyxl 3.1.5 (`WorksheetWriter.write_row`, `ExcelWriter.write_worksheet` and
`ExcelWriter._write_charts`);
tests/books/test_stored.py watches that openpyxl still has them as they were.
"""

from fractions import Fraction
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from lxml.etree import Element, SubElement
from openpyxl import Workbook
from openpyxl.cell._writer import write_cell
from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.writer.excel import ExcelWriter
from openpyxl.xml.functions import tostring

Stored = dict[tuple[int, int], Any]


class _ValueWriter(WorksheetWriter):  # type: ignore[misc]
    """Writes each formula cell with the value kept for it in `values`."""

    values: Stored

    def write_row(self, xf: Any, row: Any, row_idx: int) -> None:
        attrs = {"r": f"{row_idx}"}
        attrs.update(self.ws.row_dimensions.get(row_idx, {}))
        with xf.element("row", attrs):
            for cell in row:
                if cell.data_type == "f":
                    xf.write(_formula_element(cell, self.values[cell.row, cell.column]))
                elif cell._value is not None or cell.has_style:
                    write_cell(xf, self.ws, cell, cell.has_style)


def _formula_element(cell: Any, value: Any) -> Any:
    element = Element("c", r=cell.coordinate)
    if cell.has_style:
        element.set("s", str(cell.style_id))
    if isinstance(value, str):
        element.set("t", "str")
    SubElement(element, "f").text = cell._value[1:]
    stored = SubElement(element, "v")
    stored.text = value if isinstance(value, str) else shown_number(value)
    if isinstance(value, str) and value != value.strip():
        stored.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
    return element


def shown_number(value: Any) -> str:
    """A number as it is stored in a cell: whole where it is whole, else the nearest double."""
    if type(value) is int:
        return str(value)
    number = value if isinstance(value, Fraction) else Fraction(value)
    return str(number.numerator) if number.denominator == 1 else repr(number.numerator / number.denominator)


class _BookWriter(ExcelWriter):  # type: ignore[misc]
    values: dict[str, Stored]

    def write_worksheet(self, ws: Any) -> None:
        ws._drawing = SpreadsheetDrawing()
        ws._drawing.charts = ws._charts
        ws._drawing.images = ws._images
        writer = _ValueWriter(ws)
        writer.values = self.values[ws.title]
        writer.write()
        ws._rels = writer._rels
        self._archive.write(writer.out, ws.path[1:])
        self.manifest.append(ws)
        writer.cleanup()

    def _write_charts(self) -> None:
        for chart in self._charts:
            tree = chart._write()
            part = tree.find("chart")
            if chart.title is None:  # with one series, Excel would else print the series' name as a title
                part.insert(list(part).index(part.find("plotArea")), part.makeelement("autoTitleDeleted", {"val": "1"}))
            self._archive.writestr(chart.path[1:], tostring(tree))
            self.manifest.append(chart)


def save(book: Workbook, path: Path, values: dict[str, Stored]) -> None:
    """Write `book` to `path`; `values` holds, by sheet title, (row, column) -> value of every formula cell."""
    book.calculation.fullCalcOnLoad = True
    with ZipFile(path, "w", ZIP_DEFLATED, allowZip64=True) as archive:
        writer = _BookWriter(book, archive)
        writer.values = values
        writer.save()
