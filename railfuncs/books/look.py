"""How our sheets look: quiet, readable in black and white. Inputs are boxed and tinted; nothing relies on colour."""

from copy import copy
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

FONT = "Liberation Sans"
FRACTION = "# ??/??"  # exact for a number already rounded to a tape mark
_HAIR = Side(style="hair", color="FF8A8A8A")
_THIN = Side(style="thin", color="FF3C3C3C")
_BOX = Border(left=_THIN, right=_THIN, top=_THIN, bottom=_THIN)
_UNDER = Border(bottom=_HAIR)
_TINT = PatternFill("solid", fgColor="FFF3EEE3")
_BAND = PatternFill("solid", fgColor="FFE4E4E0")
_LEFT = Alignment(horizontal="left", vertical="top", wrap_text=True)
_MIDDLE = Alignment(horizontal="left", vertical="center", wrap_text=True)
_PLAIN_LEFT = Alignment(horizontal="left", vertical="center")
_INDENTED = Alignment(horizontal="left", vertical="center", indent=1)
_RIGHT = Alignment(horizontal="right", vertical="center")
_CENTRE = Alignment(horizontal="center", vertical="center", wrap_text=True)
_FITTED = Alignment(horizontal="center", vertical="center", shrink_to_fit=True)

_STYLES: dict[str, dict[str, Any]] = {
    "title": {"font": Font(FONT, 16, bold=True), "alignment": _PLAIN_LEFT},
    "lead": {"font": Font(FONT, 10), "alignment": _LEFT},
    "lead plain": {"font": Font(FONT, 10), "alignment": _PLAIN_LEFT},
    "caution": {"font": Font(FONT, 10, bold=True), "alignment": _LEFT, "border": _BOX},
    "head": {"font": Font(FONT, 10, bold=True), "alignment": _CENTRE, "fill": _BAND, "border": Border(bottom=_THIN)},
    "group": {"font": Font(FONT, 10, bold=True), "alignment": _PLAIN_LEFT, "border": Border(bottom=_THIN)},
    "text": {"font": Font(FONT, 10), "alignment": _INDENTED, "border": _UNDER},
    "wrap": {"font": Font(FONT, 10), "alignment": _MIDDLE, "border": _UNDER},
    "centre": {"font": Font(FONT, 10), "alignment": _CENTRE, "border": _UNDER},
    "status": {"font": Font(FONT, 10, bold=True), "alignment": _LEFT},
    "whole": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0"},
    "whole if any": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0;-0;"},
    "fine in if any": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": FRACTION + ";;"},
    "fine mm if any": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.#;;"},
    "exact": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.0000"},
    "number": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "General"},
    "degrees": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.0"},
    "feet": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.0"},
    "in": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": FRACTION},
    "mm": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "General"},
    "fine in": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": FRACTION},
    "fine mm": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "General"},
    "mark in": {"font": Font(FONT, 12, bold=True), "alignment": _RIGHT, "border": _UNDER, "number_format": FRACTION},
    "mark mm": {"font": Font(FONT, 12, bold=True), "alignment": _RIGHT, "border": _UNDER, "number_format": "General"},
    "input text": {"font": Font(FONT, 10), "alignment": _PLAIN_LEFT, "border": _BOX, "fill": _TINT},
    "input notes": {"font": Font(FONT, 10), "alignment": _LEFT, "border": _BOX, "fill": _TINT},
    "input whole": {
        "font": Font(FONT, 10), "alignment": _RIGHT, "border": _BOX, "fill": _TINT, "number_format": "0",
    },
    "input in": {
        "font": Font(FONT, 10), "alignment": _RIGHT, "border": _BOX, "fill": _TINT, "number_format": "General",
    },
    "not asked": {"fill": _BAND, "border": _UNDER},
    "mark text": {"font": Font(FONT, 12, bold=True), "alignment": _RIGHT, "border": _UNDER},
    "label": {"font": Font(FONT, 14, bold=True), "alignment": _CENTRE, "border": _BOX},
    "label side": {"font": Font(FONT, 11), "alignment": _CENTRE, "border": _BOX},
    "label in": {"font": Font(FONT, 11), "alignment": _CENTRE, "border": _BOX, "number_format": FRACTION},
    "label mm": {"font": Font(FONT, 11), "alignment": _CENTRE, "border": _BOX, "number_format": "General"},
    "money": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "#,##0.00"},
    "percent": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.00%"},
    "hours": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.00"},
    "counted": {"font": Font(FONT, 10), "alignment": _RIGHT, "border": _UNDER, "number_format": "0.0"},
    "total": {"font": Font(FONT, 12, bold=True), "alignment": _RIGHT, "border": _BOX, "number_format": "#,##0.00"},
    "input money": {
        "font": Font(FONT, 10), "alignment": _RIGHT, "border": _BOX, "fill": _TINT, "number_format": "#,##0.00",
    },
    "input percent": {
        "font": Font(FONT, 10), "alignment": _RIGHT, "border": _BOX, "fill": _TINT, "number_format": "0.00%",
    },
    "piece": {"font": Font(FONT, 8), "alignment": _FITTED, "border": _BOX},
    "offcut": {"font": Font(FONT, 8), "alignment": _FITTED, "border": _BOX, "fill": _BAND},
    "drawing": {"font": Font(FONT, 8, color="FF6A6A6A"), "number_format": "0.0000"},
}  # fmt: skip


class Look:
    """The styles of one workbook, made once and then only pointed to."""

    def __init__(self, workbook: Workbook) -> None:
        sheet = workbook.create_sheet("styles being made")
        self._made: dict[str, Any] = {}
        for row, (name, parts) in enumerate(_STYLES.items(), start=1):
            cell = sheet.cell(row, 1)
            for part, value in parts.items():
                setattr(cell, part, value)
            self._made[name] = copy(cell._style)
        workbook.remove(sheet)

    def dress(self, cell: Any, style: str) -> None:
        cell._style = self._made[style]


def a_column_a_run(
    sheet: Worksheet, runs: int, widths: tuple[float, float], below: int, landscape: bool | None = None
) -> None:
    """Set up a page with labels in the first column and a column for each run beside it.

    Args:
        widths: of the labels, and of each run
        below: the first row that moves under the heads
        landscape: where more than four runs do not tell
    """
    sheet.column_dimensions["A"].width, each = widths
    for column in range(2, max(6, runs + 2)):
        sheet.column_dimensions[get_column_letter(column)].width = each
    sheet.freeze_panes = sheet.cell(below, 2)
    sheet.print_title_cols = "A:A"
    printed(sheet, landscape=runs > 4 if landscape is None else landscape, wide=runs > 8)


def printed(sheet: Worksheet, *, landscape: bool = False, tall: bool = False, wide: bool = False) -> None:
    """Print set-up that suits letter and A4: margins for both, page numbers, and pages fitted to what flows.

    Args:
        tall: rows flow over pages, columns fit one; wide: the other way about; neither: all on one page.
    """
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth = 0 if wide else 1
    sheet.page_setup.fitToHeight = 0 if tall else 1
    sheet.print_options.horizontalCentered = True
    sheet.row_dimensions[1].height = 26
    margins = sheet.page_margins
    margins.left = margins.right = 0.5
    margins.top, margins.bottom = 0.6, 0.7
    sheet.oddFooter.left.text = "&A"
    sheet.oddFooter.right.text = "Page &P of &N"
    sheet.sheet_view.showGridLines = False
