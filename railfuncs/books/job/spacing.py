"""How many balusters each run takes and how they are spaced."""

from fractions import Fraction
from typing import Any

from railfuncs.books.cells import Block, Book, Page
from railfuncs.books.job import slope
from railfuncs.books.job.run import RunCells
from railfuncs.books.look import a_column_a_run
from railfuncs.rules import flight
from railfuncs.rules import job as together
from railfuncs.rules.measure import drift, round_to
from railfuncs.rules.rake import rake
from railfuncs.rules.spacing import count, gap, oc, stepped_end
from railfuncs.rules.treads import tread_gap

LABELS = (
    "Run", "Unit", "Where the openings disagree", "Shoe, trim to trim",
    "Newels wider apart at the shoe by (minus: narrower)", "Shoe marks read less than the rail's by",
    "Limit for an even gap", "Balusters", "Exact gap", "Gap on a tape", "Exact on center", "On center on a tape",
    "Widest gap as marked", "A mark of the tape", "What is wrong, if anything",
    "If the rounded on center were stepped from the middle",
    "each end gap would be", "stepped from one end instead, you would be out by",
)  # fmt: skip
(
    NAME, UNIT, WORDS, SHOE, LEAN, SHIFT, LIMIT, COUNT, GAP, GAP_TAPE,
    OC, OC_TAPE, WIDEST, STEP, STATUS, _, END, OUT,
) = range(4, 4 + len(LABELS))


_ON_A_SLOPE = (
    " On a slope openings and gaps are level, on center is along the slope. Balusters on treads stand evenly from tread"
    " to tread; their gaps at the newels are listed with the marks."
)
SOUND, BY_RULE = OUT + 2, OUT + 3  # hidden steps


def _step(per_unit: Any) -> Any:
    return 1 / per_unit


def add(book: Book, runs: list[RunCells], lines: int) -> Page:
    """The page, and before it the slope of runs that have one, whose lengths along it follow from the spacing."""
    sloping = slope.add(book, runs)
    page = _spacing(book, runs, lines)
    if sloping is not None:
        slope.add_along(sloping, runs)
    return page


def _spacing(book: Book, runs: list[RunCells], lines: int) -> Page:
    page = book.page("Spacing")
    sheet = page.sheet
    page.put(1, 1, "Spacing", "title")
    sloped = any(run.kind != "level" for run in runs)
    page.put(2, 1, f"Every gap of a run is the same, ends included. Marks are listed for up to {lines} balusters a"
                   f" run; past that the run says so.{_ON_A_SLOPE if sloped else ''}", "lead")  # fmt: skip
    sheet.merge_cells(start_row=2, end_row=2, start_column=1, end_column=5)
    sheet.row_dimensions[2].height = 56 if sloped else 30
    for row, text in enumerate(LABELS, start=NAME):
        page.put(row, 1, text, "head" if row == NAME else "text" if text else "lead")
    page.put(END - 1, 1, LABELS[END - 1 - NAME], "group")
    for run in runs:
        _run(page, run, lines)
    sheet.row_dimensions[NAME].height = 30
    sheet.row_dimensions[STATUS].height = sheet.row_dimensions[WORDS].height = 66
    for row in (SOUND, BY_RULE):
        sheet.row_dimensions[row].hidden = True
    a_column_a_run(sheet, len(runs), (50, 17), NAME + 1)
    return page


def _run(page: Page, run: RunCells, lines: int) -> None:
    column = run.number + 2
    page.calc(NAME, column, together.label, run["name"], style="head")
    page.put(UNIT, column, run.unit, "centre")
    calc = _Column(page, run)
    calc("step", STEP, _step, run["per_unit"], style="number", unless=run["ready"])
    (_on_treads if run.kind == "treads" else _on_a_shoe)(page, run, calc, lines)


class _Column:
    """Writes the cells of one run's column and remembers each by its name."""

    def __init__(self, page: Page, run: RunCells) -> None:
        self._page, self._run = page, run

    def __call__(self, name: str, row: int, rule: Any, *args: Any, style: str, unless: Any) -> None:
        self._run.cells[name] = self._page.calc(row, self._run.number + 2, rule, *args, style=style, unless=unless)


def _on_a_shoe(page: Page, run: RunCells, calc: _Column, lines: int) -> None:
    column, ready = run.number + 2, run["ready"]
    trims = run["trim_left"], run["trim_right"]
    calc("shoe", SHOE, together.shoe_length, run["opening"], run["shoe_opening"], *trims, style="number",
         unless=ready)  # fmt: skip
    calc("lean", LEAN, together.lean, run["opening"], run["shoe"], *trims, style="number", unless=ready)
    calc("lean_words", WORDS, together.lean_in_words, run["lean"], style="wrap", unless=ready)
    calc("shift", SHIFT, together.shoe_shift, run["lean"], run["trim_left"], style="number", unless=ready)
    calc("even_limit", LIMIT, together.effective_limit, run["limit"], run["lean"], style="number", unless=ready)
    sound = page.status(SOUND, column, [
        (together.sound_run, (run["shoe"], run["lean"], run["opening"], run["limit"], run["floor_gap"])),
    ], unless=ready)  # fmt: skip
    by_rule = page.calc(BY_RULE, column, count, run["opening"], run["width"], run["even_limit"], run["target"],
                        run["parity"], style="whole", unless=sound)  # fmt: skip
    calc("n", COUNT, together.chosen_count, run["count"], by_rule, style="whole", unless=sound)
    run.cells["status"] = page.status(STATUS, column, [
        (together.within_capacity, (run["n"], Fraction(lines))),
        (together.on_the_shoe, (run["opening"], run["width"], run["n"], run["shift"], run["shoe"])),
    ], unless=sound)  # fmt: skip
    status = run["status"]
    spaced = run["opening"], run["width"], run["n"]
    calc("gap", GAP, gap, *spaced, style="exact", unless=status)
    calc("gap_tape", GAP_TAPE, round_to, run["gap"], run["step"], style=run.unit, unless=status)
    if run.kind == "level":
        calc("oc", OC, oc, *spaced, style="exact", unless=status)
        calc("end", END, stepped_end, *spaced, run["step"], style="exact", unless=status)
    else:
        slope = run["slope_rise"], run["slope_run"]
        calc("oc", OC, flight.oc_on_slope, *spaced, *slope, style="exact", unless=status)
        calc("end", END, flight.stepped_end_on_slope, *spaced, run["step"], *slope, style="exact", unless=status)
    _stepped(run, calc)


def _on_treads(page: Page, run: RunCells, calc: _Column, lines: int) -> None:
    ready = run["ready"]
    calc("n", COUNT, together.same, run["standing"], style="whole", unless=ready)
    run.cells["status"] = page.status(STATUS, run.number + 2, [(together.within_capacity, (run["n"], Fraction(lines)))],
                                      unless=ready)  # fmt: skip
    status = run["status"]
    run.cells["lean_words"] = run["status"]
    calc("even_limit", LIMIT, together.same, run["limit"], style="number", unless=status)
    calc("gap", GAP, tread_gap, run["tread"], run["width"], run["each_tread"], style="exact", unless=status)
    calc("gap_tape", GAP_TAPE, round_to, run["gap"], run["step"], style=run.unit, unless=status)
    calc("oc", OC, rake, run["each"], run["slope_rise"], run["slope_run"], style="exact", unless=status)
    _stepped(run, calc)


def _stepped(run: RunCells, calc: _Column) -> None:
    """What a spacing rounded to the tape would do, as it lies on the boards."""
    status = run["status"]
    calc("oc_tape", OC_TAPE, round_to, run["oc"], run["step"], style=run.unit, unless=status)
    calc("out", OUT, drift, run["oc"], run["n"], run["step"], style="exact", unless=status)


def add_widest(page: Page, runs: list[RunCells]) -> None:
    """The widest gap as marked, once the marks are listed."""
    for run in runs:
        gaps = Block([[cell] for cell in run.gaps])
        run.cells["widest"] = page.calc(WIDEST, run.number + 2, together.widest, gaps, style="exact",
                                        unless=run["status"])  # fmt: skip
