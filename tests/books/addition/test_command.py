"""`railfuncs add` as a person uses it: twice, back again, in place, and everything it must refuse."""

import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.table import Table

from railfuncs.books.addition.command import add
from railfuncs.errors import BookError
from tests.books.addition.test_sheets import CASES, SHEETS, Case
from tests.office import Office

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")


def run(*args: object) -> None:
    add.main([str(arg) for arg in args], standalone_mode=False)


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.fixture
def bid(tmp_path: Path) -> Path:
    path = tmp_path / "bid.xlsx"
    path.write_bytes((SHEETS / "balconies.xlsx").read_bytes())
    return path


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_only_what_must_change_changes(case: Case, tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    run(SHEETS / case.file, "-o", out, *case.options)
    old, new = parts(SHEETS / case.file), parts(out)
    changed = {name for name in old if old[name] != new[name]}
    may = ("worksheets/sheet", "styles.xml", "tables/table", "workbook.xml", "book.xml", "one.xml", "[Content_Types]")
    assert all(any(part in name for part in may) for name in changed)
    assert len(new.keys() - old.keys()) == 1


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_twice_and_back(case: Case, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Adding twice adds once; taking away gives every part back to the byte."""
    out, again = tmp_path / "out.xlsx", tmp_path / "again.xlsx"
    run(SHEETS / case.file, "-o", out, *case.options)
    before = out.read_bytes()
    run(out, "--in-place", *case.options)
    assert "already; nothing was written" in capsys.readouterr().out
    assert out.read_bytes() == before
    run(out, "--remove", "-o", again)
    assert parts(again) == parts(SHEETS / case.file)


def test_other_columns_replace_the_first_ones(bid: Path) -> None:
    run(bid, "--columns", "count", "--in-place")
    run(bid, "--columns", "count,gap", "--in-place")
    sheet = openpyxl.load_workbook(bid)["Balconies"]
    assert [sheet.cell(3, c).value for c in range(7, 10)] == ["Balusters", "Gap (in)", None]


def test_after_another_program_saved_it(tmp_path: Path, bid: Path) -> None:
    """The bytes no longer match: adding is refused, and taking away empties the cells that the names point to."""
    run(bid, "--columns", "count,gap", "--in-place")
    openpyxl.load_workbook(bid).save(bid)
    with pytest.raises(BookError, match="--remove first"):
        run(bid, "--in-place")
    run(bid, "--remove", "--in-place")
    book = openpyxl.load_workbook(bid)
    assert all(cell.value is None for row in book["Balconies"]["G1:Z20"] for cell in row)
    assert book["Balconies"]["F3"].value == "Waste"
    assert not [name for name in book.defined_names if "rail" in name]
    run(bid, "--columns", "count", "--in-place")
    assert openpyxl.load_workbook(bid, data_only=True)["Balconies"]["G4"].value == 16


def test_table_after_another_program_saved_it(tmp_path: Path) -> None:
    path = tmp_path / "options.xlsx"
    path.write_bytes((SHEETS / "options.xlsx").read_bytes())
    run(path, "--columns", "count", "--in-place")
    openpyxl.load_workbook(path).save(path)
    run(path, "--remove", "--in-place")
    table = openpyxl.load_workbook(path)["Options"].tables["Guards"]
    assert (table.ref, len(table.tableColumns)) == ("B4:F8", 5)


def test_in_place_keeps_a_copy(bid: Path) -> None:
    before = bid.read_bytes()
    run(bid, "--in-place")
    assert bid.with_name("bid (before).xlsx").read_bytes() == before
    assert bid.read_bytes() != before


def test_dry_run_writes_nothing(bid: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(bid, "--dry-run")
    assert [p.name for p in bid.parent.iterdir()] == ["bid.xlsx"]
    said = capsys.readouterr().out
    assert "column B  'Opening (in)', in" in said
    assert "adds     column G  'Balusters'" in said


def test_the_person_may_say_otherwise(tmp_path: Path) -> None:
    """By header text, by column letter, by header row; the unit where the header names none."""
    path, out = tmp_path / "odd.xlsx", tmp_path / "out.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (("Tag", "Wall", "Tape", "Stick"), ("a", 1, 6, 0.5), ("b", 2, 7.5, 0.5)):
        sheet.append(row)
    book.save(path)
    with pytest.raises(BookError, match="Texts seen: Tag, Wall, Tape, Stick"):
        run(path, "-o", out)
    run(path, "-o", out, "--opening", "tape", "--width-column", "Stick", "--unit", "ft", "--width", "1/2", "--dry-run")
    run(path, "-o", out, "--opening", "C", "--unit", "ft", "--width", "1/2", "--columns", "count")
    assert openpyxl.load_workbook(out, data_only=True).active["E2"].value == 16


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--columns", "weight"], "there is no column 'weight'"),
        (["--columns", "price"], "--each"),
        (["--columns", "cut"], "needs a column of clear heights"),
        (["--sheet", "Attic"], "has no sheet Attic; it has Balconies"),
        (["-o", "nowhere/out.xlsx"], "there is no folder nowhere"),
        (["-o", "bid.xlsm"], "must end in .xlsx"),
        (["--in-place", "-o", "x.xlsx"], "not both"),
        (["--remove"], "has no added columns"),
        (["--live"], "Excel"),
    ],
)
def test_one_sentence_and_nothing_written(
    bid: Path, options: list[str], sentence: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(bid.parent)
    before = bid.read_bytes()
    with pytest.raises(BookError, match=sentence):
        run(bid, *options)
    assert [p.name for p in bid.parent.iterdir()] == ["bid.xlsx"]
    assert bid.read_bytes() == before


def test_existing_file_is_not_overwritten(bid: Path) -> None:
    out = bid.with_name("there.xlsx")
    out.write_bytes(b"mine")
    with pytest.raises(BookError, match="exists already"):
        run(bid, "-o", out)
    assert out.read_bytes() == b"mine"


@pytest.mark.parametrize("mark", ["~$bid.xlsx", ".~lock.bid.xlsx#"])
def test_open_elsewhere(bid: Path, mark: str) -> None:
    bid.with_name(mark).write_bytes(b"")
    with pytest.raises(BookError, match="open in another program"):
        run(bid)


def test_read_only(bid: Path) -> None:
    bid.chmod(0o444)
    with pytest.raises(BookError, match="read-only"):
        run(bid, "--in-place")


def protect(book: openpyxl.Workbook) -> None:
    book.active.protection.sheet = True


def name_taken(book: openpyxl.Workbook) -> None:
    book.active["D1"] = "Gap (in)"


def full(book: openpyxl.Workbook) -> None:
    book.active["XFD9"] = "far away"


def taken_in_table(book: openpyxl.Workbook) -> None:
    book.active["C1"] = "gap (IN)"
    book.active.add_table(Table(displayName="Bids", ref="A1:C3"))


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (protect, "is protected"),
        (name_taken, r"already has a column named Gap \(in\)"),
        (full, "no room"),
        (taken_in_table, "already has a column named"),
    ],
)
def test_sheets_that_cannot_be_edited(
    tmp_path: Path, spoil: Callable[[openpyxl.Workbook], None], sentence: str
) -> None:
    path = tmp_path / "bid.xlsx"
    book = openpyxl.Workbook()
    for row in (("Run", "Opening in", "Remarks"), ("a", 72, "x"), ("b", 60, "y")):
        book.active.append(row)
    spoil(book)
    book.save(path)
    with pytest.raises(BookError, match=sentence):
        run(path, "--width", "1/2")
    assert [p.name for p in tmp_path.iterdir()] == ["bid.xlsx"]


def test_rows_that_cannot_be_read_are_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(SHEETS / "estimate.xlsx", "--dry-run")
    said = capsys.readouterr().out
    assert "row 7 is left blank: 'see drawing 4' is not a length" in said
    assert "row 8 is left blank: the spreadsheet has turned this length into a date" in said


def test_own_count_that_leaves_too_wide_a_gap_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Run 4: 33 in with 7 balusters of 1/2 in leaves 29.5/8 = 3.6875 in; a gap equal to the limit reaches it."""
    run(SHEETS / "estimate.xlsx", "--dry-run", "--limit", "3 11/16")
    assert "row 6: the gap REACHES THE LIMIT" in capsys.readouterr().out
    run(SHEETS / "estimate.xlsx", "--dry-run")
    assert "REACHES" not in capsys.readouterr().out


def test_gap_that_reads_as_the_limit_on_a_tape_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """142 1/2 in takes 31 balusters of 1/2 in: 127/32 = 3.96875 in, which a tape marked in sixteenths reads as 4."""
    book = openpyxl.Workbook()
    for row in (["Opening (in)", "Baluster width (in)"], [142.5, 0.5], [72, 0.5]):
        book.active.append(row)
    book.save(tmp_path / "bid.xlsx")
    run(tmp_path / "bid.xlsx", "--dry-run")
    said = capsys.readouterr().out
    assert "row 2: the gap REACHES THE LIMIT, or does on a tape" in said
    assert "row 3" not in said


def test_many_rows_share_one_formula_each(tmp_path: Path, office: Office) -> None:
    """A long sheet of two blocks: every row right, stored and recalculated, and the file not swollen."""
    path, out = tmp_path / "long.xlsx", tmp_path / "out.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    for start in (1, 402):
        sheet.append(("Run", "Opening (in)"))
        for row in range(start + 1, start + 401):
            sheet.append((f"R{row}", 20 + row / 16))
    book.save(path)
    run(path, "-o", out, "--width", "1/2", "--columns", "count,gap")
    stored = openpyxl.load_workbook(out, data_only=True).active
    now = office.read(out)["Sheet"]
    assert parts(out)["xl/worksheets/sheet1.xml"].count(b'<f t="shared" ref=') == 2 * 2
    for row in (*range(2, 402), *range(403, 803)):
        count, opening = stored.cell(row, 3).value, 20 + row / 16
        assert (opening - count / 2) / (count + 1) < 4 <= (opening - (count - 1) / 2) / count
        gap = pytest.approx((opening - count / 2) / (count + 1), abs=1e-12)
        assert (now[f"C{row}"], now[f"D{row}"], stored.cell(row, 4).value) == (count, gap, gap)


@pytest.mark.parametrize("opening", [0, -5, 0.5, 0.25])
def test_rows_that_no_rail_can_be_built_from(
    opening: float, tmp_path: Path, office: Office, capsys: pytest.CaptureFixture[str]
) -> None:
    """Said, blank in the file, and blank still when recalculated; right once a sound opening is typed."""
    path, out = tmp_path / "bid.xlsx", tmp_path / "out.xlsx"
    book = openpyxl.Workbook()
    for row in (("Run", "Opening (in)", "Qty"), ("a", opening, 1), ("b", 72, 1)):
        book.active.append(row)
    book.save(path)
    run(path, "-o", out, "--width", "1/2")
    assert "row 2 is left blank: the " in capsys.readouterr().out
    now = office.read(out)["Sheet"]
    assert {now.get(f"{letter}2", "") for letter in "DEFGH"} == {""}
    assert now["D3"] == 16
    assert office.change_and_read(out, {("Sheet", "B2"): 72.0})["Sheet"]["D2"] == 16


def test_target_parity_and_price(bid: Path, office: Office) -> None:
    """72 in clear with 1/2 in balusters, about 3 1/2 in wanted, an odd count: 17 (common practice, no source)."""
    run(bid, "--in-place", "--target", "3 1/2", "--parity", "odd", "--each", "4.35")
    now = office.read(bid)["Balconies"]
    assert now["G4"] == 17
    assert now["H4"] == pytest.approx(63.5 / 18, abs=1e-12)
    assert now["L3"] == "Baluster price"
    assert now["L4"] == pytest.approx(73.95, abs=1e-9)
    stored = openpyxl.load_workbook(bid, data_only=True)["Balconies"]
    assert (stored["G4"].value, stored["L4"].value) == (17, 73.95)
