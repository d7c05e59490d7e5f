"""The change list between two revisions: what moved, and by how much."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest

from railfuncs.books.measure import Job
from railfuncs.books.sharing.changes import write_changes
from railfuncs.errors import BookError
from tests.books.jobs import alter
from tests.books.sharing.made import demo, everything, job_book


def changed(tmp_path: Path, old: Job, new: Job) -> tuple[list[str], dict[str, list[tuple[object, ...]]]]:
    for name, job in (("old", old), ("new", new)):
        job_book(tmp_path / f"{name}.xlsx", job)
    said = write_changes(tmp_path / "old.xlsx", tmp_path / "new.xlsx", tmp_path / "changes.xlsx")
    book = openpyxl.load_workbook(tmp_path / "changes.xlsx")
    return said, {sheet.title: [row[:5] for row in sheet.iter_rows(values_only=True)] for sheet in book}


def test_the_same_job_has_no_changes(tmp_path: Path) -> None:
    said, sheets = changed(tmp_path, demo(), alter(demo(), 0, notes="only a note is new"))
    assert said == ["Nothing changed."]
    assert all("Nothing changed." in [row[0] for row in rows] for rows in sheets.values())
    assert b"only a note" not in everything(tmp_path / "changes.xlsx")


def test_a_longer_opening_moves_the_marks(tmp_path: Path) -> None:
    """One baluster in 12 in, then in 13 in: it moves from 6 to 6 1/2, the gaps grow by half an inch."""
    one = {"width": Fraction(1), "count": 1, "target": None, "limit": Fraction(7), "shoe_opening": None,
           "trim_left": Fraction(0), "trim_right": Fraction(0)}  # fmt: skip
    old, new = (alter(demo(), 1, opening=Fraction(opening), **one) for opening in (12, 13))
    said, sheets = changed(tmp_path, old, new)
    assert said == [
        "Kitchen side: Opening at the rail, newel to newel: 12 in before, 13 in now (1 in more)",
        "Kitchen side: Exact gap: 5 1/2 in before, 6 in now (1/2 in more)",
        "Kitchen side: Handrail: cut to: 12 in before, 13 in now (1 in more)",
        "Kitchen side: Shoe: cut to: 12 in before, 13 in now (1 in more)",
        "Kitchen side: Handrail: 1 mark moved, by 1/2 in",
        "Kitchen side: Shoe: 1 mark moved, by 1/2 in",
    ]
    assert ("Kitchen side", "Opening at the rail, newel to newel", 12, 13, 1) in sheets["Changes"]
    assert ("Kitchen side", "Handrail, No. 1", 6, 6.5, 0.5) in sheets["Marks moved"]


def test_runs_and_marks_that_come_and_go(tmp_path: Path) -> None:
    old = demo()
    new = replace(alter(alter(old, 0, count=43), 2, name="Studio wall"), title="=Balcony")
    said, sheets = changed(tmp_path, old, new)
    assert "Job: Balcony over the boat shed before, =Balcony now" in said
    assert "Studio side: Run: there before, blank now" in said
    assert "Studio wall: Run: blank before, there now" in said
    assert any(line.startswith("Water front: Handrail: 41 marks moved, by ") and line.endswith("2 marks new")
               for line in said)  # fmt: skip
    assert next(row for row in sheets["Marks moved"] if row[1] == "Handrail, No. 43")[2] is None
    sheet = openpyxl.load_workbook(tmp_path / "changes.xlsx")["Changes"]
    assert [cell.data_type for row in sheet.iter_rows() for cell in row if cell.value == "=Balcony"] == ["s"]


def test_a_file_that_is_no_job_is_refused(tmp_path: Path) -> None:
    job_book(tmp_path / "old.xlsx")
    openpyxl.Workbook().save(tmp_path / "new.xlsx")
    with pytest.raises(BookError, match=r"'new.xlsx' has no sheet 'Measured'"):
        write_changes(tmp_path / "old.xlsx", tmp_path / "new.xlsx", tmp_path / "changes.xlsx")
    assert not (tmp_path / "changes.xlsx").exists()
