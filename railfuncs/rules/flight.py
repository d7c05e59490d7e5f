"""How the rules are put together for one sloped run: a rail up a stair, with a shoe or with balusters on the treads.

A slope is measured as a rise and a run, as steps of a riser and a tread, or as a length along it and an angle. Any one
will do; the first of them in that order is used (the steps, where balusters stand on the treads) and the others are
compared with it. Blank cells stand for what was not measured.

Balusters on treads all stand one even distance apart, `tread / balusters a tread`, counted from the first nosing's
first place; those that would stand in a newel are left out.
"""

from functools import reduce
from operator import mul
from typing import Any

from railfuncs.rules import cutting, job, treads
from railfuncs.rules.checks import thousandths, triangle, triangle_holds
from railfuncs.rules.measure import round_to
from railfuncs.rules.rake import (
    level,
    rake,
    rake_apart,
    rake_mortise,
    rake_rail,
    rake_rise,
    rake_run,
)
from railfuncs.rules.spacing import clear_before, oc, stepped_end
from railfuncs.tracing import (
    at_most,
    both,
    call,
    ceil,
    floor,
    is_number,
    join,
    keep,
    largest,
    maximum,
    minimum,
    need,
    smallest,
    traced,
    under,
    where,
)

TREADS_MOST = 40  # in one flight; the tables have no more lines


def known(*values: Any) -> Any:
    """1 where every cell holds a number, else 0."""
    found = [where(is_number(value), 1, 0) for value in values]
    return reduce(mul, found)


def by_total(part: Any, other: Any) -> Any:
    """Rise or run as measured, where both were; else blank."""
    return where(known(part, other) == 1, part, "")


def by_steps(size: Any, other: Any, steps: Any) -> Any:
    """Rise or run of so many steps; blank where riser, tread or their number is."""
    return where(known(size, other, steps) == 1, lambda: size * steps, "")


def rise_by_angle(sloped: Any, angle: Any) -> Any:
    """Rise of a length along the slope at an angle; blank where either is."""
    return where(known(sloped, angle) == 1, lambda: rake_rise(sloped, angle), "")


def run_by_angle(sloped: Any, angle: Any) -> Any:
    """Run of a length along the slope at an angle; blank where either is."""
    return where(known(sloped, angle) == 1, lambda: rake_run(sloped, angle), "")


def rise_and_run(rise: Any, run: Any) -> None:
    """One of them says nothing without the other."""
    need(known(rise) == known(run), "measure both the rise and the run, or neither")
    _lies_up(rise, run)


def _lies_up(rise: Any, run: Any) -> None:
    """What was measured of a slope is that of one, whether or not it is the way that is used."""
    need(where(is_number(run), run, 1) > 0, "the run must be more than zero")
    need(where(is_number(rise), rise, 0) >= 0, "the rise cannot be negative; measure up the slope")


def riser_and_tread(riser: Any, tread: Any) -> None:
    """One of them says nothing without the other."""
    need(known(riser) == known(tread), "measure both the riser and the tread, or neither")
    _lies_up(riser, tread)


def angle_and_length(angle: Any, sloped: Any) -> None:
    """One of them says nothing without the other."""
    need(known(angle) == known(sloped), "measure both the angle and the length along the slope, or neither")
    _lies_up(0, sloped)


def measured_somehow(rise: Any, run: Any, riser: Any, tread: Any, angle: Any, sloped: Any) -> None:
    """A slope needs one way of measuring it."""
    ways = known(rise, run) + known(riser, tread) + known(angle, sloped)
    need(ways >= 1, "measure the slope: rise and run, or riser and tread, or angle and length along it")


def steep(angle: Any) -> None:
    """An angle, where one was measured, is that of a slope."""
    degrees = where(is_number(angle), angle, 0)
    need(both(degrees >= 0, degrees < 90), "the angle must be from 0 to less than 90 degrees")


def whole_steps(steps: Any) -> None:
    """Steps, where they were counted, are whole and no more than the tables hold."""
    counted = where(is_number(steps), steps, 1)
    need(both(counted >= 1, counted == floor(counted)), "the number of steps must be a whole number of 1 or more")
    need(counted <= TREADS_MOST, f"more than {TREADS_MOST} steps in one run: split it at the landing")


def known_side(up: Any) -> None:
    """A pasted word is not stopped by a drop-down."""
    need(where(up == "left", 1, where(up == "right", 1, 0)) == 1, "goes up to the: write left or right")


def first_known(one: Any, two: Any, three: Any, step: Any) -> Any:
    """The first of three ways that was measured; failing them one step, which has the slope but not the length."""
    return where(is_number(one), one, where(is_number(two), two, where(is_number(three), three, step)))


def opening_known(opening: Any, total_run: Any, steps_run: Any, angle_run: Any) -> None:
    """A slope that was measured by one step says nothing of the opening."""
    ways = known(opening) + known(total_run) + known(steps_run) + known(angle_run)
    need(ways >= 1, "measure the opening at the rail, or count the steps")


def one_step(size: Any, whole: Any, steps: Any) -> Any:
    """Riser or tread: as measured, else the rise or run over the steps; blank where neither is known."""
    return where(is_number(size), size, where(is_number(steps), lambda: whole / steps, ""))


def apart(rise: Any, run: Any, other_rise: Any, other_run: Any) -> Any:
    """How far apart another way of measuring puts the upper end; blank where it was not measured."""
    return where(is_number(other_rise), lambda: rake_apart(rise, run, other_rise, other_run), "")


def apart_in_words(one: Any, two: Any, three: Any, allowed: Any, unit: Any) -> Any:
    """Whether the ways of measuring agree, and how far apart they are; blank where there is but one."""
    widest = largest_known(one, two, three)

    def said() -> Any:
        size = join(thousandths(keep("thousandths", ceil(widest * 1000))), " ", unit, " apart")
        told = where(at_most(widest, allowed), "the measurements agree: ", "the measurements DISAGREE, measure again: ")
        return join(told, size)

    ways = known(one) + known(two) + known(three)
    return where(ways >= 2, lambda: where(is_number(allowed), said, "write how far they may differ"), "")


def largest_known(*values: Any) -> Any:
    """The largest of cells of which some may be blank."""
    return reduce(maximum, [where(is_number(value), value, 0) for value in values])


def notice(
    status: Any, lean_words: Any, one: Any, two: Any, three: Any, allowed: Any, apart_words: Any
) -> Any:
    """What stands over a run's marks: what is wrong, or else lean or a slope measured in ways that disagree."""
    wrong = wrong_or_apart(status, one, two, three, allowed, apart_words)
    return where(wrong == "", lean_words, wrong)


def wrong_or_apart(status: Any, one: Any, two: Any, three: Any, allowed: Any, apart_words: Any) -> Any:
    """What is wrong with a run, or else that its measurements disagree."""
    agree = where(is_number(allowed), lambda: at_most(largest_known(one, two, three), allowed), False)
    return where(status == "", lambda: where(agree, "", apart_words), status)


def level_opening(opening: Any, run: Any) -> Any:
    """Level opening at the rail: as measured, else the run of the slope."""
    return where(is_number(opening), opening, run)


def oc_on_slope(opening: Any, width: Any, count: Any, rise: Any, run: Any) -> Any:
    """On-center spacing as it lies along the slope."""
    return rake(oc(opening, width, count), rise, run)


def stepped_end_on_slope(opening: Any, width: Any, count: Any, step: Any, rise: Any, run: Any) -> Any:
    """Level gap left at each end when a rounded spacing is stepped along the slope, outward from the middle."""
    stepped = stepped_end(rake(opening, rise, run), rake(width, rise, run), count, step)
    return level(stepped, rise, run)


def widest_on_slope(
    number: Any, count: Any, width: Any, opening: Any, rail_before: Any, rail: Any,
    shoe_before: Any, shoe: Any, shoe_opening: Any, trim_left: Any, trim_right: Any, rise: Any, run: Any,
) -> Any:  # fmt: skip
    """Level clear gap left of a baluster as marked along the slope; the lengths are those along the slope."""
    def measured_level() -> Any:
        wide = job.widest_here(number, count, width, opening, rail_before, rail, shoe_before, shoe, shoe_opening,
                               trim_left, trim_right)  # fmt: skip
        return level(wide, rise, run)

    return where(number > count + 1, "", measured_level)


def floor_on_slope(thickness: Any, depth: Any, width: Any, rise: Any, run: Any) -> Any:
    """Wood left, square to the board, under the deepest corner of a mortise that leans in it."""
    return cutting.floor_left(thickness, level(rake_mortise(width, rise, run, depth, "deep"), rise, run))


def shallow(depth: Any, width: Any, rise: Any, run: Any) -> Any:
    """Depth of a mortise at its shallow side, along the baluster."""
    return rake_mortise(width, rise, run, depth, "shallow")


def deep(depth: Any, width: Any, rise: Any, run: Any) -> Any:
    """Depth of a mortise at its deep side, along the baluster."""
    return rake_mortise(width, rise, run, depth, "deep")


def seat_on_slope(depth: Any, play: Any, width: Any, rise: Any, run: Any) -> Any:
    """What is left in the rail's mortise at its shallow side while the baluster stands on its bottom."""
    return job.seat(shallow(depth, width, rise, run), play)


def each_apart(tread: Any, per_tread: Any) -> Any:
    """Level distance from baluster to baluster on the treads."""
    return tread / per_tread


def few_on_a_tread(each_tread: Any) -> None:
    """Balusters are laid out one, two or three to a tread."""
    need(both(each_tread >= 1, each_tread == floor(each_tread)), "balusters a tread: write a whole number, 1 to 3")
    need(each_tread <= 3, "this takes more than three balusters a tread, which cannot be laid out here")


def places_on_treads(tread: Any, width: Any, first: Any, each_tread: Any) -> None:
    """What balusters on treads must satisfy beyond each rule's own needs."""
    treads.tread_gap(tread, width, each_tread)
    need(first >= 0, "the first baluster cannot stand in front of the nosing")
    need(first * each_tread < tread, "the first baluster stands so far in that the last is not on the tread")


def first_standing(width: Any, start: Any, each: Any) -> Any:
    """Which of the places is the first clear of the lower newel; `start` is where the first place is."""
    return maximum(floor((width / 2 - start) / each) + 2, 1)


def last_standing(opening: Any, width: Any, start: Any, each: Any, steps: Any, each_tread: Any) -> Any:
    """Which of the places is the last clear of the upper newel."""
    return minimum(ceil((opening - width / 2 - start) / each), steps * each_tread)


def standing(first: Any, last: Any) -> Any:
    """How many balusters stand on the treads."""
    return maximum(last - first + 1, 0)


def some_stand(count: Any) -> None:
    """A flight without a baluster is measured wrongly."""
    need(count >= 1, "no baluster stands clear of the newels: check the opening, the steps and the first nosing")


def first_place(nosing: Any, first: Any) -> Any:
    """Level distance from the lower newel's face to the first place on the treads."""
    return nosing + first


def which_place(line: Any, first: Any, last: Any, up: Any) -> Any:
    """The place, counted up the stair, of a baluster counted from the left."""
    return where(up == "left", last - line + 1, first + line - 1)


def from_left(from_lower: Any, opening: Any, up: Any) -> Any:
    """Level distance from the left newel's face of what is so far from the lower one's; and the other way about."""
    return where(up == "left", opening - from_lower, from_lower)


def place_from_left(place: Any, start: Any, each: Any, opening: Any, up: Any) -> Any:
    """Level distance of a place from the left newel's face."""
    return from_left(start + (place - 1) * each, opening, up)


def rail_mark_on_treads(
    line: Any, first: Any, last: Any, start: Any, each: Any, opening: Any, up: Any, step: Any, rise: Any, run: Any
) -> Any:
    """Mark on the rail, along the slope from the left, rounded once from its exact place; blank past the last."""
    def mark() -> Any:
        place = which_place(line, first, last, up)
        return round_to(rake(place_from_left(place, start, each, opening, up), rise, run), step)

    return where(line > last - first + 1, "", mark)


def on_its_tread(place: Any, each_tread: Any) -> Any:
    """Which baluster of its tread stands at a place, from the nosing in."""
    return place - floor((place - 1) / each_tread) * each_tread


def tread_mark(line: Any, first: Any, last: Any, each: Any, each_tread: Any, nosing: Any, up: Any, step: Any) -> Any:
    """Mark on the tread, level from its nosing in, rounded once from its exact place; blank past the last."""
    def mark() -> Any:
        number = on_its_tread(which_place(line, first, last, up), each_tread)
        return round_to(nosing + (number - 1) * each, step)

    return where(line > last - first + 1, "", mark)


def foot_from_left(
    line: Any, foot: Any, first: Any, last: Any, each_tread: Any, tread: Any, nosing: Any, opening: Any, up: Any
) -> Any:
    """Level distance from the left newel's face of a foot as marked in from its nosing."""
    step = floor((which_place(line, first, last, up) - 1) / each_tread)
    return from_left(nosing + step * tread + foot, opening, up)


def widest_on_treads(
    line: Any, count: Any, width: Any, opening: Any, rail_before: Any, rail: Any, foot_before: Any, foot: Any,
    first: Any, last: Any, each_tread: Any, nosing: Any, tread: Any, up: Any, rise: Any, run: Any,
) -> Any:  # fmt: skip
    """Level clear gap left of a baluster as marked: at the rail or on the treads, whichever is wider."""
    def at_the_rail() -> Any:
        before = where(line == 1, 0, lambda: level(rail_before, rise, run))
        here = where(line > count, 0, lambda: level(rail, rise, run))
        return clear_before(line, before, here, width, opening, count)

    def on_the_treads() -> Any:
        # The next tread's nosing is a tread further up; the foot's own place says whether it was passed.
        higher = where(up == "left", foot_before - foot, foot - foot_before)
        return higher + where(higher <= 0, tread, 0) - width

    def to_a_newel() -> Any:
        stand = first, last, each_tread, tread, nosing, opening, up
        left = where(line == 1, lambda: foot_from_left(line, foot, *stand), opening)
        right = where(line == 1, 0, lambda: foot_from_left(count, foot_before, *stand))
        return left - right - width / 2

    inside = where(line == 1, 0, where(line > count, 0, 1))

    def wider() -> Any:
        return where(inside == 1, lambda: maximum(at_the_rail(), on_the_treads()),
                     lambda: maximum(at_the_rail(), to_a_newel()))  # fmt: skip

    return where(line > count + 1, "", wider)


def of_this_length(number: Any, first: Any, last: Any, each_tread: Any) -> Any:
    """How many of the balusters that stand are the so-manieth of their tread; none past the number on a tread."""
    def up_to(place: Any) -> Any:
        return floor((place - number) / each_tread)

    return where(number > each_tread, 0, lambda: up_to(last) - up_to(first - 1))


def length_on_tread(
    number: Any, height: Any, thickness: Any, riser: Any, tread: Any, first: Any, each_tread: Any,
    bottom_depth: Any, top_depth: Any, play: Any,
) -> Any:  # fmt: skip
    """Cut length of the so-manieth baluster of a tread; blank past the number on a tread."""
    def length() -> Any:
        return treads.tread_baluster(height, thickness, riser, tread, first, each_tread, number, bottom_depth,
                                     top_depth, play)  # fmt: skip

    return where(number > each_tread, "", length)


def shortest(*measures: Any) -> None:
    """The first baluster of a tread is its shortest, and must have a length."""
    length_on_tread(1, *measures)


def or_nothing(length: Any) -> Any:
    """A length; 0 where the cell is blank."""
    return where(is_number(length), length, 0)


def long_points(level_length: Any, thickness: Any, rise: Any, run: Any) -> Any:
    """What a sloped board with plumb ends takes of a stick: from long point to long point."""
    return rake_rail(level_length, rise, run, 0, 0, thickness)


def step_height(step: Any, riser: Any, steps: Any) -> Any:
    """Plumb height of a step's nosing above the lowest floor; blank past the last step."""
    return where(step > steps, "", lambda: step * riser)


def step_place(step: Any, tread: Any, nosing: Any, steps: Any) -> Any:
    """Level distance of a step's nosing from the lower newel's face; blank past the last step."""
    return where(step > steps, "", lambda: nosing + (step - 1) * tread)


def on_this_step(step: Any, first: Any, last: Any, each_tread: Any, steps: Any) -> Any:
    """How many balusters stand on a step's tread."""
    def standing_here() -> Any:
        return maximum(minimum(last, step * each_tread) - maximum(first, (step - 1) * each_tread + 1) + 1, 0)

    return where(step > steps, "", standing_here)


def length_here(step: Any, number: Any, first: Any, last: Any, each_tread: Any, length: Any) -> Any:
    """Cut length of the so-manieth baluster of a step's tread; blank where none stands."""
    place = (step - 1) * each_tread + number
    stands = both(number <= each_tread, both(place >= first, place <= last))
    return where(stands, length, "")


def how_many(values: Any) -> Any:
    """How many cells of a range hold a number."""
    if traced(values):
        return call("COUNT", values)
    return sum(1 for value in values if value is not None and not isinstance(value, str))


def spread(sizes: Any) -> Any:
    """Largest less smallest of the risers or treads measured one by one; blank until two are."""
    return where(how_many(sizes) >= 2, lambda: largest(sizes) - smallest(sizes), "")


def sphere(riser: Any, tread: Any, below: Any) -> Any:
    """Largest sphere through riser, tread and bottom rail; blank where they form no such triangle or are not known."""
    def there() -> Any:
        return where(triangle_holds(riser, tread, below), lambda: triangle(riser, tread, below), "")

    return where(known(riser, tread) == 1, there, "")


def two_risers_and_a_tread(riser: Any, tread: Any) -> Any:
    """A measure of how steps walk; blank where they are not known."""
    return where(known(riser, tread) == 1, lambda: 2 * riser + tread, "")


def compared_triangle(sphere: Any, riser: Any, limit: Any) -> Any:
    """What the sphere in the triangle compared with its limit shows, in words; never a verdict on the job."""
    def said() -> Any:
        return where(under(sphere, limit), "smaller than the limit", "REACHES THE LIMIT: lower the shoe")

    def compared() -> Any:
        return where(is_number(limit), said, "write the limit of the local code")

    too_high = "TOO HIGH above the steps: the shoe leaves more than a triangle"
    unknown = "not compared: riser, tread or steps were not measured"
    return where(is_number(sphere), compared, where(is_number(riser), too_high, unknown))


def compared_between(value: Any, least: Any, most: Any) -> Any:
    """What a measure compared with published bounds shows, in words; never a verdict on the job."""
    def said() -> Any:
        enough = where(is_number(least), lambda: where(under(value, least), 0, 1), 1)
        little = where(is_number(most), lambda: where(at_most(value, most), 1, 0), 1)
        inside = where(known(least, most) == 1, "between the least and the most",
                       where(is_number(least), "not less than the least", "not more than the most"))  # fmt: skip
        outside = where(enough == 0, "LESS than the least", "MORE than the most")
        return where(enough * little == 1, inside, outside)

    def compared() -> Any:
        return where(known(least) + known(most) >= 1, said, "write the limit of the local code")

    return where(is_number(value), compared, "")
