"""Strips of sloped runs measured back from the PDF, beside places worked out here by plane trigonometry alone."""

import math
from dataclasses import dataclass
from pathlib import Path

import pytest

from railfuncs.books.sharing.share import shop_paper
from railfuncs.books.sharing.strips import MARK_PEN, OUTLINE_PEN
from tests.books.sharing.made import job_book, stairs
from tests.books.sharing.test_strips import CLOSE, POINTS_TO_MM, joined, lanes, made
from tests.books.sharing.vectors import pages


@dataclass
class Stair:
    """A run of stairs.csv as measured, its numbers written again here; lengths in `unit` mm."""

    name: str
    unit: float
    opening: float
    rise: float
    run: float
    width: float
    up: str
    centres: list[float]  # level, from the left newel's face
    trims: tuple[float, float] | None = None

    @property
    def longer(self) -> float:
        return math.hypot(self.rise, self.run) / self.run


def even(opening: float, width: float, count: int) -> list[float]:
    gap = (opening - count * width) / (count + 1)
    return [gap * i + width * (i - 0.5) for i in range(1, count + 1)]


def on_treads(
    opening: float, width: float, nosing: float, first: float, tread: float, a_tread: int, steps: int
) -> list[float]:
    """Centres from the lower newel of the balusters that stand clear of both newels."""
    all_places = [nosing + step * tread + first + i * tread / a_tread for step in range(steps) for i in range(a_tread)]
    return [place for place in all_places if width / 2 < place < opening - width / 2]


LOFT = 2000 * math.cos(math.radians(40))
# Counts by hand. Quay: (79.875 - 16/2)/17 = 4.226 reaches 4, 17 leave (79.875 - 8.5)/18 = 3.97. Loft: 11 leave
# (1532.1 - 220)/12 = 109, 12 leave 99.4. Porch: a tread of 11 with two leaves 4.5, with three 2.67. Cellar: one leaves
# 218, two 93.
CELLAR = on_treads(1310, 32, -90, 35, 250, 2, 6)
STAIRS = [
    Stair("Quay flight", 25.4, 79.875, 60, 79.875, 0.5, "right", even(79.875, 0.5, 17), (0.375, 0.5)),
    Stair("Loft flight", 1, LOFT, math.tan(math.radians(40)), 1, 20, "left", even(LOFT, 20, 12), (10, 12)),
    Stair("Shed flight", 25.4, 78, 7.5, 10, 0.75, "left", even(78, 0.75, 16), (0, 0)),
    Stair("Porch steps", 25.4, 50, 7, 11, 1, "right", on_treads(50, 1, 2.5, 1.5, 11, 3, 5)),
    Stair("Cellar steps", 1, 1310, 180, 250, 32, "left", [1310 - place for place in CELLAR[::-1]]),
]


def test_the_stairs_hold_what_they_should() -> None:
    """What the places here mean: 13 and 10 balusters on the treads, the first of the cellar's within the newel."""
    assert [len(stair.centres) for stair in STAIRS] == [17, 12, 16, 13, 10]
    assert STAIRS[3].centres[0] == 4
    assert STAIRS[4].centres[-1] == 1310 - 70


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_every_mark_stands_at_its_exact_place_along_the_slope(tmp_path: Path, paper: str) -> None:
    drawn = made(stairs(), tmp_path, paper)
    for stair in STAIRS:
        boards = {lane.board for lane in drawn if lane.run == stair.name}
        assert boards == ({"handrail", "shoe"} if stair.trims else {"handrail"})
        for board in boards:
            left, right = stair.trims or (0.0, 0.0)
            start, length = (0.0, stair.opening) if board == "handrail" else (left, stair.opening - left - right)
            strips = [lane for lane in drawn if (lane.run, lane.board) == (stair.name, board)]
            assert [lane.number for lane in strips] == list(range(1, strips[0].of + 1))
            assert strips[0].of > 3  # the marks are measured over joints
            marks, end = joined(strips)
            assert abs(end - length * stair.longer * stair.unit) < CLOSE
            assert {number for number, _ in marks} == set(range(1, len(stair.centres) + 1))
            for number, place in marks:
                exact = (stair.centres[number - 1] - start) * stair.longer * stair.unit
                assert abs(place - exact) < CLOSE, f"{stair.name} {board} {number}"


def test_round_each_mark_is_the_mouth_of_its_mortise(tmp_path: Path) -> None:
    """The mouth of a plumb baluster on a board is its width along the slope: 3/4 in at 3-4-5 is 15/16 in."""
    assert math.isclose(STAIRS[2].width * STAIRS[2].longer, 0.9375)
    files = shop_paper(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "paper", "letter").files
    seen = 0
    for page in pages(files[0]):
        for stair in STAIRS:
            if not any(words.startswith(stair.name + "  ·") for _, _, words in page.words):
                continue
            half = stair.width * stair.longer * stair.unit / 2 / POINTS_TO_MM
            upright = [line for line in page.lines if line.x == line.to_x]
            sides = [line for line in upright if line.pen == OUTLINE_PEN]
            inner = [line for line in upright if line.pen == MARK_PEN and 70 + half < line.x < 700 - half]
            for mark in inner:
                here = [side for side in sides if min(mark.y, mark.to_y) < side.y < max(mark.y, mark.to_y)]
                for x in (mark.x - half, mark.x + half):
                    assert min(abs(side.x - x) for side in here) * POINTS_TO_MM < CLOSE
            seen += len(inner)
    assert seen > 60


def test_each_strip_says_which_end_goes_up_and_how_its_ends_are_cut(tmp_path: Path) -> None:
    files = shop_paper(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "paper", "letter").files
    for page in pages(files[0]):
        texts = [words for _, _, words in page.words]
        stair = next((stair for stair in STAIRS if texts[0].startswith(stair.name)), None)
        angle = math.degrees(math.atan2(stair.rise, stair.run)) if stair else 0.0
        cut = f"{angle:.1f}".removesuffix(".0") + " degrees off square"
        told = [text for text in texts if cut in text and stair and f"Goes up to the {stair.up}." in text]
        assert len(told) == (1 if stair else 0)
        assert ("on the card" in "".join(told)) == bool(stair and not stair.trims)
        labels = [text for text in texts if ", strip " in text]
        assert labels
        assert all((f"goes up to the {stair.up}" in text) if stair else "goes up" not in text for text in labels)
        assert any("local code and a licensed professional" in text for text in texts)


def test_all_of_a_sloped_strip_is_on_the_page(tmp_path: Path) -> None:
    files = shop_paper(job_book(tmp_path / "job.xlsx", stairs()), tmp_path / "paper", "a4").files
    for page in pages(files[0]):
        assert lanes(page)
        assert all(36 <= x <= 842 - 36 and 36 <= y <= 596 - 30 for line in page.lines
                   for x, y in ((line.x, line.y), (line.to_x, line.to_y)))  # fmt: skip
