"""What a job costs and what to charge for it.

Money is in one currency, rounded to cents on every line, half a cent up; sums add lines already rounded. A percentage
is the part it stands for: 0.2 is 20 %.
"""

from fractions import Fraction
from typing import Any

from railfuncs.catalogue import function
from railfuncs.tracing import at_most, both, ceil, is_number, maximum, need, round_half_up, where

# Products of prices and rates in floating point may fall this far short of the half cent that they are.
_SHORT = Fraction(1, 10**6)


@function("bid")
def cents(amount: Any) -> Any:
    """Amount of money rounded to the cent, half a cent up.

    What is within a millionth of a cent under the half counts as the half, so that every spreadsheet agrees.

    Args:
        amount (money): the amount
    Returns (money): the amount in whole cents
    Source: common practice, no source; half up
    Example:
        >>> cents(Fraction("10.125")), cents(Fraction("10.1249"))
        (Fraction(1013, 100), Fraction(253, 25))
    """
    floats = isinstance(amount, float) or hasattr(amount, "__array__")
    hundred, short = (100.0, float(_SHORT)) if floats else (Fraction(100), _SHORT)
    return round_half_up(amount * hundred + short) / hundred


@function("bid")
def buy(needed: Any, waste: Any = 0, on_hand: Any = 0, pack: Any = 1) -> Any:
    """Packs to buy: what is needed with its waste, less what is on hand, in whole packs.

    Args:
        needed (amount): how many pieces, feet or tubes the job takes
        waste (percent): part added for waste and breakage; 0.1 is 10 %
        on_hand (amount): how many there are already
        pack (amount): how many there are in a pack
    Returns (whole): packs to buy, never fewer than none
    Source: common practice, no source
    Example:
        >>> buy(37, Fraction("0.05"), 4, 10)
        4
    """
    need(needed >= 0, "what is needed cannot be negative")
    need(waste >= 0, "the waste cannot be negative")
    need(on_hand >= 0, "the number on hand cannot be negative")
    need(pack > 0, "a pack must hold more than nothing")
    return ceil(maximum(needed * (1 + waste) - on_hand, 0) / pack)


@function("bid")
def line(quantity: Any, price: Any) -> Any:
    """One line of a bid: quantity * price, to the cent.

    Args:
        quantity (amount): how many, or how many feet or hours
        price (money): price of one
    Returns (money): the line's amount
    Source: common practice, no source
    Example:
        >>> line(Fraction("12.5"), Fraction("3.99"))
        Fraction(1247, 25)
    """
    need(quantity >= 0, "the quantity cannot be negative")
    return cents(quantity * price)


@function("bid")
def hours(pieces: Any, minutes_each: Any, feet: Any = 0, minutes_a_foot: Any = 0, set_up: Any = 0) -> Any:
    """Crew hours for work by the piece and by the foot: (pieces * minutes + feet * minutes a foot + set-up) / 60.

    Args:
        pieces (amount): number of pieces, such as balusters
        minutes_each (amount): crew minutes a piece
        feet (amount): feet of rail
        minutes_a_foot (amount): crew minutes a foot
        set_up (amount): crew minutes once for all of it
    Returns (amount): hours, not rounded
    Source: common practice, no source
    Example:
        >>> hours(17, 12, 6, 20, 30)
        Fraction(59, 10)
    """
    need(pieces >= 0, "the number of pieces cannot be negative")
    need(feet >= 0, "the feet cannot be negative")
    need(minutes_each >= 0, "minutes cannot be negative")
    need(minutes_a_foot >= 0, "minutes cannot be negative")
    need(set_up >= 0, "minutes cannot be negative")
    return (pieces * minutes_each + feet * minutes_a_foot + set_up) / 60


@function("bid")
def labor(
    crew_rate: Any, pieces: Any, minutes_each: Any, feet: Any = 0, minutes_a_foot: Any = 0, set_up: Any = 0
) -> Any:
    """Labor by the piece and by the foot, to the cent: hours * crew rate.

    Args:
        crew_rate (money): what an hour of the whole crew costs
        pieces (amount): number of pieces, such as balusters
        minutes_each (amount): crew minutes a piece
        feet (amount): feet of rail
        minutes_a_foot (amount): crew minutes a foot
        set_up (amount): crew minutes once for all of it
    Returns (money): cost of the labor
    Source: common practice, no source
    Example:
        >>> labor(95, 17, 12, 6, 20, 30)
        Fraction(1121, 2)
    """
    need(crew_rate >= 0, "the crew rate cannot be negative")
    return line(hours(pieces, minutes_each, feet, minutes_a_foot, set_up), crew_rate)


@function("bid")
def overhead(cost: Any, rate: Any) -> Any:
    """Overhead on cost, to the cent: cost * rate.

    Args:
        cost (money): materials and labor
        rate (percent): overhead as a part of cost
    Returns (money): the overhead
    Source: common practice, no source; overhead is taken on cost
    Example:
        >>> overhead(1000, Fraction("0.15"))
        Fraction(150, 1)
    """
    need(rate >= 0, "the overhead cannot be negative")
    return cents(cost * rate)


@function("bid")
def contingency(cost: Any, rate: Any) -> Any:
    """Contingency on cost, to the cent: cost * rate.

    Args:
        cost (money): what it is taken on, overhead included
        rate (percent): contingency as a part of it
    Returns (money): the contingency
    Source: common practice, no source
    Example:
        >>> contingency(Fraction("1234.50"), Fraction("0.05"))
        Fraction(6173, 100)
    """
    need(rate >= 0, "the contingency cannot be negative")
    return cents(cost * rate)


@function("bid")
def tax(taxed: Any, rate: Any) -> Any:
    """Sales tax on what is taxed, to the cent. Which lines are taxed differs by place: ask there.

    Args:
        taxed (money): the taxed lines together
        rate (percent): tax rate
    Returns (money): the tax
    Source: common practice, no source
    Example:
        >>> tax(Fraction("199.99"), Fraction("0.0825"))
        Fraction(33, 2)
    """
    need(rate >= 0, "the tax rate cannot be negative")
    return cents(taxed * rate)


@function("bid")
def markup_price(cost: Any, markup: Any) -> Any:
    """Price from a markup on cost, to the cent: cost * (1 + markup).

    Args:
        cost (money): cost
        markup (percent): profit as a part of cost
    Returns (money): price
    Source: by definition of markup
    Example:
        >>> markup_price(100, Fraction("0.25"))
        Fraction(125, 1)
    """
    need(markup > -1, "the markup takes away all of the cost")
    return cents(cost * (1 + markup))


@function("bid")
def margin_price(cost: Any, margin: Any) -> Any:
    """Price from a margin on price, to the cent: cost / (1 - margin).

    Args:
        cost (money): cost
        margin (percent): profit as a part of the price; less than 1
    Returns (money): price
    Source: by definition of margin
    Example:
        >>> margin_price(100, Fraction("0.2"))
        Fraction(125, 1)
    """
    need(margin < 1, "a margin must be less than 100 %: it is a part of the price")
    return cents(cost / (1 - margin))


@function("bid")
def markup_of_margin(margin: Any) -> Any:
    """Markup on cost that makes a margin on price: margin / (1 - margin).

    Args:
        margin (percent): profit as a part of the price; less than 1
    Returns (percent): profit as a part of cost
    Source: by definition of both; 20 % margin is 25 % markup
    Example:
        >>> markup_of_margin(Fraction("0.2"))
        Fraction(1, 4)
    """
    need(margin < 1, "a margin must be less than 100 %: it is a part of the price")
    return margin / (1 - margin)


@function("bid")
def margin_of_markup(markup: Any) -> Any:
    """Margin on price that a markup on cost makes: markup / (1 + markup).

    Args:
        markup (percent): profit as a part of cost
    Returns (percent): profit as a part of the price
    Source: by definition of both; 25 % markup is 20 % margin
    Example:
        >>> margin_of_markup(Fraction("0.25"))
        Fraction(1, 5)
    """
    need(markup > -1, "the markup takes away all of the cost")
    return markup / (1 + markup)


@function("bid")
def markup(cost: Any, price: Any) -> Any:
    """Markup that a price makes on a cost: (price - cost) / cost.

    Args:
        cost (money): cost
        price (money): price before tax
    Returns (percent): profit as a part of cost
    Source: by definition of markup
    Example:
        >>> markup(100, 125)
        Fraction(1, 4)
    """
    need(cost > 0, "the cost must be more than zero")
    return (price - cost) / cost


@function("bid")
def margin(cost: Any, price: Any) -> Any:
    """Margin that a price leaves over a cost: (price - cost) / price.

    Args:
        cost (money): cost
        price (money): price before tax
    Returns (percent): profit as a part of the price
    Source: by definition of margin
    Example:
        >>> margin(100, 125)
        Fraction(1, 5)
    """
    need(price > 0, "the price must be more than zero")
    return (price - cost) / price


@function("bid")
def foot_price(price: Any, length: Any) -> Any:
    """Price a foot of rail, to the cent.

    Args:
        price (money): price of all of it
        length (length): length of all of it, in inches where it is a bare number
    Returns (money): price of one foot
    Source: common practice, no source; 12 in to the foot
    Example:
        >>> foot_price(1000, 72)
        Fraction(16667, 100)
    """
    need(length > 0, "the length must be more than zero")
    return cents(price * 12 / length)


def together(one: Any, other: Any) -> Any:
    """The sum of two amounts that are already rounded."""
    return one + other


def profit_of(cost: Any, margin: Any, markup: Any) -> Any:
    """Profit by whichever of the two is given."""

    def by_margin() -> Any:
        return margin_price(cost, margin) - cost

    return cents(where(is_number(margin), by_margin, lambda: markup_price(cost, markup) - cost))


def one_of_both(margin: Any, markup: Any) -> None:
    """A price is made by a margin or by a markup."""
    one = where(is_number(margin), where(is_number(markup), False, True), is_number(markup))
    need(one, "give a margin or a markup, one of the two")


def sound_profit(margin: Any, markup: Any) -> None:
    """What the one given must satisfy."""
    need(where(is_number(margin), lambda: margin < 1, True), "a margin must be less than 100 %")
    need(where(is_number(markup), lambda: markup > -1, True), "the markup takes away all of the cost")


def a_foot(price: Any, feet: Any) -> Any:
    """Price a foot of what is measured in feet."""
    return foot_price(price, feet * 12)


def more(price: Any, other: Any) -> Any:
    """How much one price is more than another."""
    return price - other


def options_notice(made: Any, now: Any) -> Any:
    """What stands over options that were priced once: whether the job still comes to what it came to then."""

    def compared() -> Any:
        alike = both(at_most(made, now), at_most(now, made))
        return where(alike, "made for the bid as it stands", "the bid has changed, make the options again")

    return where(is_number(now), compared, "the bid has changed, make the options again")
