"""The contributor guide, followed word for word in a copy of the project: a rule, a sheet and a host are added."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railfuncs.catalogue import functions
from tests.checks import rows
from tests.office import Office

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NEW = "RAIL_MORTISED"
UP_TO_DATE = (
    "tests/hosts/test_addin.py::test_the_type_library_is_of_this_catalogue",
    "tests/hosts/test_reference.py::test_the_page_in_the_docs_is_up_to_date",
    "tests/books/test_functions.py::test_the_committed_workbook_is_of_this_catalogue",
    "tests/test_proof.py::test_the_page_in_the_docs_is_up_to_date",
)


def steps(title: str) -> list[str]:
    """The numbered steps of a section of the guide."""
    section = GUIDE.partition(f"\n## {title}\n")[2].partition("\n## ")[0]
    found = re.split(r"^\d\. ", section, flags=re.MULTILINE)[1:]
    assert len(found) == 3, f"DEVELOPERS.md tells '{title}' in {len(found)} steps"
    return found


def code(step: str) -> str:
    return re.findall(r"^```python\n(.*?)^```$", step, re.MULTILINE | re.DOTALL)[0]


def quoted(step: str) -> list[str]:
    """What stands between backquotes in the words of a step."""
    return re.findall(r"`([^`]+)`", re.sub(r"^```.*?^```$", "", step, flags=re.MULTILINE | re.DOTALL))


@dataclass
class Copy:
    """A copy of the project, and what was done in it."""

    root: Path

    def run(self, *command: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        environment = {**os.environ, "PYTHONPATH": str(self.root)}
        done = subprocess.run(command, cwd=self.root, env=environment, capture_output=True, text=True, check=False)
        assert not check or done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
        return done

    def ask(self, expression: str) -> Any:
        """What an expression gives in the copy, as JSON has it."""
        names = "from railfuncs.catalogue import functions\nfrom railfuncs.tracing import Ref, formula\n"
        source = f"import json\n{names}from railfuncs.hosts.core import core_files\nprint(json.dumps({expression}))"
        return json.loads(self.run(sys.executable, "-c", source).stdout)

    def write(self, block: str) -> Path:
        """A code block of the guide: a new file, or the end of one that is there, as its first line says."""
        first, _, rest = block.partition("\n")
        said = re.fullmatch(r"# (at the end of )?([\w/]+\.py)", first)
        assert said, f"'{first}' does not say where the code goes"
        path = self.root / said[2]
        assert path.exists() == bool(said[1])
        with path.open("a", encoding="utf-8") as file:
            file.write(f"\n\n{rest}" if said[1] else rest)
        return path

    def do(self, step: str) -> int:
        """Every command of a step that makes something; how many there were."""
        commands = [words for text in quoted(step) if (words := shlex.split(text))[0] in ("python", "railfuncs")]
        made = [words for words in commands if "job.xlsx" not in words]
        for program, *words in made:
            self.run(sys.executable, *(["-m", "railfuncs"] if program == "railfuncs" else []), *words)
        return len(made)

    def tested(self, *tests: str) -> tuple[int, int]:
        """How many tests pass in the copy, and how many fail."""
        told = self.run(sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *tests, check=False).stdout
        assert "error" not in told.splitlines()[-1], told
        passed, failed = (sum(map(int, re.findall(rf"(\d+) {word}", told))) for word in ("passed", "failed"))
        return passed, failed


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory) -> Copy:
    """A copy in which the three sections of the guide have been followed."""
    root = tmp_path_factory.mktemp("guide") / "project"
    shutil.copytree(ROOT, root, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache", ".hypothesis"))
    project = Copy(root)

    write, check, make = steps("To add a rule")
    project.write(code(write))
    table, row = quoted(check)[1:3]
    with (root / table).open("a", encoding="utf-8") as file:
        file.write(row + "\n")
    assert project.tested(*UP_TO_DATE) == (0, len(UP_TO_DATE))
    assert project.do(make) == len(UP_TO_DATE)
    assert project.tested(*UP_TO_DATE) == (len(UP_TO_DATE), 0)

    write, call, make = steps("To add a sheet to the job workbook")
    sheet = project.write(code(write))
    name, added, before = quoted(call)
    assert added.startswith(f"{sheet.stem}.")
    book = root / name
    lines = book.read_text(encoding="utf-8").splitlines()
    at = [line.strip() for line in lines].index(before)
    lines.insert(at, lines[at].replace(before, added))
    first = lines.index("from railfuncs.books.job import (") + 1
    last = lines.index(")", first)
    lines[first:last] = sorted([*lines[first:last], f"    {sheet.stem},"])
    book.write_text("\n".join([*lines, ""]), encoding="utf-8")
    assert project.do(make) == 1

    project.write(code(steps("To add a host")[0]))
    return project


def test_the_rule_is_a_function_everywhere(copied: Copy) -> None:
    assert NEW in copied.ask("list(functions())")
    assert copied.ask("str(functions()['RAIL_MORTISED']('17', '1/2 in'))") == "17/2"
    assert copied.ask("formula(functions()['RAIL_MORTISED'].rule, Ref('A1'), Ref('B1'))") == "=A1*B1"
    assert f"### {NEW}(count, width)" in (copied.root / "docs/functions.md").read_text(encoding="utf-8")
    assert f"| `{NEW}` " in (copied.root / "docs/proof.md").read_text(encoding="utf-8")
    assert b"MORTISED" in (copied.root / "railfuncs/hosts/oxt/railfuncs.rdb").read_bytes()
    assert NEW in openpyxl.load_workbook(copied.root / "workbooks/functions.xlsx").defined_names


def test_the_checks_judge_the_new_rule(copied: Copy) -> None:
    """Its row in Python and as formula text, its declaration and its example; and a wrong row is found."""
    tables = "tests/rules/test_tables.py"
    new = ("-k", "mortised or formula_text or stands_in_a_table")
    assert copied.tested(tables, "tests/test_catalogue.py", "railfuncs/rules/cutting.py", *new) == (6, 0)
    table, row = quoted(steps("To add a rule")[1])[1:3]
    path = copied.root / table
    right = path.read_text(encoding="utf-8")
    path.write_text(right.replace(row, row.replace("8 1/2", "8 5/8")), encoding="utf-8")
    wrong = copied.tested(tables, *new)
    path.write_text(right, encoding="utf-8")
    assert wrong == (2, 2)  # the row is wrong in both ways; that it stands there, and that a wrong row fails, is right


def test_the_sheet_is_in_the_workbook_and_recalculates(copied: Copy, office: Office) -> None:
    path = copied.root / "workbooks/demo-job.xlsx"
    stored = openpyxl.load_workbook(path, data_only=True)
    widths = next(row for row in stored["Measured"].values if row[0] == "Width along the rail")[1:]
    heads, *rows = [row for row in stored["Summary"].values if row[1]]
    counts = [row[heads.index("Balusters")] for row in rows]
    wanted = [count * width for count, width in zip(counts, widths, strict=True)]
    assert wanted
    assert [cell.value for cell in stored["Mortised"]["A"]] == wanted
    assert all(str(cell.value).startswith("=") for cell in openpyxl.load_workbook(path)["Mortised"]["A"])
    shown = office.read(path)["Mortised"]
    assert shown == {f"A{row}": value for row, value in enumerate(wanted, start=1)}


def test_the_host_answers_for_every_function(copied: Copy, tmp_path: Path) -> None:
    """Every row of the check tables; then alone, from its own files, with nothing but Python's own library."""
    source = """
from railfuncs.hosts.plain import METHODS
from tests.checks import agrees, rows
for check in rows():
    shown = METHODS[check.function](args=[v if isinstance(v, str) else float(v) for v in check.arguments])[0][0]
    assert isinstance(shown, str) if check.expected is None else agrees(check, shown, 1e-9), check
print(len(METHODS), len(rows()))
"""
    methods, tried = copied.run(sys.executable, "-c", source).stdout.split()
    assert int(methods) == len(functions()) + 1
    assert int(tried) == len(rows()) + 1

    (told,) = [text for text in quoted(steps("To add a host")[1]) if text.startswith("core_files(")]
    for name, text in copied.ask(told).items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    alone = "import sys; sys.path.insert(0, sys.argv[1]); from railfuncs_core.hosts.plain import METHODS; print(len(METHODS))"
    assert copied.run(sys.executable, "-I", "-S", "-B", "-c", alone, str(tmp_path)).stdout.strip() == methods


def test_what_was_added_is_in_form(copied: Copy) -> None:
    blocks = [code(steps(f"To add a {what}")[0]) for what in ("rule", "sheet to the job workbook", "host")]
    files = [block.partition("\n")[0].split()[-1] for block in blocks]
    copied.run(sys.executable, "-m", "ruff", "check", "--no-cache", *files, "railfuncs/books/job/book.py")


def test_what_the_guide_names_is_there() -> None:
    """Folders, files, and modules that are run; but for the names that its own steps make."""
    words = [word for text in quoted(GUIDE) for word in text.split() if not word.startswith((NEW, ".venv/"))]
    modules = [word.replace(".", "/") + ".py" for word in words if re.fullmatch(r"tests(\.\w+)+", word)]
    paths = [word for word in words if re.fullmatch(r"[\w.]+/[\w./-]*", word)]
    places = (ROOT, ROOT / "railfuncs", ROOT / "railfuncs" / "books")
    assert len({*modules, *paths}) > 15
    assert [name for name in (*modules, *paths) if not any((place / name).exists() for place in places)] == []
