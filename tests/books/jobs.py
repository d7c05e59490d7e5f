"""Random jobs, and comparing a workbook's cells with what Python says they hold."""

from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter

from railfuncs.books.cells import Book
from railfuncs.books.job.measured import run_problems
from railfuncs.books.measure import Job, Run

CAPACITY = 24


def _inches(least: str, most: str) -> st.SearchStrategy[Fraction]:
    sixty_fourths = st.integers(int(Fraction(least) * 64), int(Fraction(most) * 64))
    return sixty_fourths.map(lambda n: Fraction(n, 64))


def _mm(least: int, most: int) -> st.SearchStrategy[Fraction]:
    return st.integers(least * 2, most * 2).map(lambda n: Fraction(n, 2))


# Of each way that a slope can be measured, which cells are filled.
_WAYS = (("rise", "level_run"), ("riser", "tread"), ("riser", "tread", "steps"), ("angle", "sloped"),
         ("rise", "level_run", "riser", "tread", "steps"), ("rise", "level_run", "steps", "angle", "sloped"))  # fmt: skip


@st.composite
def slope_of(draw: st.DrawFn, unit: str, kind: str) -> dict[str, Any]:
    """What is measured of a slope, in one way or in several that may disagree a little."""
    def size(inches: tuple[str, str], mm: tuple[int, int]) -> Fraction:
        return draw(_inches(*inches) if unit == "in" else _mm(*mm))

    blank: dict[str, Any] = dict.fromkeys(("rise", "level_run", "riser", "tread", "steps", "angle", "sloped", "first",
                                           "height"))  # fmt: skip
    blank |= {"up": draw(st.sampled_from(("left", "right"))), "stands": "treads" if kind == "treads" else "shoe",
              "nosing": Fraction(0)}  # fmt: skip
    if kind == "level":
        return blank | {"up": "right"}
    full = {
        "rise": size(("8", "60"), (200, 1500)), "level_run": size(("24", "90"), (600, 2300)),
        "riser": size(("4", "8"), (100, 200)), "tread": size(("8", "14"), (200, 350)),
        "steps": draw(st.integers(2, 10)), "angle": Fraction(draw(st.integers(0, 4500)), 100),
        "sloped": size(("30", "99"), (800, 2500)),
    }  # fmt: skip
    if kind == "treads":
        more = draw(st.sampled_from(((), ("rise", "level_run"))))
        places = {"nosing": size(("-6", "6"), (-150, 150)), "first": size(("3/4", "4"), (20, 100)),
                  "height": size(("30", "40"), (760, 1000))}  # fmt: skip
        return blank | {key: full[key] for key in ("riser", "tread", "steps", *more)} | places
    return blank | {key: full[key] for key in draw(st.sampled_from(_WAYS))}


@st.composite
def run_of(draw: st.DrawFn, name: str, unit: str, kind: str = "level") -> Run:
    """A run that can be built; its openings at shoe and rail may disagree a little."""
    def size(inches: tuple[str, str], mm: tuple[int, int]) -> Fraction:
        return draw(_inches(*inches) if unit == "in" else _mm(*mm))

    text = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=8)
    opening = size(("12", "90"), (300, 2300))
    trims = size(("0", "1"), (0, 25)), size(("0", "1"), (0, 25))
    lean = draw(st.sampled_from((Fraction(0), Fraction(1, 16), Fraction(-1, 8)))) * (1 if unit == "in" else 25)
    slope = draw(slope_of(unit, kind))
    per_tread = draw(st.sampled_from((None, None, 1, 2, 3)))
    blank_opening = kind == "rake" and draw(st.booleans())
    run = Run(
        name=name, unit=unit, opening=None if blank_opening else opening,
        shoe_opening=draw(st.sampled_from((None, None if blank_opening else opening - sum(trims) + lean))),
        trim_left=trims[0], trim_right=trims[1], width=size(("1/2", "2"), (10, 40)), material="iron",
        target=draw(st.one_of(st.none(), st.just(size(("2", "4"), (60, 100))))),
        limit=draw(st.sampled_from((Fraction(4), Fraction(7, 2)) if unit == "in" else (Fraction(100), Fraction(89)))),
        parity=draw(st.sampled_from(("any", "odd", "even"))), count=per_tread if kind == "treads" else draw(st.sampled_from((None, None, None, 9))),
        rail_width=size(("2", "3"), (50, 80)), rail_thickness=size(("5/4", "2"), (30, 50)),
        shoe_width=size(("2", "6"), (50, 140)), shoe_thickness=size(("3/4", "2"), (20, 40)),
        clear=size(("30", "40"), (760, 1000)), floor_gap=size(("0", "4"), (0, 110)),
        rail_depth=size(("1/4", "1"), (6, 25)), shoe_depth=size(("1/4", "1/2"), (6, 15)),
        play=size(("0", "1/8"), (0, 3)), chisel=size(("1/4", "1"), (6, 25)),
        left=draw(text), right=draw(text), face=draw(text), notes="", **slope,
    )  # fmt: skip
    assume(not run_problems(run))
    return run


@st.composite
def job_of(draw: st.DrawFn, kinds: tuple[tuple[str, str], ...], tape: str, code: str = "") -> Job:
    """A job with one run for each unit and kind named."""
    runs = tuple(draw(run_of(f"Run {i}", unit, kind)) for i, (unit, kind) in enumerate(kinds, start=1))
    return Job("Job", "", "2026-11-25", "", draw(st.sampled_from((2, 4, 8, 16, 32, 64))), tape, code, runs)


_UNIT = st.sampled_from(("in", "mm"))
level_kinds = st.lists(st.tuples(_UNIT, st.just("level")), min_size=1, max_size=3).map(tuple)
sloped_kinds = st.lists(
    st.tuples(_UNIT, st.sampled_from(("rake", "treads", "rake", "treads", "level"))), min_size=1, max_size=3
).map(tuple)


def changed_cells(old: Book, new: Book) -> dict[tuple[str, str], Any]:
    """What to type in the Measured and Checks sheets of one workbook to make it the other job."""
    changes: dict[tuple[str, str], Any] = {}
    for title in ("Measured", "Checks"):
        before, after = old.workbook[title], new.workbook[title]
        for row in after.iter_rows():
            for cell in row:
                if cell.data_type != "f" and cell.value != before[cell.coordinate].value:
                    changes[title, cell.coordinate] = cell.value
    return changes


def differences(book: Book, shown: dict[str, dict[str, Any]]) -> Iterator[str]:
    """Each formula cell in which a spreadsheet shows something else than the value Python stored."""
    for title, values in book.values.items():
        for (row, column), value in values.items():
            address = f"{get_column_letter(column)}{row}"
            got = shown[title].get(address, "")
            if isinstance(value, str) or isinstance(got, str) or not isinstance(got, float):
                same = got == value
            else:
                same = abs(got - float(value)) <= 1e-9 * max(1.0, abs(got))
            if not same:
                yield f"{title}!{address}: {got!r}, not {value!r}"


def cells_compared(book: Book) -> int:
    return sum(map(len, book.values.values()))


def alter(job: Job, number: int, **parts: Any) -> Job:
    """The job with some measurements of one run changed."""
    runs = list(job.runs)
    runs[number] = replace(runs[number], **parts)
    assert {f.name for f in fields(Run)} >= set(parts)
    return replace(job, runs=tuple(runs))
