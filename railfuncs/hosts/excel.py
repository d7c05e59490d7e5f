"""The files that bring the functions into Excel."""

from importlib.resources import files
from pathlib import Path

from railfuncs.errors import BookError
from railfuncs.hosts.core import core_files

_MODULE = '''"""The rail functions for the workbook of the same name: xlwings, Import Functions."""

from xlwings import arg, func

from railfuncs.hosts.in_excel import bind

bind(globals(), func, arg)
'''

_PASTED = '''"""The rail functions, to be pasted into the Python editor of the xlwings author's free add-in for Excel.

Made by `railfuncs addin excel-web`; make it anew rather than changing it.
"""

import sys
import tempfile
from pathlib import Path

from xlwings import arg, func

FILES = {{
{files}}}

folder = Path(tempfile.mkdtemp())
for name, text in FILES.items():
    folder.joinpath(name).parent.mkdir(parents=True, exist_ok=True)
    folder.joinpath(name).write_text(text, encoding="utf-8")
sys.path.insert(0, str(folder))

from railfuncs_core.hosts.in_excel import bind  # noqa: E402

bind(globals(), func, arg)
'''


def starter_module(workbook: Path) -> Path:
    """The Python file that goes with a starter workbook: same folder, same name.

    >>> starter_module(Path("rails.xlsm")).name
    'rails.py'
    """
    if workbook.suffix != ".xlsm" or not workbook.stem.isidentifier():
        raise BookError(f"'{workbook.name}': name the workbook with letters and underscores only, like rails.xlsm")
    module = workbook.with_suffix(".py")
    for path in (workbook, module):
        if path.exists():
            raise BookError(f"'{path}' is there already and may hold your work; choose another name")
    return module


def starter_workbook() -> bytes:
    """xlwings' own empty workbook with macros."""
    return files("xlwings").joinpath("quickstart.xlsm").read_bytes()


def starter_source() -> str:
    """The text of the Python file that goes with it."""
    return _MODULE


def pasted_source() -> str:
    """One Python file that carries everything the functions need, for the add-in that runs in the browser."""
    core = core_files("railfuncs.hosts.in_excel")
    return _PASTED.format(files="".join(f"    {name!r}: {text!r},\n" for name, text in sorted(core.items())))
