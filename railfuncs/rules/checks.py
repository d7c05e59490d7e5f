"""Measures compared with published limits, in words; never a verdict on the job.

The limits are data (see `railfuncs.profiles`). What is compared is the exact measure; what is shown of it is cut to
thousandths, towards the side on which it fell. Lengths given here are inches whatever the profile's unit. The
profile and the place are chosen when a formula is made: a workbook holds the limit and its source in the formula.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from railfuncs import lengths, profiles
from railfuncs.catalogue import function
from railfuncs.errors import RuleError
from railfuncs.rules.rake import pitch, rake_apart
from railfuncs.tracing import (
    at_most,
    both,
    ceil,
    floor,
    join,
    keep,
    largest,
    minimum,
    need,
    smallest,
    sqrt,
    traced,
    under,
    where,
)

PROFILE = "irc-2018"
CAUTION = "; check with the local code and a licensed professional"


def _published(profile: Any, check: str, place: Any) -> profiles.Limit:
    if traced(profile, place):
        raise RuleError("the profile and the place of a check are chosen when the formula is made, not by a cell")
    return profiles.limit(profile, check, place)


def thousandths(count: Any) -> Any:
    """Text of a whole number of thousandths, none negative: 3528 reads 3.528."""
    whole = floor(count / 1000)
    rest = count - whole * 1000
    tenths = floor(rest / 100)
    hundredths = floor((rest - tenths * 100) / 10)
    return join(whole, ".", tenths, hundredths, rest - tenths * 100 - hundredths * 10)


def compared(name: str, value: Any, limit: profiles.Limit) -> Any:
    """What was compared with which published limit, and where it stands."""
    need(value >= 0, f"the {name} cannot be negative")
    if limit.under is not None:
        told = where(under(value, limit.under.value), f"smaller than {limit.under.text}", f"REACHES {limit.under.text}")
        return _sentence(name, floor(_thousand(value, limit)), told, limit)
    if limit.least is None:
        assert limit.most is not None  # a limit has one bound at least
        return _sentence(name, ceil(_thousand(value, limit)), _told_most(value, limit.most, "not more than"), limit)
    less = under(value, limit.least.value)
    if limit.most is None:
        told = where(less, f"LESS than {limit.least.text}", f"not less than {limit.least.text}")
        return _sentence(name, floor(_thousand(value, limit)), told, limit)
    told = _told_most(value, limit.most, f"not less than {limit.least.text}, not more than")
    shown = where(less, floor(_thousand(value, limit)), ceil(_thousand(value, limit)))
    return _sentence(name, shown, where(less, f"LESS than {limit.least.text}", told), limit)


def _thousand(value: Any, limit: profiles.Limit) -> Any:
    """Thousandths of the limit's own unit."""
    return value * (1000 / lengths.MM if limit.unit == "mm" else 1000)


def _told_most(value: Any, most: profiles.Bound, inside: str) -> Any:
    return where(at_most(value, most.value), f"{inside} {most.text}", f"MORE than {most.text}")


def _sentence(name: str, shown: Any, told: Any, limit: profiles.Limit) -> Any:
    # In pieces: a spreadsheet takes no constant text over 255 characters.
    return join(
        f"{name} ", thousandths(keep("thousandths", shown)), f" {limit.unit}, ", told, f": {limit.what}; ",
        f"{limit.edition}, {limit.section} ", f"({limit.certainty})", CAUTION,
    )  # fmt: skip


@function("check")
def check_gap(gap: Any, place: str = "guard", profile: str = PROFILE) -> Any:
    """Gap compared with a published limit, in words; a gap as wide as the sphere reaches the limit.

    Give the widest gap as marked, measured level, never one rounded down. It proves nothing about strength.

    Args:
        gap (length): clear gap, measured level
        place (text): where, as the profile names it: guard, or stair for the open side of a stair
        profile (text): code profile, such as irc-2018; codes are amended locally
    Returns (text): what was compared with which published limit; not a verdict on the job
    Source: the limit's own, in the text; see shared/profiles
    Example:
        >>> print(check_gap(3.5).partition(":")[0])
        gap 3.500 in, smaller than 4 in
        >>> print(check_gap(4).partition(":")[0])
        gap 4.000 in, REACHES 4 in
    """
    return compared("gap", gap, _published(profile, "gap", place))


@function("check")
def check_height(height: Any, place: str = "guard", profile: str = PROFILE) -> Any:
    """Height of a guard or handrail compared with a published limit, in words.

    Args:
        height (length): plumb height above the floor, or above the nosing line on a stair
        place (text): what, as the profile names it: guard, stair, handrail
        profile (text): code profile, such as irc-2018; codes are amended locally
    Returns (text): what was compared with which published limit; not a verdict on the job
    Source: the limit's own, in the text; see shared/profiles
    Example:
        >>> print(check_height(35.5).partition(":")[0])
        height 35.500 in, LESS than 36 in
    """
    return compared("height", height, _published(profile, "height", place))


@function("check")
def triangle(riser: Any, tread: Any, below: Any = 0) -> Any:
    """Largest sphere that passes between riser, tread and the bottom rail of a stair guard.

    2 * (riser * tread + below * c) / (riser + tread + c), where c = sqrt(riser^2 + tread^2): the circle inscribed in
    the triangle of riser, tread and bottom rail. Risers closed and plumb, nosings square.

    Args:
        riser (length): riser, tread to tread
        tread (length): tread, nosing to nosing
        below (length): from the nosing line to the underside of the bottom rail, square to the slope
    Returns (length): diameter of the sphere; without a rise, the height under the rail
    Source: inscribed circle of a right triangle, a + b - c (Euclid)
    Example:
        >>> triangle(7.5, 10), round(triangle(7.75, 10), 4)
        (Fraction(5, 1), 5.0984)
    """
    need(riser >= 0, "the riser cannot be negative")
    need(tread > 0, "the tread must be more than zero")
    need(below >= 0, "the bottom rail cannot be under the nosing line")
    holds = triangle_holds(riser, tread, below)
    need(holds, "the bottom rail is too high above such steps for this triangle; check the gap under it")
    return _inscribed(riser, tread, below)


def _inscribed(riser: Any, tread: Any, below: Any) -> Any:
    across = sqrt(riser * riser + tread * tread)
    return 2 * (riser * tread + below * across) / (riser + tread + across)


def triangle_holds(riser: Any, tread: Any, below: Any) -> Any:
    """Whether the sphere touches riser, tread and bottom rail: with the rail higher up it would touch a nosing in place
    of a face, and a larger one could pass."""
    return at_most(where(riser == 0, 0, _inscribed(riser, tread, below) - 2 * minimum(riser, tread)), 0)


@function("check")
def check_triangle(riser: Any, tread: Any, below: Any = 0, profile: str = PROFILE) -> Any:
    """Largest sphere between riser, tread and bottom rail compared with a published limit, in words.

    Args:
        riser (length): riser, tread to tread
        tread (length): tread, nosing to nosing
        below (length): from the nosing line to the underside of the bottom rail, square to the slope
        profile (text): code profile, such as irc-2018; codes are amended locally
    Returns (text): what was compared with which published limit; not a verdict on the job
    Source: the limit's own, in the text; see shared/profiles
    Example:
        >>> print(check_triangle(7.5, 10).partition(":")[0])
        largest sphere in the triangle 5.000 in, smaller than 6 in
    """
    limit = _published(profile, "triangle", "stair")
    return compared("largest sphere in the triangle", triangle(riser, tread, below), limit)


@function("check")
def check_step(riser: Any, tread: Any, what: str = "riser", profile: str = PROFILE) -> Any:
    """Riser, tread, pitch, or two risers and a tread, compared with a published limit, in words.

    Args:
        riser (length): riser, tread to tread
        tread (length): tread or going, nosing to nosing
        what (riser|tread|pitch|sum): what is compared; the sum is of two risers and a tread
        profile (text): code profile, such as irc-2018; codes are amended locally
    Returns (text): what was compared with which published limit; not a verdict on the job
    Source: the limit's own, in the text; see shared/profiles
    Example:
        >>> print(check_step(7.5, 10, "riser").partition(":")[0])
        riser 7.500 in, not more than 7 3/4 in
    """
    limit = _published(profile, "step", what)
    angle = pitch(riser, tread)
    measures = {"riser": riser, "tread": tread, "pitch": angle, "sum": 2 * riser + tread}
    return compared("two risers and a tread" if what == "sum" else what, measures[what], limit)


@function("check")
def check_uniform(sizes: Sequence[Any], what: str = "riser", profile: str = PROFILE) -> Any:
    """Largest less smallest riser or tread of a flight compared with a published limit, in words.

    Args:
        sizes (lengths): every riser, or every tread, of the flight as measured
        what (riser|tread): which they are
        profile (text): code profile, such as irc-2018; codes are amended locally
    Returns (text): what was compared with which published limit; not a verdict on the job
    Source: the limit's own, in the text; see shared/profiles
    Example:
        >>> print(check_uniform([7.5, 7.375, 7.75]).partition(":")[0])
        largest less smallest riser 0.375 in, not more than 3/8 in
    """
    need(smallest(sizes) > 0, f"give every {what} as measured, each more than zero")
    spread = largest(sizes) - smallest(sizes)
    return compared(f"largest less smallest {what}", spread, _published(profile, "uniform", what))


@function("check")
def check_measures(rise: Any, run: Any, other_rise: Any, other_run: Any, allowed: Any = Fraction(1, 8)) -> Any:
    """Two measurements of one slope compared, with the size of their disagreement, in words.

    Args:
        rise (length): rise as measured
        run (length): run as measured
        other_rise (length): rise measured another way, such as riser * steps
        other_run (length): run measured another way, such as tread * steps
        allowed (length): how far apart they may put the upper end
    Returns (text): how far apart they put it, and whether to measure again
    Source: common practice, no source
    Example:
        >>> print(check_measures(112, 160, 111.625, 159.5))
        the measurements put the upper end 0.625 in apart: MEASURE AGAIN
    """
    need(both(rise >= 0, run > 0), "the rise cannot be negative, and the run must be more than zero")
    apart = rake_apart(rise, run, other_rise, other_run)
    shown = thousandths(keep("thousandths", ceil(apart * 1000)))
    told = where(at_most(apart, allowed), "within what is allowed", "MEASURE AGAIN")
    return join("the measurements put the upper end ", shown, " in apart: ", told)
