"""The sloped part of the work: a rail and its shoe up a stair, at any angle.

The slope is given as a rise and a run: of one step, of the whole flight, or any pair with the same ratio. So a stair of
7 1/2 by 10 in stays exact. Balusters stand plumb; their gaps are measured level, as the codes measure them, and spaced
by the same rules as on the level. At no rise every rule here gives what the level rule gives. Angles are in degrees.
"""

from typing import Any

from railfuncs.catalogue import function
from railfuncs.rules import cutting, spacing
from railfuncs.rules.measure import SIXTEENTH, round_to
from railfuncs.tracing import atan, both, cos, keep, need, sin, sqrt, where


def secant(rise: Any, run: Any) -> Any:
    """How much longer a line is along the slope than on the level: 1/cos of the pitch."""
    _needs_slope(rise, run)
    return keep("secant", sqrt(rise * rise + run * run) / run)


def _needs_slope(rise: Any, run: Any) -> None:
    need(run > 0, "the run must be more than zero")
    need(rise >= 0, "the rise cannot be negative; measure up the slope")


@function("rake")
def pitch(rise: Any, run: Any) -> Any:
    """Angle of the slope from level, also the tilt of rail or shoe under the mortiser: atan(rise / run).

    Args:
        rise (length): plumb rise
        run (length): level run
    Returns (degrees): the angle
    Source: plane trigonometry; framing-square tables
    Example:
        >>> round(pitch(7.5, 10), 4), float(pitch(9, 9))
        (36.8699, 45.0)
    """
    _needs_slope(rise, run)
    return atan(rise / run)


@function("rake")
def rake(level: Any, rise: Any, run: Any) -> Any:
    """Length along the slope of a level length: level * sqrt(rise^2 + run^2) / run.

    Args:
        level (length): level length
        rise (length): rise of the slope
        run (length): run of the slope
    Returns (length): length along the slope
    Source: framing-square table of length per foot of run
    Example:
        >>> rake(96, 7.5, 10), round(rake(12, 7, 12), 2)
        (Fraction(120, 1), 13.89)
    """
    return level * secant(rise, run)


@function("rake")
def level(sloped: Any, rise: Any, run: Any) -> Any:
    """Level length of a length along the slope: sloped * run / sqrt(rise^2 + run^2).

    Args:
        sloped (length): length measured along the slope
        rise (length): rise of the slope
        run (length): run of the slope
    Returns (length): level length
    Source: framing-square table of length per foot of run
    Example:
        >>> level(120, 7.5, 10)
        Fraction(96, 1)
    """
    return sloped / secant(rise, run)


@function("rake")
def plumb(square: Any, rise: Any, run: Any) -> Any:
    """Plumb measure of one taken square to the slope: square * sqrt(rise^2 + run^2) / run.

    It turns the clear height between shoe and rail, or the thickness of either, into what a plumb line meets.

    Args:
        square (length): clear height or thickness, square to the slope
        rise (length): rise of the slope
        run (length): run of the slope
    Returns (length): the same, plumb
    Source: plane trigonometry; secant tables
    Example:
        >>> plumb(30, 7.5, 10)
        Fraction(75, 2)
    """
    return square * secant(rise, run)


@function("rake")
def rake_rise(sloped: Any, angle: Any) -> Any:
    """Rise of a slope measured as a length along it and an angle: sloped * sin(angle).

    Args:
        sloped (length): length along the slope
        angle (degrees): angle from level
    Returns (length): plumb rise
    Source: plane trigonometry; sine tables
    Example:
        >>> rake_rise(160, 30)
        Fraction(80, 1)
    """
    _needs_angle(angle)
    return sloped * sin(angle)


@function("rake")
def rake_run(sloped: Any, angle: Any) -> Any:
    """Run of a slope measured as a length along it and an angle: sloped * cos(angle).

    Args:
        sloped (length): length along the slope
        angle (degrees): angle from level
    Returns (length): level run
    Source: plane trigonometry; cosine tables
    Example:
        >>> rake_run(160, 60)
        Fraction(80, 1)
    """
    _needs_angle(angle)
    return sloped * cos(angle)


def _needs_angle(angle: Any) -> None:
    need(both(angle >= 0, angle < 90), "the angle must be from 0 to less than 90 degrees")


@function("rake")
def rake_apart(rise: Any, run: Any, other_rise: Any, other_run: Any) -> Any:
    """How far apart two measurements of one slope put its upper end.

    The others may come from the steps (riser * steps, tread * steps) or from an angle (RAIL_RAKE_RISE, RAIL_RAKE_RUN).

    Args:
        rise (length): rise as measured
        run (length): run as measured
        other_rise (length): rise measured another way
        other_run (length): run measured another way
    Returns (length): the distance between the two upper ends; 0 where the measurements agree
    Source: Pythagoras
    Example:
        >>> rake_apart(112, 160, 16 * 7, 16 * 10), rake_apart(112, 160, 111.625, 159.5)
        (Fraction(0, 1), Fraction(5, 8))
    """
    higher, longer = other_rise - rise, other_run - run
    return sqrt(higher * higher + longer * longer)


@function("rake")
def rake_mark(
    opening: Any, width: Any, count: Any, number: Any, rise: Any, run: Any,
    step: Any = 0, start: str = "left", shift: Any = 0,
) -> Any:  # fmt: skip
    """Centre mark of one baluster along the slope, rounded once from its exact place.

    (number * gap + (number - 1/2) * width - shift) * sqrt(rise^2 + run^2) / run, along any edge of rail or shoe that
    follows the slope, from where that edge meets the newel.

    Args:
        opening (length): level clear opening between newel faces
        width (length): baluster width, level
        count (whole): number of balusters
        number (whole): which baluster, counted from the end measured from (from the left for the middle)
        rise (length): rise of the slope
        run (length): run of the slope
        step (length): step the mark is rounded to; 0 leaves it as it is
        start (left|right|middle): where the tape starts; from the middle, marks to the left are negative
        shift (length): how much later, on the level, the board starts, such as a shoe at a newel's base trim
    Returns (length): the mark
    Source: common practice, no source; plane trigonometry
    Example:
        >>> rake_mark(72, 0.5, 17, 9, 7.5, 10), rake_mark(72, 0.5, 17, 1, 7.5, 10, 0.0625)
        (Fraction(45, 1), Fraction(19, 4))
    """
    need(step >= 0, "the step cannot be negative")
    exact = rake(spacing.mark(opening, width, count, number, 0, start, shift), rise, run)
    # In a column or a cell the step may be zero in the branch not taken, where nothing may be refused.
    return where(step > 0, lambda: round_to(exact, where(step > 0, step, 1)), exact)


@function("rake", formula=False, returns_list=True)
def rake_marks(
    opening: Any, width: Any, count: Any, rise: Any, run: Any,
    step: Any = SIXTEENTH, start: str = "left", shift: Any = 0,
) -> list[Any]:  # fmt: skip
    """All centre marks along the slope, each rounded once from its exact place.

    Args:
        opening (length): level clear opening between newel faces
        width (length): baluster width, level
        count (whole): number of balusters
        rise (length): rise of the slope
        run (length): run of the slope
        step (length): step each mark is rounded to; 0 leaves them as they are
        start (left|right|middle): where the tape starts; from the middle, marks to the left are negative
        shift (length): how much later, on the level, the board starts, such as a shoe at a newel's base trim
    Returns (lengths): one mark a baluster, in a column
    Source: common practice, no source; plane trigonometry
    Example:
        >>> [float(place) for place in rake_marks(12, 1, 3, 7.5, 10, 0.25)]
        [3.5, 7.5, 11.5]
    """
    spacing.gap(opening, width, count)  # refuses what does not fit, no balusters at all included
    numbers = range(1, int(count) + 1)
    return [rake_mark(opening, width, count, i, rise, run, step, start, shift) for i in numbers]


@function("rake")
def rake_mortise(width: Any, rise: Any, run: Any, depth: Any = 0, part: str = "mouth") -> Any:
    """Mortise of a plumb baluster in a sloped rail or shoe: length of its mouth along the slope, or a side's depth.

    mouth = width * sqrt(rise^2 + run^2) / run; depth at a side = depth at the centre -+ width / 2 * rise / run, for an
    end cut square. In the shoe the shallow side is the lower one, in the rail the upper one. The shallow side must
    still hide a hole or pin at the baluster's end. Test-cut first, work clamped, machine unplugged for set-up.

    Args:
        width (length): baluster width along the rail
        rise (length): rise of the slope
        run (length): run of the slope
        depth (length): depth at the centre, along the baluster; not needed for the mouth
        part (mouth|shallow|deep): which measure
    Returns (length): length of the mouth, or depth along the baluster at its shallow or deep side
    Source: plane trigonometry
    Example:
        >>> [float(rake_mortise(0.5, 7.5, 10, 0.75, part)) for part in ("mouth", "shallow", "deep")]
        [0.625, 0.5625, 0.9375]
    """
    mouth = width * secant(rise, run)
    more = width / 2 * rise / run
    need(width > 0, "the baluster width must be more than zero")
    need(where(part == "mouth", 1, depth - more) > 0, "the mortise has no depth at its shallow side; cut it deeper")
    return where(part == "mouth", mouth, where(part == "shallow", depth - more, depth + more))


@function("rake")
def rake_baluster(clear: Any, bottom_depth: Any, top_depth: Any, rise: Any, run: Any, play: Any = 0) -> Any:
    """Cut length of a baluster between a sloped shoe and rail: plumb clear + both mortise depths - play.

    Args:
        clear (length): from the top of the shoe to the underside of the rail, square to the slope
        bottom_depth (length): depth of the shoe's mortise at its centre, along the baluster
        top_depth (length): depth of the rail's mortise at its centre, along the baluster
        rise (length): rise of the slope
        run (length): run of the slope
        play (length): what it is cut short by so that it drops in
    Returns (length): cut length, ends square
    Source: common practice, no source; plane trigonometry
    Example:
        >>> rake_baluster(26, 0.75, 0.75, 7.5, 10)
        Fraction(34, 1)
    """
    return cutting.cut_baluster(plumb(clear, rise, run), bottom_depth, top_depth, play)


@function("rake")
def rake_rail(
    opening: Any, rise: Any, run: Any, left_depth: Any = 0, right_depth: Any = 0, thickness: Any = 0
) -> Any:
    """Cut length of a sloped handrail between plumb newels, along its edge, or from long point to long point.

    (opening + what is let in) * sqrt(rise^2 + run^2) / run + thickness * rise / run

    Args:
        opening (length): level clear opening between newel faces
        rise (length): rise of the slope
        run (length): run of the slope
        left_depth (length): how far the left end is let into its newel, level
        right_depth (length): how far the right end is let into its newel, level
        thickness (length): rail thickness, square, for the length from long point to long point; 0 along the edge
    Returns (length): cut length
    Source: common practice, no source; plane trigonometry
    Example:
        >>> rake_rail(96, 7.5, 10), rake_rail(96, 7.5, 10, 0.5, 0.5, 2)
        (Fraction(120, 1), Fraction(491, 4))
    """
    need(thickness >= 0, "the thickness cannot be negative")
    return rake(cutting.cut_rail(opening, left_depth, right_depth), rise, run) + thickness * rise / run


@function("rake")
def rake_shoe(
    opening: Any, rise: Any, run: Any, trim_left: Any = 0, trim_right: Any = 0, thickness: Any = 0
) -> Any:
    """Cut length of a sloped shoe between the newels' base trim, along its edge or from long point to long point.

    (opening - base trim at both ends) * sqrt(rise^2 + run^2) / run + thickness * rise / run

    Args:
        opening (length): level clear opening between newel faces, above the base trim
        rise (length): rise of the slope
        run (length): run of the slope
        trim_left (length): base trim of the left newel, level
        trim_right (length): base trim of the right newel, level
        thickness (length): shoe thickness, square, for the length from long point to long point; 0 along the edge
    Returns (length): cut length
    Source: common practice, no source; plane trigonometry
    Example:
        >>> rake_shoe(72, 7.5, 10, 0.5, 0.5)
        Fraction(355, 4)
    """
    need(thickness >= 0, "the thickness cannot be negative")
    return rake(cutting.cut_shoe(opening, trim_left, trim_right), rise, run) + thickness * rise / run


@function("rake")
def rake_height(below: Any, shoe_thickness: Any, clear: Any, rail_thickness: Any, rise: Any, run: Any) -> Any:
    """Top of a sloped rail above the nosing line, measured plumb, from what is stacked square to the slope.

    (below + shoe + clear + rail) * sqrt(rise^2 + run^2) / run. Check heights with the local code.

    Args:
        below (length): from the nosing line to the underside of the shoe, square to the slope
        shoe_thickness (length): thickness of the shoe
        clear (length): from the top of the shoe to the underside of the rail, square to the slope
        rail_thickness (length): thickness of the rail
        rise (length): rise of the slope
        run (length): run of the slope
    Returns (length): plumb height of the rail's top above the nosing line
    Source: plane trigonometry; heights above the nosing line as in IRC 2018 R311.7.8.1 (second-hand)
    Example:
        >>> rake_height(0.5, 1.25, 24.75, 1.5, 7.5, 10)
        Fraction(35, 1)
    """
    return plumb(below + shoe_thickness + clear + rail_thickness, rise, run)


@function("rake")
def end_cut(rise: Any, run: Any, joint: str = "newel", turn: Any = 0) -> Any:
    """Saw angle, off square, of a rail's end.

    At a plumb newel the pitch; where a sloped rail meets a level one half of the pitch on each; at a turn in plan
    between level rails half of the turn on each. Test-cut first; work clamped, guards on.

    Args:
        rise (length): rise of the slope
        run (length): run of the slope
        joint (newel|level|turn): what the end meets
        turn (degrees): by how much the rail turns in plan, for a turn only
    Returns (degrees): the saw's setting off a square cut
    Source: plane geometry; a mitre halves the angle
    Example:
        >>> [float(end_cut(9, 9, joint, 90)) for joint in ("newel", "level", "turn")]
        [45.0, 22.5, 45.0]
    """
    need(both(turn >= 0, turn < 180), "the turn must be from 0 to less than 180 degrees")
    angle = pitch(rise, run)
    return where(joint == "turn", turn / 2, where(joint == "level", angle / 2, angle))
