"""What to cut, and a label for every piece."""

from fractions import Fraction
from typing import Any

from openpyxl.worksheet.pagebreak import Break

from railfuncs.books.cells import Book, Page
from railfuncs.books.job.run import PieceCells, RunCells
from railfuncs.books.job.shop import SHOP_CAUTION, fine
from railfuncs.books.look import printed
from railfuncs.rules import cutting, flight
from railfuncs.rules import job as together
from railfuncs.rules.rake import rake_rail
from railfuncs.tracing import join, where

_HEADS = ("Run", "Piece", "How many", "Cut to", "Unit", "Width", "Thickness", "Left end at", "Right end at",
          "Wall side", "Made of")  # fmt: skip
_SLOPED_HEADS = ("Ends, degrees off square", "Long point to long point")
_WIDTHS = (16, 17, 10, 12, 6, 10, 11, 18, 18, 18, 12, 11, 12)
_LEAD = (
    "Handrail lengths are newel face to newel face: add what you let into the newels; the marks stay measured from the"
    " face. "
)
_SLOPED_LEAD = (
    "On a slope, Cut to is along an edge, both ends cut plumb and parallel; long point to long point is what it takes"
    " of a stick. "
)
MOST_ON_A_TREAD = 3
LABELS_A_PAGE = 9


def add(book: Book, runs: list[RunCells]) -> None:
    _cut_list(book, runs)
    _labels(book, runs)


def _cut_list(book: Book, runs: list[RunCells]) -> None:
    page = book.page("Cut list")
    sheet = page.sheet
    sloped = any(run.kind != "level" for run in runs)
    heads = _HEADS + (_SLOPED_HEADS if sloped else ())
    page.put(1, 1, "Cut list", "title")
    page.put(2, 1, _LEAD + (_SLOPED_LEAD if sloped else "") + SHOP_CAUTION, "caution")
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=len(heads))
    sheet.row_dimensions[2].height = 42
    for column, head in enumerate(heads, start=1):
        page.put(4, column, head, "head")
    sheet.row_dimensions[4].height = 30 if sloped else 15
    row = 5
    for run in runs:
        for board in ("rail", "shoe") if run.kind != "treads" else ("rail",):
            _board(page, row, run, board)
            row += 1
        if run.kind == "treads":
            for number in range(1, MOST_ON_A_TREAD + 1):
                _on_treads(page, row, run, number)
                row += 1
        else:
            _balusters(page, row, run)
            row += 1
    for letter, width in zip("ABCDEFGHIJKLM", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A5"
    sheet.print_title_rows = "4:4"
    printed(sheet, landscape=True, tall=True)


def _start(page: Page, row: int, run: RunCells, called: str) -> None:
    page.calc(row, 1, together.label, run["name"], style="text")
    page.put(row, 2, called)
    page.put(row, 5, run.unit, "centre")


def _board(page: Page, row: int, run: RunCells, board: str) -> None:
    name = "Handrail" if board == "rail" else "Shoe"
    status, style = run["status"], f"fine {run.unit}"
    _start(page, row, run, name)
    count = page.put(row, 3, Fraction(1), "whole")
    if run.kind == "level":
        rule, exact = (cutting.cut_rail, run["opening"]) if board == "rail" else (together.same, run["shoe"])
        cut = stick = page.calc(row, 4, fine(rule), run["fine"], exact, style=style, unless=status)
    else:
        level = run["opening"] if board == "rail" else run["shoe"]
        slope = run["slope_rise"], run["slope_run"]
        cut = page.calc(row, 4, fine(rake_rail), run["fine"], level, *slope, style=style, unless=status)
        page.calc(row, 12, together.same, run["saw"], style="degrees", unless=status)
        stick = page.calc(row, 13, fine(flight.long_points), run["fine"], level, run[f"{board}_thickness"], *slope,
                          style=style, unless=status)  # fmt: skip
    run.cells[f"cut {name}"] = cut
    run.pieces.append(PieceCells(name, name, count, cut, stick))
    page.calc(row, 6, together.same, run[f"{board}_width"], unless=status)
    page.calc(row, 7, together.same, run[f"{board}_thickness"], unless=status)
    for column, key in ((8, "left"), (9, "right"), (10, "face")):
        page.calc(row, column, together.label, run[key], style="text")


def _balusters(page: Page, row: int, run: RunCells) -> None:
    _start(page, row, run, "Baluster")
    count = page.calc(row, 3, together.same, run["n"], style="whole", unless=run["status"])
    cut = page.calc(row, 4, fine(together.same), run["fine"], run["baluster_length"], style=f"fine {run.unit}",
                    unless=run["status"])  # fmt: skip
    run.cells["cut Baluster"] = cut
    run.pieces.append(PieceCells("Baluster", "Baluster", count, cut, cut))
    _of_a_baluster(page, row, run)


def _on_treads(page: Page, row: int, run: RunCells, number: int) -> None:
    """The balusters that are the so-manieth of their tread, which are cut alike."""
    status = run["status"]
    called = f"Baluster {number} of a tread"
    _start(page, row, run, called)
    count = page.calc(row, 3, flight.of_this_length, number, run["first_no"], run["last_no"], run["each_tread"],
                      style="whole if any", unless=status)  # fmt: skip
    cut = page.calc(row, 4, _length_of_place, run["fine"], number, run["height"], run["rail_thickness"], run["riser"],
                    run["tread"], run["first"], run["each_tread"], run["shoe_depth"], run["rail_depth"], run["play"],
                    style=f"fine {run.unit}", unless=status)  # fmt: skip
    stick = page.calc(row, 13, flight.or_nothing, cut, style=f"fine {run.unit} if any", unless=status)
    run.pieces.append(PieceCells("Baluster", called, count, cut, stick))
    _of_a_baluster(page, row, run)


def _of_a_baluster(page: Page, row: int, run: RunCells) -> None:
    for column in (6, 7):
        page.calc(row, column, together.same, run["width"], unless=run["status"])
    for column in (8, 9, 10):
        page.put(row, column, "", "text")
    page.calc(row, 11, together.label, run["material"], style="text")


def _length_of_place(step: Any, number: Any, *measures: Any) -> Any:
    """A length to the set-up's step; blank past the number on a tread."""
    each_tread = measures[5]
    return where(number > each_tread, "", lambda: fine(flight.length_on_tread)(step, number, *measures))


def _labels(book: Book, runs: list[RunCells]) -> None:
    """One label a piece: what it is, and which way round it goes, so that nothing gets flipped."""
    page = book.page("Labels")
    sheet = page.sheet
    page.put(1, 1, "Labels", "title")
    page.put(2, 1, "One label a board or bundle. Tape it on with LEFT to the left as seen from the room, the wall"
                   " side to the wall.", "lead")  # fmt: skip
    sheet.merge_cells("A2:C2")
    row = 4
    on_page = 0
    for run in runs:
        # Pages break between runs only; nine labels fill one.
        if on_page and on_page + len(run.pieces) > LABELS_A_PAGE:
            sheet.row_breaks.append(Break(id=row - 1))
            on_page = 0
        for piece in run.pieces:
            _label(page, row, run, piece)
            row += 4
        on_page += len(run.pieces)
    for letter in "ABC":
        sheet.column_dimensions[letter].width = 30
    printed(sheet, tall=True)


def _label(page: Page, row: int, run: RunCells, piece: PieceCells) -> None:
    baluster = piece.name == "Baluster"
    for column in (1, 2, 3):
        page.put(row, column, "", "label")
        page.put(row + 1, column, "", "label side")
        page.put(row + 2, column, "", "label side")
    called = piece.called[0].lower() + piece.called[1:] + ("s" if piece.called == "Baluster" else "")
    page.calc(row, 1, _title, piece.count, run["name"], f"  {called}", style="label", unless=run["status"])
    page.merge(row, 1, 3)
    page.sheet.row_dimensions[row].height = 24
    if baluster:
        page.calc(row + 1, 1, _title, piece.count, piece.count, " pieces", style="label side", unless=run["status"])
    else:
        page.calc(row + 1, 1, join, "LEFT: ", run["left"], style="label side")
        page.calc(row + 1, 3, join, "RIGHT: ", run["right"], style="label side")
        page.calc(row + 2, 2, _wall_side, run["face"], style="label side")
        if run.kind != "level":
            page.calc(row + 1, 2, _upper_end, run["up"], style="label side")
    page.put(row + 2, 1, f"cut to ({run.unit})", "label side")
    page.calc(row + 2, 3, together.same, piece.cut, style=f"label {run.unit}", unless=run["status"])


def _title(count: Any, *parts: Any) -> Any:
    """What stands on a label; a tread may have no baluster of its kind."""
    return where(count == 0, "none", join(*parts))


def _wall_side(face: Any) -> Any:
    return where(face == "", "", join("wall side: ", face))


def _upper_end(up: Any) -> Any:
    return join("goes up to the ", up)
