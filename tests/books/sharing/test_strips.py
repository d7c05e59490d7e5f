"""Strips measured back from the lines of the PDF, joined as a person joins them."""

import re
import shutil
import subprocess
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import pytest

from railfuncs.books.measure import Job
from railfuncs.books.sharing.share import shop_paper
from railfuncs.books.sharing.strips import END_PEN, JOINT_PEN, MARK_PEN, RULER_PEN
from tests.books.jobs import alter
from tests.books.sharing.made import demo, job_book
from tests.books.sharing.vectors import Page, pages

POINTS_TO_MM = 25.4 / 72  # 1 pt is 1/72 in (PDF 1.7, 8.3.2.3); 1 in is 25.4 mm
CLOSE = 0.1  # mm


@dataclass
class Lane:
    """One strip on a page: x of its marks by number, of its ends and of its joints, in points."""

    run: str
    board: str
    number: int
    of: int
    marks: dict[int, float] = field(default_factory=dict)
    ends: list[float] = field(default_factory=list)
    joints: list[float] = field(default_factory=list)


def lanes(page: Page) -> list[Lane]:
    found = []
    for _, y, words in page.words:
        title = re.match(r"(.+), (handrail|shoe), strip (\d+) of (\d+)", words)
        if not title:
            continue
        lane = Lane(title[1], title[2], int(title[3]), int(title[4]))
        inside = [line for line in page.lines if line.x == line.to_x and y - 115 < min(line.y, line.to_y) < y]
        for line in inside:
            if line.pen == MARK_PEN:
                near = [(abs(x - line.x), w) for x, at, w in page.words if y - 20 < at < y - 10]
                apart, number = min(near)
                assert apart < 25  # to the number's left edge, where it stands left of its mark
                lane.marks[int(number)] = line.x
            elif line.pen in (END_PEN, JOINT_PEN):
                (lane.ends if line.pen == END_PEN else lane.joints).append(line.x)
        found.append(lane)
    return found


def joined(strips: list[Lane]) -> tuple[list[tuple[int, float]], float]:
    """Marks in mm from the left end, each strip laid on the joint it shares with the one before; and the right end."""
    origin = strips[0].ends[0]
    shift, marks = -origin, []
    for strip, after in zip(strips, [*strips[1:], None], strict=True):
        marks += [(number, (x + shift) * POINTS_TO_MM) for number, x in strip.marks.items()]
        if after is not None:
            shift += max(strip.joints) - min(after.joints)
    return marks, (max(strips[-1].ends) + shift) * POINTS_TO_MM


def made(job: Job, folder: Path, paper: str) -> list[Lane]:
    paper_made = shop_paper(job_book(folder / "job.xlsx", job), folder / "paper", paper)
    read = pages(paper_made.files[0])
    assert paper_made.said[0].startswith(f"The strips take {len(read)} pages")
    return [lane for page in read for lane in lanes(page)]


# (run, unit in mm, opening, width, count, shoe length, how much less a mark reads on the shoe): the demo's own
# measurements; counts by hand from the gap wanted. The last run's newels lean in 1/16 in, so its shoe marks read
# less by the left trim and half of that.
RUNS = (
    ("Water front", 25.4, 170.75, 0.5, 41, 170.0, 0.375),
    ("Kitchen side", 25.4, 81.3125, 0.75, 18, 81.3125, 0.0),
    ("Studio side", 1.0, 1863.0, 16.0, 17, 1843.0, 10.0),
    ("Stair-head return", 25.4, 29.875, 0.5, 7, 28.6875, 0.75 + 1 / 32),
)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_every_mark_stands_at_its_exact_place(tmp_path: Path, paper: str) -> None:
    drawn = made(demo(), tmp_path, paper)
    for name, unit, opening, width, count, shoe, less in RUNS:
        for board, length, shift in (("handrail", opening, 0.0), ("shoe", shoe, less)):
            strips = [lane for lane in drawn if (lane.run, lane.board) == (name, board)]
            assert [lane.number for lane in strips] == list(range(1, strips[0].of + 1))
            marks, right = joined(strips)
            assert abs(right - length * unit) < CLOSE
            gap = (opening - count * width) / (count + 1)
            assert {number for number, _ in marks} == set(range(1, count + 1))
            for number, place in marks:
                exact = (number * gap + (number - 0.5) * width - shift) * unit
                assert abs(place - exact) < CLOSE, f"{name} {board} {number}"


def test_marks_near_a_joint_are_on_both_strips(tmp_path: Path) -> None:
    drawn = made(demo(), tmp_path, "letter")
    strips = [lane for lane in drawn if (lane.run, lane.board) == ("Water front", "handrail")]
    marks, _ = joined(strips)
    twice = [number for number, _ in marks if sum(number == other for other, _ in marks) == 2]
    assert len(twice) >= 4


def test_changed_cells_of_the_workbook_change_the_strips(tmp_path: Path) -> None:
    drawn = made(alter(demo(), 1, opening=Fraction(60), shoe_opening=None, count=13, width=Fraction(5, 8)), tmp_path,
                 "letter")  # fmt: skip
    marks, right = joined([lane for lane in drawn if (lane.run, lane.board) == ("Kitchen side", "handrail")])
    assert abs(right - 60 * 25.4) < CLOSE
    # A gap of 51.875/14 in: the seventh of thirteen stands in the middle.
    assert abs(dict(marks)[7] - 30 * 25.4) < CLOSE
    assert abs(dict(marks)[1] - (51.875 / 14 + 0.3125) * 25.4) < CLOSE


def test_every_page_has_a_ruler_of_true_length(tmp_path: Path) -> None:
    files = shop_paper(job_book(tmp_path / "job.xlsx"), tmp_path / "paper", "letter").files
    for page in pages(files[0]):
        long = sorted((line.to_x - line.x) * POINTS_TO_MM for line in page.lines if line.pen == RULER_PEN
                      and line.y == line.to_y)  # fmt: skip
        assert long == [pytest.approx(150, abs=0.01), pytest.approx(152.4, abs=0.01)]
        assert any("Lay a tape on this ruler" in words and "100 %" in words for _, _, words in page.words)


def test_all_of_a_page_is_on_the_page(tmp_path: Path) -> None:
    job = alter(demo(), 0, left="corner newel " * 20, face="w" * 200, name="n" * 120)
    files = shop_paper(job_book(tmp_path / "job.xlsx", job), tmp_path / "paper", "letter").files
    for page in pages(files[0]):
        assert all(36 <= x <= 792 - 36 and 36 <= y <= 612 - 30 for line in page.lines
                   for x, y in ((line.x, line.y), (line.to_x, line.to_y)))  # fmt: skip


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not installed")
def test_drawn_by_another_program_the_marks_stand_there_too(tmp_path: Path) -> None:
    """Poppler's own picture of the first page, at 600 dots to the inch."""
    from PIL import Image

    files = shop_paper(job_book(tmp_path / "job.xlsx"), tmp_path / "paper", "letter").files
    subprocess.run(["pdftoppm", "-r", "600", "-gray", "-l", "1", "-png", files[0], tmp_path / "page"], check=True)
    image = Image.open(next(tmp_path.glob("page*.png"))).convert("L")
    assert image.size == (11 * 600, 8.5 * 600)
    mark = next(line for line in pages(files[0])[0].lines if line.pen == MARK_PEN)
    row = image.height - round((min(mark.y, mark.to_y) + 30) / 72 * 600)
    dark = [x for x in range(image.width) if image.getpixel((x, row)) < 128]
    middles = []
    for x in dark:
        if not middles or x - middles[-1][-1] > 1:
            middles.append([])
        middles[-1].append(x)
    places = [(sum(each) / len(each) + 0.5) / 600 for each in middles]
    gap = (170.75 - 41 * 0.5) / 42
    for number in (1, 2):
        exact = number * gap + (number - 0.5) * 0.5
        assert min(abs(place - places[0] - exact) for place in places) * 25.4 < CLOSE
