"""How the rules are put together for one run of a level guard.

Lengths of a run are all in the run's own unit (inches or millimetres). The rail's opening is measured between newel
faces at the rail. The shoe's is measured at the shoe, between the newels' base trim; left blank it is the rail's less
the trim. Where the two disagree the newels lean, and both boards are laid out from the middle.
"""

from typing import Any

from railfuncs.rules.measure import round_to
from railfuncs.rules.spacing import clear_before, place
from railfuncs.tracing import both, is_number, join, largest, maximum, need, under, where


def shoe_length(opening: Any, shoe_opening: Any, trim_left: Any, trim_right: Any) -> Any:
    """Shoe between the base trims: as measured, or the rail's opening less the trim at both ends."""
    return where(is_number(shoe_opening), shoe_opening, opening - trim_left - trim_right)


def lean(opening: Any, shoe: Any, trim_left: Any, trim_right: Any) -> Any:
    """How much wider the newels stand apart at the shoe than at the rail; negative where they lean in."""
    return shoe + trim_left + trim_right - opening


def shoe_shift(lean: Any, trim_left: Any) -> Any:
    """How much less a mark reads on the shoe than on the rail: the left trim, less half the lean."""
    return trim_left - lean / 2


def effective_limit(limit: Any, lean: Any) -> Any:
    """Limit for the even gap: where newels lean apart, the end gaps at the shoe are wider by half the lean."""
    return limit - maximum(lean, 0) / 2


def chosen_count(own: Any, by_rule: Any) -> Any:
    """The person's own count where one is given, else the rule's."""
    return where(is_number(own), own, by_rule)


def sound_run(shoe: Any, lean: Any, opening: Any, limit: Any, floor_gap: Any) -> None:
    """What a run's measurements must satisfy beyond each rule's own needs."""
    need(shoe > 0, "the shoe must be longer than zero")
    need(both(lean < opening / 4, lean > 0 - opening / 4), "the openings at shoe and at rail disagree too much")
    need(lean / 2 < limit, "the newels lean so far that the end gap at the shoe reaches the limit")
    need(floor_gap >= 0, "the gap under the shoe cannot be negative")


def within_capacity(count: Any, capacity: int) -> None:
    """A list of marks has only so many lines."""
    need(count <= capacity, f"more than {capacity} balusters: this workbook's lists are too short; make it again")


def rail_mark(number: Any, count: Any, gap: Any, width: Any, step: Any, shift: Any) -> Any:
    """Mark of one baluster rounded once from its exact place; blank past the last one."""
    return where(number > count, "", lambda: round_to(place(gap, width, number, shift), step))


def widest_here(
    number: Any, count: Any, width: Any, opening: Any, rail_before: Any, rail: Any,
    shoe_before: Any, shoe: Any, shoe_opening: Any, trim_left: Any, trim_right: Any,
) -> Any:  # fmt: skip
    """Clear gap left of a baluster as marked: at the rail or at the shoe, whichever is wider."""

    def wider() -> Any:
        at_rail = clear_before(number, rail_before, rail, width, opening, count)
        at_shoe = clear_before(number, shoe_before, shoe, width, shoe_opening, count)
        # Above its base trim the newel stands back from the shoe's end by the trim.
        return maximum(at_rail, at_shoe + where(number == 1, trim_left, 0) + where(number > count, trim_right, 0))

    return where(number > count + 1, "", wider)


def widest(gaps: Any) -> Any:
    """The widest gap of a run as marked."""
    return largest(gaps)


def compared(value: Any, limit: Any) -> Any:
    """What a gap compared with its limit shows, in words; never a verdict on the job."""
    return where(under(value, limit), "smaller than the limit", "REACHES THE LIMIT: add a baluster, measure again")


def compared_under(floor_gap: Any, limit: Any) -> Any:
    """What the gap under the shoe compared with the limit shows, in words; never a verdict on the job."""
    return where(under(floor_gap, limit), "smaller than the limit", "REACHES THE LIMIT: lower the shoe")


def compared_height(height: Any, least: Any) -> Any:
    """What a height compared with the least height shows, in words; never a verdict on the job."""
    return where(under(height, least), "LOWER than the least height", "not lower than the least height")


def guard_height(floor_gap: Any, shoe_thickness: Any, clear: Any, rail_thickness: Any) -> Any:
    """Top of the rail above the floor, measured plumb."""
    return floor_gap + shoe_thickness + clear + rail_thickness


def same(value: Any) -> Any:
    """The value of another cell."""
    return value


def label(value: Any) -> Any:
    """The text of another cell."""
    return join(value)


def times(value: Any, factor: Any) -> Any:
    """A product, such as marks on two boards."""
    return value * factor


def in_feet(length: Any, per_inch: Any) -> Any:
    """Feet of a length in a unit that has `per_inch` to the inch."""
    return length / per_inch / 12


def drawing_scale(opening: Any, height: Any, across: Any, up: Any) -> Any:
    """Factor that fits an elevation into a picture `across` wide and `up` high, the same both ways."""
    return where(opening / across > height / up, across / opening, up / height)


def corner_across(number: Any, count: Any, gap: Any, width: Any, side: Any, opening: Any, scale: Any) -> Any:
    """Across of a baluster's side (-1 left, 1 right) in the elevation; past the last one, the right newel."""
    return where(number > count, opening, lambda: place(gap, width, number, 0) + side * width / 2) * scale
