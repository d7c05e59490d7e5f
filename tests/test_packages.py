"""What is handed out: the source archive and the wheel, built, installed and used where nothing else is.

The wheel is built from the unpacked archive and installed into an environment without packages. Only what pyproject.toml
declares, and what that in turn needs, is let in: a package that is used but not declared is missing there.
"""

import ast
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from collections.abc import Iterator
from importlib.metadata import distribution, packages_distributions
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from railfuncs import cli
from railfuncs.books.commands import job, template
from railfuncs.catalogue import functions

ROOT = Path(__file__).parents[1]
TOLD = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
EXTRAS = TOLD["project"]["optional-dependencies"]
DEMO = ROOT / "workbooks" / "demo-measure.csv"
# Calc's own Python runs this one; these come with LibreOffice.
OF_CALC = "office/driver.py"


def names(requirements: list[str]) -> set[str]:
    return {canonicalize_name(Requirement(text).name) for text in requirements}


DISTRIBUTIONS = packages_distributions()
DECLARED = names(TOLD["project"]["dependencies"])


def run(*command: str | Path, cwd: Path) -> str:
    """What a command says, run apart from this checkout."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(command, cwd=cwd, env=plain, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
    return done.stdout


def build(what: str, source: Path, out: Path) -> Path:
    """Build an archive as installers do, by the backend that pyproject.toml names."""
    code = "import importlib, sys; print(getattr(importlib.import_module(sys.argv[1]), sys.argv[2])(sys.argv[3]))"
    backend = TOLD["build-system"]["build-backend"]
    return out / run(sys.executable, "-c", code, backend, f"build_{what}", out, cwd=source).split()[-1]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The source archive, unpacked."""
    folder = tmp_path_factory.mktemp("source")
    with tarfile.open(build("sdist", ROOT, folder)) as archive:
        archive.extractall(folder, **({"filter": "data"} if hasattr(tarfile, "data_filter") else {}))  # type: ignore[arg-type]
    return next(path for path in folder.iterdir() if path.is_dir())


@pytest.fixture(scope="module")
def wheel(source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build("wheel", source, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def programs(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The programs of an environment that holds the wheel, what it declares, and nothing else."""
    home = tmp_path_factory.mktemp("empty")
    venv.EnvBuilder(symlinks=os.name != "nt").create(home)
    programs = home / ("Scripts" if os.name == "nt" else "bin")
    install = ("install", "--quiet", "--disable-pip-version-check", "--no-index", "--no-deps", wheel)
    run(sys.executable, "-m", "pip", "--python", programs / "python", *install, cwd=home)
    site = run(programs / "python", "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=home).strip()
    for requirement in TOLD["project"]["dependencies"]:
        let_in(Requirement(requirement), Path(site))
    return programs


def let_in(requirement: Requirement, site: Path) -> None:
    """Link an installed package, and what it needs, into another environment."""
    wanted = [{"extra": extra} for extra in requirement.extras or ("",)]
    if requirement.marker and not any(requirement.marker.evaluate(extra) for extra in wanted):
        return
    found = distribution(requirement.name)
    tops = {file.parts[0] for file in found.files or () if file.parts[0] not in ("..", "__pycache__")}
    if all((site / top).exists() for top in tops):
        return
    for top in tops:
        (site / top).symlink_to(Path(str(found.locate_file(top))))
    for text in found.requires or ():
        needed = Requirement(text)
        if needed.marker is None or any(needed.marker.evaluate(extra) for extra in wanted):
            let_in(Requirement(re.sub(";.*", "", text)), site)


def files_of(folder: Path, *under: str) -> set[str]:
    paths = [path for each in under for path in (folder / each).rglob("*")]
    return {path.relative_to(folder).as_posix() for path in paths if path.is_file() and path.suffix != ".pyc"}


def test_the_wheel_holds_the_package_and_its_data(wheel: Path) -> None:
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    data = {f"railfuncs/{name}" for name in files_of(ROOT, "shared")}
    assert {"railfuncs/shared/units.csv", "railfuncs/shared/profiles/irc-2018.csv"} <= data
    assert held == files_of(ROOT, "railfuncs") | data


def test_the_source_archive_holds_what_the_readme_names(source: Path) -> None:
    text = (source / "README.md").read_text(encoding="utf-8")
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in link]
    paths = re.findall(r"(?<![\w./-])(?:docs|tests|workbooks|shared|railfuncs)/[\w./-]*\w", text)
    modules = [module.replace(".", "/") + ".py" for module in re.findall(r"python -m (tests[\w.]*\w)", text)]
    named = {*links, *paths, *modules}
    assert {"docs/sharing.md", "workbooks/demo.sh", "tests/run.sh", "DEVELOPERS.md"} <= named
    made = {"workbooks/functions.xlsx", "workbooks/demo-job.xlsx"}
    assert [name for name in sorted(named | made) if not (source / name).exists()] == []
    for script in source.rglob("*.sh"):
        for sourced in re.findall(r'source "\$\(dirname "\$\{BASH_SOURCE\[0\]\}"\)/([^"]+)"', script.read_text()):
            assert (script.parent / sourced).exists(), f"{script.name} needs {sourced}"


def test_pip_finds_nothing_missing(programs: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "pip", "--python", programs / "python", "check", cwd=tmp_path)


def test_only_what_is_declared_is_there(programs: Path, tmp_path: Path) -> None:
    """Every module loads, but for those of the two extras; without these modules the commands work all the same."""
    code = """
import importlib, pkgutil, railfuncs
lacking = set()
for found in pkgutil.walk_packages(railfuncs.__path__, "railfuncs."):
    if not found.name.endswith("__main__"):
        try:
            importlib.import_module(found.name)
        except ModuleNotFoundError as missing:
            lacking.add(missing.name)
import openpyxl
print(railfuncs.__file__, openpyxl.DEFUSEDXML, *sorted(lacking))
"""
    where, defused, *lacking = run(programs / "python", "-c", code, cwd=tmp_path).split()
    assert Path(where).is_relative_to(programs.parent)
    assert defused == "True"  # openpyxl reads strangers' files safely only where defusedxml is installed
    assert set(lacking) == names(EXTRAS["column"] + EXTRAS["solver"])


@pytest.mark.parametrize("strict", [False, True], ids=["plain", "warnings are errors"])
def test_the_installed_commands(programs: Path, tmp_path: Path, strict: bool) -> None:
    def railfuncs(*words: str | Path) -> str:
        return run(*program, *words, cwd=tmp_path)

    program = [programs / "python", "-W", "error", "-m", "railfuncs"] if strict else [programs / "railfuncs"]
    told = railfuncs("--help")
    assert all(f"\n  {command} " in told for command in cli.railfuncs.list_commands(click.Context(cli.railfuncs)))
    listed = [line.split()[0] for line in railfuncs("functions").splitlines() if line.startswith("  ")]
    assert sorted(listed) == sorted(functions())
    for command, words in ((template, []), (job, [DEMO])):
        made, here = (tmp_path / f"{where}{command.name}.xlsx" for where in ("", "here-"))
        railfuncs(str(command.name), *words, "-o", made)
        CliRunner().invoke(command, [*map(str, words), "-o", str(here)], catch_exceptions=False)
        assert sheets(made) == sheets(here)

    railfuncs("share", "job.xlsx", "-o", "to-send")
    assert {path.suffix for path in (tmp_path / "to-send").iterdir()} == {".xlsx", ".pdf"}
    railfuncs("addin", "calc", "-o", "rails.oxt")
    railfuncs("addin", "excel", "-o", "rails.xlsm")
    railfuncs("addin", "excel-web", "-o", "rails_web.py")
    assert "railfuncs.rdb" in zipfile.ZipFile(tmp_path / "rails.oxt").namelist()
    assert all((tmp_path / name).stat().st_size for name in ("rails.xlsm", "rails.py", "rails_web.py"))


def sheets(path: Path) -> dict[str, bytes]:
    """The sheets of a workbook as they are in its file."""
    with zipfile.ZipFile(path) as parts:
        found = {name: parts.read(name) for name in parts.namelist() if name.startswith("xl/worksheets/")}
    assert found
    return found


def imports(folder: str) -> Iterator[tuple[str, str]]:
    """Every package that is neither Python's nor ours, with the file that imports it."""
    for path in sorted((ROOT / folder).rglob("*.py")):
        if not path.as_posix().endswith(OF_CALC):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                yield from ((name, path.name) for name in imported(node))


def imported(node: Any) -> set[str]:
    modules: list[str] = []
    if isinstance(node, ast.Import):
        modules = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom) and not node.level:
        modules = [node.module or ""]
    return {module.partition(".")[0] for module in modules} - {*sys.stdlib_module_names, "railfuncs", "tests"}


def packages_of(module: str) -> set[str]:
    return {canonicalize_name(name) for name in DISTRIBUTIONS.get(module, [module])}


def test_every_import_is_declared_and_every_package_imported() -> None:
    used = {package for module, _ in imports("railfuncs") for package in packages_of(module)}
    # openpyxl imports this one where it is installed; the test above sees that it does.
    assert used | {"defusedxml"} == DECLARED | names(EXTRAS["column"] + EXTRAS["solver"])


def test_every_import_of_the_tests_is_declared_and_every_package_used() -> None:
    used = {package for module, _ in imports("tests") for package in packages_of(module)}
    test = names(EXTRAS["test"])
    assert used <= test | DECLARED
    # What is run, not imported: the checks of form, and what builds and reads the archives.
    assert test - used == {"mypy", "ruff", "highspy", *names(TOLD["build-system"]["requires"])}
    assert names(EXTRAS["column"] + EXTRAS["solver"]) <= test
