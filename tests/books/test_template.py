"""The empty measure sheet: made to be filled in, and read back once it is."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from railfuncs.books.measure import columns, read_job
from railfuncs.books.template import HELP, write_template
from railfuncs.errors import BookError
from tests.books.sheets import GOOD, problems


def fill(path: Path, values: dict[str, Any], facts: dict[str, Any]) -> None:
    """Fill the first row of boxes, by header, and the facts, as a person would."""
    workbook = load_workbook(path)
    sheet = workbook["Measure"]
    (header,) = (row for row in sheet.iter_rows() if row[0].value == "Run*")
    for cell in header:
        if cell.value.rstrip("*") in values:
            sheet.cell(cell.row + 1, cell.column).value = values[cell.value.rstrip("*")]
    for row in sheet.iter_rows(max_row=header[0].row - 1):
        if row[1].value in facts:
            row[3].value = facts[row[1].value]
    workbook.save(path)


def test_template_unfilled_then_filled(tmp_path: Path) -> None:
    path = tmp_path / "measure.xlsx"
    write_template(path)
    assert problems(path) == ["sheet 'Measure': no runs filled in; write one run a row under the headers"]
    fill(path, GOOD | {"Unit": "in", "Own count": 17}, {"Job": "Deck", "Marks to the": 32, "Tape": "feet"})
    job = read_job(path)
    assert (job.title, job.denominator, job.tape) == ("Deck", 32, "feet")
    assert (job.runs[0].opening, job.runs[0].count) == (Fraction(127, 2), 17)


def test_template_is_made_to_be_filled_in(tmp_path: Path) -> None:
    path = tmp_path / "measure.xlsx"
    write_template(path)
    workbook = load_workbook(path)
    sheet = workbook["Measure"]
    (header,) = (row for row in sheet.iter_rows() if row[0].value == "Run*")
    assert [cell.value.rstrip("*") for cell in header] == [column.header for column in columns().values()]
    for cell, column in zip(header, columns().values(), strict=True):
        box = sheet.cell(cell.row + 1, cell.column)
        assert cell.value.endswith("*") == (column.required in ("yes", "level", "shoe"))
        assert box.border.left.style == box.border.bottom.style == "thin"
        assert box.number_format == ("0" if column.kind == "whole" else "@")
    chosen = {rule.formula1 for rule in sheet.data_validations.dataValidation}
    assert chosen == {'"in,mm"', '"any,odd,even"', '"left,right"', '"shoe,treads"', '"2,4,8,16,32,64"', '"inches,feet"'}
    assert sheet.freeze_panes == f"B{header[0].row + 1}"
    assert sheet.page_setup.orientation == "landscape"
    assert not any(cell.comment for row in sheet.iter_rows() for cell in row)
    helped = {row[0].value for row in workbook[HELP].iter_rows()}
    assert helped >= {column.header for column in columns().values()}


def test_template_never_replaces_a_file(tmp_path: Path) -> None:
    path = tmp_path / "measure.xlsx"
    path.write_text("measurements")
    with pytest.raises(BookError, match="there already"):
        write_template(path)
    assert path.read_text() == "measurements"


def test_template_is_a_workbook_only(tmp_path: Path) -> None:
    with pytest.raises(BookError, match=r"does not end in \.xlsx"):
        write_template(tmp_path / "measure.csv")
    with pytest.raises(BookError, match="does not exist"):
        write_template(tmp_path / "none" / "measure.xlsx")
    assert list(tmp_path.iterdir()) == []
