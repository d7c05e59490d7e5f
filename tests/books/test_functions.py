"""The workbook of named functions: evaluated by IronCalc, which knows LAMBDA; opened in Calc 7.4, which does not.

Excel was not run.
"""

from fractions import Fraction
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
import pytest

from railfuncs.books.functions import KNOWN, TITLE, UNKNOWN, write_functions
from railfuncs.catalogue import functions
from railfuncs.hosts.examples import example_calls
from railfuncs.hosts.named import LONGEST, named_function
from tests.checks import agrees
from tests.checks import rows as checks
from tests.office import CellError, Office

COMMITTED = Path(__file__).parents[2] / "workbooks" / "functions.xlsx"
IN_DOUBLES = Fraction(1, 10**9)
NATIVE = [entry for entry in functions().values() if entry.has_formula]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("functions") / "functions.xlsx"
    write_functions(path)
    return path


def example_rows(path: Path) -> dict[str, tuple[int, str, Any]]:
    """Row, formula and stored value of each function's example."""
    formulas, values = (openpyxl.load_workbook(path, data_only=only)[TITLE] for only in (False, True))
    names = [entry.name for entry in NATIVE]
    return {
        cell.value: (cell.row, formulas.cell(cell.row, 5).value, values.cell(cell.row, 5).value)
        for cell in formulas["A"]
        if cell.value in names
    }


def test_every_rule_with_formula_text_has_a_name(made: Path) -> None:
    book = openpyxl.load_workbook(made)
    assert set(book.defined_names) == {entry.name for entry in NATIVE}
    assert len(NATIVE) >= 50
    assert all(len(name.attr_text) < LONGEST for name in book.defined_names.values())
    assert set(example_rows(made)) == {entry.name for entry in NATIVE}
    shown = {cell.value for cell in book[TITLE]["A"]}
    assert set(functions()) <= shown


def test_every_live_example_in_another_engine(made: Path) -> None:
    model = ironcalc.load_from_xlsx(str(made), "en", "UTC", "en")
    for row, _, _ in example_rows(made).values():
        model.set_user_input(0, row, 5, model.get_cell_content(0, row, 5))  # so that nothing stored is echoed
    model.evaluate()
    assert model.get_cell_value(0, 3, 1) == KNOWN
    for name, (row, formula, stored) in example_rows(made).items():
        assert formula.startswith(f"={name}(")
        wanted = functions()[name](*example_calls(functions()[name])[0])
        for shown in (model.get_cell_value(0, row, 5), stored):
            if isinstance(wanted, str):
                assert shown == wanted, name
            else:
                assert abs(Fraction(shown) - Fraction(wanted)) < IN_DOUBLES, name


def test_the_check_tables_through_the_names(made: Path) -> None:
    """Arguments in cells; what must be refused shows #N/A."""
    model = ironcalc.load_from_xlsx(str(made), "en", "UTC", "en")
    model.add_sheet("Checks")
    tried = []
    for row, check in enumerate(checks(), start=1):
        entry = functions()[check.function]
        if not entry.has_formula:
            continue
        named = named_function(entry)
        given = dict(zip([a.name for a in entry.arguments], check.arguments, strict=False))
        if any(given.get(a.name, a.default) != a.default for a in named.fixed):
            continue  # another code profile: the name holds the usual one
        if any(isinstance(value, list) or (a.takes_number and isinstance(value, str)) for a, value in zip(
            entry.arguments, check.arguments, strict=False
        )):  # fmt: skip
            continue  # lengths in text are for the add-ins
        if any(a.takes_range for a in named.arguments):
            continue
        addresses = []
        for column, argument in enumerate(named.arguments, start=1):
            value = given.get(argument.name, "")
            model.set_user_input(1, row, column, value if isinstance(value, str) else repr(float(value)))
            addresses.append(f"{'ABCDEFGHIJ'[column - 1]}{row}")
        model.set_user_input(1, row, 12, f"={check.function}({','.join(addresses)})")
        tried.append((row, check))
    model.evaluate()
    assert len({check.function for _, check in tried}) >= 40
    for row, check in tried:
        shown = model.get_cell_value(1, row, 12)
        wanted = "#N/A" if check.expected is None else check.expected
        good = shown == wanted if isinstance(wanted, str) else agrees(check, shown, IN_DOUBLES)
        assert good, f"{check.where}: {check.function}{check.arguments} shows {shown}, not {wanted}"


def test_blanks_texts_ranges_and_unknown_words(made: Path) -> None:
    model = ironcalc.load_from_xlsx(str(made), "en", "UTC", "en")
    model.add_sheet("Run")
    for column, value in enumerate(("72", "0.5", "17", "6'"), start=1):
        model.set_user_input(1, 1, column, value)
    typed = {
        "=RAIL_GAP(A1,B1,C1)": 63.5 / 18,
        "=RAIL_GAP(A9,B1,C1)": "",
        "=RAIL_GAP(A1,B1,C9)": "",
        "=RAIL_GAP(D1,B1,C1)": "#N/A",
        "=RAIL_GAP(A1:A2,B1,C1)": "#N/A",
        "=RAIL_GAP(A1,B1,17.5)": "#N/A",
        "=RAIL_COUNT(A1,B1,A9,A9,A9)": 16,
        '=RAIL_COUNT(A1,B1,4,3.5,"odd")': 17,
        '=RAIL_COUNT(A1,B1,4,3.5,"sideways")': "#N/A",
        '=RAIL_TAPE(63.5,16,"feet")': "5' 3-1/2\"",
    }
    for row, formula in enumerate(typed, start=1):
        model.set_user_input(1, row, 12, formula)
    model.evaluate()
    shown = {formula: model.get_cell_value(1, row, 12) for row, formula in enumerate(typed, start=1)}
    assert shown == {k: pytest.approx(v) if isinstance(v, float) else v for k, v in typed.items()}


def test_calc_opens_it_and_says_so(office: Office, made: Path) -> None:
    shown = office.read(made)[TITLE]
    assert shown["A3"] == UNKNOWN
    assert shown["A1"] == "Rail functions with no add-in"
    assert isinstance(shown["E7"], CellError)


def test_the_committed_workbook_is_of_this_catalogue(made: Path) -> None:
    """Compared by what the cells and names hold: files differ by the date inside."""

    def content(path: Path) -> Any:
        book = openpyxl.load_workbook(path)
        names = {name: defined.attr_text for name, defined in book.defined_names.items()}
        return names, [[cell.value for cell in row] for row in book[TITLE].iter_rows()], example_rows(path)

    assert content(COMMITTED) == content(made), "make it anew: railfuncs functions -o workbooks/functions.xlsx"


