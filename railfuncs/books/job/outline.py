"""The points of an elevation: one line around steps or shoe, balusters and rail, in cells that follow the inputs.

Two columns of the sheet Drawing a run, across and up, in the picture's own units. The line never lifts: past the last
baluster or step it stays where it is.
"""

from typing import Any

from railfuncs.books.cells import Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.rules import elevation
from railfuncs.rules import job as together

FIRST_POINT = 8
_FIRST_FACT = 4  # rows between hold what every point needs


class Outline:
    """The two columns of one run, written from the top down."""

    def __init__(self, page: Page, run: RunCells) -> None:
        self.page, self.run = page, run
        self.across, self.up = 1 + 2 * run.number, 2 + 2 * run.number
        self._fact, self.row = _FIRST_FACT, FIRST_POINT
        page.calc(3, self.across, together.label, run["name"], style="drawing")

    def calc(self, row: int, column: int, rule: Any, *args: Any) -> Cell:
        return self.page.calc(row, column, rule, *args, style="drawing", unless=self.run["status"])

    def fact(self, rule: Any, *args: Any) -> Cell:
        """What several points need."""
        cell = self.calc(self._fact // 2 + 2, self.across if self._fact % 2 == 0 else self.up, rule, *args)
        self._fact += 1
        return cell

    def point(self, across: tuple[Any, ...], up: tuple[Any, ...]) -> Cell:
        """The next point: for each way a rule and what it reads; returns the cell across."""
        cell = self.calc(self.row, self.across, *across)
        self.calc(self.row, self.up, *up, *((cell,) if up[0] in _NEED_ACROSS else ()))
        self.row += 1
        return cell


def points(page: Page, run: RunCells, lines: int, steps: int, across: int, up: int) -> int:
    """Write the outline of a run; returns its last row.

    Args:
        lines: most balusters
        steps: most steps of a flight
        across, up: the picture's own units
    """
    outline = Outline(page, run)
    if run.kind == "treads":
        _flight(outline, lines, steps, across, up)
    else:
        _boards(outline, lines, across, up)
    return outline.row - 1


def _boards(outline: Outline, lines: int, across: int, up: int) -> None:
    """Shoe, balusters and rail, level or along a slope."""
    run, nothing = outline.run, 0
    sloped = run.kind == "rake"
    slope = (run["up"], run["slope_rise"], run["slope_run"]) if sloped else ()
    stack = [run["shoe_thickness"], run["clear"], run["rail_thickness"]]

    def plumb_height(*parts: Any) -> tuple[Any, ...]:
        shoe, clear, rail = [*parts, nothing, nothing][:3]
        if sloped:
            return elevation.plumb_stack, shoe, clear, rail, run["slope_rise"], run["slope_run"]
        return together.guard_height, nothing, shoe, clear, rail

    bottom, top, height = (outline.fact(*plumb_height(*stack[:count])) for count in (1, 2, 3))
    right = run["opening"]
    whole = outline.fact(elevation.highest, height, right, *slope[1:]) if sloped else height
    scale = outline.fact(elevation.drawing_scale, right, whole, across, up)
    edge = outline.fact(together.times, right, scale)

    def corner(x: Any, y: Any) -> None:
        if sloped:
            outline.point((together.times, x, scale), (elevation.raised_corner, y, scale, edge, *slope))
        else:
            outline.point((together.times, x, scale), (together.times, y, scale))

    # Shoe, then the left newel face up to the rail's underside and back down to the shoe's top.
    for x, y in ((nothing, bottom), (nothing, nothing), (right, nothing), (right, height), (nothing, height),
                 (nothing, top), (right, top), (nothing, top), (nothing, bottom)):  # fmt: skip
        corner(x, y)
    low, high = (outline.fact(together.times, y, scale) for y in (bottom, top))
    for number in range(1, lines + 1):
        for side in (-1, 1):
            # Up at its left side, down at its right; past the last baluster this retraces the right newel face.
            first, then = (low, high) if side < 0 else (high, low)
            up_to = [(elevation.raised, y, edge, *slope) if sloped else (together.same, y) for y in (first, then)]
            place = outline.point((elevation.corner_across, number, run["n"], run["gap"], run["width"], side, right,
                                   scale), up_to[0])  # fmt: skip
            outline.point((together.same, place), up_to[1])
    corner(right, bottom)


def _flight(outline: Outline, lines: int, steps: int, across: int, up: int) -> None:
    """Steps, the rail over them, and the balusters between, from the lower newel up."""
    run, nothing = outline.run, 0
    right, riser, tread, nosing = run["opening"], run["riser"], run["tread"], run["nosing"]
    under = outline.fact(elevation.rail_over_nosings, run["height"], run["rail_thickness"], riser, tread)
    whole = outline.fact(elevation.highest_over_steps, run["height"], right, nosing, riser, tread)
    scale = outline.fact(elevation.drawing_scale, right, whole, across, up)
    x_of = (right, run["up"], scale)
    line = (nosing, riser, tread, scale)
    outline.point((elevation.x_from_left, nothing, *x_of), (together.times, nothing, scale))
    for step in range(1, steps + 1):
        for end in (0, 1):
            # The riser's foot and the nosing above it; past the last step, the upper newel.
            place = (elevation.step_across, step, run["steps"], tread, nosing, *x_of)
            outline.point(place, (elevation.step_up, step, end, run["steps"], riser, scale))
    outline.point((elevation.x_from_left, right, *x_of), (elevation.step_up, steps, 1, run["steps"], riser, scale))
    for from_lower, over in ((right, under), (right, run["height"]), (nothing, run["height"]), (nothing, under)):
        outline.point((elevation.x_from_left, from_lower, *x_of), (elevation.nosing_line, from_lower, over, *line))
    stand = run["first_no"], run["last_no"], run["start"], run["each"], run["width"], right
    for number in range(1, lines + 1):
        for side, foot in ((-1, 0), (-1, 1), (1, 1), (1, 0)):
            # Down at its lower side, up at its upper; past the last baluster the line stays at the upper newel.
            outline.point(
                (elevation.side_across, number, side, *stand, run["up"], scale),
                (elevation.side_up, number, side, foot, *stand, run["each_tread"], under, *line),
            )  # fmt: skip


_NEED_ACROSS = (elevation.raised_corner, elevation.raised)
