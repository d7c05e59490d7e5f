"""The elevation of a run as shapes to scale, drawn as a picture or as lines of a PDF."""

from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from typing import Any

from railfuncs.books.sharing.reading import LaidRun

_WIDE, _HIGH = 1800, 720  # pixels of a picture, at most
_EDGE = 30  # pixels around the drawing
_NEWEL = Fraction(1, 60)  # how much of a newel is shown at each end, of the opening


@dataclass(frozen=True)
class Shape:
    """A rectangle in the run's unit, from the left newel face and the floor; `board` is shaded."""

    x: Fraction
    y: Fraction
    width: Fraction
    height: Fraction
    board: bool


def shapes(laid: LaidRun) -> list[Shape]:
    """Newels, shoe, balusters and rail of a run, as seen from the room."""
    run = laid.run
    low = run.floor_gap + run.shoe_thickness
    high = low + run.clear
    top = high + run.rail_thickness
    side = run.opening * _NEWEL
    nothing = Fraction(0)
    drawn = [
        Shape(-side, nothing, side, top, False),
        Shape(run.opening, nothing, side, top, False),
        Shape(laid.shift, run.floor_gap, laid.shoe, run.shoe_thickness, True),
        Shape(nothing, high, run.opening, run.rail_thickness, True),
    ]
    drawn += [Shape(centre - run.width / 2, low, run.width, run.clear, False) for centre in laid.places("Handrail")]
    return drawn


def _bounds(drawn: list[Shape]) -> tuple[float, float, float]:
    left = min(shape.x for shape in drawn)
    right = max(shape.x + shape.width for shape in drawn)
    return float(left), float(right - left), float(max(shape.y + shape.height for shape in drawn))


def picture(laid: LaidRun) -> tuple[bytes, int, int]:
    """A PNG of the elevation, its width and height in pixels."""
    from PIL import Image, ImageDraw

    drawn = shapes(laid)
    left, wide, high = _bounds(drawn)
    scale = min((_WIDE - 2 * _EDGE) / wide, (_HIGH - 2 * _EDGE) / high)
    broad, tall = round(wide * scale) + 2 * _EDGE, round(high * scale) + 2 * _EDGE
    image = Image.new("L", (broad, tall), 255)
    pen = ImageDraw.Draw(image)
    floor = tall - _EDGE
    for shape in drawn:
        x, y = _EDGE + (float(shape.x) - left) * scale, floor - float(shape.y) * scale
        box = (x, y - float(shape.height) * scale, x + float(shape.width) * scale, y)
        pen.rectangle(box, fill=225 if shape.board else 255, outline=0, width=2)
    pen.line((0, floor, broad, floor), fill=0, width=4)
    stream = BytesIO()
    image.save(stream, "PNG")
    return stream.getvalue(), broad, tall


def lines(laid: LaidRun, width: float, most_high: float) -> Any:
    """The elevation as a drawing for a PDF, at most so many points wide and high."""
    from reportlab.graphics.shapes import Drawing, Line, Rect
    from reportlab.lib.colors import Color, black, white

    drawn = shapes(laid)
    left, wide, high = _bounds(drawn)
    scale = min((width - 12) / wide, most_high / high)
    broad = wide * scale + 12
    drawing = Drawing(broad, high * scale + 6)
    shade = Color(0.88, 0.88, 0.88)
    for shape in drawn:
        drawing.add(Rect(6 + (float(shape.x) - left) * scale, 3 + float(shape.y) * scale, float(shape.width) * scale,
                         float(shape.height) * scale, strokeWidth=0.5, strokeColor=black,
                         fillColor=shade if shape.board else white))  # fmt: skip
    drawing.add(Line(0, 3, broad, 3, strokeWidth=1, strokeColor=black))
    return drawing
