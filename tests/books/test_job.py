"""The job workbook in a real spreadsheet: what it recalculates to is what Python stored."""

import zipfile
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.cell import MergedCell

from railfuncs.books.job import build, write_job
from railfuncs.books.job.measured import run_problems
from railfuncs.books.measure import Job, read_job
from railfuncs.books.stored import save
from railfuncs.rules.spacing import marked_gap
from tests.books.jobs import (
    CAPACITY,
    alter,
    cells_compared,
    changed_cells,
    differences,
    job_of,
    level_kinds,
    sloped_kinds,
)
from tests.office import Office

DEMO = Path(__file__).parents[2] / "workbooks" / "demo-measure.csv"


@pytest.fixture(scope="module")
def demo() -> Job:
    return read_job(DEMO, checks=run_problems)


def test_demo_recalculates_to_its_stored_values(office: Office, demo: Job, tmp_path: Path) -> None:
    book = build(demo)
    write_job(demo, tmp_path / "job.xlsx")
    shown = office.read(tmp_path / "job.xlsx")
    assert list(differences(book, shown)) == []
    assert cells_compared(book) > 1_000


def test_a_wrong_stored_value_is_noticed(office: Office, demo: Job, tmp_path: Path) -> None:
    """Calc must really recalculate, and the comparison must really see a difference."""
    book = build(demo)
    poisoned = {title: dict.fromkeys(values, "wrong") for title, values in book.values.items()}
    save(book.workbook, tmp_path / "poisoned.xlsx", poisoned)
    shown = office.read(tmp_path / "poisoned.xlsx")
    assert list(differences(book, shown)) == []
    book.values["Spacing"][11, 2] = Fraction(99)
    assert len(list(differences(book, shown))) == 1


@pytest.mark.parametrize("runs", [level_kinds, sloped_kinds], ids=["level", "sloped"])
@settings(max_examples=100, deadline=None, derandomize=True, database=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow,
                                 HealthCheck.filter_too_much, HealthCheck.data_too_large])  # fmt: skip
@given(st.data())
def test_random_jobs_follow_their_inputs(
    office: Office, tmp_path: Path, runs: st.SearchStrategy[tuple[tuple[str, str], ...]], data: st.DataObject
) -> None:
    """As generated, and after every input is changed in the sheet to another job's."""
    kinds, tape = data.draw(runs), data.draw(st.sampled_from(("inches", "inches", "feet")))
    first, second = data.draw(job_of(kinds, tape)), data.draw(job_of(kinds, tape))
    book, other = build(first, CAPACITY), build(second, CAPACITY)
    path = tmp_path / "job.xlsx"
    save(book.workbook, path, book.values)
    assert list(differences(book, office.read(path))) == []
    shown = office.change_and_read(path, changed_cells(book, other))
    assert list(differences(other, shown)) == []


def test_one_changed_opening_moves_counts_and_marks(office: Office, demo: Job, tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    write_job(demo, path)
    before = office.read(path)
    after = office.change_and_read(path, {("Measured", "B15"): 60.0})
    assert before["Spacing"]["B11"] != after["Spacing"]["B11"]
    assert before["Marks"]["B9"] != after["Marks"]["B9"]
    assert before["Summary"]["D8"] != after["Summary"]["D8"]
    assert before["Drawing"]["A24"] != after["Drawing"]["A24"]


@pytest.mark.parametrize(
    ("address", "typed", "sentence"),
    [
        ("B15", None, "Opening at the rail, newel to newel: write a number, like 63.5"),
        ("B15", "sixty", "Opening at the rail, newel to newel: write a number, like 63.5"),
        ("B15", 0.0, "the opening must be more than zero"),
        ("B15", -72.0, "the opening must be more than zero"),
        ("B15", 0.25, "the baluster is wider than the opening"),
        ("B15", 2000.0, "more than 66 balusters: this workbook's lists are too short; make it again"),
        ("B20", 0.0, "the baluster width must be more than zero"),
        ("B25", 500.0, "more than 66 balusters: this workbook's lists are too short; make it again"),
        ("B25", 2.5, "the number of balusters must be a whole number"),
        ("B32", 0.0, "the clear height must be more than zero"),
        ("B34", 9.0, "the mortise goes through the board"),
        ("B23", 46115.0, "Gap limit: this wide is too wide: too large for a rail, or turned into a date: write it like 0.75"),
        ("B22", "3 1/2 in", "Gap wanted (blank: fewest under the limit): write a number, or nothing"),
        ("B16", "28 5/16 in", "Opening at the shoe, trim to trim (blank: worked out): write a number, or nothing"),
        ("B25", "30 pcs", "Your own count (blank: worked out): write a number, or nothing"),
        ("B24", None, "count: write any, odd or even"),
        ("B36", 0.75, "the play leaves nothing of the baluster in the rail's mortise"),
        ("B17", 5.0, "the first baluster does not stand on the shoe: check the trim on the left"),
        ("B24", "maybe", "count: write any, odd or even"),
        ("B9", 10.0, "marks to the inch are 2, 4, 8, 16, 32 or 64; to the millimetre 1 or 2"),
        ("B37", 9.0, "the chisel is wider than the rail"),
    ],
)
def test_bad_input_in_the_sheet_is_said_and_hides_the_numbers(
    office: Office, demo: Job, tmp_path: Path, address: str, typed: Any, sentence: str
) -> None:
    book = build(demo)
    path = tmp_path / "job.xlsx"
    save(book.workbook, path, book.values)
    shown = office.change_and_read(path, {("Measured", address): typed})
    assert shown["Spacing"]["B18"] == sentence
    assert shown["Summary"]["L8"] == sentence
    assert shown["Marks"].get("B7", "") == ""
    assert shown["Cut list"].get("D5", "") == ""
    assert address == "B9" or shown["Summary"].get("L9", "") == ""


def test_limits_on_the_checks_sheet(office: Office, demo: Job, tmp_path: Path) -> None:
    """A lower rail, a limit wider than the published one, a blank: each is said, here and on the first sheet."""
    write_job(demo, tmp_path / "job.xlsx")
    shown = office.change_and_read(tmp_path / "job.xlsx", {
        ("Measured", "B32"): 10.0, ("Measured", "B23"): 40.0, ("Measured", "C33"): 5.0, ("Checks", "C14"): None,
        ("Checks", "E9"): "four",
    })  # fmt: skip
    checks = shown["Checks"]
    assert checks["B15"] == shown["Summary"]["H8"] == "LOWER than the least height"
    assert checks["B10"] == "WIDER than the published limit: check the local code"
    assert checks["C12"] == shown["Summary"]["G9"] == "REACHES THE LIMIT: lower the shoe"
    assert checks["C15"] == "write the least height of the local code"
    assert checks["E10"] == "write the limit of the local code"


def test_card_of_another_run_and_of_none(office: Office, demo: Job, tmp_path: Path) -> None:
    write_job(demo, tmp_path / "job.xlsx")
    third = office.change_and_read(tmp_path / "job.xlsx", {("Card", "B2"): "Studio side"})
    assert third["Card"]["D2"] == "mm"
    assert third["Card"]["B6"] == third["Marks"]["H7"]
    assert third["Card"]["A22"] == 17.0
    assert third["Card"]["A23"] == ""
    wild = office.change_and_read(tmp_path / "job.xlsx", {("Card", "B2"): "S*"})
    assert wild["Card"]["B4"] == "no run has that name: choose one"
    none = office.change_and_read(tmp_path / "job.xlsx", {("Card", "B2"): "Nowhere"})
    assert none["Card"]["B4"] == "no run has that name: choose one"
    assert none["Card"]["B6"] == ""


def test_no_gap_reaches_the_limit_without_a_warning(office: Office, demo: Job, tmp_path: Path) -> None:
    """Rounded marks can widen a gap to the limit though the exact gap is under it."""
    tight = alter(demo, 0, opening=Fraction(72), shoe_opening=None, trim_left=Fraction(0), trim_right=Fraction(0),
                  width=Fraction(1, 2), target=None, limit=Fraction(57, 16), parity="any", count=17)  # fmt: skip
    assert marked_gap(72, 0.5, 17) == Fraction(57, 16)
    book = build(tight)
    path = tmp_path / "job.xlsx"
    save(book.workbook, path, book.values)
    shown = office.read(path)
    assert str(shown["Checks"]["B8"]).startswith("REACHES THE LIMIT")
    calm = office.change_and_read(path, {("Measured", "B23"): 4.0})
    assert calm["Checks"]["B8"] == "smaller than the limit"


def test_text_stays_text(demo: Job, tmp_path: Path) -> None:
    job = alter(demo, 0, left="=1+1", right="+SUM(A1)", name="@here")
    write_job(job, tmp_path / "job.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "job.xlsx")["Measured"]
    kinds = {cell.value: cell.data_type for row in sheet.iter_rows() for cell in row}
    assert kinds["=1+1"] == kinds["+SUM(A1)"] == kinds["@here"] == "s"


def test_every_formula_carries_its_value(demo: Job, tmp_path: Path) -> None:
    write_job(demo, tmp_path / "job.xlsx")
    with zipfile.ZipFile(tmp_path / "job.xlsx") as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/sheet"):
                xml = archive.read(name).decode()
                assert xml.count("<f>") == xml.count("</f><v>") + xml.count("</f><v/>") + xml.count("</f><v xml:space")


def test_nothing_is_written_when_saving_fails(demo: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(b"the old one")

    def fail(*_: Any) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("railfuncs.books.job.book.save", fail)
    with pytest.raises(OSError, match="disk full"):
        write_job(demo, path)
    assert path.read_bytes() == b"the old one"
    assert [p.name for p in tmp_path.iterdir()] == ["job.xlsx"]


def test_the_demo_workbook_is_the_one_the_demo_makes(demo: Job) -> None:
    """What stands in the repository is what the README's first command writes."""
    book = build(demo)
    kept = openpyxl.load_workbook(DEMO.with_name("demo-job.xlsx"))
    values = openpyxl.load_workbook(DEMO.with_name("demo-job.xlsx"), data_only=True)
    assert kept.sheetnames == book.workbook.sheetnames
    for sheet in book.workbook:
        for row in sheet.iter_rows():
            for cell in row:
                there = kept[sheet.title][cell.coordinate].value
                assert (there or "") == (cell.value or ""), f"{sheet.title}!{cell.coordinate}"
        for (line, column), value in book.values[sheet.title].items():
            stored = values[sheet.title].cell(line, column).value
            assert (stored or "") == value if isinstance(value, str) else stored == pytest.approx(float(value))


def test_a_second_engine_agrees(demo: Job, tmp_path: Path) -> None:
    """IronCalc works out the whole demo from its formulas."""
    import ironcalc

    book = build(demo)
    path = tmp_path / "job.xlsx"
    for sheet in book.workbook:  # IronCalc reads cells; pictures are not its business
        sheet._charts = []
    poisoned = {title: dict.fromkeys(values, 0) for title, values in book.values.items()}
    save(book.workbook, path, poisoned)
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    for index, sheet in enumerate(book.workbook):
        for row in sheet.iter_rows():
            for cell in row:
                # IronCalc takes a blank boxed cell of a file for a number; one emptied by hand is blank.
                boxed = cell.row > 12 if sheet.title == "Measured" else sheet.title == "Treads" and cell.column > 7
                if boxed and cell.value is None and not isinstance(cell, MergedCell):
                    model.set_user_input(index, cell.row, cell.column, "")
    model.evaluate()
    compared = 0
    for index, sheet in enumerate(book.workbook):
        for (row, column), value in book.values[sheet.title].items():
            got = model.get_cell_value(index, row, column)
            if isinstance(value, str):
                assert (got or "") == value, f"{sheet.title} row {row} column {column}"
            else:
                assert got == pytest.approx(float(value), abs=1e-9), f"{sheet.title} row {row} column {column}"
            compared += 1
    assert compared > 3_000
