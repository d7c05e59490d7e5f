"""The source files of the functions alone, under a name of their own, to travel inside an add-in.

Hosts run several add-ins in one Python: an installed railfuncs of another version must not get in the way.
"""

import ast
import re
from importlib.resources import files
from pathlib import Path

from railfuncs import data

PRIVATE = "railfuncs_core"


def core_files(*starts: str) -> dict[str, str]:
    """Path inside the add-in -> text, for the modules `starts` and everything of railfuncs they import.

    >>> sorted(core_files("railfuncs.errors"))[-1]
    'railfuncs_core/tracing.py'
    """
    root = Path(str(files("railfuncs")))
    found: dict[str, str] = {}
    waiting = ["railfuncs", *starts]
    while waiting:
        path = _source(root, waiting.pop())
        if path is None or (inside := f"{PRIVATE}/{path.relative_to(root).as_posix()}") in found:
            continue
        text = path.read_text(encoding="utf-8")
        found[inside] = re.sub(r'((?:from|import) |files\(")railfuncs\b', rf"\g<1>{PRIVATE}", text)
        waiting.extend(_imported(text))
    named = {name for text in found.values() for name in re.findall(r'data\.path\("([^"]+)"\)', text)}
    for table in [file for name in named for file in _tables(data.path(name))]:
        inside = table.relative_to(data.path("units.csv").parent).as_posix()
        found[f"{PRIVATE}/shared/{inside}"] = table.read_text(encoding="utf-8")
    return found


def _tables(path: Path) -> list[Path]:
    return sorted(path.glob("*.csv")) if path.is_dir() else [path]


def _source(root: Path, module: str) -> Path | None:
    path = root.joinpath(*module.split(".")[1:])
    for candidate in (path / "__init__.py", path.with_suffix(".py")):
        if candidate.exists():
            return candidate
    return None


def _imported(text: str) -> list[str]:
    """The railfuncs modules a source file imports, with the packages they stand in."""
    names: list[str] = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names.extend(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.append(node.module)
            names.extend(f"{node.module}.{alias.name}" for alias in node.names)
    ours = [name.split(".") for name in names if name.split(".")[0] == "railfuncs"]
    return [".".join(parts[: n + 1]) for parts in ours for n in range(len(parts))]
