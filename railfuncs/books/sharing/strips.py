"""Full-size layout strips of handrail and shoe: paper at true scale, cut out, joined and laid on the board.

One inch on the board is 72 points on the page, exactly. A board longer than a page is drawn as strips that overlap;
neighbours print the same joint line and crosses, and are taped together with these on top of each other. Every mark
stands at its exact place; the reading beside it is the mark rounded for a tape. On a slope all of it lies along the
board's edge.
"""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from railfuncs.books.sharing.choice import Shown
from railfuncs.books.sharing.laid import LaidRun
from railfuncs.books.sharing.paper import BOLD, FONT, INCH, LOCAL_CODE, MARGIN, fitted, neutral, printable, size_of
from railfuncs.books.sharing.words import degrees
from railfuncs.lengths import MM
from railfuncs.progress import steps

STEP = {
    ("letter", "in"): Fraction(9),
    ("letter", "mm"): Fraction(225),
    ("a4", "in"): Fraction(19, 2),
    ("a4", "mm"): Fraction(240),
}  # from joint to joint, in the run's unit
OVERLAP = 27.0  # points drawn past a joint, on both strips
LANES = 3  # strips on a page
_LANE, _STRIP = 138.0, 106.0  # points from strip to strip, and of a strip
_CROSS = 30.0  # points left of a joint in which a number would run into its cross
_TOP = 56.0  # points above the first strip
# Pens, in points; a mark's is used for nothing else.
MARK_PEN, END_PEN, JOINT_PEN, CROSS_PEN, TICK_PEN, OUTLINE_PEN, RULER_PEN = 0.8, 2.0, 0.45, 0.3, 0.25, 0.35, 0.6
_LAYING = {
    "Handrail": "Lay it on the UNDERSIDE. Roll the rail over along its length, so that LEFT stays left.",
    "Shoe": "Lay it on the TOP, LEFT to the left as seen from the room.",
}
_JOINED = "Joined, it must be as long as the board; try some marks with a tape before cutting."
CHECKING = (
    "Lay a tape on this ruler: 0 to 6 must measure 6 in, and 0 to 150 must measure 150 mm. If they do not, the printer"
    " scaled the page: do not use it. Print again at 100 % (actual size), with any fitting to the page turned off."
)


def points(unit: str) -> Fraction:
    """Points to one of a run's units.

    >>> points("in"), points("mm") * Fraction("25.4")
    (Fraction(72, 1), Fraction(72, 1))
    """
    return INCH * (MM if unit == "mm" else Fraction(1))


@dataclass(frozen=True)
class Strip:
    """One piece of paper of a board: from joint `number` - 1 to joint `number`, in the run's unit."""

    laid: LaidRun
    board: str
    number: int
    of: int
    start: Fraction
    end: Fraction

    @property
    def joints(self) -> list[Fraction]:
        """Where it is joined to the strips beside it."""
        return [self.start] * (self.number > 1) + [self.end] * (self.number < self.of)


def strips_of(laid: LaidRun, board: str, paper: str) -> list[Strip]:
    """The strips a board takes, from its left end."""
    step, length = STEP[paper, laid.run.unit], laid.length(board)
    of = int(-(-length // step))
    return [Strip(laid, board, i + 1, of, i * step, min((i + 1) * step, length)) for i in range(of)]


def write_strips(runs: list[LaidRun], path: Path, paper: str) -> int:
    """Write the strips of all runs; return how many pages they take."""
    tall, wide = size_of(paper)  # held sideways
    canvas = neutral(str(path), pagesize=(wide, tall))
    pages = 0
    for laid in steps(runs, lambda each: f"Drawing the strips of {each.run.name}"):
        for board in laid.boards:
            strips = strips_of(laid, board, paper)
            for first in range(0, len(strips), LANES):
                _page(canvas, strips[first : first + LANES], wide, tall)
                pages += 1
    canvas.save()
    return pages


def _page(canvas: Any, strips: list[Strip], wide: float, tall: float) -> None:
    laid, board = strips[0].laid, strips[0].board
    run, inner = laid.run, wide - 2 * MARGIN
    long = f"{Shown(laid.board_cut(board) if laid.slope else laid.length(board), run.unit).text} {run.unit}"
    fitted(canvas, MARGIN, tall - 38, f"{run.name}  ·  {board}  ·  {laid.count} marks  ·  {long} long", inner, 14, BOLD)
    canvas.setFont(FONT, 9)
    canvas.drawString(MARGIN, tall - 50, f"{_LAYING[board]} {_JOINED}")
    if laid.slope:
        fitted(canvas, MARGIN, tall - 61, _sloping(laid, board), inner, 9)
    for lane, strip in enumerate(strips):
        bottom = tall - _TOP - lane * _LANE - _LANE + 12
        _strip(canvas, strip, MARGIN + OVERLAP + 2, bottom, wide)
    fitted(canvas, MARGIN, 84, LOCAL_CODE, inner, 8)
    _ruler(canvas, wide)
    canvas.showPage()


def _sloping(laid: LaidRun, board: str) -> str:
    """What is otherwise on a slope."""
    edge = "underside" if board == "Handrail" else "top edge"
    feet = " Marks on the treads are on the card." if laid.kind == "treads" else ""
    return (f"Goes up to the {laid.run.up}. Marks are along the slope, on its {edge}; a dashed box is the mouth of a"
            f" mortise. End cut plumb: {degrees(laid.saw)} degrees off square, both ends parallel.{feet}")  # fmt: skip


def _strip(canvas: Any, strip: Strip, left: float, bottom: float, wide: float) -> None:
    laid = strip.laid
    scale = points(laid.run.unit)
    length = laid.length(strip.board)

    def across(place: Fraction) -> float:
        return left + float((place - strip.start) * scale)

    top = bottom + _STRIP
    first = across(strip.start) - (OVERLAP if strip.number > 1 else 0)
    last = across(strip.end) + (OVERLAP if strip.number < strip.of else 0)
    _label(canvas, strip, first, top + 4, last - first)
    canvas.setLineWidth(OUTLINE_PEN)
    canvas.setDash()
    for y in (bottom, top):
        canvas.line(first, y, last, y)
    _ticks(canvas, strip, across, bottom, first, last)
    for number, (place, mark) in enumerate(zip(laid.places(strip.board), laid.marks(strip.board), strict=True), 1):
        x = across(place)
        if first <= x <= last:
            half = float(laid.mouth * scale) / 2
            _box(canvas, x - half, x + half, bottom + 34, first, last)
            # Left of the mark where the cross of a joint is right of it.
            crossed = any(0 <= across(joint) - x < _CROSS for joint in strip.joints)
            _mark(canvas, x, bottom, str(number), Shown(mark, laid.run.unit).text, crossed)
    for place in (Fraction(0), length):
        if strip.start <= place <= strip.end:
            canvas.setLineWidth(END_PEN)
            canvas.line(across(place), bottom - 4, across(place), top + 2)
    marks = [across(place) for place in laid.places(strip.board)]
    if strip.number > 1:
        _joint(canvas, across(strip.start), bottom, strip.number - 1, marks)
    if strip.number < strip.of:
        _joint(canvas, across(strip.end), bottom, strip.number, marks)


def _label(canvas: Any, strip: Strip, x: float, y: float, most: float) -> None:
    run = strip.laid.run
    words = [f"{run.name}, {strip.board.lower()}, strip {strip.number} of {strip.of}"]
    if strip.number == 1:
        words.append(f"LEFT end: {run.left}" if run.left else "LEFT end")
    if strip.number == strip.of:
        words.append(f"RIGHT end: {run.right}" if run.right else "RIGHT end")
    if strip.laid.slope:
        words.append(f"goes up to the {run.up}")
    if run.face:
        words.append(f"wall side: {run.face}")
    fitted(canvas, x, y, "  ·  ".join(words), max(most, 200), 8)


def _box(canvas: Any, left: float, right: float, y: float, first: float, last: float) -> None:
    """The length of a mortise along the board, as far as it is on this strip."""
    canvas.setLineWidth(OUTLINE_PEN)
    canvas.setDash(2, 2)
    for up in (y, y + 38):
        canvas.line(max(left, first), up, min(right, last), up)
    for x in (left, right):
        if first <= x <= last:
            canvas.line(x, y, x, y + 38)
    canvas.setDash()


def _mark(canvas: Any, x: float, bottom: float, number: str, reading: str, leftward: bool) -> None:
    """A centre mark, its number and its reading on a tape."""
    canvas.setLineWidth(MARK_PEN)
    canvas.line(x, bottom, x, bottom + _STRIP)
    write, beside = (canvas.drawRightString, x - 3) if leftward else (canvas.drawString, x + 3)
    canvas.setFont(BOLD, 12)
    write(beside, bottom + _STRIP - 14, number)
    canvas.setFont(FONT, 8)
    write(beside, bottom + 22, printable(reading))


def _joint(canvas: Any, x: float, bottom: float, number: int, marks: list[float]) -> None:
    """The line two strips share, with a cross at both ends to lay on each other, and its number clear of the marks."""
    canvas.setLineWidth(JOINT_PEN)
    canvas.setDash(5, 3)
    canvas.line(x, bottom, x, bottom + _STRIP)
    canvas.setDash()
    canvas.setLineWidth(CROSS_PEN)
    for y in (bottom + 12, bottom + _STRIP - 24):
        canvas.circle(x, y, 6)
        canvas.line(x - 10, y, x + 10, y)
        canvas.line(x, y - 10, x, y + 10)
    canvas.setFont(FONT, 7)
    beside = x - 3 if not any(x - 12 < mark < x for mark in marks) else x + 8
    canvas.saveState()
    canvas.translate(beside, bottom + 42)
    canvas.rotate(90)
    canvas.drawString(0, 0, f"joint {number}")
    canvas.restoreState()


def _ticks(canvas: Any, strip: Strip, across: Any, bottom: float, first: float, last: float) -> None:
    """A scale from the left end of the board, as on a tape: every inch, or every 10 mm."""
    metric = strip.laid.run.unit == "mm"
    every, named = (10, 50) if metric else (1, 1)
    canvas.setLineWidth(TICK_PEN)
    canvas.setFont(FONT, 5)
    place = max(0, int(strip.start) // every * every - every)
    while place <= strip.laid.length(strip.board) and across(Fraction(place)) <= last:
        x = across(Fraction(place))
        if x >= first:
            canvas.line(x, bottom, x, bottom + 5)
            if place % named == 0:
                canvas.drawCentredString(x, bottom + 7, str(place))
        place += every


def _ruler(canvas: Any, wide: float) -> None:
    """What tells whether the printer kept the scale."""
    canvas.setLineWidth(RULER_PEN)
    canvas.setFont(FONT, 7)
    for y, unit, long, every in ((66, "in", 6, 1), (52, "mm", 150, 10)):
        scale = points(unit)
        canvas.line(MARGIN, y, MARGIN + float(long * scale), y)
        for place in range(0, long + 1, every):
            x = MARGIN + float(place * scale)
            canvas.line(x, y, x, y + 5)
            if unit == "in" or place % 50 == 0:
                canvas.drawString(x + 1.5, y + 3, f"{place} {unit}" if place == long else str(place))
    fitted(canvas, MARGIN, 38, CHECKING, wide - 2 * MARGIN, 8, BOLD)
