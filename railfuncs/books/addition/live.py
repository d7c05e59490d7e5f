"""The same plan put into a workbook that is open in Excel, through xlwings.

This has not been run in Excel: the tests drive it with a stand-in for Excel's own objects.
"""

from fractions import Fraction
from pathlib import Path
from typing import Any

from railfuncs.books.addition.prepare import Prepared
from railfuncs.errors import BookError

_FORMATS = -4122  # xlPasteFormats


def write_live(path: Path, prepared: Prepared) -> str:
    """Write the planned columns into the open workbook; Excel's own undo does not cover it, so save before.

    Raises:
        BookError: Excel is not there, or the workbook is not open or not saved since it was read.
    """
    try:
        import xlwings

        books = [book for app in xlwings.apps for book in app.books]
    except Exception as error:  # xlwings raises whatever its platform layer does
        raise BookError(f"Excel cannot be reached from here: {error}") from error
    book = next((each for each in books if Path(each.fullname) == path.resolve()), None)
    if book is None:
        raise BookError(f"{path.name} is not open in Excel; open it first, or leave out --live")
    if not book.api.Saved:
        raise BookError(f"{path.name} has changes that are not saved; save it in Excel first")
    for plan in prepared.all:
        sheet = book.sheets[plan.block.sheet.title]
        last = plan.block.last_row
        look = sheet.range((plan.block.header_row, plan.block.look), (last, plan.block.look))
        for offset, column in enumerate(plan.columns):
            place = plan.start + offset
            look.copy()
            sheet.range((plan.block.header_row, place), (last, place)).api.PasteSpecial(_FORMATS)
            sheet.range((plan.block.header_row, place)).value = column.header
            for row, entry in column.cells.items():
                cell: Any = sheet.range((row, place))
                cell.number_format = column.number_format
                if entry.formula is not None:
                    cell.formula = "=" + entry.formula
                else:
                    cell.value = float(entry.value) if isinstance(entry.value, Fraction) else entry.value
    return f"Added to {path.name} in Excel; save it there to keep the columns."
