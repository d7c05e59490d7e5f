"""Six bid sheets of our own, each checked cell by cell after a real spreadsheet has recalculated it."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import column_index_from_string, get_column_letter

from railfuncs.books.addition.command import add
from tests.office import Office

# What openpyxl says of the very things that are kept here.
pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")

SHEETS = Path(__file__).parent / "sheets"


def run(args: list[str]) -> None:
    """The command as from the command line, errors raised."""
    add.main(args, standalone_mode=False)


@dataclass(frozen=True)
class Opening:
    """One row as a person reads it: lengths in the sheet's working unit, worked out by hand in the tables below."""

    row: int
    opening: F
    width: F
    pieces: int | None = None
    height: F | None = None
    count: int | None = None  # the sheet's own


@dataclass(frozen=True)
class Case:
    """A bid sheet, the options given, and where each column is expected."""

    file: str
    options: tuple[str, ...]
    openings: dict[str, list[Opening]]
    columns: dict[str, str]
    header_rows: dict[str, tuple[int, ...]]
    limit: F = F(4)
    step: F = F(1, 16)
    headers: dict[str, str] = field(default_factory=dict)


IN = {"count": "Balusters", "gap": "Gap (in)", "oc": "On center (in)", "tape": "Gap on tape"}
MM = {"count": "Balusters", "gap": "Gap (mm)", "oc": "On center (mm)", "tape": "Gap on tape", "cut": "Cut length (mm)"}
HALF = F(1, 2)
CASES = [
    Case(
        "balconies.xlsx", (),
        {"Balconies": [
            Opening(4, F(72), HALF, 1), Opening(5, F(60), F(5, 8), 2), Opening(6, F(81, 2), HALF, 4),
            Opening(7, F(529, 16), HALF, 1),
        ]},
        {"count": "G", "gap": "H", "oc": "I", "tape": "J", "pieces": "K"}, {"Balconies": (3,)},
        headers={**IN, "pieces": "Pieces"},
    ),
    Case(
        "flights.xlsx", ("--width", "1/2"),
        {"Landings": [
            Opening(5, F(72), HALF, 2), Opening(6, F(63), HALF, 2), Opening(8, F(127, 2), HALF, 2),
            Opening(9, F(54), HALF, 2), Opening(15, F(96), HALF, 2), Opening(16, F(193, 2), HALF, 2),
            Opening(17, F(45), HALF, 2),
        ]},
        {"count": "D", "gap": "E", "oc": "F", "tape": "G", "pieces": "H"}, {"Landings": (4, 14)},
        headers={**IN, "pieces": "Pieces"},
    ),
    Case(
        "options.xlsx", (),
        {"Options": [
            Opening(5, F(193, 2), F(3, 4), 1), Opening(6, F(80), F(3, 4), 3), Opening(7, F(411, 8), HALF, 2),
        ]},
        {"count": "G", "gap": "H", "oc": "I", "tape": "J", "pieces": "K"}, {"Options": (4,)},
        headers={**IN, "pieces": "Pieces"},
    ),
    Case(
        "site.xlsx", ("--sheet", "Ground", "--sheet", "Upper", "--mortise", "10 mm", "--play", "2 mm"),
        {
            "Ground": [
                Opening(3, F(1600), F(19), height=F(860)), Opening(4, F(2415), F(19), height=F(862)),
                Opening(5, F(1811, 2), F(16), height=F(860)),
            ],
            "Upper": [
                Opening(3, F(3000), F(20), height=F(900)), Opening(4, F(1100), F(20), height=F(901)),
            ],
        },
        {"count": "F", "gap": "G", "oc": "H", "tape": "I", "cut": "J"}, {"Ground": (2,), "Upper": (2,)},
        limit=F(508, 5), step=F(1), headers=MM,
    ),
    Case(
        "estimate.xlsx", (),
        {"Estimate": [
            Opening(3, F(127, 2), HALF, count=14), Opening(4, F(48), HALF, count=11),
            Opening(5, F(509, 4), HALF, count=31), Opening(6, F(33), HALF, count=7),
        ]},
        {"gap": "J", "oc": "K", "tape": "L"}, {"Estimate": (2,)}, headers={k: IN[k] for k in ("gap", "oc", "tape")},
    ),
    Case(
        "plain.xlsx", ("--width", "1/2", "--mortise", "1/2"),
        {"Bid & more": [
            Opening(2, F(120), HALF, height=F(69, 2)), Opening(3, F(353, 4), HALF, height=F(35)),
            Opening(4, F(127, 2), HALF, height=F(137, 4)),
        ]},
        {"count": "D", "gap": "E", "oc": "F", "tape": "G", "cut": "H"}, {"Bid & more": (1,)},
        headers={**IN, "cut": "Cut length (in)"},
    ),
]  # fmt: skip


def expected(case: Case, opening: Opening) -> dict[str, F]:
    """The new cells of a row, worked out the long way: by trying one count after the other."""
    count = opening.count
    if count is None:
        count = 0
        while (opening.opening - count * opening.width) / (count + 1) >= case.limit:
            count += 1
    gap = (opening.opening - count * opening.width) / (count + 1)
    marks = [case.step * k for k in range(int(gap / case.step), int(gap / case.step) + 2)]
    nearest = marks[1] if marks[1] - gap <= gap - marks[0] else marks[0]
    made = {"count": F(count), "gap": gap, "oc": gap + opening.width, "tape": nearest}
    if opening.pieces is not None:
        made["pieces"] = F(count * opening.pieces)
    if opening.height is not None:
        made["cut"] = opening.height + (F(18) if case.step == 1 else F(1))
    return {key: value for key, value in made.items() if key in case.columns}


def new_cells(case: Case) -> Iterator[tuple[str, str, Any]]:
    for sheet, openings in case.openings.items():
        for row in case.header_rows[sheet]:
            for key, letter in case.columns.items():
                yield sheet, f"{letter}{row}", case.headers[key]
        for opening in openings:
            for key, value in expected(case, opening).items():
                yield sheet, f"{case.columns[key]}{opening.row}", value


@pytest.mark.parametrize("form", ["formulas", "values"])
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_every_cell_after_recalculation(case: Case, form: str, tmp_path: Path, office: Office) -> None:
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / case.file), "-o", str(out), "--as", form, *case.options])
    now, before = office.read(out), office.read(SHEETS / case.file)
    added = {(sheet, address): value for sheet, address, value in new_cells(case)}
    for (sheet, address), value in added.items():
        got = now[sheet][address]
        if isinstance(value, str):
            assert got == value, f"{sheet}!{address}"
        else:
            assert got == pytest.approx(float(value), abs=1e-9), f"{sheet}!{address}"
    others = {(s, a): v for s, cells in now.items() for a, v in cells.items() if (s, a) not in added and v != ""}
    assert others == {(s, a): v for s, cells in before.items() for a, v in cells.items()}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_stored_values_and_formulas(case: Case, tmp_path: Path) -> None:
    """What a viewer that computes nothing shows, as openpyxl reads it."""
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / case.file), "-o", str(out), *case.options])
    stored = openpyxl.load_workbook(out, data_only=True)
    live = openpyxl.load_workbook(out)
    for sheet, address, value in new_cells(case):
        shown = stored[sheet][address].value
        if isinstance(value, str):
            assert shown == value
        else:
            assert shown == pytest.approx(float(value), abs=1e-12), f"{sheet}!{address}"
            assert str(live[sheet][address].value).startswith("=")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_changes_follow(case: Case, tmp_path: Path, office: Office) -> None:
    """An opening typed anew in the spreadsheet: its row follows."""
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / case.file), "-o", str(out), *case.options])
    source = {"balconies": "B", "flights": "B", "options": "C", "site": "B", "estimate": "D", "plain": "B"}
    letter = source[case.file.removesuffix(".xlsx")]
    sheet, openings = next(iter(case.openings.items()))
    first = openings[0]
    longer = first.opening + 7
    typed = longer / 12 if case.file == "flights.xlsx" else longer
    now = office.change_and_read(out, {(sheet, f"{letter}{first.row}"): float(typed)})
    row = Opening(first.row, longer, first.width, first.pieces, first.height, first.count)
    for key, value in expected(case, row).items():
        assert now[sheet][f"{case.columns[key]}{row.row}"] == pytest.approx(float(value), abs=1e-9), key


def test_neighbours_are_copied_and_formats_are_not(tmp_path: Path) -> None:
    """The new columns wear the neighbour's font, border and fill, but not its percent format."""
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / "balconies.xlsx"), "-o", str(out)])
    sheet = openpyxl.load_workbook(out)["Balconies"]
    for row in (3, 4):
        for column in range(7, 12):
            new, look = sheet.cell(row, column), sheet.cell(row, 6)
            for part in ("fontId", "borderId", "fillId"):
                assert getattr(new._style, part) == getattr(look._style, part)
    assert [sheet.cell(4, column).number_format for column in range(6, 12)] == [
        "0%", "0", "0.000", "0.000", "# ??/??", "0",
    ]  # fmt: skip
    assert sheet.auto_filter.ref == "A3:K7"
    assert sheet.print_area == "'Balconies'!$A$1:$K$7"
    assert all(sheet.column_dimensions[get_column_letter(c)].width >= 9 for c in range(7, 12))


def test_table_is_joined(tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / "options.xlsx"), "-o", str(out)])
    sheet = openpyxl.load_workbook(out)["Options"]
    table = sheet.tables["Guards"]
    assert (table.ref, table.autoFilter.ref) == ("B4:K8", "B4:K7")
    assert [c.name for c in table.tableColumns] == [cell.value for cell in sheet["B4:K4"][0]]
    assert len({c.id for c in table.tableColumns}) == len(table.tableColumns) == column_index_from_string("J")
    for column in table.tableColumns[5:]:
        assert "Guards[[#This Row],[" in column.calculatedColumnFormula.attr_text


def test_functions(tmp_path: Path) -> None:
    """As worksheet functions for Excel: the functions' names and arguments, the same stored values."""
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / "balconies.xlsx"), "-o", str(out), "--as", "functions"])
    sheet = openpyxl.load_workbook(out)["Balconies"]
    assert sheet["G4"].value == '=IF(AND(ISNUMBER(B4),ISNUMBER(C4)),RAIL_COUNT(B4,C4,4,0,"any"),"")'
    assert sheet["H4"].value.endswith('RAIL_GAP(B4,C4,G4),"")')
    assert openpyxl.load_workbook(out, data_only=True)["Balconies"]["G4"].value == 16


def test_functions_as_calc_spells_them(tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    run([str(SHEETS / "balconies.xlsx"), "-o", str(out), "--as", "functions", "--host", "calc"])
    assert "RAIL.COUNT(B4," in openpyxl.load_workbook(out)["Balconies"]["G4"].value
