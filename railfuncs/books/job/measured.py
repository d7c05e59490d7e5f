"""The one sheet of inputs: what was measured, a column a run."""

from dataclasses import dataclass, fields
from typing import Any

from openpyxl.worksheet.datavalidation import DataValidation

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job.run import CAUTION, RunCells
from railfuncs.books.job.slope import MEASURED_FIRST, failing, fits, work_out
from railfuncs.books.look import a_column_a_run
from railfuncs.books.measure import Job, Run
from railfuncs.errors import RuleError
from railfuncs.lengths import LONGEST
from railfuncs.rules import cutting, flight
from railfuncs.rules import job as together
from railfuncs.rules.spacing import count
from railfuncs.tracing import at_most, is_blank, is_number, need, where

# (key, label, what it is for, how a blank counts); None as the kind starts a group
ROWS: tuple[tuple[str, str, Any], ...] = (
    ("", "Opening", None),
    ("opening", "Opening at the rail, newel to newel", None),
    ("shoe_opening", "Opening at the shoe, trim to trim (blank: worked out)", None),
    ("trim_left", "Newel base trim, left", 0),
    ("trim_right", "Newel base trim, right", 0),
    ("", "Balusters", None),
    ("width", "Width along the rail", None),
    ("material", "Made of", ""),
    ("target", "Gap wanted (blank: fewest under the limit)", 0),
    ("limit", "Gap limit: this wide is too wide", None),
    ("parity", "Count: any, odd or even", None),
    ("count", "Your own count (blank: worked out)", None),
    ("", "Boards", None),
    ("rail_width", "Handrail width", None),
    ("rail_thickness", "Handrail thickness", None),
    ("shoe_width", "Shoe width", None),
    ("shoe_thickness", "Shoe thickness", None),
    ("", "Height and mortises", None),
    ("clear", "Clear height, shoe to rail", None),
    ("floor_gap", "Gap under the shoe", 0),
    ("rail_depth", "Mortise depth in the rail", None),
    ("shoe_depth", "Mortise depth in the shoe", None),
    ("play", "Play: cut short by", 0),
    ("chisel", "Chisel", None),
    ("", "Which way round", None),
    ("left", "Left end at", ""),
    ("right", "Right end at", ""),
    ("face", "Wall side", ""),
    ("notes", "Notes", ""),
)  # fmt: skip
SLOPE_ROWS: tuple[tuple[str, str, Any], ...] = (
    ("", "Slope: measured any one way, or more to compare", None),
    ("rise", "Rise, plumb", None),
    ("level_run", "Run of that rise, level", None),
    ("riser", "Riser", None),
    ("tread", "Tread, nosing to nosing, level", None),
    ("steps", "Steps", None),
    ("angle", "Angle from level, degrees", None),
    ("sloped", "Length along the slope", None),
    ("up", "Goes up to the: left or right", None),
    ("stands", "Balusters stand on", None),
    ("nosing", "Lower newel's face to the first nosing, level", 0),
    ("first", "First baluster's centre, in from the nosing", None),
    ("height", "Top of the rail above the nosings, plumb", None),
)
MAY_BE_BLANK = {"shoe_opening", "target", "count", "rise", "level_run", "riser", "tread", "steps", "angle", "sloped"}
TEXTS = {"material", "left", "right", "face", "notes", "stands"}
CHOICES = {"parity": "any,odd,even", "up": "left,right"}
_SLOPED_ONLY = {key for key, _, _ in SLOPE_ROWS if key}
_TREADS_ONLY = {"nosing", "first", "height"}
_SHOE_ONLY = {"shoe_opening", "trim_left", "trim_right", "target", "parity", "shoe_width", "shoe_thickness", "clear",
              "floor_gap"}  # fmt: skip
FIRST_ROW = 14
MOST_BALUSTERS = 250  # in one run: past this the rounding of spreadsheets is not sure any more


def rows_of(sloped: bool) -> tuple[tuple[str, str, Any], ...]:
    """The rows of the sheet; those of the slope only where a run has one."""
    place = [label for _, label, _ in ROWS].index("Which way round")
    return (*ROWS[:place], *SLOPE_ROWS, *ROWS[place:]) if sloped else ROWS


def asked_of(kind: str, key: str) -> bool:
    """Whether a run of this kind (level, rake, treads) is asked for this measurement."""
    unused = {"level": _SLOPED_ONLY, "rake": _TREADS_ONLY, "treads": _SHOE_ONLY}
    return key not in unused[kind]


def may_be_blank(kind: str, key: str) -> bool:
    """Whether this measurement may be left out."""
    if kind == "treads" and key in ("riser", "tread", "steps"):
        return False
    return key in MAY_BE_BLANK or (key == "opening" and kind != "level")


@dataclass(frozen=True)
class Spaced:
    """A run spaced as measured: what follows for its slope, its count; shoe and shift are level, 0 on treads."""

    worked: dict[str, Any]
    count: Any
    shoe: Any = 0
    shift: Any = 0


def spaced_count(run: Run) -> Any:
    """The count a run takes as measured: the person's own, or the rule's."""
    return spaced(run).count


def spaced(run: Run) -> Spaced:
    """How a run is spaced.

    Raises:
        RuleError: it cannot be laid out.
    """
    values, problems = work_out(run)
    if problems:
        raise RuleError(problems[0][1])
    if run.kind == "treads":
        together.within_capacity(values["standing"], MOST_BALUSTERS)
        return Spaced(values, values["standing"])
    opening = values["level_opening"]
    shoe = together.shoe_length(opening, run.shoe_opening, run.trim_left, run.trim_right)
    leaning = together.lean(opening, shoe, run.trim_left, run.trim_right)
    together.sound_run(shoe, leaning, opening, run.limit, run.floor_gap)
    limit = together.effective_limit(run.limit, leaning)
    by_rule = count(opening, run.width, limit, run.target or 0, run.parity)
    chosen = together.chosen_count(run.count, by_rule)
    together.within_capacity(chosen, MOST_BALUSTERS)
    shift = together.shoe_shift(leaning, run.trim_left)
    together.on_the_shoe(opening, run.width, chosen, shift, shoe)
    return Spaced(values, chosen, shoe, shift)


def add(book: Book, job: Job) -> tuple[list[Cell], list[RunCells]]:
    """The page of inputs; returns the cells of the job's facts, and the cells of each run."""
    page = book.page("Measured")
    sheet = page.sheet
    page.put(1, 1, "Measured", "title")
    page.put(2, 1, "Type only in the boxed cells, in numbers (81 5/16 with a space, or 81.3125); every other sheet"
                   " follows. Each run is in its own unit. To add a run or change a unit or a name, change the"
                   " measure sheet and make the workbook again.", "lead")  # fmt: skip
    page.put(3, 1, CAUTION, "caution")
    for row in (2, 3):
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=5)
        sheet.row_dimensions[row].height = 42
    facts: list[Cell] = []
    for row, (name, value) in enumerate(
        (("Job", job.title), ("Site", job.site), ("Date", job.date), ("Made by", job.made_by)), start=5
    ):
        page.put(row, 1, name)
        facts.append(page.put(row, 2, value or "", "input text"))
        for column in (3, 4, 5):
            page.put(row, column, None, "input text")
        sheet.merge_cells(start_row=row, end_row=row, start_column=2, end_column=5)
    page.put(9, 1, "Marks to the inch: 2, 4, 8, 16, 32 or 64")
    marks_per_inch = page.put(9, 2, job.denominator, "input whole")
    _choose(page, [marks_per_inch], "2,4,8,16,32,64")
    page.put(10, 1, "Marks to the millimetre: 1, or 2 for halves")
    marks_per_mm = page.put(10, 2, 1, "input whole")
    _choose(page, [marks_per_mm], "1,2")
    rows = rows_of(any(run.kind != "level" for run in job.runs))
    runs = [_run(page, RunCells(i, run), rows, marks_per_mm if run.unit == "mm" else marks_per_inch)
            for i, run in enumerate(job.runs)]  # fmt: skip
    for row, (key, label, _) in enumerate(rows, start=FIRST_ROW):
        page.put(row, 1, label, "text" if key else "group")
    page.put(FIRST_ROW - 2, 1, "Run", "head")
    sheet.row_dimensions[FIRST_ROW - 2].height = 30
    page.put(FIRST_ROW - 1, 1, "Unit", "centre")
    page.put(FIRST_ROW + len(rows), 1, "What is wrong, if anything", "group")
    sheet.row_dimensions[FIRST_ROW + len(rows)].height = 60
    for key, choices in CHOICES.items():
        _choose(page, [run[key] for run in runs if key in run.cells], choices)
    a_column_a_run(sheet, len(runs), (46, 17), FIRST_ROW)
    return facts, runs


def _run(page: Page, cells: RunCells, rows: tuple[tuple[str, str, Any], ...], per_unit: Cell) -> RunCells:
    run, column = cells.run, cells.number + 2
    cells.cells["name"] = page.put(FIRST_ROW - 2, column, run.name, "head")
    cells.cells["unit"] = page.put(FIRST_ROW - 1, column, run.unit, "centre")
    cells.cells["per_unit"] = per_unit
    for row, (key, _, blank_as) in enumerate(rows, start=FIRST_ROW):
        if not key:
            continue
        if not asked_of(run.kind, key):
            page.put(row, column, None, "not asked")
            continue
        style = "input text" if key in TEXTS or key in CHOICES else "input in"
        if key == "notes":
            style = "input notes"
            page.sheet.row_dimensions[row].height = 66
        if key == "stands":
            style = "centre"  # as the unit, it is changed in the measure sheet
        cells.cells[key] = page.put(row, column, getattr(run, key), style, blank_as)
    numbers = [key for key in cells.cells if key in _numbers(rows)]
    refuse_text(page, [cells[key] for key in numbers if key not in ("steps", "angle", "nosing")], run.unit)
    cells.cells["measured"] = page.status(FIRST_ROW + len(rows), column, _checks(cells, rows, numbers))
    cells.cells["ready"] = cells["measured"]
    return cells


def _numbers(rows: tuple[tuple[str, str, Any], ...]) -> list[str]:
    return [key for key, _, _ in rows if key and key not in TEXTS and key not in CHOICES]


def _too_large(label: str) -> str:
    return f"{label}: too large for a rail, or turned into a date: write it like 0.75"


def _number_needed(label: str, most: Any) -> Any:
    def check(value: Any) -> None:
        need(is_number(value), f"{label}: write a number, like 63.5")
        # A fraction that a spreadsheet has turned into a date is a number over 40000.
        need(at_most(value, most), _too_large(label))

    return check


def _number_or_blank(label: str, most: Any) -> Any:
    def check(value: Any) -> None:
        need(where(is_number(value), 1, where(is_blank(value), 1, 0)) == 1, f"{label}: write a number, or nothing")
        need(at_most(where(is_number(value), value, 0), most), _too_large(label))

    return check


def _checks(
    run: RunCells, rows: tuple[tuple[str, str, Any], ...], numbers: list[str]
) -> list[tuple[Any, tuple[Any, ...]]]:
    labels = {key: label for key, label, _ in rows}
    most = LONGEST * run.per_inch
    optional = [key for key in numbers if may_be_blank(run.kind, key)]
    return [
        *((_number_needed(labels[key], most), (run[key],)) for key in numbers if key not in optional),
        *((_number_or_blank(labels[key], most), (run[key],)) for key in sorted(optional)),
        *((rule, tuple(run[key] for key in keys)) for _, rule, keys in _rules_of(run.kind)),
        *([(together.known_parity, (run["parity"],))] if run.kind != "treads" else []),
        *([(flight.known_side, (run["up"],))] if run.kind != "level" else []),
        (together.tape_marks, (run["per_unit"],)),
    ]


# What a run's measurements must satisfy: the column to blame, the rule, and what it looks at.
_RULES: tuple[tuple[str, Any, tuple[str, ...]], ...] = (
    ("opening", fits, ("opening", "width", "limit")),
    ("trim_left", cutting.cut_shoe, ("opening", "trim_left", "trim_right")),
    ("clear", cutting.cut_baluster, ("clear", "shoe_depth", "rail_depth", "play")),
    ("play", together.seat, ("rail_depth", "play")),
    ("rail_depth", cutting.floor_left, ("rail_thickness", "rail_depth")),
    ("shoe_depth", cutting.floor_left, ("shoe_thickness", "shoe_depth")),
)
_CHISEL_IN_RAIL = ("chisel", cutting.fence, ("rail_width", "chisel"))
_CHISEL_IN_SHOE = ("chisel", cutting.fence, ("shoe_width", "chisel"))


def _rules_of(kind: str) -> tuple[tuple[str, Any, tuple[str, ...]], ...]:
    """What measurements must satisfy before a slope is worked out from them; on the level there is none."""
    if kind == "level":
        return (*_RULES, _CHISEL_IN_RAIL, _CHISEL_IN_SHOE)
    return (*MEASURED_FIRST, _CHISEL_IN_RAIL, *((_CHISEL_IN_SHOE,) if kind == "rake" else ()))


def run_problems(run: Run) -> list[tuple[str, str]]:
    """What keeps a run from being laid out: (column, sentence), by the same rules as the sheet's own."""
    problems = failing(_rules_of(run.kind), {field.name: getattr(run, field.name) for field in fields(run)})
    if not problems:
        problems = work_out(run)[1]
    if not problems:
        try:
            spaced_count(run)
        except RuleError as error:
            problems.append(("opening" if run.count is None else "count", str(error)))
    return problems


def _choose(page: Page, cells: list[Cell], choices: str) -> None:
    rule = DataValidation("list", formula1=f'"{choices}"', allow_blank=False, showErrorMessage=True)
    rule.error = f"Choose one of: {choices.replace(',', ', ')}."
    for cell in cells:
        rule.add(cell.address)
    page.sheet.add_data_validation(rule)


def refuse_text(page: Page, cells: list[Cell], unit: str) -> None:
    """Let the spreadsheet itself stop text where a length belongs."""
    longest = "60960" if unit == "mm" else "2400"
    rule = DataValidation("decimal", operator="between", formula1="0", formula2=longest, allow_blank=True,
                          showErrorMessage=True)  # fmt: skip
    rule.error = f"Write a number of {'inches' if unit == 'in' else 'millimetres'}: 63.5, or 63 1/2 with a space."
    for cell in cells:
        rule.add(cell.address)
    page.sheet.add_data_validation(rule)
