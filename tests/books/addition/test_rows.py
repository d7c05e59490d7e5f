"""What each row of a bid sheet gets, what stays blank in it, and what is said of it."""

from pathlib import Path
from typing import Any

import openpyxl

from railfuncs.books.addition.command import add


def bid(folder: Path, *rows: tuple[Any, ...]) -> Path:
    """A bid sheet with these rows."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    path = folder / "bid.xlsx"
    book.save(path)
    return path


def run(path: Path, *options: str) -> None:
    add.main([str(path), *options], standalone_mode=False)


def test_new_columns_do_not_take_the_width_of_a_wide_neighbour(tmp_path: Path) -> None:
    """Headers of 9 and 14 signs beside remarks 60 wide: 11 and 16 are enough."""
    path, out = bid(tmp_path, ("Run", "Opening (in)", "Remarks"), ("a", 72, "by the stair")), tmp_path / "out.xlsx"
    book = openpyxl.load_workbook(path)
    book.active.column_dimensions["C"].width = 60
    book.save(path)
    run(path, "-o", str(out), "--width", "1/2", "--columns", "count,oc")
    widths = openpyxl.load_workbook(out).active.column_dimensions
    assert [widths[letter].width for letter in "CDE"] == [60, 11, 16]
