"""The registration in Excel, checked by what xlwings makes of it. Excel itself was not run.

xlwings' own decorators, converters and writer of VBA are used; only the modules of Windows are stubbed.
"""

import datetime
import importlib
import re
import runpy
import subprocess
import sys
from collections.abc import Iterator
from fractions import Fraction
from io import StringIO
from pathlib import Path
from types import ModuleType
from typing import Any
from unittest.mock import MagicMock

import pytest
from click.testing import CliRunner

from railfuncs.catalogue import functions
from railfuncs.errors import BookError
from railfuncs.hosts import commands
from railfuncs.hosts.examples import example_calls
from railfuncs.hosts.in_excel import argument_name, bind, category, excel_function
from railfuncs.hosts.values import as_rows, help_text
from tests.checks import agrees
from tests.checks import rows as checks
from tests.office.office import SYSTEM_PYTHON

# Keywords of MS-VBAL 3.3.5.2 and statements that take a word of their own; from memory, not confirmed.
VBA_WORDS = set(
    """
    any as byref byval call case close const currency date debug declare dim do double each else elseif empty end
    enum erase error event exit false for friend function get global gosub goto if implements in input integer is
    let like line lock long loop lset me mid mod name new next not nothing null object on open option optional or
    paramarray preserve print private property public put raiseevent redim rem reset resume return rset seek select
    set single static step stop string sub then time to true type typeof unlock until variant wend while width with
    write xor
    """.split()  # noqa: SIM905
)


@pytest.fixture(scope="module")
def udfs() -> Iterator[ModuleType]:
    """xlwings.udfs as on Windows."""
    stubs: dict[str, Any] = {
        "pythoncom": MagicMock(), "pywintypes": MagicMock(com_error=OSError), "win32com": MagicMock(),
        "win32com.client": MagicMock(),
    }  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        for name, stub in stubs.items():
            patch.setitem(sys.modules, name, stub)
        loaded = importlib.import_module("xlwings.udfs")
        # Excel's own engine loads on Windows only; values pass through it as they are.
        engine = MagicMock()
        engine.impl.clean_value_data.side_effect = lambda rows, *_: [list(row) for row in rows]
        engine.impl.prepare_xl_data_element.side_effect = lambda value, *_: value
        patch.setitem(loaded.xlwings.engines.engines_by_name, "excel", engine)
        yield loaded
        patch.delitem(sys.modules, "xlwings.udfs")


@pytest.fixture(scope="module")
def rails(udfs: ModuleType) -> ModuleType:
    """The module beside the starter workbook, as Excel loads it."""
    module = ModuleType("rails")
    bind(vars(module), udfs.xlfunc, udfs.xlarg)
    return module


def called(udfs: ModuleType, function: Any, *args: Any) -> Any:
    """A call with values as COM hands them over, through the converters that xlwings applies."""
    infos = function.__xlfunc__["args"]
    read = [udfs.conversion.read(None, value, info["options"]) for value, info in zip(args, infos, strict=False)]
    rows = udfs.conversion.write(function(*read), None, function.__xlfunc__["ret"]["options"])
    return rows[0][0] if len(rows) == len(rows[0]) == 1 else rows


def test_every_function_is_registered_as_declared(rails: ModuleType) -> None:
    registered = {name: f.__xlfunc__ for name, f in vars(rails).items() if hasattr(f, "__xlfunc__")}
    assert set(registered) == set(functions())
    for entry in functions().values():
        told = registered[entry.name]
        assert (told["name"], told["sub"], told["category"]) == (entry.name, False, category(entry))
        assert told["ret"]["doc"] == entry.summary
        assert [a["name"] for a in told["args"]] == [argument_name(a) for a in entry.arguments]
        assert [a["doc"] for a in told["args"]] == [help_text(a) for a in entry.arguments]
        assert ["optional" in a for a in told["args"]] == [a.default is not None for a in entry.arguments]
        assert all(a["options"] == {"ndim": 2} for a in told["args"])


def test_help_fits_and_names_are_legal_in_vba() -> None:
    for entry in functions().values():
        assert len(entry.summary) <= 255
        assert all(len(help_text(argument)) <= 255 for argument in entry.arguments), entry.name
        names = [argument_name(argument).lower() for argument in entry.arguments]
        assert len(set(names)) == len(names)
        assert not VBA_WORDS.intersection(names), (entry.name, VBA_WORDS.intersection(names))
        assert "caller" not in names  # xlwings keeps this name for itself
        assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) for name in names)
        assert re.fullmatch(r"[A-Z][A-Z0-9_]{0,254}", entry.name)


def test_the_vba_and_the_help_that_xlwings_writes(udfs: ModuleType, rails: ModuleType) -> None:
    vba = StringIO()
    udfs.generate_vba_wrapper("rails", rails, vba, MagicMock(**{"Name": "rails.xlsm"}))
    text = vba.getvalue()
    assert len(re.findall(r"^Function RAIL_", text, re.MULTILINE)) == len(functions())
    for entry in functions().values():
        names = [argument_name(argument) for argument in entry.arguments]
        shown = [n if a.default is None else f"Optional {n}" for n, a in zip(names, entry.arguments, strict=True)]
        assert f"Function {entry.name}({', '.join(shown)})\n" in text
        assert f'XLPy.CallUDF("rails", "{entry.name}", Array({", ".join(names)}), ThisWorkbook' in text
    assert max(map(len, text.splitlines())) < 1023  # VBA's longest line


def test_importing_the_functions_tells_excel_their_help(udfs: ModuleType, rails: ModuleType, tmp_path: Path) -> None:
    rails.__file__ = str(tmp_path / "rails.py")
    workbook = MagicMock(**{"Name": "rails.xlsm", "Application.Version": "16.0"})
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "rails", rails)
        patch.setattr(udfs, "Book", MagicMock())
        patch.setattr(udfs.xlwings, "_xlwindows", MagicMock(), raising=False)
        udfs.import_udfs("rails", workbook)
    told = {call.args[0]: call.kwargs for call in workbook.Application.MacroOptions.call_args_list}
    assert set(told) == {f"'rails.xlsm'!{name}" for name in functions()}
    for entry in functions().values():
        options = told[f"'rails.xlsm'!{entry.name}"]
        assert (options["Description"], options["Category"]) == (entry.summary, category(entry))
        assert options["ArgumentDescriptions"] == [help_text(argument) for argument in entry.arguments]


def test_every_row_of_the_check_tables(udfs: ModuleType, rails: ModuleType) -> None:
    for check in checks():
        as_in_cells = [value if isinstance(value, str) else float(value) for value in check.arguments]
        shown = called(udfs, getattr(rails, check.function), *as_in_cells)
        if check.expected is None:
            assert isinstance(shown, str), f"{check.where} shows {shown}"
            assert len(shown) > 10
        else:
            assert agrees(check, shown, Fraction(1, 10**9)), f"{check.where} shows {shown}"


def test_columns_blanks_dates_and_errors(udfs: ModuleType, rails: ModuleType) -> None:
    gap = vars(rails)["RAIL_GAP"]
    assert called(udfs, gap, ((72.0,), (None,), (10.0,), ("6'",)), 0.5, 17.0) == [
        [63.5 / 18], [""], [1.5 / 18], [63.5 / 18],
    ]  # fmt: skip
    assert called(udfs, gap, ((72.0, 60.0),), 0.5, ((17.0, 13.0),)) == [[63.5 / 18, 53.5 / 14]]
    assert called(udfs, gap, None, 0.5, 17.0) == ""
    assert called(udfs, gap, 72.0, 0.5, None) == ""
    assert called(udfs, gap, 10.0, 1.0, 10.0) == "that many balusters do not fit in the opening"
    assert "has turned this length into a date" in called(udfs, gap, datetime.datetime(2026, 3, 4), 0.5, 17.0)
    assert called(udfs, vars(rails)["RAIL_MARKS"], 12.0, 1.0, 3.0, 0.25) == [[2.75], [6.0], [9.25]]
    assert called(udfs, vars(rails)["RAIL_MATCH"], ((72.0,), (40.5,), (33.0,)), 0.5, 4.0, 3.5) == [[18], [10], [8]]
    assert called(udfs, vars(rails)["RAIL_COUNT"], 72.0, 0.5, None, 3.5, "Odd") == 17


def test_a_fault_of_ours_stays_visible() -> None:
    broken = functions()["RAIL_FENCE"].__class__(**{**vars(functions()["RAIL_FENCE"]), "rule": lambda *_: 1 / 0})
    call = excel_function(broken, lambda **_: lambda f: f, lambda *_, **__: lambda f: f)
    with pytest.raises(ZeroDivisionError):
        call([[5.25]], [[0.5]])


def test_the_starter_workbook_and_its_module(tmp_path: Path) -> None:
    workbook = tmp_path / "rails.xlsm"
    done = CliRunner().invoke(commands.addin, ["excel", "-o", str(workbook)], catch_exceptions=False)
    assert done.exit_code == 0
    assert workbook.read_bytes().startswith(b"PK")
    loaded = runpy.run_path(str(tmp_path / "rails.py"))
    assert set(functions()) <= set(loaded)
    assert loaded["RAIL_GAP"]([[72.0]], [[0.5]], [[17.0]]) == 63.5 / 18


def test_a_workbook_of_the_same_name_is_kept(tmp_path: Path) -> None:
    workbook = tmp_path / "rails.xlsm"
    workbook.write_bytes(b"my work")
    with pytest.raises(BookError, match="choose another name"):
        CliRunner().invoke(commands.addin, ["excel", "-o", str(workbook)], catch_exceptions=False)
    with pytest.raises(BookError, match="letters and underscores"):
        CliRunner().invoke(commands.addin, ["excel", "-o", str(tmp_path / "my rails.xlsm")], catch_exceptions=False)
    assert [path.name for path in tmp_path.iterdir()] == ["rails.xlsm"]
    assert workbook.read_bytes() == b"my work"


def test_the_file_to_paste_carries_all_it_needs(tmp_path: Path) -> None:
    """Run in a Python that has no package of ours or of others but a two-line xlwings."""
    pasted = tmp_path / "rails_web.py"
    done = CliRunner().invoke(commands.addin, ["excel-web", "-o", str(pasted)], catch_exceptions=False)
    assert done.exit_code == 0
    (tmp_path / "xlwings.py").write_text(
        "seen = []\n"
        "def func(**options): return lambda f: seen.append((f.__name__, options)) or f\n"
        "def arg(name, **options): return lambda f: f\n"
    )
    code = (
        "import sys, runpy; sys.path.insert(0, sys.argv[1]); made = runpy.run_path(sys.argv[2]); import xlwings\n"
        "print(len(xlwings.seen), made['RAIL_GAP']([['6 ft']], [[0.5]], [[17.0]]))"
    )
    command = [SYSTEM_PYTHON, "-I", "-S", "-B", "-c", code, str(tmp_path), str(pasted)]
    shown = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    assert shown == [str(len(functions())), str(63.5 / 18)]


def test_every_documented_example(udfs: ModuleType, rails: ModuleType) -> None:
    for entry in functions().values():
        for arguments in example_calls(entry):
            given = [_as_com(value) for value in arguments]
            shown = called(udfs, getattr(rails, entry.name), *given)
            for got_row, want_row in zip(as_rows(shown), as_rows(entry(*arguments)), strict=True):
                for got, want in zip(got_row, want_row, strict=True):
                    exact = want is None or isinstance(want, str)
                    assert got == (want or "") if exact else abs(Fraction(got) - Fraction(want)) < 1e-9


def _as_com(value: Any) -> Any:
    if isinstance(value, list):
        return tuple((float(each),) for each in value)
    return value if isinstance(value, str) else float(value)
