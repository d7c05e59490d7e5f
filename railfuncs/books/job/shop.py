"""What the shop needs: the mortiser's set-up, the cut list, and a label for every piece."""

from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import printed
from railfuncs.rules import cutting
from railfuncs.rules import job as together
from railfuncs.rules.measure import round_to
from railfuncs.tracing import join, where

SHOP_CAUTION = (
    "Eyes, ears and lungs protected; work clamped; machine unplugged for set-up; guards on. Cut a test piece first,"
    " and dry-fit and check one opening before cutting the batch."
)
def _fine(rule: Any) -> Any:
    """Set-up is finer than layout: a rule's length to the nearest 64th, or half millimetre."""

    def fine(step: Any, *args: Any) -> Any:
        return round_to(rule(*args), step)

    return fine


_SETUP: tuple[tuple[str, Any, tuple[str, ...], str], ...] = (
    ("Chisel", _fine(together.same), ("fine", "chisel"), ""),
    ("Handrail: fence to near face of chisel (spacer)", _fine(cutting.fence), ("fine", "rail_width", "chisel"), ""),
    ("Handrail: depth stop", _fine(together.same), ("fine", "rail_depth",), ""),
    ("Handrail: wood left under the mortise", _fine(cutting.floor_left), ("fine", "rail_thickness", "rail_depth"), ""),
    ("Handrail: mortises", together.same, ("n",), "whole"),
    ("Shoe: fence to near face of chisel (spacer)", _fine(cutting.fence), ("fine", "shoe_width", "chisel"), ""),
    ("Shoe: depth stop", _fine(together.same), ("fine", "shoe_depth",), ""),
    ("Shoe: wood left under the mortise", _fine(cutting.floor_left), ("fine", "shoe_thickness", "shoe_depth"), ""),
    ("Shoe: mortises", together.same, ("n",), "whole"),
    ("Baluster: left in the handrail's mortise", _fine(together.seat), ("fine", "rail_depth", "play"), ""),
    ("Balusters in the bundle", together.same, ("n",), "whole"),
    ("Baluster: cut to", _fine(cutting.cut_baluster), ("fine", "clear", "shoe_depth", "rail_depth", "play"), ""),
)
FINE_ROW = 6 + len(_SETUP)
_HEADS = ("Run", "Piece", "How many", "Cut to", "Unit", "Width", "Thickness", "Left end at", "Right end at",
          "Wall side", "Made of")  # fmt: skip


def add(book: Book, runs: list[RunCells]) -> None:
    _setup(book, runs)
    _cut_list(book, runs)
    _labels(book, runs)


def _setup(book: Book, runs: list[RunCells]) -> None:
    page = book.page("Shop")
    sheet = page.sheet
    page.put(1, 1, "Shop set-up", "title")
    page.put(2, 1, SHOP_CAUTION, "caution")
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 42
    page.put(4, 1, "Run", "head")
    sheet.row_dimensions[4].height = 30
    page.put(5, 1, "Unit", "centre")
    page.put(FINE_ROW + 1, 1, "Set the fence with the spacer against the chisel, then take the spacer out.", "lead")
    for row, (label, *_) in enumerate(_SETUP, start=6):
        page.put(row, 1, label)
    for run in runs:
        column = run.number + 2
        page.calc(4, column, together.label, run["name"], style="head")
        page.put(5, column, run.unit, "centre")
        run.cells["fine"] = page.put(FINE_ROW, column, Fraction(1, 64) if run.unit == "in" else Fraction(1, 2),
                                    f"fine {run.unit}")  # fmt: skip
        for row, (_, rule, keys, style) in enumerate(_SETUP, start=6):
            cell = page.calc(row, column, rule, *(run[k] for k in keys), style=style or f"fine {run.unit}",
                             unless=run["status"])  # fmt: skip
        run.cells["baluster_length"] = cell
    page.put(FINE_ROW, 1, "Set-up lengths to the nearest")
    sheet.column_dimensions["A"].width = 42
    for column in range(2, max(6, len(runs) + 2)):
        sheet.column_dimensions[get_column_letter(column)].width = 17
    sheet.freeze_panes = "B6"
    sheet.print_title_cols = "A:A"
    printed(sheet, landscape=len(runs) > 4, wide=len(runs) > 8)


def _cut_list(book: Book, runs: list[RunCells]) -> None:
    page = book.page("Cut list")
    sheet = page.sheet
    page.put(1, 1, "Cut list", "title")
    page.put(2, 1, "Handrail lengths are newel face to newel face: add what you let into the newels; the marks stay"
                   " measured from the face. " + SHOP_CAUTION, "caution")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=len(_HEADS))
    sheet.row_dimensions[2].height = 42
    for column, head in enumerate(_HEADS, start=1):
        page.put(4, column, head, "head")
    row = 5
    for run in runs:
        for piece in ("Handrail", "Shoe", "Baluster"):
            _piece(page, row, run, piece)
            row += 1
    for letter, width in zip("ABCDEFGHIJK", (16, 11, 10, 12, 6, 10, 11, 18, 18, 18, 12), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A5"
    sheet.print_title_rows = "4:4"
    printed(sheet, landscape=True, tall=True)


def _piece(page: Page, row: int, run: RunCells, piece: str) -> None:
    status = run["status"]
    page.calc(row, 1, together.label, run["name"], style="text")
    page.put(row, 2, piece)
    page.put(row, 5, run.unit, "centre")

    def calc(column: int, rule: Any, *args: Any, style: str = "number") -> Cell:
        return page.calc(row, column, rule, *args, style=style, unless=status)

    if piece == "Baluster":
        run.cells["pieces"] = calc(3, together.same, run["n"], style="whole")
        run.cells["cut Baluster"] = calc(4, together.same, run["baluster_length"], style=f"fine {run.unit}")
        calc(6, together.same, run["width"])
        calc(7, together.same, run["width"])
        for column in (8, 9, 10):
            page.put(row, column, "", "text")
        page.calc(row, 11, together.label, run["material"], style="text")
        return
    board = "rail" if piece == "Handrail" else "shoe"
    page.put(row, 3, Fraction(1), "whole")
    rule, exact = (cutting.cut_rail, run["opening"]) if board == "rail" else (together.same, run["shoe"])
    run.cells[f"cut {piece}"] = calc(4, _fine(rule), run["fine"], exact, style=f"fine {run.unit}")
    calc(6, together.same, run[f"{board}_width"])
    calc(7, together.same, run[f"{board}_thickness"])
    for column, key in ((8, "left"), (9, "right"), (10, "face")):
        page.calc(row, column, together.label, run[key], style="text")


def _labels(book: Book, runs: list[RunCells]) -> None:
    """One label a piece: what it is, and which way round it goes, so that nothing gets flipped."""
    page = book.page("Labels")
    sheet = page.sheet
    page.put(1, 1, "Labels", "title")
    page.put(2, 1, "One label a board or bundle. Tape it on with LEFT to the left as seen from the room, the wall"
                   " side to the wall.", "lead")  # fmt: skip
    sheet.merge_cells("A2:C2")
    row = 4
    for run in runs:
        for piece in ("Handrail", "Shoe", "Baluster"):
            _label(page, row, run, piece)
            row += 4
    for run in runs[3::3]:
        sheet.row_breaks.append(Break(id=3 + 12 * run.number))
    for letter in "ABC":
        sheet.column_dimensions[letter].width = 30
    printed(sheet, tall=True)


def _label(page: Page, row: int, run: RunCells, piece: str) -> None:
    sides = ("LEFT: ", "RIGHT: ") if piece != "Baluster" else ("", "")
    for column in (1, 2, 3):
        page.put(row, column, "", "label")
        page.put(row + 1, column, "", "label side")
        page.put(row + 2, column, "", "label side")
    page.calc(row, 1, join, run["name"], "  ", piece.lower() + ("s" if piece == "Baluster" else ""), style="label")
    page.merge(row, 1, 3)
    page.sheet.row_dimensions[row].height = 24
    if piece == "Baluster":
        page.calc(row + 1, 1, join, run["n"], " pieces", style="label side", unless=run["status"])
    else:
        page.calc(row + 1, 1, join, sides[0], run["left"], style="label side")
        page.calc(row + 1, 3, join, sides[1], run["right"], style="label side")
        page.calc(row + 2, 2, _wall_side, run["face"], style="label side")
    page.put(row + 2, 1, f"cut to ({run.unit})", "label side")
    page.calc(row + 2, 3, together.same, run[f"cut {piece}"], style=f"label {run.unit}", unless=run["status"])


def _wall_side(face: Any) -> Any:
    return where(face == "", "", join("wall side: ", face))
