"""The rake rules against an elevation drawn and measured by an independent geometry library.

Rails are drawn level, then turned up to the slope; balusters stand where the rules mark them. What is measured in the
drawing shares no formula with the rules.
"""

import math
import random
from dataclasses import dataclass
from fractions import Fraction

import shapely
from shapely import LineString, Polygon, box
from shapely.affinity import rotate, translate

from railfuncs.errors import RuleError
from railfuncs.rules import checks, rake, treads
from tests.proof import proves

STAIRS = 10_000
FAR = 2_000.0
NEAR = 1e-6


@dataclass(frozen=True)
class Stair:
    """Measured to 1/64 in: a step, a run between newels, its parts, and the balusters in it."""

    riser: Fraction
    tread: Fraction
    opening: Fraction
    width: Fraction
    count: int
    below: Fraction
    shoe: Fraction
    clear: Fraction
    rail: Fraction

    @property
    def degrees(self) -> float:
        return math.degrees(math.atan2(self.riser, self.tread))

    def turned(self, low: float, high: float) -> Polygon:
        """A long board between two square distances above the nosing line."""
        return rotate(box(-FAR, low, FAR, high), self.degrees, origin=(0, 0))

    def edge(self, high: float) -> LineString:
        """A line along the slope between the newels."""
        line = rotate(LineString([(-FAR, high), (FAR, high)]), self.degrees, origin=(0, 0))
        return line.intersection(box(0, -FAR, float(self.opening), FAR))

    @property
    def steps(self) -> Polygon:
        """Five solid steps, the third nosing at the origin."""
        r, t = float(self.riser), float(self.tread)
        nosings = [corner for k in range(-2, 3) for corner in ((k * t, k * r), ((k + 1) * t, k * r))]
        return Polygon([(-2 * t, -FAR), *nosings, (3 * t, -FAR)])


def random_stair(rng: random.Random) -> Stair:
    def sixty_fourths(low: float, high: float) -> Fraction:
        return Fraction(rng.randint(int(low * 64), int(high * 64)), 64)

    if rng.random() < 0.2:
        a, b, _ = rng.choice([(3, 4, 5), (5, 12, 13), (8, 15, 17), (7, 24, 25), (20, 21, 29)])
        tread = sixty_fourths(8, 14)
        riser = tread * a / b
    else:
        riser, tread = sixty_fourths(3, 9.5), sixty_fourths(8, 14)
    opening, width = sixty_fourths(24, 200), sixty_fourths(0.5, 2)
    count = rng.randint(1, min(10, int(opening / width) - 1))
    below, shoe = sixty_fourths(0, 1.25), sixty_fourths(0.75, 2)
    return Stair(riser, tread, opening, width, count, below, shoe, sixty_fourths(20, 36), sixty_fourths(1, 3))


def stairs(seed: int) -> list[Stair]:
    rng = random.Random(seed)
    return [random_stair(rng) for _ in range(STAIRS)]


@proves("RAIL_RAKE_MARKS", "RAIL_RAKE_MARK", against="an elevation drawn and measured with shapely, a geometry library", cases=10_000)
def test_marks_along_the_slope_leave_even_level_gaps() -> None:
    rng = random.Random(30)
    for stair in stairs(31):
        edge = stair.edge(float(stair.below + stair.shoe))
        run = (stair.opening, stair.width, stair.count)
        places = rake.rake_marks(*run, stair.riser, stair.tread, 0)
        centres = shapely.get_x(shapely.line_interpolate_point(edge, [float(place) for place in places]))
        half = float(stair.width) / 2
        standing = shapely.union_all(shapely.box(centres - half, -1, centres + half, 1))
        level = LineString([(0, 0), (float(stair.opening), 0)])
        gaps = [part.length for part in level.difference(standing).geoms]
        assert len(gaps) == stair.count + 1
        assert max(gaps) - min(gaps) < NEAR
        # The run is even: measured down from the upper newel the marks are the same.
        number = rng.randint(1, stair.count)
        downward = rake.rake_mark(*run, number, stair.riser, stair.tread, 0, "right")
        assert abs(edge.length - places[-number] - downward) < NEAR


@proves("RAIL_PLUMB", "RAIL_RAKE_MORTISE", "RAIL_RAKE_BALUSTER", against="an elevation drawn and measured with shapely, a geometry library", cases=9_900)
def test_balusters_and_mortises() -> None:
    rng = random.Random(32)
    for stair in stairs(33):
        slope = (stair.riser, stair.tread)
        foot = float(stair.below + stair.shoe)
        half, middle = float(stair.width) / 2, float(stair.opening) / 2
        plumb = LineString([(middle, -FAR), (middle, FAR)])
        clear = plumb.intersection(stair.turned(foot, foot + float(stair.clear)))
        assert abs(clear.length - rake.plumb(stair.clear, *slope)) < NEAR

        mouth = stair.edge(foot).intersection(box(middle - half, -FAR, middle + half, FAR))
        assert abs(mouth.length - rake.rake_mortise(stair.width, *slope)) < NEAR

        depth = Fraction(rng.randint(64, 200), 64)
        floor = clear.bounds[1] - float(depth)
        shoe = stair.turned(-FAR / 2, foot)
        sides = [LineString([(x, floor), (x, FAR)]).intersection(shoe).length for x in (middle - half, middle + half)]
        try:
            shallow, deep = (rake.rake_mortise(stair.width, *slope, depth, part) for part in ("shallow", "deep"))
        except RuleError:
            # Refused only where the lower corner of the baluster would stand out of the mortise.
            assert min(sides) < NEAR
        else:
            assert abs(sides[0] - shallow) < NEAR
            assert abs(sides[1] - deep) < NEAR
        top = depth / 2
        whole = rake.rake_baluster(stair.clear, depth, top, *slope)
        assert abs(whole - (clear.length + float(depth + top))) < NEAR


@proves("RAIL_RAKE", "RAIL_LEVEL", "RAIL_PITCH", "RAIL_END_CUT", "RAIL_RAKE_RAIL", "RAIL_RAKE_SHOE", "RAIL_RAKE_HEIGHT", against="an elevation drawn and measured with shapely, a geometry library", cases=9_000)
def test_rails_and_their_heights() -> None:
    rng = random.Random(34)
    for stair in stairs(35):
        slope, opening, thick = (stair.riser, stair.tread), float(stair.opening), float(stair.rail)
        low = float(stair.below + stair.shoe + stair.clear)
        rail = stair.turned(low, low + thick).intersection(box(0, -FAR, opening, FAR))
        edge = stair.edge(low).length
        assert abs(edge - rake.rake_rail(stair.opening, *slope)) < NEAR
        assert abs(edge - rake.rake(stair.opening, *slope)) < NEAR
        assert abs(stair.opening - rake.level(edge, *slope)) < NEAR
        left, _, right, _ = rotate(rail, -stair.degrees, origin=(0, 0)).bounds
        assert abs(right - left - rake.rake_rail(stair.opening, *slope, 0, 0, stair.rail)) < NEAR

        # Square across the slope the plumb end leans by the saw's angle.
        lean = math.degrees(math.atan((right - left - edge) / thick))
        assert abs(lean - rake.end_cut(*slope)) < NEAR
        assert abs(stair.degrees - rake.pitch(*slope)) < NEAR

        one, two = (Fraction(rng.randint(0, 64), 64) for _ in range(2))
        shoe = stair.edge(0).intersection(box(float(one), -FAR, opening - float(two), FAR))
        assert abs(shoe.length - rake.rake_shoe(stair.opening, *slope, one, two)) < NEAR

        plumb = LineString([(opening / 2, -FAR), (opening / 2, FAR)])
        stacked = plumb.intersection(stair.turned(0, low + thick)).length
        parts = (stair.below, stair.shoe, stair.clear, stair.rail)
        assert abs(stacked - rake.rake_height(*parts, *slope)) < NEAR


@proves("RAIL_END_CUT", against="an elevation drawn and measured with shapely, a geometry library", cases=19_000)
def test_a_mitre_joins_edge_to_edge() -> None:
    rng = random.Random(36)
    for stair in stairs(37):
        for turn, joint in ((stair.degrees, "level"), (rng.uniform(1, 120), "turn")):
            thick = float(stair.rail)
            straight = LineString([(-FAR, thick), (FAR, thick)])
            turned = rotate(straight, turn, origin=(0, 0))
            # The inner edges meet at the origin, the outer ones here: the joint runs between.
            outer = straight.intersection(turned)
            off_square = math.degrees(math.atan2(abs(outer.x), outer.y))
            angle = rake.end_cut(stair.riser, stair.tread, joint, turn if joint == "turn" else 0)
            assert abs(off_square - angle) < NEAR


@proves("RAIL_TREAD_BALUSTERS", against="an elevation drawn and measured with shapely, a geometry library", cases=10_000)
def test_balusters_on_treads() -> None:
    rng = random.Random(38)
    for stair in stairs(39):
        per_tread = rng.randint(1, 3)
        first = Fraction(rng.randint(0, int(stair.tread * 64 / per_tread) - 1), 64)
        height = Fraction(rng.randint(34 * 64, 42 * 64), 64)
        rail = translate(stair.turned(-float(stair.rail), 0), 0, float(height))
        lengths = treads.tread_balusters(height, stair.rail, stair.riser, stair.tread, first, per_tread)
        assert len(lengths) == per_tread
        for step in (0, 1):
            for number, length in enumerate(lengths):
                x = step * float(stair.tread) + float(first) + number * float(stair.tread) / per_tread
                line = LineString([(x, -FAR), (x, FAR)])
                clear = line.intersection(rail).bounds[1] - line.intersection(stair.steps).bounds[3]
                assert abs(clear - length) < NEAR


@proves("RAIL_TRIANGLE", against="the largest circle, searched in a drawing with shapely, a geometry library", cases=9_900)
def test_the_largest_sphere_in_the_triangle() -> None:
    """The largest circle found by search in the space between steps and bottom rail."""
    rng = random.Random(41)
    measured = refused = 0
    for stair in stairs(40):
        t = float(stair.tread)
        below = stair.below * (8 if rng.random() < 0.03 else 1)
        space = stair.turned(-FAR / 2, float(below)).difference(stair.steps).intersection(box(-t, -FAR, 2 * t, FAR))
        largest = space if isinstance(space, Polygon) else max(space.geoms, key=lambda part: part.area)
        circle = 2 * shapely.maximum_inscribed_circle(largest, tolerance=1e-4).length
        try:
            sphere = checks.triangle(stair.riser, stair.tread, below)
        except RuleError:
            # Refused only where it would touch a nosing, so that the formula would fall short.
            assert circle > 2 * min(stair.riser, stair.tread) - Fraction(1, 1000)
            refused += 1
        else:
            assert abs(circle - sphere) < 1e-3
            measured += 1
    assert measured > 0.97 * STAIRS
    assert refused > 20
    assert measured + refused == STAIRS
