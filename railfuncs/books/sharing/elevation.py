"""The elevation of a run as shapes to scale, drawn as a picture or as lines of a PDF."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from typing import Any

from railfuncs.books.sharing.laid import LaidRun
from railfuncs.rules import elevation

_WIDE, _HIGH, _HIGH_ON_SLOPE = 1800, 720, 1040  # pixels of a picture, at most
_EDGE = 30  # pixels around the drawing
_NEWEL = Fraction(1, 60)  # how much of a newel is shown at each end, of the opening
_FULL = 1  # the scale of an outline in the run's own unit

Point = tuple[float, float]


@dataclass(frozen=True)
class Shape:
    """An outline in the run's unit, from the left newel face and the lowest point; `board` is shaded."""

    corners: tuple[Point, ...]
    board: bool = False


def shapes(laid: LaidRun) -> list[Shape]:
    """Newels, shoe or steps, balusters and rail of a run, as seen from the room."""
    return _flight(laid) if laid.kind == "treads" else _between_boards(laid)


def _between_boards(laid: LaidRun) -> list[Shape]:
    run, right = laid.run, laid.opening
    low = run.floor_gap + run.shoe_thickness
    high = low + run.clear
    under_shoe, over_shoe, under_rail, top = map(laid.plumb, (run.floor_gap, low, high, high + run.rail_thickness))

    def piece(start: Fraction, end: Fraction, under: Any, over: Any, board: bool) -> Shape:
        return Shape(tuple((float(x), float(up + laid.climb(x)))
                           for x, up in ((start, under), (end, under), (end, over), (start, over))), board)  # fmt: skip

    half = run.width / 2
    return [
        *_newels(right, (laid.climb(Fraction(0)), top + laid.climb(Fraction(0))),
                 (laid.climb(right), top + laid.climb(right))),
        piece(laid.shift, laid.shift + laid.shoe, under_shoe, over_shoe, True),
        piece(Fraction(0), right, under_rail, top, True),
        *(piece(centre - half, centre + half, over_shoe, under_rail, False) for centre in laid.level_places()),
    ]  # fmt: skip


def _newels(right: Any, left_ends: tuple[Any, Any], right_ends: tuple[Any, Any]) -> list[Shape]:
    """A strip of each newel, from its foot to the rail's top."""
    side = right * _NEWEL
    return [
        Shape(tuple((float(x), float(y)) for x, y in ((start, foot), (start + side, foot), (start + side, top),
                                                      (start, top))))
        for start, (foot, top) in ((-side, left_ends), (right, right_ends))
    ]  # fmt: skip


def _flight(laid: LaidRun) -> list[Shape]:
    """Steps, the rail over them, and the balusters between, from the lower newel up."""
    run, at, right, nothing = laid.run, laid.worked, laid.opening, Fraction(0)
    line = run.nosing, run.riser, run.tread, _FULL
    under = elevation.rail_over_nosings(run.height, run.rail_thickness, run.riser, run.tread)
    most = int(at["steps"])

    def point(place: Any, up: Any) -> Point:
        return float(elevation.x_from_left(place, right, run.up, _FULL)), float(up)

    def over(place: Any, height: Any) -> Any:
        return elevation.nosing_line(place, height, *line)

    def step(number: int, end: int) -> Point:
        across = elevation.step_across(number, most, run.tread, run.nosing, right, run.up, _FULL)
        return float(across), float(elevation.step_up(number, end, most, run.riser, _FULL))

    floor_above = elevation.step_up(most, 1, most, run.riser, _FULL)
    steps = [step(number, end) for number in range(1, most + 1) for end in (0, 1)]
    stand = at["first_no"], at["last_no"], at["start"], at["each"], run.width, right
    balusters = [
        Shape(tuple(
            (float(elevation.side_across(number, side, *stand, run.up, _FULL)),
             float(elevation.side_up(number, side, foot, *stand, at["each_tread"], under, *line)))
            for side, foot in ((-1, 0), (-1, 1), (1, 1), (1, 0))
        ))
        for number in range(1, laid.count + 1)
    ]  # fmt: skip
    rail = (nothing, under), (right, under), (right, run.height), (nothing, run.height)
    ends = (nothing, over(nothing, run.height)), (floor_above, over(right, run.height))
    return [
        *_newels(right, *(ends if run.up == "right" else ends[::-1])),
        Shape((point(nothing, nothing), *steps, point(right, floor_above), point(right, nothing))),
        Shape(tuple(point(place, over(place, height)) for place, height in rail), True),
        *balusters,
    ]


def _bounds(drawn: list[Shape]) -> tuple[float, float, float]:
    across = [x for shape in drawn for x, _ in shape.corners]
    return min(across), max(across) - min(across), max(y for shape in drawn for _, y in shape.corners)


def _ground(laid: LaidRun, left: float, wide: float) -> list[Point]:
    """The line that heights are measured from: over the nosings, where the boards slope; else the floor."""
    ends = Fraction(left), Fraction(left + wide)
    return [(float(x), float(laid.climb(x)) if laid.kind == "rake" else 0.0) for x in ends]


def picture(laid: LaidRun) -> tuple[bytes, int, int]:
    """A PNG of the elevation, its width and height in pixels."""
    from PIL import Image, ImageDraw

    drawn = shapes(laid)
    left, wide, high = _bounds(drawn)
    most_high = _HIGH_ON_SLOPE if laid.slope else _HIGH
    scale = min((_WIDE - 2 * _EDGE) / wide, (most_high - 2 * _EDGE) / high)
    broad, tall = round(wide * scale) + 2 * _EDGE, round(high * scale) + 2 * _EDGE
    image = Image.new("L", (broad, tall), 255)
    pen = ImageDraw.Draw(image)

    def on_paper(points: Iterable[Point]) -> list[Point]:
        return [(_EDGE + (x - left) * scale, tall - _EDGE - y * scale) for x, y in points]

    for shape in drawn:
        pen.polygon(on_paper(shape.corners), fill=225 if shape.board else 255, outline=0, width=2)
    (start, up), (end, to) = on_paper(_ground(laid, left, wide))
    past = _EDGE if up == to else 0
    pen.line((start - past, up, end + past, to), fill=0, width=4)
    stream = BytesIO()
    image.save(stream, "PNG")
    return stream.getvalue(), broad, tall


def lines(laid: LaidRun, width: float, most_high: float) -> Any:
    """The elevation as a drawing for a PDF, at most so many points wide and high."""
    from reportlab.graphics.shapes import Drawing, Line, Polygon
    from reportlab.lib.colors import Color, black, white

    drawn = shapes(laid)
    left, wide, high = _bounds(drawn)
    scale = min((width - 12) / wide, most_high / high)
    broad = wide * scale + 12
    drawing = Drawing(broad, high * scale + 6)
    shade = Color(0.88, 0.88, 0.88)

    def on_paper(points: Iterable[Point]) -> list[float]:
        return [part for x, y in points for part in (6 + (x - left) * scale, 3 + y * scale)]

    for shape in drawn:
        drawing.add(Polygon(on_paper(shape.corners), strokeWidth=0.5, strokeColor=black,
                            fillColor=shade if shape.board else white))  # fmt: skip
    start, up, end, to = on_paper(_ground(laid, left, wide))
    past = 6 if up == to else 0
    drawing.add(Line(start - past, up, end + past, to, strokeWidth=1, strokeColor=black))
    return drawing
