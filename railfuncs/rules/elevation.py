"""Where the points of an elevation stand: to scale, from the left newel's face and the lowest point.

A run that slopes may go up to the left or to the right; heights over a slope are plumb.
"""

from typing import Any

from railfuncs.rules import spacing
from railfuncs.rules.flight import from_left
from railfuncs.rules.rake import plumb, rake_height
from railfuncs.tracing import floor, maximum, minimum, where


def drawing_scale(opening: Any, height: Any, across: Any, up: Any) -> Any:
    """Factor that fits an elevation into a picture `across` wide and `up` high, the same both ways."""
    return where(opening / across > height / up, across / opening, up / height)


def corner_across(number: Any, count: Any, gap: Any, width: Any, side: Any, opening: Any, scale: Any) -> Any:
    """Across of a baluster's side (-1 left, 1 right) in the elevation; past the last one, the right newel."""
    return where(number > count, opening, lambda: spacing.place(gap, width, number, 0) + side * width / 2) * scale


def climb(place: Any, opening: Any, up: Any, rise: Any, run: Any) -> Any:
    """How much a line along the slope has risen at a level distance from the left."""
    return from_left(place, opening, up) * rise / run


def plumb_stack(shoe: Any, clear: Any, rail: Any, rise: Any, run: Any) -> Any:
    """Plumb height over the shoe's underside of what is stacked square to the slope."""
    return rake_height(0, shoe, clear, rail, rise, run)


def highest(height: Any, opening: Any, rise: Any, run: Any) -> Any:
    """How high an elevation is whose rail stands so high over the slope."""
    return height + opening * rise / run


def raised(height: Any, opening: Any, up: Any, rise: Any, run: Any, place: Any) -> Any:
    """Height in an elevation of a point so high over the slope, at a place from the left."""
    return height + climb(place, opening, up, rise, run)


def raised_corner(height: Any, scale: Any, opening: Any, up: Any, rise: Any, run: Any, place: Any) -> Any:
    """The same, for a height that is not to scale yet."""
    return raised(height * scale, opening, up, rise, run, place)


def rail_over_nosings(height: Any, thickness: Any, riser: Any, tread: Any) -> Any:
    """The rail's underside above the line over the nosings, plumb."""
    return height - plumb(thickness, riser, tread)


def over_the_floor(place: Any, over: Any, nosing: Any, riser: Any, tread: Any) -> Any:
    """Height above the lowest floor of a line so high over the nosings, at a place from the lower newel's face."""
    return riser + (place - nosing) * riser / tread + over


def highest_over_steps(height: Any, opening: Any, nosing: Any, riser: Any, tread: Any) -> Any:
    """How high the elevation of a flight is."""
    return over_the_floor(opening, height, nosing, riser, tread)


def x_from_left(place: Any, opening: Any, up: Any, scale: Any) -> Any:
    """Across in an elevation of a place from the lower newel's face."""
    return from_left(place, opening, up) * scale


def nosing_line(place: Any, over: Any, nosing: Any, riser: Any, tread: Any, scale: Any) -> Any:
    """Up in an elevation of a line so high over the nosings."""
    return over_the_floor(place, over, nosing, riser, tread) * scale


def step_across(step: Any, steps: Any, tread: Any, nosing: Any, opening: Any, up: Any, scale: Any) -> Any:
    """Across in an elevation of a step's nosing, kept between the newels; past the last step, the upper newel."""
    between = minimum(maximum(nosing + (step - 1) * tread, 0), opening)
    return x_from_left(where(step > steps, opening, between), opening, up, scale)


def step_up(step: Any, end: Any, steps: Any, riser: Any, scale: Any) -> Any:
    """Up in an elevation of a riser's foot (end 0) or of the nosing over it (end 1)."""
    return minimum(step - 1 + end, steps) * riser * scale


def _side(
    number: Any, side: Any, first: Any, last: Any, start: Any, each: Any, width: Any, opening: Any
) -> Any:
    """A baluster's lower (-1) or upper (1) side from the lower newel's face; past the last one, the upper newel."""
    centre = start + (first + number - 2) * each
    return where(number > last - first + 1, opening, centre + side * width / 2)


def side_across(
    number: Any, side: Any, first: Any, last: Any, start: Any, each: Any, width: Any, opening: Any, up: Any, scale: Any
) -> Any:
    """Across in an elevation of a side of a baluster on a tread."""
    return x_from_left(_side(number, side, first, last, start, each, width, opening), opening, up, scale)


def side_up(
    number: Any, side: Any, foot: Any, first: Any, last: Any, start: Any, each: Any, width: Any, opening: Any,
    each_tread: Any, over: Any, nosing: Any, riser: Any, tread: Any, scale: Any,
) -> Any:  # fmt: skip
    """Up in an elevation of a side of a baluster: on its tread (foot 1) or at the rail's underside (foot 0)."""
    at_rail = over_the_floor(_side(number, side, first, last, start, each, width, opening), over, nosing, riser, tread)
    on_tread = (floor((first + number - 2) / each_tread) + 1) * riser
    return where(foot * where(number > last - first + 1, 0, 1) == 1, on_tread, at_rail) * scale
