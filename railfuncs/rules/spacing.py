"""How many balusters an opening takes, and where each one stands.

An opening L holds n balusters of width w with n + 1 equal gaps, so g = (L - n w) / (n + 1). All lengths are
level, in one unit. A limit is a sphere that must not pass: a gap as wide as the limit reaches it.
"""

from collections.abc import Sequence
from itertools import product
from typing import Any

from railfuncs.catalogue import function
from railfuncs.rules.measure import SIXTEENTH, round_to
from railfuncs.tracing import at_most, both, floor, keep, maximum, need, under, where

LIMIT = 4  # inches; the guard-opening sphere of IRC 2018 R312.1.3, see shared/profiles


@function("spacing")
def gap(opening: Any, width: Any, count: Any) -> Any:
    """Clear gap between balusters, all gaps the same.

    gap = (opening - count * width) / (count + 1)

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
    Returns (length): the exact gap, ends included
    Source: common practice, no source; equal division
    Example:
        >>> gap(72, 0.5, 17)
        Fraction(127, 36)
    """
    _needs_room(opening, width, count)
    return (opening - count * width) / (count + 1)


def _needs_room(opening: Any, width: Any, count: Any) -> None:
    need(opening > 0, "the opening must be more than zero")
    need(width > 0, "the baluster width must be more than zero")
    need(count >= 0, "the number of balusters cannot be negative")
    need(count == floor(count), "the number of balusters must be a whole number")
    need(count * width < opening, "that many balusters do not fit in the opening")


@function("spacing")
def oc(opening: Any, width: Any, count: Any) -> Any:
    """On-center spacing of the balusters: gap + width.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
    Returns (length): exact distance from centre to centre
    Source: common practice, no source
    Example:
        >>> oc(72, 0.5, 17)
        Fraction(145, 36)
    """
    return gap(opening, width, count) + width


@function("spacing")
def count(opening: Any, width: Any, limit: Any = LIMIT, target: Any = 0, parity: str = "any") -> Any:
    """Number of balusters for an opening.

    Without a target: the fewest that keep every gap under the limit. With one: the count whose gap is nearest to
    the target (of two equally near, the smaller gap), never fewer than the limit asks. An odd count stands one
    baluster on the middle line, an even count leaves a gap there.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        limit (length): the sphere that must not pass; a gap as wide as this is too wide
        target (length): gap wanted; 0 for the fewest balusters under the limit
        parity (any|odd|even): which counts to choose from
    Returns (whole): number of balusters
    Source: common practice, no source; follows from the gap
    Example:
        >>> count(72, 0.5, 4), count(72, 0.5, 4, 3.5, "odd")
        (16, 17)
    """
    need(opening > 0, "the opening must be more than zero")
    need(width > 0, "the baluster width must be more than zero")
    need(limit > 0, "the gap limit must be more than zero")
    need(target >= 0, "the target gap cannot be negative")
    need(width < opening, "the baluster is wider than the opening")
    least = keep("least", maximum(floor((opening - limit) / (width + limit)) + 1, 0))
    fewest = _to_parity(least, parity)
    chosen = maximum(fewest, where(target > 0, _nearest(opening, width, target, parity), 0))
    need(chosen * width < opening, "no such number of balusters fits; the limit or the parity is too tight")
    return chosen


def _to_parity(least: Any, parity: Any) -> Any:
    odd_now = least - 2 * floor(least / 2)
    return least + where(parity == "odd", 1 - odd_now, where(parity == "even", odd_now, 0))


def _nearest(opening: Any, width: Any, target: Any, parity: Any) -> Any:
    step = where(parity == "any", 1, 2)
    first = where(parity == "odd", 1, 0)
    ideal = (opening - target) / (width + target)
    fewer = keep("fewer", maximum(first, floor((ideal - first) / step) * step + first))
    more = fewer + step
    # Compared without dividing by zero or by the room left: the gap with more balusters is the smaller one.
    wide = (opening - fewer * width) / (fewer + 1) - target
    tight = target - (opening - more * width) / (more + 1)
    return where(both(more * width < opening, at_most(tight, wide)), more, fewer)


@function("spacing")
def mark(
    opening: Any, width: Any, count: Any, number: Any, step: Any = 0, start: str = "left", shift: Any = 0
) -> Any:
    """Centre mark of one baluster, rounded once from its exact place.

    From the left face: number * gap + (number - 1/2) * width - shift.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
        number (whole): which baluster, counted from the end measured from (from the left for the middle)
        step (length): step the mark is rounded to; 0 leaves it exact
        start (left|right|middle): where the tape starts; from the middle, marks to the left are negative
        shift (length): how much later the board measured on starts, such as a shoe at a newel's base trim
    Returns (length): the mark
    Source: common practice, no source
    Example:
        >>> mark(72, 0.5, 17, 9), mark(72, 0.5, 17, 1, 0.0625), mark(72, 0.5, 17, 9, 0, "middle")
        (Fraction(36, 1), Fraction(15, 4), Fraction(0, 1))
    """
    need(both(number >= 1, number <= count), "the baluster's number must be from 1 to the number of balusters")
    need(number == floor(number), "the baluster's number must be a whole number")
    need(step >= 0, "the step cannot be negative")
    where_it_is = place(gap(opening, width, count), width, number, shift)
    where_it_is = where_it_is - where(start == "middle", opening / 2, 0)
    return where(step > 0, lambda: round_to(where_it_is, step), where_it_is)


def place(gap: Any, width: Any, number: Any, shift: Any) -> Any:
    """Exact centre of a baluster from the left face: number * gap + (number - 1/2) * width - shift."""
    return number * gap + (2 * number - 1) * width / 2 - shift


@function("spacing", formula=False, returns_list=True)
def marks(
    opening: Any, width: Any, count: Any, step: Any = SIXTEENTH, start: str = "left", shift: Any = 0
) -> list[Any]:
    """All centre marks, each rounded once from its exact place.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
        step (length): step each mark is rounded to; 0 leaves them exact
        start (left|right|middle): where the tape starts; from the middle, marks to the left are negative
        shift (length): how much later the board measured on starts, such as a shoe at a newel's base trim
    Returns (lengths): one mark a baluster, in a column
    Source: common practice, no source
    Example:
        >>> [float(place) for place in marks(12, 1, 3, 0.25)]
        [2.75, 6.0, 9.25]
    """
    _needs_room(opening, width, count)
    return [mark(opening, width, count, i, step, start, shift) for i in range(1, int(count) + 1)]


@function("spacing", formula=False)
def marked_gap(opening: Any, width: Any, count: Any, step: Any = SIXTEENTH) -> Any:
    """Widest gap once every mark is rounded.

    It can exceed the exact gap by up to one step; this is the gap to compare with a limit.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
        step (length): step each mark is rounded to, each from its exact place
    Returns (length): the widest gap, ends included
    Source: common practice, no source
    Example:
        >>> marked_gap(72, 0.5, 17)
        Fraction(57, 16)
    """
    places = marks(opening, width, count, step)
    return max(
        clear_before(number, places[number - 2] if number > 1 else 0, place, width, opening, len(places))
        for number, place in enumerate([*places, 0], start=1)
    )


def clear_before(number: Any, previous: Any, place: Any, width: Any, opening: Any, count: Any) -> Any:
    """Clear gap to the left of a baluster as marked; one past the last baluster, the gap at the right face."""
    left = where(number == 1, 0, lambda: previous + width / 2)
    right = where(number > count, opening, lambda: place - width / 2)
    return right - left


@function("spacing")
def stepped_end(opening: Any, width: Any, count: Any, step: Any = SIXTEENTH) -> Any:
    """Gap left at each end when a rounded on-center spacing is stepped outward from the middle.

    opening/2 - (count - 1)/2 * rounded on center - width/2: the trap that exact marks avoid.

    Args:
        opening (length): clear opening between newel faces
        width (length): baluster width along the rail
        count (whole): number of balusters
        step (length): step the on-center spacing is rounded to
    Returns (length): the gap at each end
    Source: common practice, no source
    Example:
        >>> stepped_end(72, 0.5, 17), stepped_end(60, 0.625, 13)
        (Fraction(15, 4), Fraction(61, 16))
    """
    spacing = round_to(oc(opening, width, count), step)
    return where(count == 0, opening, opening / 2 - (count - 1) * spacing / 2 - width / 2)


@function("spacing", formula=False, returns_list=True)
def match(openings: Sequence[Any], width: Any, limit: Any = LIMIT, target: Any = 0, parity: str = "any") -> list[int]:
    """Counts for several openings seen together, so that their gaps agree best.

    Each opening may take the count it would have alone, or the next more or fewer of that parity under the limit. Of
    all such choices: the least difference between the widest and the narrowest gap, then the fewest balusters.

    Args:
        openings (lengths): clear openings, up to eight, seen together
        width (length): baluster width along the rail
        limit (length): the sphere that must not pass
        target (length): gap wanted; 0 for the fewest balusters under the limit
        parity (any|odd|even): which counts to choose from
    Returns (counts): one count an opening, in a column
    Source: common practice, no source
    Example:
        >>> match([72, 40.5, 33], 0.5, 4, 3.5)
        [18, 10, 8]
    """
    need(0 < len(openings) <= 8, "give from one to eight openings seen together")
    step = 1 if parity == "any" else 2
    choices = []
    for opening in openings:
        alone = count(opening, width, limit, target, parity)
        near = [n for n in (alone - step, alone, alone + step) if n >= 0 and n * width < opening]
        choices.append([(gap(opening, width, n), n) for n in near if under(gap(opening, width, n), limit)])

    def worth(chosen: Sequence[tuple[Any, int]]) -> tuple[Any, int]:
        gaps = [each for each, _ in chosen]
        return max(gaps) - min(gaps), sum(n for _, n in chosen)

    return [n for _, n in min(product(*choices), key=worth)]
