"""Every function of the catalogue in a real LibreOffice Calc, compared with Python."""

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railfuncs.catalogue import Function, functions
from railfuncs.errors import RailError
from railfuncs.hosts.calc import file_name
from railfuncs.hosts.examples import example_calls, typed
from railfuncs.hosts.in_calc import described
from railfuncs.hosts.values import as_rows, help_text
from tests.checks import rows as checks
from tests.office import CellError, Office

REFUSED = CellError(503)  # shown as #NUM!
NO_SUCH_NAME = CellError(525)  # shown as #NAME?
ADD_IN = 11  # the wizard's category

ENTRIES = list(functions().values())
LISTS = ("lengths", "counts", "anything", "lengths_or_blank", "amounts_or_blank")
# One call of these gives or takes a whole column; the documented examples try them so.
WHOLE = [entry for entry in ENTRIES if entry.returns_list or entry.arguments[0].takes_range]


def in_python(entry: Function, arguments: Any) -> Any:
    """What the cell must show, by the exact path of the catalogue."""
    try:
        result = entry(*arguments)
    except RailError:
        return REFUSED
    return "" if result is None else result


def same(shown: Any, wanted: Any) -> bool:
    """Whether a cell shows what Python gives; a blank as an empty text."""
    wanted = "" if wanted is None else wanted
    if isinstance(wanted, str | CellError):
        return bool(shown == wanted)
    return isinstance(shown, float) and abs(Fraction(shown) - Fraction(wanted)) < Fraction(1, 10**9)


def column(result: Any) -> list[Any]:
    return result if isinstance(result, list) else [result]


def test_every_function_is_in_the_wizard_with_its_help(calc: Office) -> None:
    told = {name: told for name, told in calc.function_help().items() if name.startswith("RAIL_")}
    assert set(told) == set(functions())
    for entry in ENTRIES:
        category, text, arguments = told[entry.name]
        assert category == ADD_IN
        assert text == described(entry)
        assert arguments == [(a.name, help_text(a), a.default is not None) for a in entry.arguments]


def test_every_documented_example(calc: Office) -> None:
    """Typed with constants, and with the same values in cells: all of the catalogue, counted."""
    tried = set()
    for entry in ENTRIES:
        for arguments in example_calls(entry):
            tried.add(entry.name)
            wanted = as_rows(in_python(entry, arguments))
            constants = typed(entry.name, arguments)
            cells, addresses = put(arguments)
            for formula, filled in ((constants, {}), (f"={entry.name}({','.join(addresses)})", cells)):
                shown = calc.evaluate_array(formula, len(wanted), len(wanted[0]), filled)
                alike = [all(map(same, *rows)) for rows in zip(shown, wanted, strict=True)]
                assert all(alike), f"{formula} shows {shown}, not {wanted}"
                assert same(calc.evaluate([formula], filled)[0], wanted[0][0])
    assert tried == set(functions())
    assert len(tried) >= 45


def put(arguments: tuple[Any, ...]) -> tuple[dict[str, Any], list[str]]:
    """Arguments in cells, one a column; a list down its column."""
    cells, addresses = {}, []
    for letter, argument in zip("ABCDEFGH", arguments, strict=False):
        values = column(argument)
        cells.update({f"{letter}{row}": value for row, value in enumerate(values, start=1)})
        addresses.append(f"{letter}1:{letter}{len(values)}" if isinstance(argument, list) else f"{letter}1")
    return cells, addresses


def test_every_function_over_a_column(calc: Office) -> None:
    """A good row, a blank one, an unreadable one and the first as text, in one array call."""
    tried = set()
    for entry in ENTRIES:
        if entry in WHOLE:
            continue
        arguments = example_calls(entry)[0]
        # A range handed on as it is would be one value, the same for each row.
        spread = [not a.takes_range for a in entry.arguments[: len(arguments)]]
        is_length = entry.arguments[0].kind == "length"
        first = f"{float(Fraction(arguments[0]))!r} in" if is_length else arguments[0]
        table = [
            arguments,
            tuple(None if s else a for a, s in zip(arguments, spread, strict=True)),
            ("sideways", *arguments[1:]),
            (first, *arguments[1:]),
        ]
        cells = {
            f"{letter}{row}": value
            for row, values in enumerate(table, start=1)
            for letter, value, s in zip("ABCDEFGH", values, spread, strict=False)
            if value is not None and (s or row == 1)
        }
        ranges = [f"{c}1:{c}4" if s else f"{c}1" for c, s in zip("ABCDEFGH", spread, strict=False)]
        formula = f"={entry.name}({','.join(ranges)})"
        wanted = [in_python(entry, row) for row in table]
        assert wanted[1:3] == ["", REFUSED]
        shown = [row[0] for row in calc.evaluate_array(formula, 4, 1, cells)]
        assert all(map(same, shown, wanted)), f"{formula} shows {shown}, not {wanted}"
        tried.add(entry.name)
    assert tried == {entry.name for entry in ENTRIES if entry not in WHOLE}


def test_columns_are_refused_where_one_call_gives_a_column(calc: Office) -> None:
    cells = {"A1": 12, "A2": 24}
    assert calc.evaluate_array("=RAIL_MARKS(A1:A2,1,3)", 2, 1, cells)[0] == [REFUSED]
    assert "single cells" in str(calc.evaluate(['=RAIL_WHY("RAIL_MARKS",A1:A2,1,3)'], cells)[0])


def test_every_row_of_the_check_tables(calc: Office) -> None:
    formulas, wanted = [], []
    for check in checks():
        formulas.append(typed(check.function, check.arguments))
        required = [a.default is None for a in functions()[check.function].arguments]
        # A single zero that is refused may be a blank cell, and shows as one.
        zero = any(value == 0 and needed for value, needed in zip(check.arguments, required, strict=False))
        wanted.append(check.expected if check.expected is not None else "" if zero else REFUSED)
    for check, formula, shown, want in zip(checks(), formulas, calc.evaluate(formulas), wanted, strict=True):
        within = isinstance(want, Fraction) and isinstance(shown, float)
        close = within and abs(Fraction(shown) - want) <= check.tolerance + Fraction(1, 10**9)
        assert close or same(shown, want), f"{check.where}: {formula} shows {shown}, not {want}"


def test_blank_cells_and_left_out_values(calc: Office) -> None:
    cells = {"A1": 72, "B1": 0.5, "C1": 17, "B2": 0.5, "D1": " "}
    assert calc.evaluate(
        ["=RAIL_GAP(A2,B2,C2)", "=RAIL_GAP(A2:A2,B1,C1)", "=RAIL_GAP(D1,B1,C1)", "=RAIL_GAP(A1,B1,C2:C2)"], cells
    ) == ["", "", "", ""]
    assert calc.evaluate(["=RAIL_COUNT(A1,B1)", "=RAIL_COUNT(A1,B1,,3.5)"], cells) == [16, 17]
    assert calc.evaluate(["=RAIL_GAP(A1,B1)"], cells) == [CellError(504)]  # a value that must be given


def test_units_in_text(calc: Office) -> None:
    texts = ["63 1/2", "5' 3-1/2\"", "63½", "1612.9 mm", "1.6129 m", "5′ 3½″", "5’ 3 1/2”"]
    cells = {f"A{row}": text for row, text in enumerate(texts, start=1)}
    shown = calc.evaluate_array(f"=RAIL_INCHES(A1:A{len(texts)})", len(texts), 1, cells)
    assert all(same(row[0], Fraction(127, 2)) for row in shown), shown


def test_results_work_in_other_formulas(calc: Office) -> None:
    assert calc.evaluate(
        [
            "=ROUND(RAIL_GAP(72,0.5,17),2)*100",
            '=IFERROR(RAIL_GAP(10,1,10),RAIL_WHY("RAIL_GAP",10,1,10))',
            '=IF(RAIL_GAP(72,0.5,17)<4,"narrower","wider")',
            "=MAX(RAIL_MARKS(12,1,3,0.25))",
            '=RAIL_TAPE(RAIL_ROUND(RAIL_GAP(72,0.5,17)))&" clear"',
        ]
    ) == [353, "that many balusters do not fit in the opening", "narrower", 9.25, "3 1/2 clear"]


@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_saved_and_opened_again(calc: Office, tmp_path: Path, ending: str) -> None:
    book = openpyxl.Workbook()
    wanted = {}
    for row, entry in enumerate(ENTRIES, start=1):
        arguments = example_calls(entry)[0]
        book.active.cell(row, 1, typed(file_name(entry), arguments))
        wanted[f"A{row}"] = as_rows(in_python(entry, arguments))[0][0]
    book.save(tmp_path / "made.xlsx")
    calc.save_as(tmp_path / "made.xlsx", tmp_path / f"saved.{ending}")
    for path in (tmp_path / "made.xlsx", tmp_path / f"saved.{ending}"):
        shown = calc.read(path)["Sheet"]
        assert set(shown) == set(wanted)
        for address, want in wanted.items():
            assert same(shown[address], want), f"{path.name} {address} shows {shown[address]}, not {want}"
    formulas = calc.formulas(tmp_path / f"saved.{ending}")["Sheet"]
    assert all(re.match(r"=RAIL[._]", formula) for formula in formulas.values())


@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_typed_in_calc_then_saved_and_opened_again(calc: Office, tmp_path: Path, ending: str) -> None:
    formulas = [typed(entry.name, example_calls(entry)[0]) for entry in ENTRIES]
    saved = tmp_path / f"typed.{ending}"
    shown = calc.evaluate(formulas, save_as=saved)
    again = next(iter(calc.read(saved).values()))
    assert [again[f"ALM{row}"] for row in range(1, len(shown) + 1)] == shown


def test_the_plain_name_in_a_file_is_still_unknown(calc: Office, tmp_path: Path) -> None:
    """Calc 7.4 does not know RAIL_GAP in a file. When this fails, newer releases do: file_name() can then go."""
    book = openpyxl.Workbook()
    book.active["A1"] = "=RAIL_GAP(72,0.5,17)"
    book.save(tmp_path / "plain.xlsx")
    assert calc.read(tmp_path / "plain.xlsx")["Sheet"]["A1"] == NO_SUCH_NAME
