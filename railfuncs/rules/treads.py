"""Steps, and the balusters that stand on their treads where a stair has no shoe.

The nosing line runs over the nosings; a tread is measured level from nosing to nosing, a riser plumb from tread to
tread. A baluster a level distance x in from its nosing stands under the nosing line by x * riser / tread.
"""

from typing import Any

from railfuncs.catalogue import function
from railfuncs.rules import cutting
from railfuncs.rules.rake import plumb
from railfuncs.rules.spacing import LIMIT
from railfuncs.tracing import both, floor, maximum, need, round_half_up


@function("rake")
def risers(rise: Any, riser: Any) -> Any:
    """Number of risers nearest to a wanted riser height; each is then rise / risers. A flight has one tread fewer.

    Args:
        rise (length): plumb rise of the flight, floor to floor
        riser (length): riser height wanted
    Returns (whole): number of risers, at least one
    Source: Modern Carpentry (2008) §18.5; Miller, Carpenters' Guide
    Example:
        >>> int(risers(94, 7)), int(risers(112, 7))
        (13, 16)
    """
    need(rise > 0, "the rise must be more than zero")
    need(riser > 0, "the riser must be more than zero")
    return maximum(round_half_up(rise / riser), 1)


@function("rake")
def tread_gap(tread: Any, width: Any, per_tread: Any) -> Any:
    """Clear level gap between balusters standing evenly on the treads: tread / balusters a tread - width.

    Args:
        tread (length): tread, nosing to nosing
        width (length): baluster width along the stair
        per_tread (whole): balusters on each tread
    Returns (length): the exact gap, the same on a tread and from tread to tread
    Source: common practice, no source; equal division
    Example:
        >>> tread_gap(10, 1.25, 2)
        Fraction(15, 4)
    """
    _needs_places(tread, per_tread)
    need(width > 0, "the baluster width must be more than zero")
    need(width * per_tread < tread, "that many balusters do not fit on a tread")
    return tread / per_tread - width


def _needs_places(tread: Any, per_tread: Any) -> None:
    need(tread > 0, "the tread must be more than zero")
    need(per_tread >= 1, "there must be at least one baluster on each tread")
    need(per_tread == floor(per_tread), "the number of balusters on a tread must be a whole number")


@function("rake")
def tread_count(tread: Any, width: Any, limit: Any = LIMIT) -> Any:
    """Fewest balusters a tread, evenly placed, that keep every gap under the limit.

    Args:
        tread (length): tread, nosing to nosing
        width (length): baluster width along the stair
        limit (length): the sphere that must not pass; a gap as wide as this is too wide
    Returns (whole): balusters on each tread
    Source: common practice, no source; follows from the gap
    Example:
        >>> int(tread_count(10, 1.25)), int(tread_count(10, 1, 4))
        (2, 3)
    """
    need(tread > 0, "the tread must be more than zero")
    need(width > 0, "the baluster width must be more than zero")
    need(limit > 0, "the gap limit must be more than zero")
    fewest = floor(tread / (width + limit)) + 1
    need(fewest * width < tread, "no such number of balusters fits; the limit is too tight")
    return fewest


@function("rake")
def tread_baluster(
    height: Any, thickness: Any, riser: Any, tread: Any, first: Any, per_tread: Any = 2, number: Any = 1,
    bottom_depth: Any = 0, top_depth: Any = 0, play: Any = 0,
) -> Any:  # fmt: skip
    """Cut length of one of the balusters on a tread.

    height - plumb rail thickness + x * riser / tread + both depths - play, where x = first + (number - 1) * tread /
    balusters a tread. So two to a tread differ by half a riser, three by a third.

    Args:
        height (length): top of the rail above the nosing line, plumb
        thickness (length): rail thickness, square to the slope
        riser (length): riser, tread to tread
        tread (length): tread, nosing to nosing
        first (length): level distance from the nosing in to the centre of the tread's first baluster
        per_tread (whole): balusters on each tread: 1, 2 or 3
        number (whole): which of them, from the nosing in
        bottom_depth (length): how deep it is let into the tread
        top_depth (length): how deep it is let into the rail at its centre, along the baluster
        play (length): what it is cut short by so that it drops in
    Returns (length): cut length, ends square
    Source: common practice, no source; plane trigonometry
    Example:
        >>> [float(tread_baluster(35, 2, 7.5, 10, 1, 2, number)) for number in (1, 2)]
        [33.25, 37.0]
    """
    _needs_places(tread, per_tread)
    need(per_tread <= 3, "work out one, two or three balusters a tread")
    need(both(number >= 1, number <= per_tread), "the baluster's number must be from 1 to the number on a tread")
    need(number == floor(number), "the baluster's number must be a whole number")
    need(first >= 0, "the first baluster cannot stand in front of the nosing")
    need(first * per_tread < tread, "the first baluster stands so far in that the last is not on the tread")
    need(thickness > 0, "the rail thickness must be more than zero")
    place = first + (number - 1) * tread / per_tread
    clear = height - plumb(thickness, riser, tread) + place * riser / tread
    return cutting.cut_baluster(clear, bottom_depth, top_depth, play)


@function("rake", formula=False, returns_list=True)
def tread_balusters(
    height: Any, thickness: Any, riser: Any, tread: Any, first: Any, per_tread: Any = 2,
    bottom_depth: Any = 0, top_depth: Any = 0, play: Any = 0,
) -> list[Any]:  # fmt: skip
    """Cut lengths of the 1, 2 or 3 balusters on each tread, from the nosing in.

    Args:
        height (length): top of the rail above the nosing line, plumb
        thickness (length): rail thickness, square to the slope
        riser (length): riser, tread to tread
        tread (length): tread, nosing to nosing
        first (length): level distance from the nosing in to the centre of the tread's first baluster
        per_tread (whole): balusters on each tread: 1, 2 or 3
        bottom_depth (length): how deep each is let into the tread
        top_depth (length): how deep each is let into the rail at its centre, along the baluster
        play (length): what each is cut short by so that it drops in
    Returns (lengths): one cut length a baluster of the tread, in a column
    Source: common practice, no source; plane trigonometry
    Example:
        >>> [float(length) for length in tread_balusters(36, 2, 7.5, 10, 1, 3)]
        [34.25, 36.75, 39.25]
    """
    _needs_places(tread, per_tread)
    numbers = range(1, int(per_tread) + 1)
    return [
        tread_baluster(height, thickness, riser, tread, first, per_tread, i, bottom_depth, top_depth, play)
        for i in numbers
    ]
