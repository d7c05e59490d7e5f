"""Sloped runs in the job workbook: without a rise they are level runs; and what is typed in the sheet is followed."""

import csv
import math
import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from railfuncs import data, profiles
from railfuncs.books.cells import Book
from railfuncs.books.job import build
from railfuncs.books.job.measured import ROWS, SLOPE_ROWS, run_problems, spaced_count
from railfuncs.books.measure import Job, Run
from railfuncs.books.stored import save
from railfuncs.cli import main
from tests.office import CellError, Office
from tests.office.office import Book as Shown
from tests.rules.test_flight import LINES, Sheets, compare

F = Fraction
_BLANK = dict.fromkeys(("shoe_opening", "target", "count", "rise", "level_run", "riser", "tread", "steps", "angle", "sloped",
                        "first", "height"))  # fmt: skip
# A rail up eight steps of 7 1/2 by 10, which lies at 3-4-5; newels 76 1/2 apart.
RAKE = Run(**{
    **_BLANK, "name": "Rake", "unit": "in", "opening": F(153, 2), "trim_left": F(3, 8), "trim_right": F(1, 4),
    "width": F(1, 2), "material": "iron", "limit": F(4), "parity": "any", "rail_width": F(11, 4), "rail_thickness": F(7, 4),
    "shoe_width": F(21, 4), "shoe_thickness": F(5, 4), "clear": F(25), "floor_gap": F(1, 2), "rail_depth": F(3, 4),
    "shoe_depth": F(3, 4), "play": F(1, 16), "chisel": F(1, 2), "rise": F(60), "level_run": F(80), "riser": F(15, 2),
    "tread": F(10), "steps": 8, "up": "right", "stands": "shoe", "nosing": F(0), "left": "", "right": "", "face": "",
    "notes": "",
})  # fmt: skip
BY_STEPS = replace(RAKE, rise=None, level_run=None, opening=None)
BY_ANGLE = replace(BY_STEPS, riser=None, tread=None, steps=None, angle=F(37), sloped=F(95))
TREADS = replace(
    RAKE, width=F(5, 4), trim_left=F(0), trim_right=F(0), rise=None, level_run=None, steps=6, up="left", stands="treads",
    nosing=F(-31, 8), first=F(5, 4), height=F(36), opening=F(447, 8), shoe_depth=F(1, 2), play=F(0), floor_gap=F(0),
    shoe_width=F(0), shoe_thickness=F(0), clear=F(0),
)  # fmt: skip
IN_MM = replace(
    BY_STEPS, unit="mm", width=F(16), limit=F(100), rail_width=F(70), rail_thickness=F(45), shoe_width=F(90),
    shoe_thickness=F(30), clear=F(750), floor_gap=F(10), rail_depth=F(20), shoe_depth=F(20), play=F(2), chisel=F(16),
    trim_left=F(10), trim_right=F(10), riser=F(180), tread=F(240), steps=8,
)  # fmt: skip


def job_of(*runs: Run) -> Job:
    named = (replace(run, name=f"Run {number}") for number, run in enumerate(runs, start=1))
    return Job("Stairs", "", "2026-11-25", "", 16, "inches", "", tuple(named))


def written(job: Job, folder: Path) -> tuple[Book, Path]:
    book, path = build(job, LINES), folder / "job.xlsx"
    save(book.workbook, path, book.values)
    return book, path


def cell(number: int, key: str) -> tuple[str, str]:
    """Where a measurement of a run is typed, in a job that has sloped runs."""
    place = [label for _, label, _ in ROWS].index("Which way round")
    keys = [key for key, _, _ in (*ROWS[:place], *SLOPE_ROWS, *ROWS[place:])]
    return "Measured", f"{get_column_letter(number + 2)}{14 + keys.index(key)}"


def shown_sheets(book: Book, job: Job, number: int, shown: Shown) -> Sheets:
    def value(title: str, row: int, column: int) -> Any:
        return shown[title].get(f"{get_column_letter(column)}{row}", "")

    return Sheets(book.workbook, job, number, value)


def held_sheets(book: Book, job: Job, number: int) -> Sheets:
    return Sheets(book.workbook, job, number, lambda title, row, column: book.values[title].get((row, column), ""))


def no_errors(shown: Shown) -> None:
    found = {f"{title}!{address}": str(value) for title, cells in shown.items() for address, value in cells.items()
             if isinstance(value, CellError) or str(value).startswith(("#", "Err:"))}  # fmt: skip
    assert found == {}


# Without a rise


def level_run(rng: random.Random, name: str) -> Run:
    """A level run that can be built."""
    def size(low: float, high: float) -> Fraction:
        return F(rng.randint(int(low * 64), int(high * 64)), 64)

    while True:
        opening, trims = size(12, 90), (size(0, 1), size(0, 1))
        lean = rng.choice((None, F(0), F(1, 16), F(-1, 8)))
        run = replace(
            RAKE, name=name, rise=None, level_run=None, riser=None, tread=None, steps=None, opening=opening,
            trim_left=trims[0], trim_right=trims[1], shoe_opening=None if lean is None else opening - sum(trims) + lean,
            width=size(0.5, 2), target=rng.choice((None, size(2, 3.5))), limit=rng.choice((F(4), F(7, 2))),
            parity=rng.choice(("any", "odd", "even")), count=rng.choice((None, None, 9)), rail_thickness=size(1.25, 2),
            shoe_thickness=size(1.25, 2), clear=size(30, 40), floor_gap=size(0, 4), rail_depth=size(0.25, 1),
            shoe_depth=size(0.25, 1), play=size(0, 0.125),
        )  # fmt: skip
        if not run_problems(run) and spaced_count(run) <= LINES:
            return run


_SAME_ON = {
    "Spacing": ("Where the openings", "Shoe, trim to trim", "Newels wider apart", "Shoe marks read", "Limit for",
                "Balusters", "Exact gap", "Gap on a tape", "Exact on center", "On center on a tape", "Widest gap",
                "A mark of the tape", "each end gap", "stepped from one end"),
    "Shop": ("Chisel", "Handrail: fence", "Handrail: depth stop", "Handrail: wood left", "Handrail: mortises",
             "Shoe: fence", "Shoe: depth stop", "Shoe: wood left", "Shoe: mortises", "Baluster: left in",
             "Balusters in", "Baluster: cut to"),
    "Checks": ("Widest gap as", "Your gap limit", "Top of the rail"),
}  # fmt: skip


def test_without_a_rise_a_slope_is_a_level_run() -> None:
    """The same numbers, exactly: what is a fraction stays one."""
    rng, compared, listed = random.Random(70), 0, 0
    for _ in range(10):
        level = [level_run(rng, f"Run {i}") for i in range(6)]
        # The opening measured, or left to be the run of the slope.
        flat = [replace(run, rise=F(0), level_run=run.opening, opening=rng.choice((None, run.opening)),
                        up=rng.choice(("left", "right"))) for run in level]  # fmt: skip
        books = [(build(job, LINES), job) for job in (replace(job_of(), runs=tuple(level)), replace(job_of(), runs=tuple(flat)))]
        for number in range(6):
            one, other = (held_sheets(book, job, number) for book, job in books)
            pairs = [(one(title, label), other(title, label), label) for title, labels in _SAME_ON.items() for label in labels]
            for offset in range(3):
                pairs += [(*both, "Marks") for both in zip(one.marks(offset), other.marks(offset), strict=True)]
                listed += len(one.marks(offset))
            for here, there in zip(one.pieces(), other.pieces(), strict=True):
                pairs += [(here[:3], there[:3], "Cut list")]
                assert here[0] == "Baluster" or (there[3], there[4]) == (0, there[2])
            for before, after, label in pairs:
                assert before == after, f"{label}: {level[number]}"
                assert type(before) is type(after), label
                compared += 1
            width, depth = level[number].width, other("Shop", "Handrail: depth stop")
            assert other("Shop", "Tilt of the board") == other("Shop", "Saw, off square, at a plumb") == 0
            assert other("Shop", "Mouth of a mortise") == width
            assert other("Shop", "Handrail: depth at the mortise's shallow") == other("Shop", "Handrail: depth at its deep") == depth
    assert compared > 3_500
    assert listed > 1_500


def test_a_little_rise_is_no_level_run() -> None:
    """The comparison above can tell the two apart."""
    job = job_of(replace(RAKE, rise=F(4), level_run=F(80), riser=None, tread=None, steps=None))
    flat = job_of(replace(RAKE, rise=None, level_run=None, riser=None, tread=None, steps=None))
    one, other = (held_sheets(build(each, LINES), each, 0) for each in (flat, job))
    assert one.marks(0) != other.marks(0)
    assert [piece[2] for piece in one.pieces()] != [piece[2] for piece in other.pieces()]


# In a real spreadsheet

# What is typed into a run: the run, what changes, what it must change, and what it must not.
_CHANGES: list[tuple[Run, dict[str, Any], tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]] = [
    (RAKE, {"rise": F(70)}, (("Slope", "Angle from"), ("Spacing", "Exact on center"), ("Shop", "Baluster: cut to")),
     (("Spacing", "Balusters"), ("Spacing", "Exact gap"))),
    (RAKE, {"level_run": F(72)}, (("Slope", "Angle from"), ("Shop", "Mouth of")), (("Spacing", "Exact gap"),)),
    (BY_STEPS, {"riser": F(13, 2)}, (("Slope", "Angle from"), ("Checks", "Riser"), ("Checks", "Sphere in")),
     (("Spacing", "Balusters"), ("Slope", "Opening at the rail"))),
    (BY_STEPS, {"tread": F(45, 4)}, (("Slope", "Angle from"), ("Spacing", "Balusters"), ("Checks", "Tread")),
     (("Checks", "Riser"),)),
    (BY_STEPS, {"steps": 6}, (("Slope", "Opening at the rail"), ("Spacing", "Balusters")), (("Slope", "Angle from"),)),
    (BY_ANGLE, {"angle": F(30)}, (("Slope", "Angle from"), ("Slope", "Opening at the rail")), ()),
    (BY_ANGLE, {"sloped": F(80)}, (("Slope", "Opening at the rail"), ("Spacing", "Balusters")), (("Slope", "Angle from"),)),
    (replace(RAKE, trim_left=F(1)), {"up": "left"}, (), (("Spacing", "Exact gap"), ("Shop", "Baluster: cut to"))),
    (TREADS, {"up": "right"}, (), (("Spacing", "Exact gap"), ("Spacing", "Balusters"))),
    (TREADS, {"count": 3}, (("Spacing", "Balusters"), ("Spacing", "Exact gap"), ("Slope", "On each tread")),
     (("Slope", "Angle from"),)),
    (TREADS, {"count": 1}, (("Spacing", "Balusters"), ("Checks", "Widest gap is")), (("Slope", "Angle from"),)),
    (TREADS, {"riser": F(7)}, (("Slope", "Angle from"), ("Checks", "Riser"), ("Spacing", "Exact on center")),
     (("Spacing", "Balusters"),)),
    (TREADS, {"tread": F(11), "count": 2}, (("Slope", "Angle from"), ("Spacing", "Exact gap")), (("Checks", "Riser"),)),
    (TREADS, {"steps": 4}, (("Spacing", "Balusters"), ("Checks", "Widest gap is")), (("Spacing", "Exact gap"),)),
    (TREADS, {"nosing": F(3)}, (("Slope", "First place from"), ("Slope", "First place clear")), (("Spacing", "Exact gap"),)),
    (TREADS, {"first": F(3), "height": F(35)}, (("Slope", "First place from"), ("Checks", "Top of")), (("Spacing", "Exact gap"),)),
    (IN_MM, {"steps": 7, "riser": F(175)}, (("Spacing", "Balusters"), ("Slope", "Angle from")), ()),
]  # fmt: skip


def test_what_is_typed_is_followed_as_it_is_in_a_drawing(office: Office, tmp_path: Path) -> None:
    """One measurement or two changed in each run; what Calc then shows is what an elevation of the new stair measures."""
    old = job_of(*(run for run, *_ in _CHANGES))
    book, path = written(old, tmp_path)
    typed = {cell(number, key): float(value) if isinstance(value, Fraction) else value
             for number, (_, parts, *_) in enumerate(_CHANGES) for key, value in parts.items()}  # fmt: skip
    shown = office.change_and_read(path, typed)
    no_errors(shown)
    new = replace(old, runs=tuple(replace(run, **parts) for run, (_, parts, *_) in zip(old.runs, _CHANGES, strict=True)))
    for number, (_, parts, other, kept) in enumerate(_CHANGES):
        before, after = held_sheets(book, old, number), shown_sheets(book, new, number, shown)
        compared = list(compare(after, circles=True))
        assert [each for each in compared if not each.same] == [], parts
        assert len(compared) > 100
        # The other way round nothing of a rail with a shoe is measured otherwise; only its drawing and labels turn.
        turned = parts == {"up": "left"}
        assert turned == all(each.same for each in compare(shown_sheets(book, old, number, shown), circles=True)), parts
        ends = {value for value in shown["Labels"].values() if str(value).startswith("goes up to the")}
        assert ends == {"goes up to the left", "goes up to the right"}
        drawn = {f"{get_column_letter(column)}{row}": value for (row, column), value in book.values["Drawing"].items()
                 if column in (1 + 2 * number, 2 + 2 * number) and row > 7}  # fmt: skip
        assert any(abs(shown["Drawing"][address] - float(value)) > 1e-6 for address, value in drawn.items()), parts
        for title, label in other:
            assert after(title, label) != before(title, label), (parts, label)
        for title, label in kept:
            assert after(title, label) == pytest.approx(before(title, label), abs=1e-9), (parts, label)


# A run, what is typed into it, and the one sentence that says so.
_BOTH_RISE = "measure both the rise and the run, or neither"
_BOTH_STEP = "measure both the riser and the tread, or neither"
_BOTH_ANGLE = "measure both the angle and the length along the slope, or neither"
_NO_SLOPE = "measure the slope: rise and run, or riser and tread, or angle and length along it"
_WHOLE_STEPS = "the number of steps must be a whole number of 1 or more"
_TOO_MANY = "more than 40 steps in one run: split it at the landing"
_NO_ANGLE = "the angle must be from 0 to less than 90 degrees"
_SIDE = "goes up to the: write left or right"
_NONE_STANDS = "no baluster stands clear of the newels: check the opening, the steps and the first nosing"
_TOO_FAR_IN = "the first baluster stands so far in that the last is not on the tread"
_MORE_THAN_THREE = "this takes more than three balusters a tread, which cannot be laid out here"
_ONE_TO_THREE = "balusters a tread: write a whole number, 1 to 3"
_SHALLOW = "the mortise has no depth at its shallow side; cut it deeper"
_TOO_LARGE = "too large for a rail, or turned into a date: write it like 0.75"
_NOT_WHOLE = "the number of balusters must be a whole number"
_TOO_SHORT = f"more than {LINES} balusters: this workbook's lists are too short; make it again"
_NOT_OF_THE_SLOPE = _NOT_WHOLE, _TOO_SHORT
_ONLY_TOTAL = replace(RAKE, riser=None, tread=None, steps=None)
_WRONG: list[tuple[Run, dict[str, Any], str]] = [
    (RAKE, {"rise": None}, _BOTH_RISE),
    (RAKE, {"level_run": None}, _BOTH_RISE),
    (RAKE, {"rise": "sixty"}, "Rise, plumb: write a number, or nothing"),
    (RAKE, {"rise": -60.0}, "the rise cannot be negative; measure up the slope"),
    (RAKE, {"level_run": "80 in"}, "Run of that rise, level: write a number, or nothing"),
    (RAKE, {"level_run": 0.0}, "the run must be more than zero"),
    (RAKE, {"level_run": -80.0}, "the run must be more than zero"),
    (RAKE, {"riser": None}, _BOTH_STEP),
    (RAKE, {"tread": None}, _BOTH_STEP),
    (RAKE, {"riser": "7 1/2 in"}, "Riser: write a number, or nothing"),
    (RAKE, {"tread": "ten"}, "Tread, nosing to nosing, level: write a number, or nothing"),
    (BY_STEPS, {"riser": -7.5}, "the rise cannot be negative; measure up the slope"),
    (BY_STEPS, {"tread": 0.0}, "the run must be more than zero"),
    (BY_STEPS, {"tread": -10.0}, "the run must be more than zero"),
    (BY_STEPS, {"steps": None}, "measure the opening at the rail, or count the steps"),
    (RAKE, {"steps": 2.5}, _WHOLE_STEPS),
    (RAKE, {"steps": 0.0}, _WHOLE_STEPS),
    (RAKE, {"steps": -8.0}, _WHOLE_STEPS),
    (RAKE, {"steps": 99.0}, _TOO_MANY),
    (RAKE, {"steps": "eight"}, "Steps: write a number, or nothing"),
    (RAKE, {"angle": 37.0}, _BOTH_ANGLE),
    (RAKE, {"sloped": 95.0}, _BOTH_ANGLE),
    (BY_ANGLE, {"angle": 90.0}, _NO_ANGLE),
    (BY_ANGLE, {"angle": -1.0}, _NO_ANGLE),
    (BY_ANGLE, {"angle": "steep"}, "Angle from level, degrees: write a number, or nothing"),
    (BY_ANGLE, {"angle": None}, _BOTH_ANGLE),
    (BY_ANGLE, {"sloped": None}, _BOTH_ANGLE),
    (BY_ANGLE, {"sloped": 0.0}, "the run must be more than zero"),
    (BY_ANGLE, {"sloped": -95.0}, "the run must be more than zero"),
    (BY_ANGLE, {"angle": None, "sloped": None}, _NO_SLOPE),
    (_ONLY_TOTAL, {"rise": None, "level_run": None}, _NO_SLOPE),
    (RAKE, {"up": "up"}, _SIDE),
    (RAKE, {"up": None}, _SIDE),
    (RAKE, {"opening": 0.0}, "the opening must be more than zero"),
    (RAKE, {"opening": -76.5}, "the opening must be more than zero"),
    (RAKE, {"opening": "wide"}, "Opening at the rail, newel to newel: write a number, or nothing"),
    (RAKE, {"rail_depth": 0.125}, _SHALLOW),
    (RAKE, {"shoe_depth": 0.125}, _SHALLOW),
    (RAKE, {"shoe_depth": 1.5}, "the mortise goes through the board"),
    (RAKE, {"rise": 700.0}, _SHALLOW),
    (RAKE, {"play": 0.6875}, "the play leaves nothing of the baluster in the rail's mortise"),
    (RAKE, {"clear": 0.0}, "the clear height must be more than zero"),
    (RAKE, {"count": 2.5}, _NOT_WHOLE),
    (RAKE, {"opening": 200.0}, _TOO_SHORT),
    (TREADS, {"riser": None}, "Riser: write a number, like 63.5"),
    (TREADS, {"riser": "7 1/2 in"}, "Riser: write a number, like 63.5"),
    (TREADS, {"riser": -7.5}, "the rise cannot be negative; measure up the slope"),
    (TREADS, {"riser": 46115.0}, f"Riser: {_TOO_LARGE}"),
    (TREADS, {"tread": None}, "Tread, nosing to nosing, level: write a number, like 63.5"),
    (TREADS, {"tread": 0.0}, "the run must be more than zero"),
    (TREADS, {"tread": -10.0}, "the run must be more than zero"),
    (TREADS, {"steps": None}, "Steps: write a number, like 63.5"),
    (TREADS, {"steps": 2.5}, _WHOLE_STEPS),
    (TREADS, {"steps": 0.0}, _WHOLE_STEPS),
    (TREADS, {"steps": 99.0}, _TOO_MANY),
    (TREADS, {"rise": 45.0}, _BOTH_RISE),
    (TREADS, {"level_run": 60.0}, _BOTH_RISE),
    (TREADS, {"angle": 90.0, "sloped": 60.0}, _NO_ANGLE),
    (TREADS, {"count": 4.0}, _MORE_THAN_THREE),
    (TREADS, {"height": -5.0}, "the clear height must be more than zero"),
    (TREADS, {"height": 0.0}, "the clear height must be more than zero"),
    (TREADS, {"shoe_depth": -1.0}, "a mortise depth cannot be negative"),
    (TREADS, {"play": -1.0}, "the play cannot be negative"),
    (_ONLY_TOTAL, {"riser": -7.5, "tread": 10.0}, "the rise cannot be negative; measure up the slope"),
    (_ONLY_TOTAL, {"riser": 7.5, "tread": 0.0}, "the run must be more than zero"),
    (RAKE, {"rise": 46115.0}, f"Rise, plumb: {_TOO_LARGE}"),
    (TREADS, {"count": 0.0}, _ONE_TO_THREE),
    (TREADS, {"count": 1.5}, _ONE_TO_THREE),
    (TREADS, {"count": "two"}, "Your own count (blank: worked out): write a number, or nothing"),
    (TREADS, {"tread": 30.0}, _MORE_THAN_THREE),
    (TREADS, {"first": 6.0}, _TOO_FAR_IN),
    (TREADS, {"first": 5.0}, _TOO_FAR_IN),
    (TREADS, {"first": -1.0}, "the first baluster cannot stand in front of the nosing"),
    (TREADS, {"first": None}, "First baluster's centre, in from the nosing: write a number, like 63.5"),
    (TREADS, {"first": "close"}, "First baluster's centre, in from the nosing: write a number, like 63.5"),
    (TREADS, {"nosing": 100.0}, _NONE_STANDS),
    (TREADS, {"nosing": -100.0}, _NONE_STANDS),
    (TREADS, {"nosing": "flush"}, "Lower newel's face to the first nosing, level: write a number, like 63.5"),
    (TREADS, {"height": None}, "Top of the rail above the nosings, plumb: write a number, like 63.5"),
    (TREADS, {"height": "hip"}, "Top of the rail above the nosings, plumb: write a number, like 63.5"),
    (TREADS, {"up": "upstairs"}, _SIDE),
    (TREADS, {"opening": 0.0}, "the opening must be more than zero"),
    (TREADS, {"rail_depth": 0.25}, _SHALLOW),
]


def test_bad_input_is_said_in_one_sentence_and_hides_the_numbers(office: Office, tmp_path: Path) -> None:
    """Each bad cell stands in a run of its own; the runs beside it go on."""
    job = job_of(*(run for run, *_ in _WRONG), RAKE, TREADS)
    book, path = written(job, tmp_path)
    last = len(_WRONG)
    assert {held_sheets(book, job, number)("Spacing", "What is wrong") for number in range(last + 2)} == {""}
    typed = {cell(number, key): value for number, (_, parts, _) in enumerate(_WRONG) for key, value in parts.items()}
    shown = office.change_and_read(path, typed)
    no_errors(shown)
    for number, (_, parts, sentence) in enumerate(_WRONG):
        sheets = shown_sheets(book, job, number, shown)
        said = {sheets(title, "What is wrong") for title in ("Spacing", "Checks")}
        assert said == {sentence}, parts
        # Where the slope itself is sound, its sheet goes on.
        assert sheets("Slope", "What is wrong") == ("" if sentence in _NOT_OF_THE_SLOPE else sentence), parts
        assert shown["Summary"][f"L{8 + number}"] == sentence, parts
        assert shown["Marks"][f"{get_column_letter(2 + 3 * number)}5"] == sentence
        assert list(numbers_of(sheets)) == [], parts
    for number in (last, last + 1):
        sheets = shown_sheets(book, job, number, shown)
        assert sheets("Spacing", "What is wrong") == ""
        assert len(list(numbers_of(sheets))) > 50
        assert [each for each in compare(sheets) if not each.same] == []


_BEFORE = "A mark of the tape", None  # what is worked out before a run is spaced


def numbers_of(sheets: Sheets) -> Iterator[float]:
    """Every number that the workbook works out for a run that is spaced."""
    found: list[Any] = [mark for offset in range(3) for mark in sheets.marks(offset)]
    for title, first in (("Spacing", 12), ("Shop", 6), ("Checks", 6)):
        sheet = sheets.workbook[title]
        found += [sheets.value(title, row, sheets.number + 2) for row in range(first, sheet.max_row + 1)
                  if sheet.cell(row, sheets.number + 2).data_type == "f" and sheet.cell(row, 1).value not in _BEFORE]  # fmt: skip
    found += [value for piece in sheets.pieces() for value in piece[2:]]
    found += [value for line in sheets.steps() for value in line]
    found += [sheets.value("Summary", 8 + sheets.number, column) for column in (3, 4, 5, 9, 10, 11)]
    yield from (value for value in found if isinstance(value, float))


def test_measurements_that_disagree_are_said_with_how_much(office: Office, tmp_path: Path) -> None:
    both = replace(RAKE, angle=F(3687, 100), sloped=F(100))
    job = job_of(RAKE, RAKE, RAKE, both, replace(TREADS, rise=F(45), level_run=F(60)), _ONLY_TOTAL)
    book, path = written(job, tmp_path)
    agree, again = "the measurements agree: ", "the measurements DISAGREE, measure again: "
    shown = office.change_and_read(path, {
        cell(0, "rise"): 60.125, cell(1, "rise"): 60.1875, cell(2, "tread"): 9.875, cell(3, "angle"): 36.0,
        cell(4, "rise"): 44.5,
    })  # fmt: skip
    no_errors(shown)
    turn = math.radians(36)
    sizes = [
        ("Risers and treads put", 1 / 8, agree + "0.125 in apart"),  # as far apart as they may be
        ("Risers and treads put", 3 / 16, again + "0.188 in apart"),
        ("Risers and treads put", 1.0, again + "1.000 in apart"),
        ("Angle and sloped length put", math.dist((100 * math.cos(turn), 100 * math.sin(turn)), (80, 60)), again + "1.519 in apart"),
        ("Rise and run put", 0.5, again + "0.500 in apart"),
    ]
    for number, (label, size, words) in enumerate(sizes):
        sheets = shown_sheets(book, job, number, shown)
        assert sheets("Slope", label) == pytest.approx(size, abs=1e-9)
        assert sheets("Slope", "So") == words
        assert shown["Summary"].get(f"L{8 + number}", "") == ("" if words.startswith(agree) else words)
        assert sheets("Spacing", "What is wrong") == ""  # the first way goes on being used
    alone = shown_sheets(book, job, 5, shown)
    assert alone("Slope", "So") == shown["Summary"].get("L13", "") == ""
    row = next(row for row in range(1, 60) if book.workbook["Slope"].cell(row, 1).value == "They may differ by")
    wider = office.change_and_read(path, {("Slope", f"C{row}"): 0.25, cell(1, "rise"): 60.1875, ("Slope", f"B{row}"): None})
    assert shown_sheets(book, job, 1, wider)("Slope", "So") == agree + "0.188 in apart"
    assert shown_sheets(book, job, 0, wider)("Slope", "So") == wider["Summary"]["L8"] == "write how far they may differ"


def test_risers_measured_one_by_one(office: Office, tmp_path: Path) -> None:
    job = job_of(RAKE, TREADS, IN_MM)
    book, path = written(job, tmp_path)
    sheet = book.workbook["Treads"]
    rows = [row + 1 for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == "Step"]
    risers = [7.5, 7.4375, 7.625, 7.5, 7.3125, 7.5, 7.5, 7.6875]
    treads = [10.0, 10.125, 9.9375]
    typed: dict[tuple[str, str], Any] = {("Treads", f"H{rows[0] + i}"): riser for i, riser in enumerate(risers)}
    typed |= {("Treads", f"I{rows[0] + i}"): tread for i, tread in enumerate(treads)}
    typed |= {("Treads", f"H{rows[1]}"): 7.5, ("Treads", f"H{rows[1] + 2}"): 7.9375, ("Treads", f"I{rows[1]}"): 10.0}
    shown = office.change_and_read(path, typed)
    no_errors(shown)
    rake, on_treads, metric = (shown_sheets(book, job, number, shown) for number in range(3))
    assert rake("Checks", "Largest less smallest riser") == max(risers) - min(risers) == 0.375
    assert rake("Checks", "Largest less smallest riser is") == "not more than the most"
    assert rake("Checks", "Largest less smallest tread") == max(treads) - min(treads)
    assert on_treads("Checks", "Largest less smallest riser") == 0.4375
    assert on_treads("Checks", "Largest less smallest riser is") == "MORE than the most"
    assert on_treads("Checks", "Largest less smallest tread") == ""  # one alone has no other to differ from
    assert metric("Checks", "Largest less smallest riser is") == ""


def test_steps_and_heights_outside_a_limit_are_said_loudly(office: Office, tmp_path: Path) -> None:
    job = job_of(RAKE, RAKE, RAKE, TREADS, TREADS, IN_MM, IN_MM, IN_MM, RAKE)
    book, path = written(job, tmp_path)
    shown = office.change_and_read(path, {
        cell(0, "clear"): 22.0, cell(0, "riser"): 8.0, cell(0, "tread"): 9.5,
        cell(1, "clear"): 30.0, cell(1, "floor_gap"): 2.0, cell(2, "floor_gap"): 12.25,
        cell(3, "height"): 38.0, cell(4, "height"): 38.0625, cell(4, "riser"): 7.8125,
        cell(5, "riser"): 221.0, cell(6, "tread"): 199.0, cell(7, "riser"): 149.0,
    })  # fmt: skip
    no_errors(shown)
    expected = [
        (0, "Height is", "LOWER than the least height"),  # (1/2 + 1 1/4 + 22 + 1 3/4) / 0.8 = 31 7/8
        (0, "Height, as a handrail is", "LESS than the least"),
        (0, "Riser is", "MORE than the most"),
        (0, "Tread is", "LESS than the least"),
        (1, "Height, as a handrail is", "MORE than the most"),  # 35 / 0.8
        (1, "Sphere in the triangle under the shoe is", "REACHES THE LIMIT: lower the shoe"),  # 5 + 2 * 2 * 12.5 / 30
        (2, "Sphere in the triangle under the shoe is", "TOO HIGH above the steps: the shoe leaves more than a triangle"),
        (3, "Height, as a handrail is", "between the least and the most"),  # as high as it may be
        (4, "Height, as a handrail is", "MORE than the most"),
        (4, "Riser is", "MORE than the most"),
        (5, "Riser is", "MORE than the most"),
        (5, "Angle in degrees is", "MORE than the most"),  # atan(221 / 240) = 42.6
        (6, "Tread is", "LESS than the least"),
        (7, "Riser is", "LESS than the least"),
        (7, "Two risers and a tread is", "LESS than the least"),  # 2 * 149 + 240 = 538
        (8, "Height is", "not lower than the least height"),
        (8, "Height, as a handrail is", "between the least and the most"),
        (8, "Riser is", "not more than the most"),
        (8, "Tread is", "not less than the least"),
        (8, "Sphere in the triangle under the shoe is", "smaller than the limit"),
    ]
    for number, label, words in expected:
        assert shown_sheets(book, job, number, shown)("Checks", label) == words, (number, label)
    assert shown["Summary"]["H8"] == "LOWER than the least height"
    assert shown["Summary"]["G9"] == "REACHES THE LIMIT: lower the shoe"


# A code of one's own

_CHANGED = {
    ("gap", "stair"): {"under": "4"}, ("height", "stair"): {"least": "36"}, ("height", "handrail"): {"least": "36", "most": "39"},
    ("step", "riser"): {"most": "7 1/4"}, ("step", "tread"): {"least": "10 1/2"}, ("uniform", "riser"): {"most": "1/4"},
    ("triangle", "stair"): {"under": "5 1/4"},
}  # fmt: skip


@pytest.fixture
def own_code(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A county's own limits for stairs."""
    monkeypatch.setattr(profiles, "_own", {})
    with (data.path("profiles") / "irc-2018.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        change = _CHANGED.get((row["check"], row["place"]), {})
        row.update({**change, "edition": "Heron County amendments", "certainty": "read"} if change else {})
    path = tmp_path / "heron-county.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, list(rows[0]))
        table.writeheader()
        table.writerows(rows)
    return path


_MEASURED = """Run,Opening at rail,Baluster width,Rail width,Rail thickness,Shoe width,Shoe thickness,Clear height,\
Mortise in rail,Mortise in shoe,Riser,Tread,Steps,Under shoe
Flight,,1/2,2 3/4,1 3/4,5 1/4,1 1/4,25,3/4,3/4,7 1/2,10,8,1/2
"""


@pytest.mark.parametrize("said", ["--code", "Code"])
def test_a_code_of_ones_own_sets_the_limits_of_a_stair(own_code: Path, tmp_path: Path, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Chosen in the command, or beside Code in the measure sheet, where the file stands in the sheet's folder."""
    measured, usual, own = tmp_path / "measure.csv", tmp_path / "usual.xlsx", tmp_path / "own.xlsx"
    measured.write_text(_MEASURED, encoding="utf-8")
    main(["job", str(measured), "-o", str(usual)])
    if said == "Code":
        measured.write_text(f"Code,{own_code.name}\n\n{_MEASURED}", encoding="utf-8")
        main(["job", str(measured), "-o", str(own)])
    else:
        main(["job", str(measured), "-o", str(own), "--code", str(own_code)])
    told = capsys.readouterr().out
    before, after = (checks_of(path) for path in (usual, own))
    limits = {
        "Published gap limit": (4.375, 4), "Published least height": (34, 36), "Height, as a handrail: published least": (34, 36),
        "Height, as a handrail: published most": (38, 39), "Riser: published most": (7.75, 7.25),
        "Tread: published least": (10, 10.5), "Largest less smallest riser: published most": (0.375, 0.25),
        "Largest less smallest tread: published most": (0.375, 0.375), "Sphere in the triangle under the shoe: published limit": (6, 5.25),
    }  # fmt: skip
    for label, (was, now) in limits.items():
        assert (begins(before, label), begins(after, label)) == (was, now), label
    words = {
        "Height is": ("not lower than the least height", "LOWER than the least height"),
        "Riser is": ("not more than the most", "MORE than the most"),
        "Tread is": ("not less than the least", "LESS than the least"),
        "Sphere in the triangle under the shoe is": ("smaller than the limit", "REACHES THE LIMIT: lower the shoe"),
    }
    for label, (was, now) in words.items():
        assert (before[label], after[label]) == (was, now), label
    assert "Flight: riser MORE than the most" in told
    cited = [label for label in after if label.startswith("Heron County amendments R311.7.5.1")]
    assert len(cited) == 2
    assert not any(label.startswith("Heron") for label in before)


def checks_of(path: Path) -> dict[str, Any]:
    """The sheet Checks of a job with one run: what stands beside each label."""
    sheet = openpyxl.load_workbook(path, data_only=True)["Checks"]
    return {str(sheet.cell(row, 1).value): sheet.cell(row, 2).value for row in range(1, sheet.max_row + 1)}


def begins(checks: dict[str, Any], label: str) -> Any:
    (value,) = [value for text, value in checks.items() if text.startswith(label)]
    return value
