"""Stairs in what is shared and in the shop's paper; expected places are plane geometry worked out here."""

import datetime
import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from railfuncs import profiles
from railfuncs.books.cells import Book
from railfuncs.books.measure import Job
from railfuncs.books.sharing.changes import write_changes
from railfuncs.books.sharing.elevation import lines, shapes
from railfuncs.books.sharing.laid import LaidRun
from railfuncs.books.sharing.reading import open_job
from railfuncs.books.sharing.runs import laid_runs
from railfuncs.books.sharing.share import share, shop_paper
from railfuncs.errors import BookError
from tests.books.jobs import alter
from tests.books.sharing.made import everything, job_book, mark, spellings, stairs, streams
from tests.books.sharing.test_share import rows_of, sheet_of
from tests.books.sharing.test_stair_strips import STAIRS
from tests.office import Office

ON = datetime.date(2026, 7, 1)
QUAY, LOFT, SHED, PORCH, CELLAR, RAIL = range(6)


def laid(tmp_path: Path, job: Job | None = None) -> list[LaidRun]:
    return laid_runs(open_job(job_book(tmp_path / "job.xlsx", job or stairs())))


def close(points: Any, expected: Any) -> None:
    assert len(points) == len(expected)
    for (x, y), (across, up) in zip(points, expected, strict=True):
        assert math.isclose(x, across, abs_tol=1e-6), (points, expected)
        assert math.isclose(y, up, abs_tol=1e-6), (points, expected)


# Square to the slope: under the shoe, shoe, clear, rail; as stairs.csv has them.
STACKS = {"Quay flight": (0.5, 1.25, 25, 1.75), "Loft flight": (15, 30, 640, 45), "Shed flight": (0.5, 1.25, 26, 1.75)}


@pytest.mark.parametrize("number", [QUAY, LOFT, SHED])
def test_the_elevation_of_a_rail_with_a_shoe(tmp_path: Path, number: int) -> None:
    stair = STAIRS[number]
    steep = stair.rise / stair.run
    below, shoe, clear, rail = (part * stair.longer for part in STACKS[stair.name])

    def up(x: float, over: float) -> tuple[float, float]:
        return x, over + steep * (x if stair.up == "right" else stair.opening - x)

    drawn = shapes(laid(tmp_path)[number])
    boards = [shape.corners for shape in drawn if shape.board]
    left, right = stair.trims or (0, 0)
    start, end = left, stair.opening - right
    close(boards[0], [up(start, below), up(end, below), up(end, below + shoe), up(start, below + shoe)])
    under = below + shoe + clear
    close(boards[1], [up(0, under), up(stair.opening, under), up(stair.opening, under + rail), up(0, under + rail)])
    newels, balusters = ([shape.corners for shape in drawn if not shape.board][part] for part in (slice(2), slice(2, None)))
    thick = stair.opening / 60
    for corners, face, back in zip(newels, (0, stair.opening), (-thick, stair.opening + thick), strict=True):
        foot, top = up(face, 0)[1], up(face, under + rail)[1]
        assert sorted(x for x, _ in corners) == pytest.approx(sorted([face, face, back, back]), abs=1e-9)
        assert [y for _, y in corners] == pytest.approx([foot, foot, top, top])
    assert len(balusters) == len(stair.centres)
    for corners, centre in zip(balusters, stair.centres, strict=True):
        one, two = centre - stair.width / 2, centre + stair.width / 2
        close(corners, [up(one, below + shoe), up(two, below + shoe), up(two, under), up(one, under)])


@pytest.mark.parametrize(
    ("number", "nosing", "steps", "height", "thickness"), [(PORCH, 2.5, 5, 36, 1.75), (CELLAR, -90, 6, 900, 45)]
)
def test_the_elevation_of_steps(
    tmp_path: Path, number: int, nosing: float, steps: int, height: float, thickness: float
) -> None:
    stair = STAIRS[number]
    riser, tread, wide = stair.rise, stair.run, stair.opening

    def at(place: float, up: float) -> tuple[float, float]:
        """A point by its level distance from the lower newel."""
        return place if stair.up == "right" else wide - place, up

    def over_nosings(place: float, over: float) -> tuple[float, float]:
        return at(place, riser + (place - nosing) / tread * riser + over)

    drawn = shapes(laid(tmp_path)[number])
    profile = [at(0, 0)]
    for step in range(steps):
        face = min(max(nosing + step * tread, 0), wide)
        profile += [at(face, step * riser), at(face, (step + 1) * riser)]
    profile += [at(wide, steps * riser), at(wide, 0)]
    close(drawn[2].corners, profile)
    ends = (0, over_nosings(0, height)[1]), (steps * riser, over_nosings(wide, height)[1])
    for newel, (foot, top) in zip(drawn, ends if stair.up == "right" else ends[::-1], strict=False):
        assert [y for _, y in newel.corners] == pytest.approx([foot, foot, top, top])
    under = height - thickness * stair.longer
    close(drawn[3].corners, [over_nosings(0, under), over_nosings(wide, under), over_nosings(wide, height),
                             over_nosings(0, height)])  # fmt: skip
    feet = sorted(stair.centres) if stair.up == "right" else [wide - x for x in sorted(stair.centres, reverse=True)]
    assert len(drawn) == 4 + len(feet)
    for shape, centre in zip(drawn[4:], feet, strict=True):
        stands_on = (math.floor((centre - nosing) / tread) + 1) * riser
        one, two = centre - stair.width / 2, centre + stair.width / 2
        close(shape.corners, [over_nosings(one, under), at(one, stands_on), at(two, stands_on),
                              over_nosings(two, under)])  # fmt: skip


@pytest.mark.parametrize("number", range(6))
def test_the_drawing_keeps_the_shapes(tmp_path: Path, number: int) -> None:
    """In the PDF's drawing every shape is as large, to one scale, and none is left out."""
    run = laid(tmp_path)[number]
    drawing = lines(run, 500, 300)
    drawn = [shape.points for shape in drawing.contents if hasattr(shape, "points")]
    outlines = [shape.corners for shape in shapes(run)]
    assert [len(points) // 2 for points in drawn] == list(map(len, outlines))
    left = min(x for corners in outlines for x, _ in corners)
    scale = drawn[3][2] / (outlines[3][1][0] - left) - 6 / (outlines[3][1][0] - left)
    for points, corners in zip(drawn, outlines, strict=True):
        close(list(zip(points[::2], points[1::2], strict=True)),
              [(6 + (x - left) * scale, 3 + y * scale) for x, y in corners])  # fmt: skip
    assert max(x for points in drawn for x in points[::2]) <= drawing.width
    assert max(y for points in drawn for y in points[1::2]) <= drawing.height


def words(path: Path) -> bytes:
    return b"\n".join(streams(path.read_bytes()))


def test_cards_hold_the_marks_on_rail_shoe_and_treads(tmp_path: Path) -> None:
    """By hand. Shed flight, 3-4-5: gaps of (78 - 12)/17 = 3.882 level; No. 1 at 4.257 level is 5.322, 5 5/16. Porch: No. 1
    at 4 level is 4.741, 4 3/4; No. 13 at 48 is 56.89, 56 7/8; its foot is 1 1/2 in on step 5. Cellar: No. 1 at 115 level
    is 141.7, 142 mm; its foot is 35 in on step 6."""
    made = shop_paper(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "paper").files[1]
    cards = list(streams(made.read_bytes()))
    cards = [card for card in cards if b": marks in" in card]
    assert len(cards) == 6
    assert cards[SHED].count(b"(5 5/16) Tj") == 2
    for text in (b"(4 3/4) Tj", b"(56 7/8) Tj", b"(1 1/2, step 1) Tj", b"(1 1/2, step 5) Tj", b"(8 13/16, step 4) Tj"):
        assert cards[PORCH].count(text) == 1
    assert b"(142) Tj" in cards[CELLAR]
    assert b"(35, step 6) Tj" in cards[CELLAR]
    assert b"step 6" not in cards[PORCH]
    for card, stair in zip(cards, STAIRS, strict=False):
        angle = f"{math.degrees(math.atan2(stair.rise, stair.run)):.1f}".removesuffix(".0")
        assert f"GOES UP TO THE {stair.up.upper()}, {angle} degrees from level".encode() in card
    assert b"GOES UP" not in cards[RAIL]
    assert all(b"local code and a licensed professional" in card for card in cards)


def test_labels_of_boards_and_of_bundles_for_the_treads(tmp_path: Path) -> None:
    """Lengths by hand. Porch: 36 - 1.75 * 13.0384/11 = 33.9257 in under the rail at a nosing; in 1 1/2, 5 1/6, 8 5/6 it
    rises by 7/11 of that; with 3/4 and 1/2 let in: 36.130, 38.463, 40.797 in, to the 64th 36 1/8, 38 15/32, 40 51/64.
    Of the first thirteen places every third is the first of its tread: five, four and four."""
    made = shop_paper(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "paper").files[2]
    text = words(made)
    for number, length, count in ((1, "36 1/8", 5), (2, "38 15/32", 4), (3, "40 51/64", 4)):
        at = text.index(f"(Baluster {number} of a tread, cut to {length} in) Tj".encode())
        assert f"({count} pieces, oak) Tj".encode() in text[at : at + 200]
    assert text.count(b"of a tread") == 5  # three of the porch's and two of the cellar's
    # Shed flight at 3-4-5: 78 * 5/4 = 97 1/2; from long point to long point 1 3/4 * 3/4 more, 98 13/16.
    at = text.index(b"(Handrail, cut to 97 1/2 in) Tj")
    label = text[at : at + 700]
    assert b"UP TO THE LEFT; ends plumb, 36.9 degrees off square" in label
    assert b"long point to long point 98 13/16 in" in label
    assert b"local code and a licensed professional" in text


def test_changes_of_a_slope_and_of_marks_along_it(tmp_path: Path) -> None:
    """One baluster in the middle of 40 level stands at 50 on a 3-4-5 slope, and of 44 at 55."""
    one = {"count": 1, "limit": Fraction(40), "trim_left": Fraction(0), "trim_right": Fraction(0)}
    old, new = (alter(stairs(), SHED, opening=Fraction(opening), **one) for opening in (40, 44))
    new = alter(alter(new, LOFT, angle=Fraction(41)), PORCH, up="left", height=Fraction(37))
    for name, job in (("old", old), ("new", new)):
        job_book(tmp_path / f"{name}.xlsx", job)
    said = write_changes(tmp_path / "old.xlsx", tmp_path / "new.xlsx", tmp_path / "changes.xlsx")
    for line in (
        "Shed flight: Handrail: 1 mark moved, by 2 1/2 in",
        "Shed flight: Handrail: cut to: 50 in before, 55 in now (5 in more)",
        "Loft flight: Angle from level, degrees: 40 degrees before, 41 degrees now (1 degrees more)",
        "Loft flight: The slope's angle from level: 40 degrees before, 41 degrees now (1 degrees more)",
        "Porch steps: Goes up to the: left or right: right before, left now",
        "Porch steps: Top of the rail above the nosings, plumb: 36 in before, 37 in now (1 in more)",
        "Porch steps: Baluster 1 of a tread: cut to: 36 1/8 in before, 37 1/8 in now (1 in more)",
    ):
        assert line in said, said
    assert any(line.startswith("Porch steps: Tread: ") and "moved" in line for line in said)
    assert not any(line.startswith(("Quay flight", "Cellar steps", "Porch rail")) for line in said)


def test_a_run_that_now_slopes_is_told(tmp_path: Path) -> None:
    old = alter(stairs(), SHED, riser=None, tread=None, steps=None)
    for name, job in (("old", old), ("new", stairs())):
        job_book(tmp_path / f"{name}.xlsx", job)
    said = write_changes(tmp_path / "old.xlsx", tmp_path / "new.xlsx", tmp_path / "changes.xlsx")
    assert "Shed flight: Laid out: on the level before, on a slope, with a shoe now" in said
    assert "Shed flight: Riser: blank before, 7 1/2 in now" in said
    assert "Shed flight: Handrail: cut to: 78 in before, 97 1/2 in now (19 1/2 in more)" in said


def beside(path: Path, label: str) -> list[Any]:
    """All values of a row that is told in several parts."""
    rows = sheet_of(path).iter_rows(values_only=True)
    return [value for row in rows if row[0] == label for value in row[1:] if value is not None]


def test_sloped_runs_are_shared_with_the_limits_they_are_compared_with(tmp_path: Path) -> None:
    made = share(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "sent", on=ON)
    texts = list(rows_of(made.files[0]))
    # shared/profiles/irc-2018.csv and ad-k-2013.csv
    for section in ("R312.1.3: a 4 3/8 in sphere", "R312.1.3: a 6 in sphere", "R311.7.5.1: a riser", "R312.1.3: a 4 in",
                    "table 1.1: a private stair is at most 42 degrees"):  # fmt: skip
        assert sum(section in text for text in texts) == 1, section
    pdf = words(made.files[1])
    assert b"4 3/8 in sphere" in pdf
    assert b"going up to the left" in pdf
    # Five slopes, four of them beside each other: atan 60/79.875, 40 as measured, atan 3/4, atan 7/11; then atan 18/25.
    angles = [math.degrees(math.atan2(stair.rise, stair.run)) for stair in STAIRS]
    assert beside(made.files[0], "Angle from level, degrees") == [pytest.approx(angle, abs=1e-4) for angle in angles]
    # A part without a flight on a shoe says nothing of the triangle under one.
    triangles = [row for row in sheet_of(made.files[0]).iter_rows(values_only=True) if str(row[0]).startswith("Sphere in")]
    assert len(triangles) == 3
    assert all(any(value is not None for value in row[1:]) for row in triangles)
    # 26 clear, 1/2 below, 1 1/4 and 1 3/4 of boards: at 3-4-5 five fourths of 29 1/2.
    assert beside(made.files[0], "Top of the rail above the floor (on a slope: plumb above the nosings)")[SHED] == 36.875



def test_a_level_job_cites_no_stairs(tmp_path: Path) -> None:
    job = stairs()
    made = share(job_book(tmp_path / "job.xlsx", replace(job, runs=job.runs[RAIL:])), tmp_path / "sent", on=ON)
    assert not any("riser" in text or "stair" in text for text in rows_of(made.files[0]))


def test_limits_are_those_of_the_code_the_job_was_made_with(tmp_path: Path) -> None:
    own = tmp_path / "harbour-town.csv"
    head = "check,place,unit,least,most,under,what,section,edition,certainty\n"
    own.write_text(head + 'gap,stair,in,,,4 1/4,a 4 1/4 in sphere must not pass,Rule 7,Harbour Town 2024,read\n'
                   "height,guard,in,40,,,a guard is 40 in high,Rule 8,Harbour Town 2024,read at the counter\n")  # fmt: skip
    for code, cited, other in ((profiles.add(own), "Harbour Town 2024 Rule 7: a 4 1/4 in sphere", "Residential"),
                               ("ibc", "International Building Code", "Residential")):  # fmt: skip
        path = job_book(tmp_path / f"{code}.xlsx", replace(stairs(), code=code), change=_note_under_the_limits)
        texts = list(rows_of(share(path, tmp_path / code, on=ON).files[0]))
        assert any(cited in text for text in texts)
        assert not any(other in text or "Zq" in text for text in texts)


def _note_under_the_limits(book: Book) -> None:
    """Notes of the shop's, beside the list of limits and under it."""
    sheet = book.workbook["Checks"]
    start = next(row for row in range(1, sheet.max_row) if str(sheet.cell(row, 1).value).startswith("Published limits named"))
    sheet.cell(sheet.max_row + 1, 1).value = "Zq01 Rule 9: ask at the counter (ours)"
    sheet.cell(start + 1, 7).value = "Zq02"


def _plant(book: Book) -> None:
    """Secrets in the sheets that only a job with stairs has."""
    slope, treads = book.workbook["Slope"], book.workbook["Treads"]
    labels = {slope.cell(row, 1).value: row for row in range(1, slope.max_row + 1)}
    slope.cell(labels["Do they agree?"], 2).value = "Zq10Wkx"
    slope.cell(labels["Tread"], 12).value = "Zq11Wkx"
    slope.cell(labels["Along the slope"], 2).value = 98765.43
    slope.cell(slope.max_row + 3, 1).value = "Zq12Wkx"
    slope.row_dimensions[labels["Along the slope"]].hidden = True
    measured = book.workbook["Measured"]
    up = next(row for row in range(1, measured.max_row) if str(measured.cell(row, 1).value).startswith("Goes up to"))
    measured.cell(up, 15).value = "Zq13Wkx"
    last = treads.max_row
    treads.cell(last + 2, 1).value = "Notes"
    treads.cell(last + 2, 2).value = "Zq14Wkx"
    treads.cell(5, 11).value = "Price"
    treads.cell(7, 11).value = "Zq15Wkx"
    treads.cell(last + 3, 1).value = "Zq16Wkx"
    treads.row_dimensions[last + 3].hidden = True
    treads.cell(last + 4, 1).value = "Glue"
    treads.cell(last + 4, 2).value = 98765.43
    treads.cell(last + 4, 2).number_format = '"$"#,##0.00'
    treads.cell(last + 5, 1).value = "Seen01 by the neighbours"


@pytest.mark.parametrize("all_treads", [False, True])
def test_no_secret_of_the_sheets_of_a_stair_is_shared(tmp_path: Path, all_treads: bool) -> None:
    def change(book: Book) -> None:
        _plant(book)
        if all_treads:
            mark(book, "Treads", "(whole sheet)", "yes")

    job = alter(stairs(), PORCH, notes="Zq17Wkx", left="Zq18Wkx", face="Zq19Wkx")
    path = job_book(tmp_path / "job.xlsx", alter(job, QUAY, notes="Zq20Wkx"), change)
    planted = everything(path)
    assert [secret for secret in range(10, 21) if f"Zq{secret}Wkx".encode() not in planted] == []
    made = share(path, tmp_path / "sent", on=ON)
    for file in made.files:
        sent = everything(file)
        assert [n for n in range(10, 21) if any(spelt in sent for spelt in spellings(f"Zq{n}Wkx"))] == []
        assert b"98765" not in sent
        assert any(spelt in sent for spelt in spellings("Porch steps"))
        assert any(spelt in sent for spelt in spellings("Seen01")) == all_treads
    assert ("sheet 'Treads'" in "".join(made.said)) == all_treads


def test_a_hidden_or_dearly_formatted_row_of_the_slope_is_refused(tmp_path: Path) -> None:
    def hide(book: Book) -> None:
        book.workbook["Slope"].sheet_state = "hidden"

    with pytest.raises(BookError, match="the sheet 'Slope' is hidden"):
        share(job_book(tmp_path / "job.xlsx", stairs(), hide), tmp_path / "sent", on=ON)
    assert not (tmp_path / "sent").exists()


def _typed(label: str, column: int, value: Any) -> Any:
    """Type in the sheet Measured without recalculating."""
    def change(book: Book) -> None:
        sheet = book.workbook["Measured"]
        row = next(row for row in range(1, sheet.max_row) if sheet.cell(row, 1).value == label)
        sheet.cell(row, column).value = value

    return change


def _steps_counted_later(book: Book) -> None:
    """They are only compared with the rise and run, and shared."""
    for label, value in (("Riser", 7.5), ("Tread, nosing to nosing, level", 10.0), ("Steps", 8)):
        _typed(label, 2 + QUAY, value)(book)


@pytest.mark.parametrize(
    ("change", "run"),
    [
        (_typed("Rise, plumb", 2 + QUAY, 59.0), "Quay flight"),
        (_typed("Angle from level, degrees", 2 + LOFT, 40.01), "Loft flight"),
        (_typed("Riser", 2 + SHED, 7.25), "Shed flight"),
        (_typed("Clear height, shoe to rail", 2 + SHED, 26.5), "Shed flight"),
        (_typed("Goes up to the: left or right", 2 + PORCH, "left"), "Porch steps"),
        (_typed("Lower newel's face to the first nosing, level", 2 + PORCH, 2.25), "Porch steps"),
        (_typed("Top of the rail above the nosings, plumb", 2 + CELLAR, 905), "Cellar steps"),
        (_typed("Clear height, shoe to rail", 2 + RAIL, 34.0), "Porch rail"),
        (_steps_counted_later, "Quay flight"),
        (lambda book: book.values["Marks"].update({(9, 2): 16.0}), "Quay flight"),
    ],
)
def test_a_stair_that_was_not_recalculated_is_refused(tmp_path: Path, change: Any, run: str) -> None:
    path = job_book(tmp_path / "job.xlsx", stairs(), change)
    with pytest.raises(BookError, match=f"run '{run}': the stored spacing is not that of what is measured"):
        laid_runs(open_job(path))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_typed("Goes up to the: left or right", 2 + SHED, "up"), "write left or right"),
        (_typed("Angle from level, degrees", 2 + LOFT, None), "measure both the angle and the length along the slope"),
        (_typed("Riser", 2 + CELLAR, None), "is blank; write a number"),
        (_typed("Steps", 2 + PORCH, 5.5), "whole number"),
    ],
)
def test_what_keeps_a_stair_from_being_laid_out_is_said(tmp_path: Path, change: Any, says: str) -> None:
    with pytest.raises(BookError, match=says) as error:
        laid_runs(open_job(job_book(tmp_path / "job.xlsx", stairs(), change)))
    assert "\n" not in str(error.value)


def test_a_slope_that_is_not_measured_any_more_is_refused(tmp_path: Path) -> None:
    def change(book: Book) -> None:
        for label in ("Rise, plumb", "Run of that rise, level"):
            _typed(label, 2 + QUAY, None)(book)

    with pytest.raises(BookError, match="run 'Quay flight': the slope is not measured any more"):
        laid_runs(open_job(job_book(tmp_path / "job.xlsx", stairs(), change)))


def test_a_stair_changed_and_saved_in_a_spreadsheet_is_laid_out_as_changed(office: Office, tmp_path: Path) -> None:
    """The porch steps go up to the other side, with treads of 10 for 11: centres are counted from the right."""
    path = job_book(tmp_path / "job.xlsx", stairs())
    sheet = open_job(path).sheet("Measured")
    cells = {"Goes up to the: left or right": "left", "Tread, nosing to nosing, level": 10.0}
    typed: dict[tuple[str, str], Any] = {("Measured", f"E{sheet.labelled(label)[0]}"): value for label, value in cells.items()}
    office.change_and_read(path, typed, save_as=tmp_path / "changed.xlsx")
    run = laid_runs(open_job(tmp_path / "changed.xlsx"))[PORCH]
    places = [4 + step * 10 + i * 10 / 3 for step in range(5) for i in range(3)]
    stand = [place for place in places if 0.5 < place < 49.5]
    assert run.run.up == "left"
    expected = [(50 - place) * math.hypot(7, 10) / 10 for place in stand[::-1]]
    assert [float(place) for place in run.places("Handrail")] == pytest.approx(expected, abs=1e-9)
    assert [float(m) for m in run.marks("Handrail")] == [math.floor(place * 16 + 0.5) / 16 for place in expected]


