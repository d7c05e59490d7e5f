"""What is inside the add-in, and that it needs nothing else."""

import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from openpyxl.utils import FORMULAE

from railfuncs.catalogue import functions
from railfuncs.hosts.calc import file_name
from tests.hosts.type_library import COMMITTED, made
from tests.office import CellError, Office
from tests.office.office import SYSTEM_PYTHON


def test_the_type_library_is_of_this_catalogue() -> None:
    assert COMMITTED.read_bytes() == made(), "make it anew: python -m tests.hosts.type_library"


def test_the_core_runs_on_the_standard_library_alone(addin: Path, tmp_path: Path) -> None:
    """In Debian's Python, without its packages: every function's module is loaded and one is called."""
    zipfile.ZipFile(addin).extractall(tmp_path)
    code = """
import json, sys
before = set(sys.modules)
sys.path.insert(0, sys.argv[1])
from railfuncs_core.hosts.in_calc import by_short_name, respond
entries = by_short_name()
shown = respond(entries["GAP"], ((("6'",),), ((0.5,),), ((17.0,),)))
print(json.dumps([shown, len(entries), sorted({name.split(".")[0] for name in set(sys.modules) - before})]))
"""
    command = [SYSTEM_PYTHON, "-I", "-S", "-B", "-c", code, str(tmp_path / "pythonpath")]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    shown, count, loaded = json.loads(done.stdout)
    assert shown == [[63.5 / 18]]
    assert count == len(functions())
    assert set(loaded) - sys.stdlib_module_names == {"railfuncs_core"}


def test_no_module_inside_asks_for_the_installed_package(addin: Path) -> None:
    archive = zipfile.ZipFile(addin)
    modules = [name for name in archive.namelist() if name.startswith("pythonpath/") and name.endswith(".py")]
    assert len(modules) > 10
    for name in modules:
        assert not re.search(r"^\s*(from|import) railfuncs\b", archive.read(name).decode(), re.MULTILINE), name


def test_the_same_catalogue_makes_the_same_names(addin: Path) -> None:
    help_of = zipfile.ZipFile(addin).read("CalcAddIns.xcu").decode()
    assert all(f">{name}<" in help_of for name in functions())
    assert len({file_name(entry) for entry in functions().values()}) == len(functions())


def test_a_fault_of_ours_stays_visible(addin: Path, tmp_path: Path) -> None:
    """A rule broken on purpose shows #VALUE!, which no refusal does."""
    broken = tmp_path / "broken.oxt"
    with zipfile.ZipFile(addin) as whole, zipfile.ZipFile(broken, "w") as out:
        for name in whole.namelist():
            part = whole.read(name)
            if name.endswith("rules/cutting.py"):
                assert b"return (rail_width - chisel) / 2" in part
                part = part.replace(b"return (rail_width - chisel) / 2", b"return (rail_width - chisel) / 0")
            out.writestr(name, part)
    with Office([broken]) as calc:
        assert calc.evaluate(["=RAIL_FENCE(5.25,0.5)", "=RAIL_FENCE(1,5)", "=RAIL_GAP(72,0.5,17)"]) == [
            CellError(519), CellError(503), pytest.approx(63.5 / 18),
        ]  # fmt: skip


def test_names_clash_with_nothing(office: Office) -> None:
    """Against every function of a Calc without the add-in, those openpyxl knows of Excel, and cell addresses."""
    built_in = {name.upper() for name in office.function_help()} | set(FORMULAE)
    assert len(built_in) > 500
    for entry in functions().values():
        for name in (entry.name, file_name(entry)):
            assert name not in built_in
            assert not re.fullmatch(r"\$?[A-Z]{1,3}\$?\d+|R\d*C\d*|R|C", name)
        assert re.fullmatch(r"RAIL_[A-Z][A-Z_]*[A-Z]", entry.name)
