"""How the rules are put together for one run of a level guard.

Lengths of a run are all in the run's own unit (inches or millimetres). The rail's opening is measured between newel
faces at the rail. The shoe's is measured at the shoe, between the newels' base trim; left blank it is the rail's less
the trim. Where the two disagree the newels lean, and both boards are laid out from the middle.
"""

from typing import Any

from railfuncs.rules.measure import round_to
from railfuncs.rules.spacing import clear_before, gap, place
from railfuncs.tracing import at_most, both, floor, gcd, is_number, join, largest, maximum, need, under, where


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


def on_the_shoe(opening: Any, width: Any, count: Any, shift: Any, shoe: Any) -> None:
    """The first and the last baluster must stand on the shoe whole."""
    each = gap(opening, width, count)
    need(at_most(shift, each), "the first baluster does not stand on the shoe: check the trim on the left")
    need(at_most(opening - each, shift + shoe), "the last baluster does not stand on the shoe: check the right trim")


def seat(depth: Any, play: Any) -> Any:
    """What is left in the rail's mortise while the baluster stands on the bottom of the shoe's."""
    need(where(play > 0, depth - play, 1) > 0, "the play leaves nothing of the baluster in the rail's mortise")
    return depth - play


def lean_in_words(lean: Any) -> Any:
    """What to do where the openings at rail and shoe disagree; blank where they agree."""
    advice = " at the shoe; half of it is put at each end: plumb the newels, or check each baluster plumb"
    wider, narrower = "newels stand wider" + advice, "newels stand narrower" + advice
    return where(under(0, lean), wider, where(under(lean, 0), narrower, ""))


def known_parity(parity: Any) -> None:
    """A pasted word is not stopped by a drop-down."""
    known = where(parity == "any", 1, where(parity == "odd", 1, where(parity == "even", 1, 0)))
    need(known == 1, "count: write any, odd or even")


def tape_marks(per_unit: Any) -> None:
    """Marks to the inch are halves of halves; to the millimetre, one or two."""
    need(is_number(per_unit), "say how many marks there are to the inch or millimetre")
    need(per_unit >= 1, "there must be at least one mark to the inch or millimetre")
    need(gcd(64, floor(per_unit)) == per_unit, "marks to the inch are 2, 4, 8, 16, 32 or 64; to the millimetre 1 or 2")


def line_number(number: Any, count: Any) -> Any:
    """The number of a line in a list of marks; blank past the last baluster."""
    return where(number > count, "", number)


def compared(value: Any, limit: Any, published: Any, advice: str) -> Any:
    """What a gap compared with a person's own limit and the published one shows; never a verdict on the job."""
    def beside_published() -> Any:
        wide = "REACHES THE PUBLISHED LIMIT, though not your own"
        return where(is_number(published), lambda: where(under(value, published), smaller, wide), smaller)

    smaller = "smaller than the limit"
    return where(under(value, limit), beside_published, "REACHES THE LIMIT: " + advice)


def compared_under(floor_gap: Any, limit: Any) -> Any:
    """What the gap under the shoe compared with the limit shows, in words; never a verdict on the job."""
    return where(under(floor_gap, limit), "smaller than the limit", "REACHES THE LIMIT: lower the shoe")


def compared_height(height: Any, least: Any) -> Any:
    """What a height compared with the least height shows, in words; never a verdict on the job."""
    def said() -> Any:
        return where(under(height, least), "LOWER than the least height", "not lower than the least height")

    return where(is_number(least), said, "write the least height of the local code")


def compared_limit(limit: Any, published: Any) -> Any:
    """Whether a person's own gap limit is wider than the published one, in words."""
    def said() -> Any:
        wider = "WIDER than the published limit: check the local code"
        return where(at_most(limit, published), "not wider than the published limit", wider)

    return where(is_number(published), said, "write the limit of the local code")


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
