"""What of a job workbook is shared: the lines marked yes on its sheet Sharing, and nothing else."""

import datetime
import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter

from railfuncs import profiles
from railfuncs.books.job.checks import SOURCES_LABEL, cited_for
from railfuncs.books.job.sharing_page import HEAD_ROW, REVISION_ROW, TITLE, WHOLE
from railfuncs.books.sharing.laid import LaidRun
from railfuncs.books.sharing.reading import JobBook, SheetView, as_text, filled, folded, one_row, row_starting
from railfuncs.books.sharing.runs import laid_runs
from railfuncs.errors import BookError
from railfuncs.lengths import exact
from railfuncs.rules.measure import reading

ELEVATION = "Elevation"
NEVER = re.compile(
    r"\b(notes?|private|confidential|costs?|prices?|priced|labou?r|margins?|mark-?ups?|overheads?|profits?|wages?|"
    r"rates?|bids?|tax(es|ed)?|hours?|minutes|money|amounts?|charges?|contingency|budgets?|quotes?|discounts?|invoices?)\b",
    re.IGNORECASE,
)
LOCALLY = "Codes are adopted and amended locally."
_CITED = re.compile(r".+ .+: .+ \(.+\)")  # edition, section, what it says, and how sure we are of it
_NEVER_SAID = "notes, labour and money are never shared; write no"


@dataclass(frozen=True)
class Shown:
    """One value as the contractor sees it: text, or a number in a unit."""

    value: str | Fraction
    unit: str = ""

    @property
    def in_marks(self) -> bool:
        """Whether it reads as a fraction on an inch tape."""
        return isinstance(self.value, Fraction) and self.unit == "in" and 64 % self.value.denominator == 0

    @property
    def text(self) -> str:
        """
        >>> Shown(Fraction(61, 16), "in").text, Shown(Fraction(177, 2), "mm").text, Shown(Fraction(41)).text
        ('3 13/16', '88.5', '41')
        """
        if isinstance(self.value, str):
            return self.value
        if self.in_marks:
            return str(reading(self.value * 64, 64, "inches"))
        return f"{float(self.value):.4f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class Table:
    """Rows of values under heads, from one sheet."""

    title: str
    heads: list[Shown]
    rows: list[list[Shown]] = field(default_factory=list)


@dataclass(frozen=True)
class Shared:
    """All that leaves the shop."""

    revision: str
    on: datetime.date
    facts: list[tuple[str, Shown]]
    tables: list[Table]
    runs: list[LaidRun]
    elevations: bool
    left_out: list[str]
    cited: list[str]

    @property
    def title(self) -> str:
        """The job's own name, where it may be seen."""
        return next((shown.text for label, shown in self.facts if label == "Job"), "Railing")


@dataclass(frozen=True)
class _Line:
    row: int
    sheet: str
    label: str
    called: str


def gather(book: JobBook, on: datetime.date) -> Shared:
    """What the workbook's sheet Sharing lets a contractor see.

    Raises:
        BookError: a line that cannot be followed, or a job that cannot be laid out.
    """
    runs = laid_runs(book)
    lines, revision = _lines(book)
    shared = Shared(revision, on, [], [], runs, _wants_elevations(lines), [], _cited(book, runs))
    for title in dict.fromkeys(line.sheet for line in lines):
        wanted = [line for line in lines if line.sheet == title and folded(title) != folded(ELEVATION)]
        if wanted:
            _sheet(book.sheet(title), wanted, shared)
    return shared


def _cited(book: JobBook, runs: list[LaidRun]) -> list[str]:
    """Where the published limits of the runs stand: those of the code whose list is on the sheet Checks.

    A code of the shop's own is not known any more once the workbook is made; the lines of its list are then taken from
    the sheet, where they are whole, seen, and not of notes or money.
    """
    sheet = book.sheet("Checks")
    start, end = one_row(sheet, SOURCES_LABEL), row_starting(sheet, LOCALLY)
    listed = [as_text(sheet.value(row, 1)) for row in range(start + 1, end) if sheet.shown(row, 1)]
    in_order = sorted((laid.run for laid in runs), key=lambda run: run.unit)
    for code in ("", *profiles.shipped()):
        cited = list(dict.fromkeys(cited for run in in_order for cited in cited_for(run, code)))
        if cited == listed:
            return cited
    return [line for line in listed if _CITED.fullmatch(line) and not NEVER.search(line)]


def _wants_elevations(lines: list[_Line]) -> bool:
    return any(folded(line.sheet) == folded(ELEVATION) for line in lines)


def _lines(book: JobBook) -> tuple[list[_Line], str]:
    """The lines marked yes, and the revision."""
    sheet = book.sheet(TITLE)
    lines, seen = [], set()
    for row in range(HEAD_ROW + 1, sheet.rows + 1):
        title, label, share, called = (as_text(sheet.value(row, column)) for column in range(1, 5))
        if not (title or label or share):
            continue
        where = f"sheet '{TITLE}' row {row}"
        if folded(share) not in ("yes", "no", ""):
            raise BookError(f"{where}: '{share}' is neither yes nor no")
        if not title:
            raise BookError(f"{where}: the name of the sheet is missing")
        if (key := (folded(title), folded(label or WHOLE))) in seen:
            raise BookError(f"{where}: '{title}', '{label or WHOLE}' stands there twice; keep one of them")
        seen.add(key)
        if folded(share) == "yes":
            if any(NEVER.search(text) for text in (title, label)):
                raise BookError(f"{where}: '{title}', '{label or WHOLE}': {_NEVER_SAID}")
            lines.append(_Line(row, title, label or WHOLE, called or label))
    return lines, as_text(sheet.value(REVISION_ROW, 2)) or "1"


def _sheet(sheet: SheetView, lines: list[_Line], shared: Shared) -> None:
    if sheet.hidden:
        raise BookError(f"sheet '{TITLE}' row {lines[0].row}: the sheet '{sheet.title}' is hidden, so it is not shared;"
                        " write no, or unhide it")  # fmt: skip
    if any(line.label == WHOLE for line in lines):
        shared.tables.append(_whole(sheet, shared))
        return
    heads = next(iter(sheet.labelled("Run")), 0)
    across = [line for line in lines if sheet.labelled(line.label)]
    down = [line for line in lines if line not in across]
    if across:
        _rows(sheet, across, heads, shared)
    if down:
        shared.tables.append(_columns(sheet, down, heads))


def _rows(sheet: SheetView, lines: list[_Line], heads: int, shared: Shared) -> None:
    """Rows named in the first column: facts of the job above the names of the runs, below them a value a run."""
    columns = {run.run.name: column for column in range(2, sheet.columns + 1) for run in shared.runs
               if heads and sheet.value(heads, column) == run.run.name}  # fmt: skip
    units = [run.run.unit for run in shared.runs if run.run.name in columns]
    table = Table(sheet.title, [Shown("Run"), *map(Shown, columns)])
    table.rows.append([Shown("Unit"), *map(Shown, units)])
    for line in lines:
        row = _one_row(sheet, line, heads)
        if row < heads or not heads:
            shared.facts.append((line.called, _shown(sheet, line, row, 2, "")))
        else:
            values = [_shown(sheet, line, row, column, unit)
                      for column, unit in zip(columns.values(), units, strict=True)]  # fmt: skip
            if any(shown.text for shown in values):
                table.rows.append([Shown(line.called), *values])
    if len(table.rows) > 1:
        shared.tables.append(table)


def _one_row(sheet: SheetView, line: _Line, heads: int) -> int:
    rows = sheet.labelled(line.label)
    if len(rows) > 1:
        raise BookError(f"sheet '{TITLE}' row {line.row}: '{line.label}' stands in {len(rows)} rows of sheet"
                        f" '{sheet.title}'; give them different names")  # fmt: skip
    return rows[0]


def _columns(sheet: SheetView, lines: list[_Line], heads: int) -> Table:
    """Columns named in the row that starts with Run."""
    named = {folded(sheet.value(heads, column)): column for column in range(2, sheet.columns + 1)
             if heads and sheet.value(heads, column) is not None}  # fmt: skip
    for line in lines:
        if folded(line.label) not in named:
            raise BookError(f"sheet '{TITLE}' row {line.row}: the sheet '{sheet.title}' has no row or column"
                            f" '{line.label}'")  # fmt: skip
    unit_column = named.get("unit")
    table = Table(sheet.title, [Shown("Run"), *(Shown(line.called) for line in lines)])
    for row in range(heads + 1, sheet.rows + 1):
        if sheet.value(row, 1) is None or not sheet.shown(row, 1):
            continue
        unit = as_text(sheet.value(row, unit_column)) if unit_column else ""
        values = [_shown(sheet, line, row, named[folded(line.label)], unit) for line in lines]
        table.rows.append([Shown(as_text(sheet.value(row, 1))), *values])
    return table


def _whole(sheet: SheetView, shared: Shared) -> Table:
    """Every visible cell of a sheet, but for rows and columns that speak of notes or money."""
    cells = list(filled(sheet))
    first = {row: column for row, column, _ in reversed(cells)}
    rows: set[int] = set()
    columns: set[int] = set()
    for row, column, value in cells:
        told = isinstance(value, str) and NEVER.search(value) is not None
        if told and column == first[row]:
            rows.add(row)
        elif told or sheet.is_money(row, column):
            columns.add(column)
    shared.left_out.extend(_named(sheet, "row", list(map(str, sorted(rows)))))
    shared.left_out.extend(_named(sheet, "column", list(map(get_column_letter, sorted(columns)))))
    kept = {(row, column): _value(value, "in" if sheet.is_fraction(row, column) else "")
            for row, column, value in cells if row not in rows and column not in columns}  # fmt: skip
    wide = sorted({column for _, column in kept})
    lines = [[kept.get((row, column), Shown("")) for column in wide] for row in sorted({row for row, _ in kept})]
    if lines and "".join(shown.text for shown in lines[0]) == sheet.title:
        del lines[0]  # the sheet's own title stands over the table anyway
    return Table(sheet.title, [], lines)


def _named(sheet: SheetView, what: str, names: list[str]) -> list[str]:
    """Rows or columns of a sheet, in words."""
    return [f"sheet '{sheet.title}' {what}{'s' if len(names) > 1 else ''} {', '.join(names)}"] if names else []


def _shown(sheet: SheetView, line: _Line, row: int, column: int, unit: str) -> Shown:
    if sheet.is_money(row, column):
        raise BookError(f"sheet '{TITLE}' row {line.row}: {sheet.where(row, column)} holds money; {_NEVER_SAID}")
    if not sheet.shown(row, column):
        raise BookError(f"sheet '{TITLE}' row {line.row}: {sheet.where(row, column)} is hidden, so it is not shared;"
                        " write no, or unhide it")  # fmt: skip
    return _value(sheet.value(row, column), "" if "degrees" in line.label else unit)


def _value(value: Any, unit: str) -> Shown:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Shown(exact(value), unit)
    return Shown(as_text(value))
