"""Workbooks that other projects test themselves with, and a column added to each.

By hand, over any folder of workbooks: `python -m tests.books.addition.corpus FOLDER`.
"""

import contextlib
import io
import os
import subprocess
import sys
import tarfile
import zipfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree
from openpyxl.utils import get_column_letter

from railfuncs.books.addition.edit import Edited, edited, placed
from railfuncs.books.addition.find import Block, Found
from railfuncs.books.addition.package import Package
from railfuncs.books.addition.plan import Column, Entry, Plan
from railfuncs.books.addition.remove import removed
from railfuncs.books.addition.workbook import SheetEntry, Workbook
from railfuncs.errors import BookError

# Source distributions on PyPI that hold workbooks among their tests; pinned, so that every run sees the same files.
SOURCES = (
    "agate-excel==0.4.2", "excelrd==3.0.0", "frictionless==5.21.0", "pyexcel-xlsx==0.6.1", "tablib==3.10.0",
    "xlsx2csv==0.8.6", "xlsxwriter==3.3.1",
)  # fmt: skip
HEADER, VALUE = "Added by the test", 42
_NEW_PARTS = 1  # the record of the edit


def fetch(folder: Path) -> list[Path]:
    """Download the source distributions once and unpack their workbooks; run XlsxWriter's examples for theirs."""
    done = folder / "done"
    if not done.exists():
        packed = folder / "packed"
        packed.mkdir(parents=True, exist_ok=True)
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary", ":all:"]
        subprocess.run([*command, "--dest", str(packed), *SOURCES], check=True, stderr=subprocess.DEVNULL)
        for archive in sorted(packed.glob("*.tar.gz")):
            _unpack(archive, folder / archive.name.removesuffix(".tar.gz"))
        done.touch()
    return workbooks(folder)


def workbooks(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.suffix.lower() in (".xlsx", ".xlsm"))


def _unpack(archive: Path, folder: Path) -> None:
    with tarfile.open(archive) as packed:
        members = [m for m in packed.getmembers() if m.isfile()]
        books = [m for m in members if m.name.lower().endswith((".xlsx", ".xlsm"))]
        examples = [m for m in members if archive.name.startswith("xlsxwriter-") and "/examples/" in m.name]
        packed.extractall(folder, [*books, *examples], filter="data")
    scripts = sorted(folder.rglob("examples/*.py"))
    env = {**os.environ, "PYTHONWARNINGS": "ignore"}
    for script in scripts:
        # Some need pandas or a network; their workbooks are simply not there.
        with contextlib.suppress(subprocess.TimeoutExpired):
            subprocess.run(
                [sys.executable, script.name], cwd=script.parent, env=env, capture_output=True, timeout=20, check=False
            )


@dataclass
class Outcome:
    """What became of one workbook: edited (with the new file, sheet and address), or refused with a reason."""

    path: Path
    edited: bytes | None = None
    reason: str = ""
    sheet: str = ""
    address: str = ""
    faults: list[str] = field(default_factory=list)


def add_to(path: Path) -> Outcome:
    """Add a column to the first sheet of a workbook that has rows, and check the rest of it."""
    try:
        package = Package.read(path)
        book = Workbook(package)
        entry = _first_with_rows(book)
        plan = probe(book, entry)
        made = edited(book, {entry.part: [plan]})
    except BookError as error:
        return Outcome(path, reason=str(error))
    outcome = Outcome(path, made.content, sheet=entry.title)
    outcome.address = f"{get_column_letter(plan.start)}{plan.block.header_row}"
    outcome.faults = faults(path, made)
    return outcome


def _first_with_rows(book: Workbook) -> SheetEntry:
    for entry in book.sheets:
        sheet = book.sheet(entry)
        if sheet.rows:
            if sheet.protected:
                raise BookError(f"sheet {entry.title} is protected")
            return entry
    raise BookError("no sheet has any rows")


def probe(book: Workbook, entry: SheetEntry) -> Plan:
    """A plan for a sheet that need not be a bid sheet: one column of formulas beside whatever stands there."""
    sheet = book.sheet(entry)
    tables = book.tables(entry)
    table = next((t for t in tables if t.headers and t.area.top in sheet.rows and t.area.bottom > t.area.top), None)
    rows = list(sheet.rows)
    if table is not None:
        rows = [r for r in rows if table.area.top <= r <= table.area.bottom - table.totals]
    header, rows = rows[0], rows[1:200]
    look = max(table.area.right if table else sheet.last_column(header), 1)
    opening = Found("opening", 1, "", "in", True)
    block = Block(sheet, header, {"opening": opening}, look, rows, table=table)
    start, joins = placed(book, entry, table, 1)
    column = Column("count", HEADER, "0.0", {row: Entry("40+2", VALUE) for row in rows})
    return Plan(block, start, joins, [column])


def faults(path: Path, made: Edited) -> list[str]:
    """Everything wrong with an edited file, judged by the standard library and lxml, not by our own code."""
    found = []
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(io.BytesIO(made.content)) as new:
        if bad := new.testzip():
            found.append(f"{bad} has a wrong checksum")
        before, after = [i.filename for i in old.infolist()], [i.filename for i in new.infolist()]
        if after[: len(before)] != before or len(after) != len(before) + _NEW_PARTS:
            found.append("parts are missing, or in another order")
        for info in old.infolist():
            name = info.filename
            if name not in made.changed:
                there = new.getinfo(name)
                same = (info.CRC, info.compress_size, info.date_time) == (
                    there.CRC,
                    there.compress_size,
                    there.date_time,
                )
                if not same or old.read(name) != new.read(name):
                    found.append(f"{name} has changed")
            else:
                found += _lost(old.read(name), new.read(name), name)
    back = removed(Package(made.content, path.name))
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(io.BytesIO(back.content)) as new:
        if {n: old.read(n) for n in old.namelist()} != {n: new.read(n) for n in new.namelist()} or not back.exact:
            found.append("taking the column away does not give the file back")
    return found


def _lost(old: bytes, new: bytes, name: str) -> list[str]:
    """No element that a changed part had may be gone, and no text changed but for references."""
    count_old, count_new = (Counter(e.tag for e in etree.fromstring(part).iter()) for part in (old, new))
    gone = count_old - count_new
    return [f"{name} has lost {dict(gone)}"] if gone else []


def tally(outcomes: list[Outcome]) -> str:
    """Edited, refused by reason, broken."""
    refused = Counter(_short(o) for o in outcomes if o.edited is None)
    lines = [f"{sum(o.edited is not None for o in outcomes)} edited, {refused.total()} refused,"
             f" {sum(bool(o.faults) for o in outcomes)} broken of {len(outcomes)}"]  # fmt: skip
    lines += [f"  {times:4} {reason}" for reason, times in refused.most_common()]
    lines += [f"  BROKEN {o.path}: {'; '.join(o.faults)}" for o in outcomes if o.faults]
    return "\n".join(lines)


def _short(outcome: Outcome) -> str:
    return (
        outcome.reason.replace(f"{outcome.path.name}: ", "").replace(outcome.path.name, "FILE").partition(":")[0][:80]
    )


def main() -> None:
    outcomes = []
    for path in workbooks(Path(sys.argv[1])):
        try:
            outcomes.append(add_to(path))
        except Exception as error:
            outcomes.append(Outcome(path, faults=[f"{type(error).__name__}: {error}"]))
    print(tally(outcomes))
    if len(sys.argv) > 2:
        for number, outcome in enumerate(o for o in outcomes if o.edited):
            Path(sys.argv[2], f"{number:04}{outcome.path.suffix}").write_bytes(outcome.edited or b"")


if __name__ == "__main__":
    main()
