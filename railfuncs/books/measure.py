"""The measure sheet: what a person writes on site, one row a run, as .xlsx or .csv.

Its columns are declared in shared/measure_columns.csv: header, kind, what a blank means, and the help that
the template prints. Above the header may stand facts of the job, a name and a value in two cells of a row.
Every bad cell is found before anything is refused, so that one look at the sheet puts them all right.
"""

import csv
import datetime
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from railfuncs import data, lengths
from railfuncs.books.grids import Found, Grid, read_grids
from railfuncs.errors import BookError, InputError, LengthError, RailError

SHEET = "Measure"
MOST_RUNS = 200
LONGEST_TEXT = 500  # characters
DENOMINATORS = (2, 4, 8, 16, 32, 64)
TAPES = ("inches", "feet")
FACTS = {"title": "Job", "site": "Site", "date": "Date", "made_by": "Made by", "denominator": "Marks to the",
         "tape": "Tape", "code": "Code"}  # fmt: skip
STEEPEST = 90  # degrees
# Where the cell is needed, by the kinds of run that need it.
NEEDED_ON = {"yes": ("level", "rake", "treads"), "level": ("level",), "shoe": ("level", "rake"), "treads": ("treads",)}
_SLOPED = ("rise", "level_run", "riser", "tread", "steps", "angle", "sloped")


@dataclass(frozen=True, slots=True)
class Run:
    """One run of guard or stair rail as measured; every length is in the run's own `unit` ("in" or "mm").

    Level lengths, plumb heights; the clear height and what is under the shoe are square to the slope. None where a
    cell was left blank; the opening may be on a slope only.
    """

    name: str
    unit: str
    opening: Fraction | None
    shoe_opening: Fraction | None
    trim_left: Fraction
    trim_right: Fraction
    width: Fraction
    material: str
    target: Fraction | None
    limit: Fraction
    parity: str
    count: int | None
    rail_width: Fraction
    rail_thickness: Fraction
    shoe_width: Fraction
    shoe_thickness: Fraction
    clear: Fraction
    floor_gap: Fraction
    rail_depth: Fraction
    shoe_depth: Fraction
    play: Fraction
    chisel: Fraction
    rise: Fraction | None
    level_run: Fraction | None
    riser: Fraction | None
    tread: Fraction | None
    steps: int | None
    angle: Fraction | None
    sloped: Fraction | None
    up: str
    stands: str
    nosing: Fraction
    first: Fraction | None
    height: Fraction | None
    left: str
    right: str
    face: str
    notes: str

    @property
    def kind(self) -> str:
        """level, rake (a slope with a shoe) or treads (a slope with balusters standing on its treads)."""
        return _kind({key: getattr(self, key) for key in ("stands", *_SLOPED)})


def _kind(values: dict[str, Any]) -> str:
    if values["stands"] == "treads":
        return "treads"
    return "level" if all(values[key] is None for key in _SLOPED) else "rake"


@dataclass(frozen=True, slots=True)
class Job:
    """A measured job: its facts and its runs. Runs in inches are marked to 1/`denominator`, in mm to 1 mm.

    `code` is the profile of published limits that the runs are compared with; blank for the usual one of each unit.
    """

    title: str
    site: str
    date: str
    made_by: str
    denominator: int
    tape: str
    code: str
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the measure sheet, a row of shared/measure_columns.csv.

    `kind` is text, choice, length, degrees or whole; `least` is "0", "over 0" or "any"; a blank cell takes the default
    of the row's unit, or the value of the column `default_from`. `required` is yes, or names what needs it: a level
    run, a run with a shoe, or one on treads; a choice of its own, or blank where none does.
    """

    key: str
    header: str
    kind: str
    required: str
    choices: tuple[str, ...]
    least: str
    default_in: str
    default_mm: str
    default_from: str
    help: str


Checks = Callable[[Run], Sequence[tuple[str, str]]]


@cache
def columns() -> dict[str, Column]:
    """The columns of the measure sheet by key, in their order.

    >>> columns()["opening"].header, columns()["unit"].choices
    ('Opening at rail', ('in', 'mm'))
    """
    with data.path("measure_columns.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["key"]: Column(**row | {"choices": tuple(row["choices"].split())})
            for row in csv.DictReader(file)
        }


def read_job(path: Path, checks: Checks = lambda run: ()) -> Job:
    """Read a filled measure sheet.

    Args:
        path: a .xlsx (sheet "Measure", or the first with the headers) or a .csv (UTF-8 or Windows text; comma,
            semicolon or tab)
        checks: finds what is wrong with a run whose cells can all be read: (column key, sentence) pairs
    Returns: the job; lengths exact, each in its run's own unit
    Raises:
        BookError: the file as a whole cannot be read; one sentence.
        InputError: cells must be put right; one sentence for each of them, all at once.

    >>> from tempfile import TemporaryDirectory
    >>> headers = ",".join(column.header for column in columns().values()
    ...                    if column.required in ("yes", "level", "shoe"))
    >>> with TemporaryDirectory() as folder:
    ...     sheet = Path(folder, "porch.csv")
    ...     _ = sheet.write_text(headers + "\\nPorch,63 1/2,1/2,2 3/4,1 3/4,5 1/4,1 1/4,34 1/2,1/2,1/2")
    ...     porch = read_job(sheet).runs[0]
    >>> porch.name, porch.opening, porch.limit, porch.target
    ('Porch', Fraction(127, 2), Fraction(4, 1), None)
    """
    headers = columns()["name"].header, columns()["opening"].header
    grid, header = grid_with_header(path, SHEET, headers, "a new template")
    problems: list[str] = []
    facts = _facts(grid, header, problems)
    places = _places(grid, header, problems)
    rows = [row for row in grid.rows if row > header]
    if not rows:
        problems.append(f"{grid.whole}: no runs filled in; write one run a row under the headers")
    if len(rows) > MOST_RUNS:
        problems.append(f"{grid.whole} holds {len(rows)} runs; split the job, {MOST_RUNS} at a time")
        raise InputError(problems)
    runs: list[Run] = []
    seen: dict[str, str] = {}
    for row in rows:
        sheet_row = _Row(grid, header, row, places, problems)
        run = sheet_row.run(seen)
        if run is not None:
            runs.append(run)
            for key, sentence in checks(run):
                sheet_row.complain(key, sentence)
    if problems:
        raise InputError(problems)
    return Job(**facts, runs=tuple(runs))


def folded(text: Any) -> str:
    """A header without what people change: case, spaces, a star or colon behind it."""
    return "".join(str(text).split()).rstrip("*:").casefold()


def grid_with_header(path: Path, sheet: str, headers: tuple[str, str], start: str) -> tuple[Grid, int]:
    """The first grid of a file with both headers in one row, the grid named `sheet` before others; and that row.

    Args:
        start: what to start from where there is none, such as a new template
    """
    grids = read_grids(path, sheet)
    needed = set(map(folded, headers))
    for grid in grids:
        for row, cells in grid.rows.items():
            if needed <= {folded(cell.value) for cell in cells.values()}:
                if grid.broken:
                    raise BookError(grid.broken)
                return grid, row
    broken = next((grid.broken for grid in grids if grid.broken), "")
    names = " and ".join(f"'{header}'" for header in headers)
    raise BookError(broken or f"'{path}' has no row with the headers {names}; start from {start}")


def _facts(grid: Grid, header: int, problems: list[str]) -> dict[str, Any]:
    facts: dict[str, Any] = {"title": "", "site": "", "date": "", "made_by": "", "denominator": 16, "tape": TAPES[0],
                             "code": ""}  # fmt: skip
    known = {folded(label): key for key, label in FACTS.items()}
    seen: set[str] = set()
    for row, cells in grid.rows.items():
        if row >= header:
            break
        if len(cells) == 1:
            continue  # a heading, or a fact left blank
        (_, label), (column, found) = sorted(cells.items())[:2]
        key = known.get(folded(label.value))
        where = f"{grid.cell(row, column)} ({label.value})"
        if key is None or len(cells) > 2:
            problems.append(f"{grid.line(row)}: above the headers write one of {', '.join(FACTS.values())} and its"
                            " value, in two cells")  # fmt: skip
        elif key in seen:
            problems.append(f"{where}: stands there twice; keep one of them")
        else:
            seen.add(key)
            try:
                facts[key] = _fact(key, usable(found))
            except RailError as error:
                problems.append(f"{where}: {error}")
    return facts


def _fact(key: str, value: Any) -> Any:
    if key == "denominator":
        text = _written(value).removeprefix("1/")
        if isinstance(value, bool) or text not in [str(each) for each in DENOMINATORS]:
            raise RailError(f"{shown_value(value)} is no mark of an inch; write 2, 4, 8, 16, 32 or 64")
        return int(text)
    if key == "tape":
        return read_choice(value, TAPES)
    if key == "date" and isinstance(value, datetime.date):
        return value.isoformat()[:10]
    return read_text(value)


def _places(grid: Grid, header: int, problems: list[str]) -> dict[str, int]:
    """Where each column stands, by key; what is wrong with the header row."""
    keys = {folded(column.header): column.key for column in columns().values()}
    places: dict[str, int] = {}
    for column, found in sorted(grid.rows[header].items()):
        where, key = grid.cell(header, column), keys.get(folded(found.value))
        if found.problem:
            problems.append(f"{where}: {found.problem}")
        elif key is None:
            problems.append(f"{where}: {shown_value(found.value)} is not a column of the measure sheet; use the"
                            " template's headers, and Notes for anything else")  # fmt: skip
        elif key in places:
            problems.append(f"{where}: the column '{columns()[key].header}' stands there twice; keep one of them")
        else:
            places[key] = column
    for each in columns().values():
        if each.required == "yes" and each.key not in places:
            problems.append(_missing(grid, header, each))
    _no_stray_cells(grid, header, problems)
    return places


def _missing(grid: Grid, header: int, column: Column) -> str:
    return f"{grid.line(header)}: the column '{column.header}' is missing; add it"


def _no_stray_cells(grid: Grid, header: int, problems: list[str]) -> None:
    strays = {column: row for row in sorted(grid.rows, reverse=True) if row > header
              for column in grid.rows[row] if column not in grid.rows[header]}  # fmt: skip
    for column, row in sorted(strays.items()):
        problems.append(f"{grid.cell(row, column)}: there is no header above this cell; write one, or clear the cell")


class _Row:
    """One row of the sheet being read into a run."""

    def __init__(self, grid: Grid, header: int, row: int, places: dict[str, int], problems: list[str]) -> None:
        self.grid, self.header, self.row, self.places, self.problems = grid, header, row, places, problems

    def complain(self, key: str, sentence: str) -> None:
        column = self.places.get(key)
        where = self.grid.line(self.row) if column is None else self.grid.cell(self.row, column)
        self.problems.append(f"{where} ({columns()[key].header}): {sentence}")

    def run(self, seen: dict[str, str]) -> Run | None:
        """The run, or None when something is wrong with it; `seen` holds where each name was first used."""
        before = len(self.problems)
        values = dict(self._values())
        for column in columns().values():
            if values[column.key] is None and column.default_from:
                values[column.key] = values[column.default_from]
        if len(self.problems) == before:
            self._complain_of_blanks(values)
        name = values["name"]
        if name is not None:
            here = self.grid.line(self.row)
            if (first := seen.setdefault(name.casefold(), here)) != here:
                self.complain("name", f"'{name}' is the name of another run too ({first}); give each its own")
        return Run(**values) if len(self.problems) == before and _complete(values) else None

    def _complain_of_blanks(self, values: dict[str, Any]) -> None:
        """Cells that this kind of run needs; a length it has no use for counts as nothing."""
        kind = _kind(values)
        for column in columns().values():
            if column.required in ("", "yes") or values[column.key] is not None:
                continue
            if kind in NEEDED_ON[column.required] and column.key not in self.places:
                missing = _missing(self.grid, self.header, column)
                self.problems.extend([] if missing in self.problems else [missing])
            elif kind in NEEDED_ON[column.required]:
                self.complain(column.key, f"is blank; {_WHY_NEEDED[column.required]}{_ASK[column.kind]}")
            elif column.required == "shoe":
                values[column.key] = Fraction(0)
        values["up"] = values["up"] or "right"  # where it makes no difference but to the drawing

    def _values(self) -> Iterator[tuple[str, Any]]:
        # Where the unit cannot be read, mm: no number then seems too long, and only the unit is complained of.
        unit = self._value(columns()["unit"], "in") or "mm"
        for column in columns().values():
            yield column.key, unit if column.key == "unit" else self._value(column, unit)

    def _value(self, column: Column, unit: str) -> Any:
        if column.key not in self.places:  # a missing required column is said once, at the header
            return _default(column, unit)
        found = self.grid.rows[self.row].get(self.places[column.key])
        if found is None:
            if column.required == "yes":
                self.complain(column.key, f"is blank; {_ASK[column.kind]}")
            return _default(column, unit)
        try:
            return _read(column, usable(found), unit)
        except RailError as error:
            self.complain(column.key, str(error))
            return None


_ASK = {
    "text": "write a name",
    "choice": "choose one",
    "length": "write a length like 63 1/2 or 1600 mm",
    "whole": "write a whole number like 17",
    "degrees": "write degrees like 36.87",
}
_WHY_NEEDED = {"level": "", "shoe": "", "treads": "balusters on treads need it: "}


def _complete(values: dict[str, Any]) -> bool:
    kind = _kind(values)
    return all(
        values[column.key] is not None
        for column in columns().values()
        if column.required and kind in NEEDED_ON[column.required]
    )


def _default(column: Column, unit: str) -> Any:
    default = column.default_mm if unit == "mm" else column.default_in
    if column.kind in ("length", "choice"):
        return (Fraction(default) if column.kind == "length" else default) if default else None
    return default if column.kind not in ("whole", "degrees") else None


def usable(found: Found) -> Any:
    if found.problem:
        raise RailError(found.problem)
    return found.value


def _read(column: Column, value: Any, unit: str) -> Any:
    """What a filled cell means; lengths in the row's unit."""
    if column.kind == "length":
        return _length(value, unit, column.least)
    if column.kind == "whole":
        return _whole(value)
    if column.kind == "degrees":
        return _degrees(value)
    return read_choice(value, column.choices) if column.kind == "choice" else read_text(value)


def _length(value: Any, unit: str, least: str) -> Fraction:
    length = lengths.read(value, unit)
    if least == "over 0" and length <= 0:
        raise LengthError(f"{shown_value(value)} must be more than zero; {_ASK['length']}")
    if length < 0 and least != "any":
        raise LengthError(f"{shown_value(value)} cannot be less than zero; {_ASK['length']}")
    return length / lengths.MM if unit == "mm" else length


def _degrees(value: Any) -> Fraction:
    text = _written(value).removesuffix("°").rstrip()
    if isinstance(value, bool) or not re.fullmatch(r"[0-9]{1,2}([.][0-9]{1,9})?", text):
        raise RailError(f"{shown_value(value)} is no angle from 0 to less than {STEEPEST}; {_ASK['degrees']}")
    return Fraction(text)


def _whole(value: Any) -> int:
    text = _written(value)
    if isinstance(value, bool) or not re.fullmatch(r"[0-9]{1,4}", text):
        raise RailError(f"{shown_value(value)} is not a whole number of zero or more; {_ASK['whole']}")
    return int(text)


def read_choice(value: Any, choices: Sequence[str]) -> str:
    text = str(value).strip().casefold()
    if text not in choices:
        raise RailError(f"{shown_value(value)} is not known here; write {', '.join(choices[:-1])} or {choices[-1]}")
    return text


def read_text(value: Any) -> str:
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        raise RailError("the spreadsheet has turned this text into a date; type an apostrophe before it")
    text = " ".join(_written(value).split())
    if ILLEGAL_CHARACTERS_RE.search(text):
        raise RailError("holds characters that cannot be printed; type the text again")
    if len(text) > LONGEST_TEXT:
        raise RailError(f"is {len(text)} characters long; write at most {LONGEST_TEXT}")
    return text


def _written(value: Any) -> str:
    """A value as its writer sees it: 17, where the file holds 17.0."""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value).strip()


def shown_value(value: Any) -> str:
    return f"'{lengths.in_brief(value)}'" if isinstance(value, str) else str(value).strip()
