"""The measure sheet: read exactly, or refused with one sentence for each bad cell."""

import dataclasses
import datetime
from fractions import Fraction
from pathlib import Path

import pytest

from railfuncs.books.measure import MOST_RUNS, Job, Run, columns, read_job
from tests.books.sheets import GOOD, Write, both, in_csv, in_xlsx, problems, table

DEMO = Path(__file__).parents[2] / "workbooks" / "demo-measure.csv"


def test_columns_are_the_fields_of_a_run_with_distinct_headers() -> None:
    assert list(columns()) == [each.name for each in dataclasses.fields(Run)]
    assert len({"".join(column.header.split()).casefold() for column in columns().values()}) == len(columns())
    assert all(column.help.endswith(".") for column in columns().values())
    assert {column.least for column in columns().values() if column.kind == "length"} == {"0", "over 0", "any"}


def test_demo() -> None:
    job = read_job(DEMO)
    front, kitchen, studio, stair, lower, landing, upper = job.runs
    assert [run.kind for run in job.runs] == ["level"] * 4 + ["rake", "level", "treads"]
    assert (lower.rise, lower.level_run, lower.riser, lower.tread, lower.steps) == (
        Fraction(961, 16), 80, Fraction(15, 2), 10, 8,
    )  # fmt: skip
    assert (upper.nosing, upper.first, upper.height, upper.up) == (Fraction(-31, 8), Fraction(5, 4), 36, "left")
    assert landing.opening == Fraction(77, 2)
    assert (job.title, job.date) == ("Balcony over the boat shed", "2026-05-18")
    assert (job.denominator, job.tape) == (16, "inches")
    assert front.opening == 14 * 12 + Fraction(11, 4)
    assert kitchen.opening == Fraction(1301, 16)
    assert (kitchen.target, kitchen.limit, kitchen.shoe_opening, kitchen.count) == (None, 4, None, None)
    assert (studio.unit, studio.opening, studio.limit, studio.chisel) == ("mm", 1863, 100, 16)
    assert (stair.opening, stair.shoe_opening, stair.trim_left) == (
        Fraction(239, 8), Fraction(459, 16), Fraction(3, 4),
    )  # fmt: skip
    assert {run.parity for run in job.runs} == {"any", "odd", "even"}


def test_guards_of_the_demo_are_as_high_as_common_published_limits() -> None:
    # 36 in: IRC 2018 R312.1.2; 1100 mm, external balcony: Approved Document K 2013, 3.3 (see shared/profiles).
    for run in read_job(DEMO).runs:
        if run.kind != "level":
            continue
        height = run.floor_gap + run.shoe_thickness + run.clear + run.rail_thickness
        assert height >= {"in": 36, "mm": 1100}[run.unit]


@both
def test_blank_cells_take_their_defaults(tmp_path: Path, write: Write) -> None:
    (run,) = read_job(write(tmp_path, table(GOOD))).runs
    assert run == Run(
        name="Front", unit="in", opening=Fraction(127, 2), shoe_opening=None, trim_left=Fraction(0),
        trim_right=Fraction(0), width=Fraction(1, 2), material="iron", target=None, limit=Fraction(4), parity="any",
        count=None, rail_width=Fraction(11, 4), rail_thickness=Fraction(7, 4), shoe_width=Fraction(21, 4),
        shoe_thickness=Fraction(5, 4), clear=Fraction(69, 2), floor_gap=Fraction(0), rail_depth=Fraction(5, 8),
        shoe_depth=Fraction(1, 2), play=Fraction(0), chisel=Fraction(1, 2), left="left newel", right="right newel",
        face="", notes="", rise=None, level_run=None, riser=None, tread=None, steps=None, angle=None, sloped=None,
        up="right", stands="shoe", nosing=Fraction(0), first=None, height=None,
    )  # fmt: skip
    assert run.kind == "level"


@both
def test_headers_in_any_order_case_and_spacing(tmp_path: Path, write: Write) -> None:
    headers, run = table(GOOD)
    changed = [f" {header.upper().replace(' ', '  ')} *" for header in headers]
    mixed = write(tmp_path, [changed[::-1], run[::-1]])
    assert read_job(mixed).runs[0].opening == Fraction(127, 2)


@both
def test_lengths_are_kept_in_the_unit_of_the_row(tmp_path: Path, write: Write) -> None:
    millimetres = GOOD | {
        "Run": "Metric", "Unit": "MM", "Opening at rail": "1863", "Baluster width": "16", "Trim left": '1/2"',
    }  # fmt: skip
    inches = GOOD | {"Run": "Mixed", "Opening at rail": "1.6 m", "Own count": "17"}
    metric, mixed = read_job(write(tmp_path, table(millimetres, inches))).runs
    assert (metric.opening, metric.trim_left, metric.limit) == (1863, Fraction(127, 10), 100)
    assert (mixed.opening, mixed.count) == (Fraction(8000, 127), 17)  # 25.4 mm to the inch


def test_numbers_of_a_workbook_are_exact(tmp_path: Path) -> None:
    run = GOOD | {"Run": 7, "Opening at rail": 63.4375, "Baluster width": 0.1, "Own count": 9.0}
    (read,) = read_job(in_xlsx(tmp_path, table(run))).runs
    assert (read.name, read.opening, read.width, read.count) == ("7", Fraction(1015, 16), Fraction(1, 10), 9)


@both
def test_job_facts_above_the_headers(tmp_path: Path, write: Write) -> None:
    above = [["Our measure sheet"], ["Job:", "Deck"], ["SITE", "by the lake"], ["Date", "18 May"], ["Made by", "Ana"],
             ["Marks to the", "1/32"], ["Tape", "Feet"]]  # fmt: skip
    job = read_job(write(tmp_path, table(GOOD, above=above)))
    assert job == Job("Deck", "by the lake", "18 May", "Ana", 32, "feet", "", job.runs)


def test_date_of_the_job_may_be_a_date(tmp_path: Path) -> None:
    above = [["Date", datetime.datetime(2026, 5, 18)]]
    assert read_job(in_xlsx(tmp_path, table(GOOD, above=above))).date == "2026-05-18"


def test_every_bad_cell_is_said_at_once_with_its_address(tmp_path: Path) -> None:
    bad = GOOD | {
        "Opening at rail": "10 miles", "Baluster width": None, "Rail width": -2, "Rail thickness": "thick",
        "Shoe width": 0, "Shoe thickness": datetime.datetime(2026, 3, 4), "Clear height": True, "Unit": "furlong",
        "Own count": 2.5, "Count": "some", "Left end at": datetime.datetime(2026, 1, 2), "Play": "-1/16",
    }  # fmt: skip
    found = problems(in_xlsx(tmp_path, table(GOOD | {"Run": "Good"}, bad)))
    assert len(found) == 12
    expected = {
        "B3 (Opening at rail): ": "10 miles",
        "C3 (Baluster width): is blank": "write a length",
        "D3 (Rail width): -2": "more than zero",
        "E3 (Rail thickness): 'thick'": "is not a length",
        "F3 (Shoe width): 0": "more than zero",
        "G3 (Shoe thickness): ": "date",
        "H3 (Clear height): True": "is not a length",
        "K3 (Unit): 'furlong'": "in or mm",
        "L3 (Own count): 2.5": "whole number",
        "M3 (Count): 'some'": "any, odd or even",
        "N3 (Left end at): ": "date",
        "O3 (Play): '-1/16'": "less than zero",
    }
    for start, says in expected.items():
        assert any(each.startswith(f"sheet 'Measure' cell {start}") and says in each for each in found), start


def test_csv_problems_name_line_and_column(tmp_path: Path) -> None:
    rows = table(GOOD | {"Notes": "two\nlines"}, GOOD | {"Run": "Back", "Opening at rail": "10 miles"},
                 above=[["Tape", "cubits"], []])  # fmt: skip
    tape, opening = problems(in_csv(tmp_path, rows))
    assert tape.startswith("line 1, column B (Tape): 'cubits'")
    assert opening.startswith("line 6, column B (Opening at rail): ")
    assert "10 miles" in opening


@both
def test_a_name_used_twice(tmp_path: Path, write: Write) -> None:
    (found,) = problems(write(tmp_path, table(GOOD, GOOD | {"Run": "front"})))
    assert "(Run): 'front' is the name of another run too" in found


@both
def test_headers_that_cannot_be_used(tmp_path: Path, write: Write) -> None:
    headers, run = table(GOOD | {"Colour": "black"})
    headers.remove("Clear height")
    found = problems(write(tmp_path, [[*headers, "Run", None], [*run, "stray"]]))
    assert len(found) == 4
    assert ["'Colour' is not a column" in found[0], "'Run' stands there twice" in found[1]] == [True, True]
    assert "no header above" in found[2]
    assert "'Clear height' is missing" in found[3]


@both
@pytest.mark.parametrize(
    ("above", "says"),
    [
        (["Marks to the", "12"], "'12' is no mark of an inch"),
        (["Job name", "Deck"], "above the headers write one of Job, Site"),
        (["Site", "Lake", "House 3"], "above the headers write one of Job, Site"),
        (["Tape", "metres"], "inches or feet"),
    ],
)
def test_bad_facts(tmp_path: Path, write: Write, above: list[str], says: str) -> None:
    (found,) = problems(write(tmp_path, table(GOOD, above=[above])))
    assert says in found


@both
def test_a_fact_written_twice(tmp_path: Path, write: Write) -> None:
    (found,) = problems(write(tmp_path, table(GOOD, above=[["Job", "Deck"], ["job", "Porch"]])))
    assert "(job): stands there twice" in found


def test_checks_of_a_run_are_said_at_the_cell(tmp_path: Path) -> None:
    seen = []

    def checks(run: Run) -> list[tuple[str, str]]:
        seen.append(run.name)
        return [("width", "wider than the opening"), ("chisel", "too wide")]

    unreadable = GOOD | {"Run": "Back", "Opening at rail": "?"}
    found = problems(in_xlsx(tmp_path, table(GOOD, unreadable)), checks=checks)
    assert found[:2] == [
        "sheet 'Measure' cell C2 (Baluster width): wider than the opening",
        "sheet 'Measure' row 2 (Chisel): too wide",
    ]
    assert len(found) == 3
    assert seen == ["Front"]


@both
def test_too_many_runs(tmp_path: Path, write: Write) -> None:
    runs = [GOOD | {"Run": f"Run {i}"} for i in range(MOST_RUNS + 1)]
    assert len(read_job(write(tmp_path, table(*runs[1:]))).runs) == MOST_RUNS
    (found,) = problems(write(tmp_path, table(*runs)))
    assert "201 runs" in found


@both
def test_no_runs(tmp_path: Path, write: Write) -> None:
    (found,) = problems(write(tmp_path, table()))
    assert "no runs filled in" in found


def test_text_that_no_workbook_can_hold(tmp_path: Path) -> None:
    rows = table(GOOD | {"Run": "bell\x07"}, GOOD | {"Run": "Back", "Notes": "long" * 200})
    first, second = problems(in_csv(tmp_path, rows))
    assert "cannot be printed" in first
    assert "800 characters" in second
