"""Reading, writing and rounding lengths."""

from fractions import Fraction
from typing import Any

from railfuncs import lengths
from railfuncs.catalogue import function
from railfuncs.tracing import both, ceil, floor, gcd, join, keep, need, round_half_up, where

SIXTEENTH = Fraction(1, 16)


@function("measure", formula=False)
def inches(length: Any) -> Fraction:
    """Decimal inches of a length as people write it.

    Args:
        length (text): a number, or text such as 5' 3-1/2", 63 1/2, 63½, 1600 mm, 1.6 m
    Returns (length): inches
    Source: 1 in = 25.4 mm exactly (1959 agreement; from memory)
    Example:
        >>> inches("5' 3-1/2\\"")
        Fraction(127, 2)
    """
    return lengths.read(length)


@function("measure")
def tape(length: Any, denominator: Any = 16, style: str = "inches") -> Any:
    """Length as it reads on a tape, to the nearest mark.

    The nearest whole mark is found first, then the fraction is reduced: 63.49 in is 1016 sixteenths, 63 1/2.
    A length half-way between two marks reads as the higher one. For "mm" the marks are whole millimetres.

    Args:
        length (length): inches
        denominator (whole): marks to the inch: 2, 4, 8, 16, 32 or 64
        style (inches|feet|mm): how it is written: 63 1/2, 5' 3-1/2" or 1613
    Returns (text): the reading
    Source: common practice, no source; rounding to the nearest 64th as in ICS Building Trades Pocketbook
    Example:
        >>> tape(Fraction(127, 2)), tape(63.5, 16, "feet"), tape(63.5, 16, "mm")
        ('63 1/2', '5\\' 3-1/2"', '1613')
    """
    need(both(denominator >= 1, denominator <= 64), "the marks to the inch must be 2, 4, 8, 16, 32 or 64")
    per_inch = where(style == "mm", 1 / lengths.MM, denominator)
    return reading(keep("marks", round_half_up(length * per_inch)), denominator, style)


def reading(marks: Any, denominator: Any, style: Any) -> Any:
    """Text of a whole number of tape marks (sixteenths, or millimetres): the half of `tape` after rounding."""
    sign = where(marks < 0, "-", "")
    count = keep("steps", where(marks < 0, -marks, marks))
    whole = keep("whole", floor(count / denominator))
    rest = keep("rest", count - whole * denominator)
    # A spreadsheet's GCD(0, 16) is 16; the fraction is not shown then.
    part = keep("part", gcd(rest, denominator))
    fraction = keep("fraction", join(rest / part, "/", denominator / part))
    feet = keep("feet", floor(whole / 12))
    inch = keep("inch", whole - 12 * feet)
    in_inches = where(rest == 0, join(whole), where(whole == 0, fraction, join(whole, " ", fraction)))
    of_foot = where(rest == 0, join(inch), where(inch == 0, fraction, join(inch, "-", fraction)))
    in_feet = where(feet == 0, join(of_foot, '"'), join(feet, "' ", of_foot, '"'))
    shown = where(style == "mm", join(count), where(style == "feet", in_feet, in_inches))
    return join(sign, shown)


@function("measure", name="ROUND")
def round_to(length: Any, step: Any = SIXTEENTH, way: str = "nearest") -> Any:
    """Length rounded to a step of the tape.

    A tie goes up. Down is for a length that must fit inside, up for stock that must be long enough.

    Args:
        length (length): any unit
        step (length): the step, in the same unit
        way (nearest|down|up): which way
    Returns (length): the rounded length
    Source: common practice, no source (no standard rules on ties for shop fractions)
    Example:
        >>> round_to(Fraction(127, 36)), round_to(3.5, 1, "down"), round_to(3.5, 1, "up")
        (Fraction(7, 2), Fraction(3, 1), Fraction(4, 1))
    """
    need(step > 0, "the step must be more than zero")
    steps = length / step
    rounded = where(way == "down", floor(steps), where(way == "up", ceil(steps), round_half_up(steps)))
    return rounded * step


@function("measure")
def drift(spacing: Any, times: Any, step: Any = SIXTEENTH) -> Any:
    """How far off you end by stepping a rounded spacing instead of the exact one.

    (spacing rounded to the step - spacing) * times; negative when you end short.

    Args:
        spacing (length): the exact spacing, such as on center
        times (whole): how many times it is stepped
        step (length): what the spacing is rounded to
    Returns (length): the error after the last step
    Source: common practice, no source
    Example:
        >>> drift(Fraction(65, 16) + Fraction(1, 64), 20)
        Fraction(-5, 16)
    """
    need(both(times >= 0, step > 0), "the times stepped cannot be negative, and the step must be more than zero")
    return (round_to(spacing, step) - spacing) * times


def steps_of(length: Any, per_unit: Any) -> Any:
    """Nearest whole number of tape marks to a length, `per_unit` marks to the unit."""
    return keep("marks", round_half_up(length * per_unit))
