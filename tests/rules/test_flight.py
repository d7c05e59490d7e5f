"""What a job workbook holds for sloped runs, against an elevation drawn and measured with a geometry library.

The elevation is drawn from what was measured on site, with trigonometry of this file's own: boards as long strips turned
up to the slope, balusters as plumb strips, newels as half planes, steps as one polygon. Each value of the workbook is
then looked for in the drawing. No rule of railfuncs is called here; the workbook is built, and read.
"""

import inspect
import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache
from types import CodeType
from typing import Any, NamedTuple

import pytest
import shapely
from openpyxl import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from shapely import LineString, MultiPoint, Point, Polygon, box
from shapely.affinity import affine_transform, rotate
from shapely.geometry.base import BaseGeometry

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job import build, cut_list, drawing
from railfuncs.books.job.measured import run_problems
from railfuncs.books.measure import Job, Run
from railfuncs.rules import checks, flight, measure, rake, spacing, treads
from railfuncs.rules import job as job_rules

LINES = 24
STAIRS = 2_000  # half of each kind
FAR = 10_000.0
NEAR = 1e-6
# A spreadsheet's sums and ours may round a tie to either side of it.
TIE = 1e-9


class Compared(NamedTuple):
    """One value of the workbook beside what the drawing says of it."""

    what: str
    held: Any
    drawn: Any
    within: float

    @property
    def same(self) -> bool:
        if isinstance(self.held, str) or isinstance(self.drawn, str):
            return bool(self.held == self.drawn)
        return abs(self.held - self.drawn) <= self.within


class Sheets:
    """The cells of one run in a job workbook, found by the words beside or above them."""

    def __init__(self, workbook: Workbook, job: Job, number: int, value: Callable[[str, int, int], Any]) -> None:
        self.workbook, self.job, self.number, self.value = workbook, job, number, value
        self.run, self.kind = job.runs[number], job.runs[number].kind
        before = [run.kind for run in job.runs[:number]]
        self.sloped = len(before) - before.count("level")  # sloped runs that come first
        self.first_piece = 5 + 3 * len(before) + before.count("treads")

    def __call__(self, title: str, label: str) -> Any:
        column = self.sloped if title == "Slope" else self.number
        return self.value(title, _row(self.workbook, title, label), column + 2)

    def marks(self, offset: int) -> list[Any]:
        """A column of the sheet Marks: 0 on the rail, 1 on the shoe or on treads, 2 the gap before."""
        column = 2 + 3 * self.number + offset
        listed = [self.value("Marks", 7 + line, column) for line in range(LINES + 1)]
        return [mark for mark in listed if mark != ""]

    def pieces(self) -> Iterator[tuple[str, Any, Any, Any, Any]]:
        """The cut list's lines: piece, how many, cut to, degrees off square, long point to long point."""
        sheet = self.workbook["Cut list"]
        for row in range(self.first_piece, self.first_piece + (4 if self.kind == "treads" else 3)):
            many = 1 if sheet.cell(row, 3).value == 1 else self.value("Cut list", row, 3)
            yield sheet.cell(row, 2).value, many, *(self.value("Cut list", row, column) for column in (4, 12, 13))

    def steps(self) -> Iterator[list[Any]]:
        """The lines of the sheet Treads: step, height, place, how many, and three lengths."""
        sheet = self.workbook["Treads"]
        heads = [row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == "Step"]
        row = heads[self.sloped] + 1
        while sheet.cell(row, 1).value:
            line = [self.value("Treads", row, column) for column in range(1, 8)]
            if line[0] != "":
                yield line
            row += 1


@cache
def _row(workbook: Workbook, title: str, label: str) -> int:
    """The row of a label, or the first row that begins with it."""
    sheet = workbook[title]
    labels = {str(sheet.cell(row, 1).value): row for row in range(sheet.max_row, 0, -1)}
    return labels[label] if label in labels else min(row for text, row in labels.items() if text.startswith(label))


class Elevation:
    """One sloped run as it stands: x from the left newel's face, y plumb from where the nosing line meets the lower."""

    def __init__(self, run: Run) -> None:
        self.run = run
        rise, level = _slope(run)
        self.degrees = math.degrees(math.atan2(rise, level))
        self.wide = float(level if run.opening is None else run.opening)
        self.width = float(run.width)

    def seen(self, drawn: BaseGeometry) -> BaseGeometry:
        """A drawing that climbs to the right, turned round where the stair goes up to the left."""
        return affine_transform(drawn, [-1, 0, 0, 1, self.wide, 0]) if self.run.up == "left" else drawn

    def board(self, low: float, high: float) -> BaseGeometry:
        """A long board between two heights square to the slope."""
        return self.seen(rotate(box(-FAR, low, FAR, high), self.degrees, origin=(0, 0)))

    def edge(self, high: float, start: float = -FAR / 2, end: float = FAR / 2) -> LineString:
        """A board's edge between two plumb lines, from left to right."""
        long = self.seen(rotate(LineString([(-FAR, high), (FAR, high)]), self.degrees, origin=(0, 0)))
        return LineString(sorted(long.intersection(box(start, -FAR, end, FAR)).coords))

    def ends(self, low: float, high: float, start: float, end: float) -> tuple[float, float]:
        """Of a board cut plumb: its length from long point to long point, and how far its ends lean off square."""
        cut = self.board(low, high).intersection(box(start, -FAR, end, FAR))
        left, _, right, _ = rotate(cut, -self.degrees if self.run.up == "right" else self.degrees, origin=(0, 0)).bounds
        edge = self.edge(low, start, end).length
        return right - left, math.degrees(math.atan2(right - left - edge, high - low))

    def gaps(self, centres: list[float], start: float, end: float) -> list[float]:
        """Level distances between newel faces and balusters, from the left; less than nothing where two overlap."""
        strips = [box(x - self.width / 2, -1, x + self.width / 2, 1) for x in centres]
        sides = [start, *(side for strip in strips for side in strip.bounds[::2]), end]
        return [right - left for left, right in zip(sides[::2], sides[1::2], strict=True)]

    def plumb(self, x: float) -> LineString:
        return LineString([(x, -FAR), (x, FAR)])

    def along(self, edge: LineString, centres: list[float]) -> list[float]:
        """How far from an edge's left end plumb lines meet it."""
        return [Point(edge.coords[0]).distance(self.plumb(x).intersection(edge)) for x in centres]

    def across(self, edge: LineString, marks: list[Any]) -> list[float]:
        """Where plumb lines through marks on an edge stand."""
        return [edge.interpolate(float(mark)).x for mark in marks]

    def mortise(self, board: BaseGeometry, face: LineString, x: float, end: float) -> tuple[float, float, float]:
        """Of a baluster that ends square in a board at a height: depth at both sides, and the wood left under it."""
        up = FAR if self.plumb(x).intersection(face).y < end else -FAR
        corners = [Point(x - self.width / 2, end), Point(x + self.width / 2, end)]
        sides = [LineString([at, (at.x, end + up)]).intersection(board).length for at in corners]
        return min(sides), max(sides), face.distance(MultiPoint(corners))


def _slope(run: Run) -> tuple[float, float]:
    """Rise and run of the way of measuring that counts."""
    ways: dict[str, tuple[float, float]] = {}
    if run.rise is not None and run.level_run is not None:
        ways["total"] = float(run.rise), float(run.level_run)
    if run.riser is not None and run.tread is not None and run.steps is not None:
        ways["steps"] = float(run.riser) * run.steps, float(run.tread) * run.steps
    if run.angle is not None and run.sloped is not None:
        turn = math.radians(run.angle)
        ways["angle"] = float(run.sloped) * math.sin(turn), float(run.sloped) * math.cos(turn)
    if run.riser is not None and run.tread is not None:
        ways["one step"] = float(run.riser), float(run.tread)
    order = ("steps", "total") if run.kind == "treads" else ("total", "steps", "angle", "one step")
    return next(ways[way] for way in order if way in ways)


def compare(sheets: Sheets, circles: bool = False) -> Iterator[Compared]:
    """Everything the workbook says of a sloped run, beside the drawing; the largest circle, which is slow, if asked."""
    run, drawn = sheets.run, Elevation(sheets.run)
    tape = 1 / Fraction(sheets.job.denominator) if run.unit == "in" else Fraction(1)
    fine = 1 / 128 + TIE if run.unit == "in" else 1 / 4 + TIE
    yield Compared("angle", sheets("Slope", "Angle from level"), drawn.degrees, NEAR)
    yield Compared("tilt", sheets("Shop", "Tilt of the board"), drawn.degrees, NEAR)
    yield Compared("saw at a newel", sheets("Shop", "Saw, off square, at a plumb newel"), drawn.degrees, NEAR)
    yield Compared("saw at a level rail", sheets("Shop", "Saw, off square, where sloped"), drawn.degrees / 2, NEAR)
    yield Compared("level opening", sheets("Slope", "Opening at the rail"), drawn.wide, NEAR)
    yield from _how_far_apart(sheets)
    if sheets.kind == "rake":
        yield from _with_shoe(sheets, drawn, tape, fine)
        yield from _steps_of_a_rake(sheets, circles)
    else:
        yield from _on_treads(sheets, drawn, tape, fine)


def _how_far_apart(sheets: Sheets) -> Iterator[Compared]:
    run, (rise, level) = sheets.run, _slope(sheets.run)
    if sheets.kind == "rake" and None not in (run.riser, run.tread, run.steps, run.rise):
        apart = math.dist((rise, level), (float(run.riser * run.steps), float(run.tread * run.steps)))  # type: ignore[operator]
        yield Compared("apart by the steps", sheets("Slope", "Risers and treads put"), apart, NEAR)
    if sheets.kind == "rake" and run.angle is not None and run.sloped is not None:
        turn, long = math.radians(run.angle), float(run.sloped)
        apart = math.dist((rise, level), (long * math.sin(turn), long * math.cos(turn)))
        yield Compared("apart by the angle", sheets("Slope", "Angle and sloped length put"), apart, NEAR)
    if sheets.kind == "treads" and run.rise is not None:
        apart = math.dist((rise, level), (float(run.rise), float(run.level_run or 0)))
        yield Compared("apart by the rise", sheets("Slope", "Rise and run put"), apart, NEAR)


def _marked(what: str, held: list[Any], exact: list[float], tape: Fraction) -> Iterator[Compared]:
    """Marks are whole steps of the tape, each the nearest to its own place."""
    yield Compared(f"{what}: how many", len(held), len(exact), 0)
    for mark, place in zip(held, exact, strict=False):
        yield Compared(what, mark, place, float(tape) / 2 + TIE)
        yield Compared(f"{what}: off the tape", (Fraction(mark) / tape) % 1, 0, 0)


def _board(sheets: Sheets, drawn: Elevation, piece: str, low: float, thick: float, start: float, end: float,
           fine: float) -> Iterator[Compared]:  # fmt: skip
    name, many, cut, off_square, long = next(line for line in sheets.pieces() if line[0] == piece)
    longest, lean = drawn.ends(low, low + thick, start, end)
    yield Compared(f"{name}: how many", many, 1, 0)
    yield Compared(f"{name}: cut to", cut, drawn.edge(low, start, end).length, fine)
    yield Compared(f"{name}: long points", long, longest, fine)
    yield Compared(f"{name}: ends off square", off_square, lean, NEAR)


def _in_the_rail(sheets: Sheets, drawn: Elevation, low: float, fine: float) -> Iterator[Compared]:
    """The mortise of a baluster in the rail's underside, in the middle of the run."""
    run, x = sheets.run, drawn.wide / 2
    rail, under = drawn.board(low, low + float(run.rail_thickness)), drawn.edge(low)
    top = drawn.plumb(x).intersection(under).y + float(run.rail_depth)
    shallow, deep, left = drawn.mortise(rail, drawn.edge(low + float(run.rail_thickness)), x, top)
    yield Compared("rail mortise: shallow side", sheets("Shop", "Handrail: depth at the mortise's shallow"), shallow, fine)
    yield Compared("rail mortise: deep side", sheets("Shop", "Handrail: depth at its deep"), deep, fine)
    yield Compared("rail: wood left", sheets("Shop", "Handrail: wood left"), left, fine)
    yield Compared("left in the rail", sheets("Shop", "Baluster: left in"), shallow - float(run.play), fine)
    mouth = under.intersection(box(x - drawn.width / 2, -FAR, x + drawn.width / 2, FAR)).length
    yield Compared("mouth", sheets("Shop", "Mouth of a mortise"), mouth, fine)
    yield Compared("mouth along the slope", sheets("Slope", "Baluster: mouth"), mouth, NEAR)


def _with_shoe(sheets: Sheets, drawn: Elevation, tape: Fraction, fine: float) -> Iterator[Compared]:
    run, wide, width = sheets.run, drawn.wide, drawn.width
    below, shoe, clear, rail = (float(part) for part in (run.floor_gap, run.shoe_thickness, run.clear, run.rail_thickness))
    foot, low = below + shoe, below + shoe + clear
    trims = float(run.trim_left), float(run.trim_right)
    lean = 0.0 if run.shoe_opening is None else float(run.shoe_opening) + sum(trims) - wide
    faces = -lean / 2, wide + lean / 2  # of the newels at the shoe
    start, end = faces[0] + trims[0], faces[1] - trims[1]

    count = int(sheets("Spacing", "Balusters"))
    gap = (wide - count * width) / (count + 1)
    centres = [i * gap + (i - 0.5) * width for i in range(1, count + 1)]
    yield Compared("gap", sheets("Spacing", "Exact gap"), gap, NEAR)
    if run.count is not None:
        yield Compared("count", count, run.count, 0)
    elif run.parity == "any" and run.target is None:
        limit = float(run.limit) - max(lean, 0) / 2
        fewest = next(n for n in range(1_000) if (wide - n * width) / (n + 1) < limit - TIE)
        yield Compared("count", count, fewest, 0)
    edge, foot_edge = drawn.edge(low, 0, wide), drawn.edge(foot, start, end)
    yield from _marked("rail mark", sheets.marks(0), drawn.along(edge, centres), tape)
    yield from _marked("shoe mark", sheets.marks(1), drawn.along(foot_edge, centres), tape)
    at_rail = drawn.gaps(drawn.across(edge, sheets.marks(0)), 0, wide)
    at_foot = drawn.gaps(drawn.across(foot_edge, sheets.marks(1)), *faces)
    yield from _gaps(sheets, [max(pair) for pair in zip(at_rail, at_foot, strict=True)])
    yield from _stepped(sheets, drawn, edge, (gap + width) * edge.length / wide, tape)
    yield Compared("opening along the slope", sheets("Slope", "Opening"), edge.length, NEAR)
    yield Compared("shoe along the slope", sheets("Slope", "Shoe"), foot_edge.length, NEAR)

    yield from _board(sheets, drawn, "Handrail", low, rail, 0, wide, fine)
    yield from _board(sheets, drawn, "Shoe", below, shoe, start, end, fine)
    yield from _in_the_rail(sheets, drawn, low, fine)
    x = wide / 2
    low_y, high_y = drawn.plumb(x).intersection(drawn.board(foot, low)).bounds[1::2]
    bottom = low_y - float(run.shoe_depth)
    shallow, deep, left = drawn.mortise(drawn.board(below, foot), drawn.edge(below), x, bottom)
    yield Compared("shoe mortise: shallow side", sheets("Shop", "Shoe: depth at the mortise's shallow"), shallow, fine)
    yield Compared("shoe mortise: deep side", sheets("Shop", "Shoe: depth at its deep"), deep, fine)
    yield Compared("shoe: wood left", sheets("Shop", "Shoe: wood left"), left, fine)
    length = high_y + float(run.rail_depth) - bottom - float(run.play)
    _, many, cut, *_ = next(line for line in sheets.pieces() if line[0] == "Baluster")
    yield Compared("balusters to cut", many, count, 0)
    yield Compared("baluster cut to", cut, length, fine)
    yield Compared("baluster set up", sheets("Shop", "Baluster: cut to"), length, fine)
    height = drawn.plumb(x).intersection(drawn.board(0, low + rail)).length
    yield Compared("height", sheets("Checks", "Top of the rail"), height, NEAR)


def _gaps(sheets: Sheets, gaps: list[float]) -> Iterator[Compared]:
    held = sheets.marks(2)
    yield Compared("gaps: how many", len(held), len(gaps), 0)
    for one, other in zip(held, gaps, strict=False):
        yield Compared("gap as marked", one, other, NEAR)
    yield Compared("widest gap as marked", sheets("Spacing", "Widest gap"), max(gaps), NEAR)
    yield Compared("widest gap checked", sheets("Checks", "Widest gap"), max(gaps), NEAR)
    reaches = max(gaps) >= float(sheets.run.limit) - TIE
    yield Compared("widest gap said", "REACHES" in sheets("Checks", "Widest gap is"), reaches, 0)


def _stepped(sheets: Sheets, drawn: Elevation, edge: LineString, on_center: float, tape: Fraction) -> Iterator[Compared]:
    """A rounded on center stepped along the rail: out from the middle, and from one end."""
    rounded, count = sheets("Spacing", "On center on a tape"), sheets("Spacing", "Balusters")
    yield Compared("on center", sheets("Spacing", "Exact on center"), on_center, NEAR)
    yield Compared("on center on a tape", rounded, on_center, float(tape) / 2 + TIE)
    out = sheets("Spacing", "stepped from one end")
    yield Compared("out by", out, (float(rounded) - on_center) * count, NEAR)
    if sheets.kind == "rake":
        first = edge.length / 2 - (count - 1) / 2 * float(rounded)
        gap = drawn.across(edge, [first])[0] - drawn.width / 2 if first > 0 else ""
        end = sheets("Spacing", "each end gap")
        yield Compared("stepped end", end if gap != "" and count else gap, gap, NEAR)


def _steps_of_a_rake(sheets: Sheets, circles: bool) -> Iterator[Compared]:
    run, (rise, level) = sheets.run, _slope(sheets.run)
    riser = run.riser or (rise / run.steps if run.steps else None)
    tread = run.tread or (level / run.steps if run.steps else None)
    yield Compared("riser", sheets("Checks", "Riser"), "" if riser is None else float(riser), NEAR)
    yield Compared("tread", sheets("Checks", "Tread"), "" if tread is None else float(tread), NEAR)
    lines = list(sheets.steps())
    yield Compared("steps listed", len(lines), run.steps or 0, 0)
    for line in lines:
        yield Compared("nosing height", line[1], line[0] * float(riser or 0), NEAR)
    if riser and tread and circles:
        held = sheets("Checks", "Sphere in the triangle")
        circle = _largest_circle(float(riser), float(tread), float(run.floor_gap))
        if held == "":
            # Left blank only where it would touch a nosing, so that a triangle's circle would fall short.
            yield Compared("no triangle", circle > 2 * min(riser, tread) - 1e-2, True, 0)
        else:
            yield Compared("largest circle", held, circle, 1e-3 * float(riser))


def _largest_circle(riser: float, tread: float, below: float) -> float:
    """Diameter of the largest circle over a step and under a board so far over the nosings, found by search."""
    corners = [corner for k in range(-1, 2) for corner in ((k * tread, k * riser), ((k + 1) * tread, k * riser))]
    steps = Polygon([(-tread, -FAR), *corners, (2 * tread, -FAR)])
    under = rotate(box(-FAR, -FAR, FAR, below), math.degrees(math.atan2(riser, tread)), origin=(0, 0))
    space = under.difference(steps).intersection(box(-tread, -riser, 2 * tread, 2 * riser))
    largest = max(shapely.get_parts(space), key=lambda part: part.area)
    return 2 * float(shapely.maximum_inscribed_circle(largest, tolerance=riser * 1e-4).length)


def _on_treads(sheets: Sheets, drawn: Elevation, tape: Fraction, fine: float) -> Iterator[Compared]:
    run, wide, width = sheets.run, drawn.wide, drawn.width
    riser, tread, first, nosing = (float(part or 0) for part in (run.riser, run.tread, run.first, run.nosing))
    steps, rise = int(run.steps or 0), float(run.riser or 0)
    each = run.count or next(n for n in range(1, 99) if tread / n - width < float(run.limit) - TIE)
    yield Compared("on each tread", sheets("Slope", "On each tread"), each, 0)
    yield Compared("gap on treads", sheets("Spacing", "Exact gap"), tread / each - width, NEAR)

    # Drawn up to the right; the nosing line goes through the nosing of the first step.
    corners = [c for k in range(steps) for c in ((nosing + k * tread, (k + 1) * riser), (nosing + (k + 1) * tread, (k + 1) * riser))]
    stair = Polygon([(nosing, -FAR), *corners, (nosing + steps * tread, -FAR)])
    turned = rotate(box(-FAR, -float(run.rail_thickness), FAR, 0), drawn.degrees, origin=(0, 0))
    at_newel = riser - nosing * riser / tread  # the nosing line at the lower newel's face
    rail = affine_transform(turned, [1, 0, 0, 1, 0, at_newel + float(run.height or 0)])
    newels = shapely.union_all([box(-FAR, -FAR, 0, FAR), box(wide, -FAR, FAR, FAR)])
    standing: dict[tuple[int, int], tuple[float, float]] = {}
    for step in range(1, steps + 1):
        for number in range(1, each + 1):
            x = nosing + (step - 1) * tread + first + (number - 1) * tread / each
            if box(x - width / 2, -FAR, x + width / 2, FAR).distance(newels) > TIE:
                line = drawn.plumb(x)
                top, foot = line.intersection(rail).bounds[1], line.intersection(stair).bounds[3]
                length = top - foot + float(run.shoe_depth + run.rail_depth - run.play)
                standing[step, number] = x, length
    yield from _lists_of_treads(sheets, standing, each, (riser, tread, nosing), fine)

    # As seen: places from the left.
    seen = {key: wide - x if run.up == "left" else x for key, (x, _) in standing.items()}
    order = sorted(seen, key=seen.__getitem__)
    low = -float(run.rail_thickness)
    edge = drawn.edge(low, 0, wide)
    yield from _marked("rail mark over treads", sheets.marks(0), drawn.along(edge, [seen[key] for key in order]), tape)
    yield from _marked("tread mark", sheets.marks(1), [first + (number - 1) * tread / each for _, number in order], tape)
    yield from _gaps(sheets, _gaps_over_treads(sheets, drawn, edge, order))
    yield from _stepped(sheets, drawn, edge, tread / each * edge.length / wide, tape)
    yield from _board(sheets, drawn, "Handrail", low, float(run.rail_thickness), 0, wide, fine)
    yield from _in_the_rail(sheets, drawn, low, fine)
    yield Compared("height over nosings", sheets("Checks", "Top of the rail"), run.height, 0)
    yield Compared("riser", sheets("Checks", "Riser"), rise, NEAR)
    yield Compared("tread", sheets("Checks", "Tread"), tread, NEAR)


def _gaps_over_treads(sheets: Sheets, drawn: Elevation, edge: LineString, order: list[tuple[int, int]]) -> list[float]:
    """As marked: at the rail or at the feet, whichever is wider."""
    run, tread = sheets.run, float(sheets.run.tread or 0)
    at_rail = drawn.gaps(drawn.across(edge, sheets.marks(0)), 0, drawn.wide)
    nosings = [float(run.nosing) + (step - 1) * tread for step, _ in order]
    feet = [nosing + float(mark) for nosing, mark in zip(nosings, sheets.marks(1), strict=True)]
    feet = [drawn.wide - x if run.up == "left" else x for x in feet]
    return [max(pair) for pair in zip(at_rail, drawn.gaps(feet, 0, drawn.wide), strict=True)]


def _lists_of_treads(
    sheets: Sheets, standing: dict[tuple[int, int], tuple[float, float]], each: int,
    step_sizes: tuple[float, float, float], fine: float,
) -> Iterator[Compared]:  # fmt: skip
    """How many stand, tread by tread and of each length: on Slope, Spacing, Cut list and Treads alike."""
    riser, tread, nosing = step_sizes
    for title, label in (("Slope", "Balusters standing"), ("Spacing", "Balusters"), ("Shop", "Balusters in")):
        yield Compared(f"standing, on {title}", sheets(title, label), len(standing), 0)
    lines = list(sheets.steps())
    yield Compared("steps listed", len(lines), sheets.run.steps, 0)
    for step, height, place, many, *lengths in lines:
        yield Compared("nosing height", height, step * riser, NEAR)
        yield Compared("nosing place", place, nosing + (step - 1) * tread, NEAR)
        yield Compared("on this tread", many, sum(1 for at, _ in standing if at == step), 0)
        for number, length in enumerate(lengths, start=1):
            if (step, number) in standing:
                yield Compared("length on this tread", length, standing[step, number][1], fine)
            else:
                yield Compared("nothing on this tread", length, "", 0)
    for number, (name, many, cut, *_) in enumerate((line for line in sheets.pieces() if line[0] != "Handrail"), start=1):
        yield Compared("number of a tread", name, f"Baluster {number} of a tread", 0)
        here = [length for (_, other), (_, length) in standing.items() if other == number]
        yield Compared("of this length", many, len(here), 0)
        if here:
            yield Compared("all of one length", max(here) - min(here), 0, NEAR)
            yield Compared("cut to, on a tread", cut, here[0], fine)
        elif number > each:
            yield Compared("no such baluster", cut, "", 0)


def random_run(rng: random.Random, name: str, kind: str) -> Run:
    """A sloped run that can be built: measured one of several ways, in inches or millimetres."""
    while True:
        run = _any_run(rng, name, kind)
        least = min(run.limit, run.target or run.limit)
        few = Elevation(run).wide < (LINES - 2) * (run.width + least)  # more balusters than there are lines are refused
        if (few or run.count) and not run_problems(run):
            return run


def _any_run(rng: random.Random, name: str, kind: str) -> Run:
    unit = rng.choice(("in", "in", "mm"))

    def size(low: float, high: float) -> Fraction:
        """To 1/64 in or half a millimetre, given in inches."""
        return Fraction(rng.randint(int(low * 64), int(high * 64)), 64) if unit == "in" else (
            Fraction(rng.randint(int(low * 50), int(high * 50)), 2))  # fmt: skip

    measured = _measured(rng, kind, size)
    if rng.random() < 0.5 and kind == "treads":
        # The newels near the ends of the flight, as they are mostly.
        opening: Fraction | None = measured["tread"] * measured["steps"] + measured["nosing"] + size(-6, 6)
        opening = max(opening or size(1, 1), size(3, 3))
    else:
        opening = size(20, 84)
    if rng.random() < 0.4 and (kind == "treads" or "level_run" in measured or "steps" in measured or "angle" in measured):
        opening = None
    trims = size(0, 1), size(0, 1)
    shoe = None if opening is None or rng.random() < 0.6 else opening - sum(trims) + rng.choice((0, 1, -2)) * size(0.125, 0.125)
    blank = dict.fromkeys(("rise", "level_run", "riser", "tread", "steps", "angle", "sloped", "first", "height"))
    return Run(**{
        **blank, "name": name, "unit": unit, "opening": opening, "shoe_opening": shoe, "trim_left": trims[0],
        "trim_right": trims[1], "width": size(0.5, 2), "material": "", "target": rng.choice((None, None, size(2, 3.5))),
        "limit": size(*rng.choice(((4, 4), (3, 3)))), "parity": rng.choice(("any", "any", "odd", "even")),
        "count": rng.choice((None, 1, 2, 3)) if kind == "treads" else rng.choice((None, None, None, rng.randint(1, LINES))),
        "rail_width": size(2, 3), "rail_thickness": size(1.25, 2.5), "shoe_width": size(2, 6),
        "shoe_thickness": size(1.25, 2), "clear": size(20, 36), "floor_gap": size(0, rng.choice((1, 3, 12))), "rail_depth": size(0.5, 1),
        "shoe_depth": size(0.5, 1), "play": size(0, 0.125), "chisel": size(0.25, 1), "nosing": Fraction(0),
        "up": rng.choice(("left", "right")), "stands": "treads" if kind == "treads" else "shoe",
        "left": "", "right": "", "face": "", "notes": "", **measured,
    })  # fmt: skip


def _measured(rng: random.Random, kind: str, size: Callable[[float, float], Fraction]) -> dict[str, Any]:
    """The slope, in one way or in two that may disagree a little."""
    steps = {"riser": size(3, 8.5), "tread": size(8, 13), "steps": rng.randint(2, 7)}
    if kind == "treads":
        nosing = rng.choice((Fraction(0), size(0, 8), -size(0, 4), -size(0, 16)))
        exact = rng.random() < 0.5
        total = {"rise": steps["riser"] * steps["steps"] + size(0, 1), "level_run": steps["tread"] * steps["steps"]}
        return {**steps, **({} if exact else total), "nosing": nosing, "first": size(0.0625, 5), "height": size(30, 40)}
    total = {"rise": size(0, 60), "level_run": size(24, 84)}
    angle = {"angle": Fraction(rng.randint(0, 4_500), 100), "sloped": size(30, 99)}
    one_step = {"riser": steps["riser"], "tread": steps["tread"]}
    return rng.choice((total, steps, angle, one_step, {**total, **steps}, {**total, "steps": 5, **angle}, {**steps, **angle}))


def jobs(seed: int, kinds: tuple[str, ...], stairs: int, together: int = 40) -> Iterator[Job]:
    """Jobs of random sloped runs, so many together."""
    rng = random.Random(seed)
    for _ in range(stairs // together):
        runs = tuple(random_run(rng, f"Run {i}", rng.choice(kinds)) for i in range(together))
        yield Job("", "", "", "", rng.choice((2, 4, 8, 16, 32, 64)), "inches", "", runs)


def sheets_of(job: Job, book: Book) -> list[Sheets]:
    def value(title: str, row: int, column: int) -> Any:
        return book.values[title].get((row, column), "")

    return [Sheets(book.workbook, job, number, value) for number in range(len(job.runs))]


@pytest.fixture
def numbers_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """The values are what is looked at: without what is not read here, a workbook is made sooner."""
    monkeypatch.setattr(Page, "_filled", lambda *_: "0")
    monkeypatch.setattr(DataValidation, "add", lambda *_: None)
    monkeypatch.setattr(drawing, "add", lambda *_: None)
    monkeypatch.setattr(cut_list, "_labels", lambda *_: None)


@pytest.fixture
def nothing_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """`run_problems` has found nothing wrong with these runs: the sheet's own search for it is left out too."""

    search = Page.status

    def nothing(page: Page, row: int, column: int, *args: Any, **unless: Any) -> Cell:
        # A flight whose steps are not counted is not listed tread by tread.
        return search(page, row, column, *args, **unless) if page.title == "Treads" else page._write(row, column, "0", "", "status")

    monkeypatch.setattr(Page, "status", nothing)


@pytest.mark.usefixtures("numbers_only", "nothing_wrong")
@pytest.mark.parametrize("kind", ["rake", "treads"])
def test_a_workbook_holds_what_is_measured_in_the_drawing(kind: str) -> None:
    compared, seen = Counter[str](), Counter[str]()
    for job in jobs(60, (kind,), STAIRS // 2):
        for sheets in sheets_of(job, build(job, LINES)):
            run = sheets.run
            for each in compare(sheets, circles=seen["runs"] % 6 == 0):
                assert each.same, f"{each}: {run}"
                compared[each.what] += 1
            seen.update(("runs", f"up {run.up}", run.unit, f"{run.steps and 'steps'}", f"{run.angle and 'angle'}"))
            seen["blank opening"] += run.opening is None
            seen["lean"] += run.shoe_opening is not None
            seen[f"nosing {(run.nosing > 0) - (run.nosing < 0)}"] += 1
            seen[f"{sheets('Slope', 'On each tread') if kind == 'treads' else 'none'} a tread"] += 1
    assert seen["runs"] == STAIRS // 2
    common = ["up left", "up right", "in", "mm", "blank opening"]
    assert min(seen[each] for each in [*common, *_MUST_BE_SEEN[kind]]) > STAIRS // 20, seen
    assert min(compared.values()) > 10, compared
    assert set(compared) >= _MUST_BE_COMPARED[kind], _MUST_BE_COMPARED[kind] - set(compared)


_MUST_BE_SEEN = {
    "rake": ["lean", "angle", "steps"],
    "treads": ["nosing 1", "nosing 0", "nosing -1", "1 a tread", "2 a tread", "3 a tread"],
}
_ALWAYS = {"mouth", "rail: wood left", "rail mortise: deep side", "Handrail: cut to", "Handrail: long points",
           "gap as marked", "widest gap as marked"}  # fmt: skip
_MUST_BE_COMPARED = {
    "rake": _ALWAYS | {"rail mark", "shoe mark", "baluster cut to", "height", "shoe: wood left", "largest circle",
                       "no triangle", "Shoe: long points", "count", "stepped end", "apart by the steps",
                       "apart by the angle"},
    "treads": _ALWAYS | {"rail mark over treads", "tread mark", "length on this tread", "nothing on this tread",
                         "of this length", "cut to, on a tread", "no such baluster", "apart by the rise"},
}  # fmt: skip


# Of a kind of stair: a rule, words of it, and what might stand there by mistake.
_MISTAKES: list[tuple[str, Callable[..., Any], str, str]] = [
    ("rake", flight.rise_by_angle, "rake_rise(sloped, angle)", "rake_run(sloped, angle)"),
    ("rake", flight.by_steps, "size * steps", "size * (steps - 1)"),
    ("rake", flight.first_known, "where(is_number(one), one, where(is_number(two), two",
     "where(is_number(two), two, where(is_number(one), one"),
    ("rake", flight.one_step, "whole / steps", "whole / (steps + 1)"),
    ("rake", flight.apart, "other_rise, other_run), ", "other_run, other_rise), "),
    ("rake", flight.level_opening, "opening, run)", "run, run)"),
    ("rake", flight.oc_on_slope, "rake(oc(opening, width, count), rise, run)", "oc(opening, width, count)"),
    ("rake", flight.stepped_end_on_slope, "rake(width, rise, run)", "width"),
    ("rake", flight.widest_on_slope, "level(wide, rise, run)", "wide"),
    ("rake", flight.floor_on_slope, 'level(rake_mortise(width, rise, run, depth, "deep"), rise, run)', "depth"),
    ("rake", flight.seat_on_slope, "shallow(depth, width, rise, run)", "depth"),
    ("rake", flight.shallow, '"shallow"', '"deep"'),
    ("rake", flight.deep, '"deep"', '"shallow"'),
    ("rake", flight.long_points, "thickness)", "2 * thickness)"),
    ("rake", flight.step_height, "step * riser", "(step - 1) * riser"),
    ("rake", rake.secant, "sqrt(rise * rise + run * run) / run", "sqrt(rise * rise + run * run) / run * 999 / 1000"),
    ("rake", rake.pitch, "rise / run", "run / (rise + 1)"),
    ("rake", rake.rake_mortise, "width / 2 * rise / run", "width / 2"),
    ("rake", rake.rake_baluster, "plumb(clear, rise, run)", "clear"),
    ("rake", rake.rake_rail, "+ thickness * rise / run", "- thickness * rise / run"),
    ("rake", rake.rake_height, "below + shoe_thickness", "shoe_thickness"),
    ("rake", rake.end_cut, "angle / 2, angle", "angle, angle"),
    ("rake", spacing.gap, "(count + 1)", "(count + 2)"),
    ("rake", spacing.place, "- shift", "+ shift"),
    ("rake", job_rules.shoe_shift, "lean / 2", "lean"),
    ("rake", job_rules.widest_here, "where(number == 1, trim_left, 0)", "0"),
    ("rake", measure.round_to, "round_half_up(steps)", "floor(steps)"),
    ("rake", checks.triangle, "_inscribed(riser, tread, below)", "_inscribed(riser, tread, 0)"),
    ("rake", checks.triangle_holds, "2 * minimum", "0 * minimum"),
    ("treads", flight.each_apart, "tread / per_tread", "tread / (per_tread + 1)"),
    ("treads", flight.first_place, "nosing + first", "first - nosing"),
    ("treads", flight.first_standing, "+ 2", "+ 1"),
    ("treads", flight.first_standing, "width / 2", "0 * width"),
    ("treads", flight.last_standing, "opening - width / 2", "opening"),
    ("treads", flight.last_standing, "steps * each_tread", "(steps + 1) * each_tread"),
    ("treads", flight.standing, "+ 1, 0", ", 0"),
    ("treads", flight.which_place, 'up == "left"', 'up == "right"'),
    ("treads", flight.from_left, 'up == "left"', 'up == "right"'),
    ("treads", flight.rail_mark_on_treads, "opening, up), rise, run)", "opening, up), 0 * rise, run)"),
    ("treads", flight.on_its_tread, "place - 1", "place"),
    ("treads", flight.tread_mark, "nosing + ", "0 * nosing + "),
    ("treads", flight.widest_on_treads, "maximum(at_the_rail(), on_the_treads())", "at_the_rail()"),
    ("treads", flight.of_this_length, "first - 1", "first"),
    ("treads", flight.on_this_step, "minimum(last, step * each_tread)", "step * each_tread"),
    ("treads", flight.length_here, "place <= last", "place < last"),
    ("treads", flight.step_place, "(step - 1)", "step"),
    ("treads", treads.tread_count, "width + limit", "limit"),
    ("treads", treads.tread_gap, "- width", "+ 0 * width"),
    ("treads", treads.tread_baluster, "place * riser / tread", "place * tread / riser"),
    ("treads", treads.tread_baluster, "number - 1", "number"),
    ("treads", treads.tread_baluster, "plumb(thickness, riser, tread)", "thickness"),
]  # fmt: skip


def _mistaken(rule: Callable[..., Any], right: str, wrong: str) -> CodeType:
    """The body of a rule with other words in it."""
    source = inspect.getsource(rule)
    assert right in source, f"{rule.__name__} does not say {right}"
    made: dict[str, Any] = {}
    exec(source[source.index("def ") :].replace(right, wrong), rule.__globals__, made)
    code = made[rule.__name__].__code__
    assert isinstance(code, CodeType)
    return code


@pytest.mark.usefixtures("numbers_only")
@pytest.mark.parametrize(("kind", "rule", "right", "wrong"), _MISTAKES, ids=[f"{rule.__name__}, {wrong}" for _, rule, _, wrong in _MISTAKES])
def test_a_mistake_in_a_rule_is_seen_in_the_drawing(
    monkeypatch: pytest.MonkeyPatch, some_jobs: dict[str, Job], kind: str, rule: Callable[..., Any], right: str, wrong: str
) -> None:
    rule = inspect.unwrap(rule)
    monkeypatch.setattr(rule, "__code__", _mistaken(rule, right, wrong))
    job = some_jobs[kind]
    found = (each for sheets in sheets_of(job, build(job, LINES)) for each in compare(sheets, circles=rule in _OF_A_CIRCLE))
    assert not all(each.same for each in found)


_OF_A_CIRCLE = [inspect.unwrap(checks.triangle), checks.triangle_holds]


@pytest.fixture(scope="module")
def some_jobs() -> dict[str, Job]:
    return {kind: next(jobs(103, (kind,), 10, 10)) for kind in ("rake", "treads")}
