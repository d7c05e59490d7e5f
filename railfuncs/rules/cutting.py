"""Lengths to cut, and the mortiser's set-up, on the level."""

from typing import Any

from railfuncs.catalogue import function
from railfuncs.tracing import need


@function("cutting")
def fence(rail_width: Any, chisel: Any) -> Any:
    """Distance from the fence to the near face of the chisel that centres the mortise.

    (rail width - chisel) / 2. Set the fence with a spacer this thick against the chisel, then take the spacer out.

    Args:
        rail_width (length): width of the rail or shoe across the mortise
        chisel (length): width of the hollow chisel
    Returns (length): the distance, and the thickness of the spacer
    Source: common practice, no source
    Example:
        >>> fence(5.25, 0.5), fence(2.75, 0.5)
        (Fraction(19, 8), Fraction(9, 8))
    """
    need(chisel > 0, "the chisel must be wider than zero")
    need(chisel < rail_width, "the chisel is wider than the rail")
    return (rail_width - chisel) / 2


@function("cutting")
def floor_left(thickness: Any, depth: Any) -> Any:
    """Wood left under a mortise: thickness - depth.

    Args:
        thickness (length): thickness of the rail or shoe
        depth (length): depth of the mortise
    Returns (length): what is left under the mortise
    Source: common practice, no source
    Example:
        >>> floor_left(1.5, 0.5)
        Fraction(1, 1)
    """
    need(depth >= 0, "a mortise depth cannot be negative")
    need(depth < thickness, "the mortise goes through the board")
    return thickness - depth


@function("cutting")
def cut_baluster(clear: Any, bottom_depth: Any, top_depth: Any, play: Any = 0) -> Any:
    """Cut length of a baluster: clear height + both mortise depths - play.

    Args:
        clear (length): from the top of the shoe to the underside of the rail
        bottom_depth (length): mortise depth in the shoe
        top_depth (length): mortise depth in the rail
        play (length): what it is cut short by so that it drops in
    Returns (length): cut length
    Source: common practice, no source
    Example:
        >>> cut_baluster(34.5, 0.5, 0.5)
        Fraction(71, 2)
    """
    need(clear > 0, "the clear height must be more than zero")
    need(bottom_depth >= 0, "a mortise depth cannot be negative")
    need(top_depth >= 0, "a mortise depth cannot be negative")
    need(play >= 0, "the play cannot be negative")
    need(play < bottom_depth + top_depth + clear, "the play is longer than the baluster")
    return clear + bottom_depth + top_depth - play


@function("cutting")
def cut_rail(opening: Any, left_depth: Any = 0, right_depth: Any = 0) -> Any:
    """Cut length of a level handrail: opening + what is let into each newel.

    Args:
        opening (length): clear opening between newel faces at the rail
        left_depth (length): how far the left end is let into its newel
        right_depth (length): how far the right end is let into its newel
    Returns (length): cut length
    Source: common practice, no source
    Example:
        >>> cut_rail(72), cut_rail(72, 0.5, 0.5)
        (Fraction(72, 1), Fraction(73, 1))
    """
    need(opening > 0, "the opening must be more than zero")
    need(left_depth >= 0, "what is let in cannot be negative")
    need(right_depth >= 0, "what is let in cannot be negative")
    return opening + left_depth + right_depth


@function("cutting")
def cut_shoe(opening: Any, trim_left: Any = 0, trim_right: Any = 0) -> Any:
    """Cut length of a level shoe: opening - base trim of the newel at each end.

    Args:
        opening (length): clear opening between newel faces, above the base trim
        trim_left (length): base trim of the left newel
        trim_right (length): base trim of the right newel
    Returns (length): cut length
    Source: common practice, no source
    Example:
        >>> cut_shoe(72, 0.375, 0.375)
        Fraction(285, 4)
    """
    need(opening > 0, "the opening must be more than zero")
    need(trim_left >= 0, "base trim cannot be negative")
    need(trim_right >= 0, "base trim cannot be negative")
    need(trim_left + trim_right < opening, "the base trim is wider than the opening")
    return opening - trim_left - trim_right
