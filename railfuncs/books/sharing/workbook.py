"""The contractor's workbook, built anew from values: no formula, link, comment, name or hidden thing can come along."""

from datetime import datetime, time
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook
from openpyxl.drawing.image import Image
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.job.run import CAUTION
from railfuncs.books.look import Look
from railfuncs.books.sharing.choice import Shared, Shown
from railfuncs.books.sharing.elevation import picture
from railfuncs.books.sharing.values import RUNS_BESIDE, Sheet, lines_of
from railfuncs.books.sharing.words import SIGNING, VALUES_ONLY, caption, published_lines, seen

_SMALLER = 0.34  # of the picture's pixels, on the sheet
_LINE = 20  # pixels of a row
_PAGE_LINES = 44
_WIDTHS = (30.0, *[15.0] * RUNS_BESIDE)


def write_workbook(shared: Shared, path: Path) -> None:
    book = Workbook()
    look = Look(book)
    sheet = Sheet(book.active, look, _WIDTHS)
    book.active.title = "Railing"
    _top(sheet, shared)
    for table in shared.tables:
        sheet.line(table.title, "group")
        sheet.table(table)
    _bottom(sheet, shared)
    if shared.elevations:
        _elevations(Sheet(book.create_sheet("Elevation"), look, _WIDTHS), shared)
    book.properties.creator = "railfuncs"
    book.properties.created = datetime.combine(shared.on, time())
    book.save(path)


def _top(sheet: Sheet, shared: Shared) -> None:
    sheet.line(shared.title, "title")
    sheet.line(f"Revision {shared.revision}  ·  {shared.on.isoformat()}", "lead")
    for label, shown in shared.facts:
        if label != "Job":
            sheet.line(f"{label}: {shown.text}", "lead")
    sheet.line(CAUTION, "caution", 32)
    sheet.line(VALUES_ONLY, "lead", 15)
    sheet.row += 1


def _bottom(sheet: Sheet, shared: Shared) -> None:
    sheet.line("Published limits named here, with how sure we are of each", "group")
    for text in published_lines(shared):
        sheet.line(text, "lead", 14.0 * lines_of(text, sum(_WIDTHS)))
    sheet.row += 1
    sheet.line("To sign", "group")
    for label in SIGNING:
        sheet.put(1, Shown(label), "text")
        for column in range(2, len(_WIDTHS) + 1):
            sheet.put(column, Shown(""), "text")
        sheet.sheet.row_dimensions[sheet.row].height = 26
        sheet.row += 1


def _elevations(sheet: Sheet, shared: Shared) -> None:
    sheet.line("Elevation", "title")
    sheet.line(seen(shared), "lead")
    sheet.row += 1
    page_start = 1
    for laid in shared.runs:
        data, wide, tall = picture(laid)
        image = Image(BytesIO(data))
        image.width, image.height = round(wide * _SMALLER), round(tall * _SMALLER)
        lines = -(-image.height // _LINE) + 2
        if sheet.row + lines - page_start > _PAGE_LINES:
            sheet.sheet.row_breaks.append(Break(id=sheet.row - 1))
            page_start = sheet.row
        sheet.line(caption(laid), "group", 28)
        sheet.sheet.add_image(image, f"A{sheet.row}")
        sheet.row += lines - 1
