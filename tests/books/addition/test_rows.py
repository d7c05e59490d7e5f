"""What each row of a bid sheet gets, what stays blank in it, and what is said of it."""

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railfuncs.books.addition.command import add
from tests.office import Office


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


def cells(path: Path, out: Path, *options: str) -> tuple[list[str], dict[int, dict[str, Any]]]:
    """The new headers, and what is stored in each row under those that are not blank."""
    run(path, "-o", str(out), *options)
    old = openpyxl.load_workbook(path).active.max_column
    sheet = openpyxl.load_workbook(out, data_only=True).active
    headers = [str(cell.value) for cell in sheet[1][old:]]
    found = {}
    for row in range(2, sheet.max_row + 1):
        shown = dict(zip(headers, (cell.value for cell in sheet[row][old:]), strict=True))
        found[row] = {header: value for header, value in shown.items() if value not in (None, "")}
    return headers, found


def recalculated(path: Path, out: Path, office: Office, *options: str) -> dict[int, dict[str, Any]]:
    """The same after a spreadsheet has reckoned every formula anew; errors are not blank."""
    run(path, "-o", str(out), *options)
    stored = openpyxl.load_workbook(out).active
    old = openpyxl.load_workbook(path).active.max_column
    now = office.read(out)["Sheet"]
    found: dict[int, dict[str, Any]] = {}
    for row in range(2, stored.max_row + 1):
        shown = {
            str(stored[1][c].value): now.get(f"{stored[1][c].column_letter}{row}", "")
            for c in range(old, stored.max_column)
        }
        found[row] = {header: value for header, value in shown.items() if value != ""}
    return found


CUT = ("--width", "1/2", "--mortise", "1/2")


@pytest.mark.parametrize("columns", ["count,gap,cut", "cut"])
def test_no_cut_length_where_no_rail_can_be_built(tmp_path: Path, office: Office, columns: str) -> None:
    """34 in clear and two mortises of 1/2 in: 35 in, but not for openings of nothing or as wide as a baluster."""
    heights = [("b", 0, 34), ("c", -5, 34), ("d", 0.5, 34), ("e", "6'-0\"", 34), ("f", 72, None)]
    path = bid(tmp_path, ("Run", "Opening (in)", "Clear height"), ("a", 72, 34), *heights)
    _, values = cells(path, tmp_path / "values.xlsx", *CUT, "--columns", columns, "--as", "values")
    cuts = {row: shown["Cut length (in)"] for row, shown in values.items() if "Cut length (in)" in shown}
    assert cuts == {2: 35, 6: 35}
    _, stored = cells(path, tmp_path / "out.xlsx", *CUT, "--columns", columns)
    now = recalculated(path, tmp_path / "now.xlsx", office, *CUT, "--columns", columns)
    assert stored == values
    assert now == {row: pytest.approx(shown) for row, shown in values.items()}


def test_no_cut_length_where_the_sheets_own_count_does_not_fit(tmp_path: Path, office: Office) -> None:
    """144 balusters of 1/2 in fill 72 in to the last; a blank count keeps no cut length back, an opening of nothing does."""
    rows = [("a", 72, 143, 34), ("b", 72, 144, 34), ("c", 72, None, 34), ("d", 0, None, 34), ("e", -5, 3, 34)]
    path = bid(tmp_path, ("Run", "Opening (in)", "No. of balusters", "Clear height"), *rows)
    _, values = cells(path, tmp_path / "values.xlsx", *CUT, "--as", "values")
    assert [row for row, shown in values.items() if "Cut length (in)" in shown] == [2, 4]
    assert cells(path, tmp_path / "out.xlsx", *CUT)[1] == values
    now = recalculated(path, tmp_path / "now.xlsx", office, *CUT)
    assert now == {row: pytest.approx(shown) for row, shown in values.items()}
    changed = office.change_and_read(tmp_path / "now.xlsx", {("Sheet", "B2"): "see plan", ("Sheet", "B3"): 80.0})
    letter = "EFGH"[cells(path, tmp_path / "again.xlsx", *CUT)[0].index("Cut length (in)")]
    assert (changed["Sheet"].get(f"{letter}2", ""), changed["Sheet"][f"{letter}3"]) == ("", 35)


def said(path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    """The account's lines on rows."""
    run(path, "--dry-run", *options)
    return [line.strip() for line in capsys.readouterr().out.splitlines() if line.strip().startswith("row ")]


@pytest.mark.parametrize("form", ["formulas", "values"])
def test_the_columns_that_stay_blank_are_named(tmp_path: Path, capsys: pytest.CaptureFixture[str], form: str) -> None:
    rows = [("a", 72, 34), ("b", 72, 0), ("c", 0, 34), ("d", 0, None), ("e", "see plan", 34), ("Total", 216)]
    path = bid(tmp_path, ("Run", "Opening (in)", "Clear height"), *rows)
    assert said(path, capsys, *CUT, "--as", form, "--columns", "count,gap,cut") == [
        "row 3 leaves Cut length (in) blank: the clear height must be more than zero",
        "row 4 is left blank: the opening must be more than zero",
        "row 5 leaves Cut length (in) blank: Clear height is blank",
        "row 5 leaves Balusters, Gap (in) blank: the opening must be more than zero",
        "row 6 is left blank: 'see plan' is not a length; write it like 63 1/2, 5' 3-1/2\" or 1600 mm",
    ]


def test_a_count_that_does_not_fit_is_said_of_the_columns_that_rest_on_the_gap(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = bid(tmp_path, ("Opening (in)", "No. of balusters", "Qty"), (72, 17, 2), (72, 144, 2))
    why = "that many balusters do not fit in the opening"
    assert said(path, capsys, "--width", "1/2") == [f"row 3 leaves Gap (in), On center (in), Gap on tape blank: {why}"]
    assert said(path, capsys, "--width", "1/2", "--columns", "pieces") == [f"row 3 wants a look: {why}"]


def test_one_opening_is_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(bid(tmp_path, ("Run", "Opening (in)"), ("a", 72)), "--width", "1/2", "--dry-run")
    assert capsys.readouterr().out.startswith("Sheet Sheet: headers in row 1, 1 opening in row 2\n")


FAULTY = [
    (72, 17, 1, 34), (72, "17 ea", 1, 34), (72, 1.5, 1, 34), (72, -1, 2, 34), (72, " ", 1, 34), (72, 17, "2 ea", 34),
    (72, 17, 1.5, 34), (72, 17, -1, 34), (72, 17, 1, "tall"), (72, 17, 1, -34), (72, "17 ea", "2 ea", "tall"),
    (0, "17 ea", 1, 34), (72, 17, "2 ea", None),
]  # fmt: skip


def test_a_faulty_cell_keeps_back_only_the_columns_that_rest_on_it(
    tmp_path: Path, office: Office, capsys: pytest.CaptureFixture[str]
) -> None:
    """17 balusters of 1/2 in in 72 in leave 63.5/18 in; as values, as stored with formulas, and recalculated."""
    path = bid(tmp_path, ("Opening (in)", "No. of balusters", "Qty", "Clear height"), *FAULTY)
    wanted = (*CUT, "--columns", "gap,cut,pieces,price", "--each", "2")
    _, values = cells(path, tmp_path / "values.xlsx", *wanted, "--as", "values")
    gap, cut, pieces, price = [*values[2]]
    full = {gap: pytest.approx(63.5 / 18), cut: 35, pieces: 17, price: 34}
    rests = {gap: full[gap], cut: 35}
    assert values == {
        2: full, 3: {cut: 35}, 4: {cut: 35}, 5: {cut: 35}, 6: {cut: 35}, 7: rests, 8: rests, 9: rests,
        10: {gap: full[gap], pieces: 17, price: 34}, 11: {gap: full[gap], pieces: 17, price: 34}, 12: {}, 13: {},
        14: {gap: full[gap]},
    }  # fmt: skip
    assert cells(path, tmp_path / "out.xlsx", *wanted)[1] == values
    now = recalculated(path, tmp_path / "now.xlsx", office, *wanted)
    assert now == {row: pytest.approx(shown) for row, shown in values.items()}
    capsys.readouterr()
    counted, number = f"{gap}, {pieces}, {price}", "is not a whole number"
    a_length = "is not a length; write it like 63 1/2, 5' 3-1/2\" or 1600 mm"
    assert said(path, capsys, *wanted) == [
        f"row 3 leaves {counted} blank: No. of balusters: 17 ea {number}",
        f"row 4 leaves {counted} blank: No. of balusters: 3/2 {number}",
        f"row 5 leaves {counted} blank: No. of balusters: -1 {number}",
        f"row 6 leaves {counted} blank: No. of balusters is blank",
        f"row 7 leaves {pieces}, {price} blank: Qty: 2 ea {number}",
        f"row 8 leaves {pieces}, {price} blank: Qty: 3/2 {number}",
        f"row 9 leaves {pieces}, {price} blank: Qty: -1 {number}",
        f"row 10 leaves {cut} blank: Clear height: 'tall' {a_length}",
        f"row 11 leaves {cut} blank: the clear height must be more than zero",
        f"row 12 leaves {counted} blank: No. of balusters: 17 ea {number}",
        f"row 12 leaves {pieces}, {price} blank: Qty: 2 ea {number}",
        f"row 12 leaves {cut} blank: Clear height: 'tall' {a_length}",
        f"row 13 leaves {counted} blank: No. of balusters: 17 ea {number}",
        f"row 13 leaves {cut} blank: the opening must be more than zero",
        f"row 14 leaves {pieces}, {price} blank: Qty: 2 ea {number}",
        f"row 14 leaves {cut} blank: Clear height is blank",
    ]


def test_the_gap_on_tape_stands_without_the_gap(tmp_path: Path, office: Office) -> None:
    """72 in with 17 balusters of 1/2 in: 63.5/18 in, 3 1/2 in on a tape; blank for no count, or one that does not fit."""
    rows = [(72, 17), ("6'-0\"", 17), (72, None), (72, 144)]
    path = bid(tmp_path, ("Opening (in)", "No. of balusters"), *rows)
    wanted = ("--width", "1/2", "--columns", "tape")
    expected = {2: {"Gap on tape": 3.5}, 3: {"Gap on tape": 3.5}, 4: {}, 5: {}}
    assert cells(path, tmp_path / "out.xlsx", *wanted)[1] == expected
    assert recalculated(path, tmp_path / "now.xlsx", office, *wanted) == expected
    path = bid(tmp_path, ("Run", "Opening (in)"), ("a", 72), ("b", "6'-0\""), ("c", 0))
    expected = {row: {"Balusters": 16, "Gap on tape": 3.75} for row in (2, 3)} | {4: {}}
    assert cells(path, tmp_path / "out2.xlsx", *wanted)[1] == expected
    assert recalculated(path, tmp_path / "now2.xlsx", office, *wanted) == expected
