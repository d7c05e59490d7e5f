"""Finding the openings: what headers mean, which sheet is meant, and which rows stay blank and why."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railfuncs.books.addition.command import add
from railfuncs.books.addition.find import meaning, unit_of
from railfuncs.errors import BookError

GUARDS = (("Run", "Opening (in)", "Bal. size"), ("Loft", 72, 0.5), ("Hall", 60, 0.5))
ROOMS = (("Room", "Length", "Finish"), ("Den", 12, "oak"), ("Attic", 14, "pine"))


def bid(folder: Path, **sheets: Sequence[Sequence[Any]]) -> Path:
    """A workbook of these sheets."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(folder / "bid.xlsx")
    return folder / "bid.xlsx"


def run(path: Path, *options: str) -> Any:
    """The workbook that is written, as a viewer that computes nothing shows it."""
    out = path.with_name("out.xlsx")
    add.main([str(path), "-o", str(out), *options], standalone_mode=False)
    return openpyxl.load_workbook(out, data_only=True)


def said(path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    add.main([str(path), "--dry-run", *options], standalone_mode=False)
    return capsys.readouterr().out.splitlines()


LINEAR = ["LF", "L.F.", "l f", "LFT", "Lin Ft", "Lin. Ft.", "(LF)", "Linear feet", "Lineal\nft", "LF:"]


@pytest.mark.parametrize("header", LINEAR)
def test_linear_feet_are_an_opening_in_feet(header: str) -> None:
    assert (meaning(header), unit_of(header)) == (("opening", 6), "ft")


@pytest.mark.parametrize(
    "header",
    ["$/LF", "Price per LF", "Cost/LF", "LF price", "45 LF", "Total LF", "Rail LF", "Wall rail L.F.", "Base lin ft",
     "Balusters per LF", "Balusters/LF", "Qty LF", "Qty (lin. ft)", "Level F", "L/F"],
)  # fmt: skip
def test_feet_of_something_else_are_neither_openings_nor_numbers_of_runs(header: str) -> None:
    assert meaning(header) is None


@pytest.mark.parametrize(
    ("header", "unit"),
    [("Opening L.F.", "ft"), ("Opening (lin. ft)", "ft"), ("Lin. ft. of rail", "ft"), ("Length LF", "ft"),
     ("Clear opening (in)", "in"), ("Opening", None), ("Opening L/F", None), ("Opening, level F", None)],
)  # fmt: skip
def test_the_unit_that_a_header_names(header: str, unit: str | None) -> None:
    assert unit_of(header) == unit


@pytest.mark.parametrize("text", ["6'-0\" clear", "~72 clear", "12 runs", "63 1/2 opening", "17 balusters"])
def test_a_measure_is_no_header_whatever_words_stand_beside_it(text: str) -> None:
    assert meaning(text) is None


@pytest.mark.parametrize("header", ["2nd floor opening", "1. Opening", "2) Opening", "Opening 1"])
def test_a_header_may_be_numbered(header: str) -> None:
    assert meaning(header) == ("opening", 2)


def test_a_measure_with_a_word_beside_it_does_not_start_another_block(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = bid(tmp_path, Bid=[*GUARDS, ("Porch", "6'-0\" clear", 0.5), ("Deck", 72, 0.5)])
    lines = said(path, capsys)
    assert lines[0] == "Sheet Bid: headers in row 1, 3 openings in rows 2 to 5"
    assert [line for line in lines if line.startswith("  row 4 is left blank: '6'-0\" clear' is not a length")]


def test_linear_feet_are_counted_in_feet_and_the_person_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """6 ft clear takes 16 balusters of 1/2 in (gaps of 64/17 in); 15 would leave 64.5/16 = 4.03 in."""
    path = bid(tmp_path, Bid=[("Run", "LF", "$/LF"), ("a", 6, 30), ("b", 5, 30)])
    sheet = run(path, "--width", "1/2", "--columns", "count")["Bid"]
    assert (sheet["D1"].value, sheet["D2"].value) == ("Balusters", 16)
    told = [line for line in capsys.readouterr().out.splitlines() if "is taken as the clear opening" in line]
    assert len(told) == 1
    assert told[0].startswith("  column B 'LF' is taken as the clear opening of one run, in feet")


def test_a_sheet_that_says_opening_is_not_warned_about(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An opening beside linear feet is the opening, and a run's name beside linear feet is none."""
    lines = said(bid(tmp_path, Bid=[("LF", "Opening (in)"), (6, 72)]), capsys, "--width", "1/2")
    assert any(line.startswith("  opening  column B") for line in lines)
    assert not any("is taken as the clear opening" in line for line in lines)
    lines = said(bid(tmp_path, Bid=[("Run", "LF"), ("a", 6)]), capsys, "--width", "1/2")
    assert any(line.startswith("  opening  column B") for line in lines)


def test_a_column_of_units_is_no_header(tmp_path: Path) -> None:
    path = bid(tmp_path, Bid=[("Item", "Amount", "Unit"), ("Guard", 40, "LF"), ("Newel", 6, "ea"), ("Shoe", 40, "LF")])
    with pytest.raises(BookError, match="no column of openings was found"):
        run(path, "--width", "1/2")


@pytest.mark.parametrize(
    ("headers", "count"),
    [(("LF", "L.F."), 192), (("Opening ft", "Opening in"), 16), (("Opening top", "Opening bottom"), 16)],
)
def test_two_columns_that_may_each_be_the_opening_are_asked_about(
    tmp_path: Path, headers: tuple[str, str], count: int
) -> None:
    """Asked, then told which: 72 ft takes 192 balusters of 1/2 in (768/193 in; 191 leave 768.5/192), 72 in takes 16."""
    path = bid(tmp_path, Bid=[("Run", *headers), ("a", 6, 72), ("b", 5, 60)])
    with pytest.raises(BookError, match=r"sheet Bid row 1: '.+' in column B and '.+' in column C may each be") as asked:
        run(path, "--width", "1/2")
    assert "\n" not in str(asked.value)
    assert not path.with_name("out.xlsx").exists()
    sheet = run(path, "--width", "1/2", "--opening", "C", "--unit", "in", "--columns", "count")["Bid"]
    assert sheet["D2"].value == count


def test_of_two_such_columns_the_one_with_lengths_is_taken(tmp_path: Path) -> None:
    path = bid(tmp_path, Bid=[("Opening", "Opening (in)"), ("north", 72), ("south", 60)])
    assert run(path, "--width", "1/2", "--columns", "count")["Bid"]["C2"].value == 16


def test_a_stray_sheet_is_passed_over_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bid(tmp_path, Rooms=ROOMS, Bid=GUARDS, Notes=[("Nothing", "here")])
    book = run(path, "--columns", "count")
    assert [row[3].value for row in book["Bid"].iter_rows()] == ["Balusters", 16, 13]
    assert {cell.value for row in book["Rooms"]["D1:H9"] for cell in row} == {None}
    lines = [line for line in capsys.readouterr().out.splitlines() if line.startswith("Passed over")]
    assert len(lines) == 1
    assert lines[0].startswith("Passed over sheet Rooms: no column of baluster widths was found")


def test_a_stray_sheet_that_cannot_be_edited_is_passed_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bid(tmp_path, Old=GUARDS, Twice=[("LF", "LF"), (6, 6)], Bid=GUARDS)
    book = openpyxl.load_workbook(path)
    book["Old"].protection.sheet = True
    book.save(path)
    lines = [line for line in said(path, capsys) if line.startswith("Passed over")]
    assert [line.partition(",")[0] for line in lines] == [
        "Passed over sheet Old: is protected; take the protection off",
        "Passed over sheet Twice: row 1: 'LF' in column A and 'LF' in column B may each be the opening; say which with"
        " --opening",
    ]


def test_several_sheets_of_openings_are_asked_about(tmp_path: Path) -> None:
    path = bid(tmp_path, Ground=GUARDS, Rooms=ROOMS, Upper=GUARDS[:2])
    with pytest.raises(BookError) as asked:
        run(path, "--columns", "count")
    assert str(asked.value) == (
        "openings were found on 2 sheets, Ground (column B 'Opening (in)', 2 rows), Upper (column B 'Opening (in)',"
        " 1 row); say which to fill in with --sheet NAME, once for each"
    )
    assert not path.with_name("out.xlsx").exists()
    book = run(path, "--columns", "count", "--sheet", "Ground", "--sheet", "upper")
    assert [book[title]["D2"].value for title in ("Ground", "Upper")] == [16, 16]


def test_hidden_sheets_are_not_asked_about(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bid(tmp_path, Last=GUARDS, Bid=GUARDS)
    book = openpyxl.load_workbook(path)
    book["Last"].sheet_state = "hidden"
    book.save(path)
    assert said(path, capsys)[0].startswith("Sheet Bid: headers in row 1")


def test_where_no_sheet_can_be_filled_in_one_sentence_says_why(tmp_path: Path) -> None:
    taken = [("Run", "Opening (in)", "Bal. size", "Gap (in)"), GUARDS[1]]
    with pytest.raises(BookError) as refused:
        run(bid(tmp_path, Bid=taken, Rooms=ROOMS, Base=ROOMS))
    assert str(refused.value) == (
        "3 sheets look like openings, and none can be filled in; sheet Bid row 1 already has a column named Gap (in); to"
        " hear of the others (Rooms, Base), name one with --sheet"
    )
    with pytest.raises(BookError, match="sheets Rooms, Base: no column of baluster widths was found; give the width"):
        run(bid(tmp_path, Rooms=ROOMS, Base=ROOMS))
    with pytest.raises(BookError, match="sheet Rooms: no column of baluster widths was found; give the width"):
        run(bid(tmp_path, Rooms=ROOMS, Notes=[("Nothing", "here")]))
    with pytest.raises(BookError, match="sheets Ground, Upper: a price needs what one baluster costs"):
        run(bid(tmp_path, Ground=GUARDS, Upper=GUARDS), "--columns", "price")


@pytest.mark.parametrize("form", ["formulas", "values"])
def test_rows_that_stay_blank_are_named_with_what_they_want(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    rows = [
        ("Run", "Opening (in)", "No. of balusters", "Qty", "Clear height"),
        ("a", 72, 17, 1, 34),
        ("b", 72, None, 1, 34),
        ("c", 72, 17, None, 34),
        ("d", 72, 17, 1, None),
        ("e", None, 17, 1, 34),
        ("Subtotal", None, 68, 4),
        ("Upper floor",),
        ("f", 72, None, 1, None),
        ("g", 60, 14, 2, 34),
        ("Spare", None, 17, None, 34),
        ("Total", None, 65, 6),
        (), (), (), (), (),
        ("h", 48, 12, 1, 34),
        ("Total", 48, 12, 1),
    ]  # fmt: skip
    path = bid(tmp_path, Bid=rows)
    told = said(path, capsys, "--width", "1/2", "--mortise", "3/4", "--as", form)
    assert [line for line in told if " left blank" in line] == [
        "  row 3: Gap (in), On center (in), Gap on tape, Pieces left blank for want of 'No. of balusters'",
        "  row 4: Pieces left blank for want of 'Qty'",
        "  row 5: Cut length (in) left blank for want of 'Clear height'",
        "  row 9: Gap (in), On center (in), Gap on tape, Cut length (in), Pieces left blank for want of 'Clear height',"
        " 'No. of balusters'",
        "  row 6: left blank for want of 'Opening (in)'",
        "  row 18: left blank, as more than 3 blank rows part such rows from the others",
    ]
    told = said(path, capsys, "--width", "1/2", "--mortise", "3/4", "--as", form, "--columns", "cut")
    assert "  rows 5, 9: Cut length (in) left blank for want of 'Clear height'" in told
    sheet = run(path, "--width", "1/2", "--mortise", "3/4", "--as", form)["Bid"]
    blank = {
        row: [c.column_letter for c in sheet[row][5:10] if c.value in (None, "")] for row in (2, 3, 4, 5, 6, 10, 18)
    }
    everything = ["F", "G", "H", "I", "J"]
    assert [cell.value for cell in sheet[1][5:10]] == [
        "Gap (in)", "On center (in)", "Gap on tape", "Cut length (in)", "Pieces",
    ]  # fmt: skip
    assert blank == {2: [], 3: ["F", "G", "H", "J"], 4: ["J"], 5: ["I"], 6: everything, 10: [], 18: everything}


def test_one_opening_is_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bid(tmp_path, Bid=[("Run", "Opening (in)"), ("a", 72)])
    assert not [line for line in said(path, capsys, "--width", "1/2") if "blank" in line]
    assert run(path, "--width", "1/2")["Bid"]["C2"].value == 16
