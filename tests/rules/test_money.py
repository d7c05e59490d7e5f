"""Money and columns of stock as people give them: text, percentages, blanks, and every cent against decimals."""

import random
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

import numpy
import pytest

import railfuncs
from railfuncs import amounts
from railfuncs.errors import RailError, RuleError
from railfuncs.rules import price
from railfuncs.stock import Piece, Stick, plan
from tests.proof import proves


@proves("RAIL_LINE", "RAIL_CENTS", against="decimal arithmetic, half up, by Python's decimal module", cases=5_000)
def test_every_cent_as_decimals_round_it() -> None:
    """Half up, exactly and in floating point, with amounts up to a million."""
    rng = random.Random(5)
    for _ in range(5_000):
        quantity, each = Decimal(rng.randint(0, 8_000)) / 8, Decimal(rng.randint(0, 100_000)) / 100
        want = (quantity * each).quantize(Decimal("0.01"), ROUND_HALF_UP)
        assert price.line(Fraction(quantity), Fraction(each)) == Fraction(want)
        inexact = price.cents.__wrapped__(float(quantity) * float(each))  # type: ignore[attr-defined]
        assert inexact == pytest.approx(float(want), abs=1e-7)


def test_whole_columns_in_one_call() -> None:
    quantities, prices = numpy.array([1.0, 2.5, 3.0]), numpy.array([0.335, 10.03, 0.115])
    assert railfuncs.rail_line(quantities, prices) == pytest.approx([0.34, 25.08, 0.35])
    assert railfuncs.rail_tax(numpy.array([100.0, 0.06]), 0.0825) == pytest.approx([8.25, 0.0])


@pytest.mark.parametrize("text", ["1,250", "twelve", "1e5", "12 %", "--3", True, "1000000000000"])
def test_what_is_no_number_is_refused(text: Any) -> None:
    with pytest.raises(RailError):
        amounts.read(text)


def test_percentages() -> None:
    assert amounts.percent("12.5%") == amounts.percent(0.125) == Fraction(1, 8)
    with pytest.raises(RuleError, match=r"20 would be 2000 %; write 20 % or 0.2"):
        amounts.percent(20)
    assert railfuncs.rail_margin_price("$100", "20 %") == 125


def test_margin_and_markup_are_each_other_back() -> None:
    for hundredths in range(0, 95):
        margin = Fraction(hundredths, 100)
        markup = price.markup_of_margin(margin)
        assert price.margin_of_markup(markup) == margin
        assert price.margin_price(10_000, margin) == price.markup_price(10_000, markup)


def test_blank_rows_keep_the_columns_together() -> None:
    pieces, counts = [36, None, 24, ""], [5, None, 2]
    stock, on_hand = [96, None, 120], [None, None, 1]
    prices = [9, "", 2]
    taken = railfuncs.rail_sticks(pieces, counts, stock, 0.125, 1, prices, on_hand)
    same = plan([Piece(36, 5), Piece(24, 2)], [Stick(96, 9), Stick(120, 2, 1)], Fraction(1, 8), 1)
    assert taken == [sum(cut.place == place for cut in same.sticks) for place in (0, 1)]
    assert taken[1] == 1
    rows = railfuncs.rail_cut_plan(pieces, counts, stock, 0.125, 1, prices, on_hand)
    assert sorted(row[2] for row in rows) == [24, 24, 36, 36, 36, 36, 36]
    assert len({row[0] for row in rows}) == sum(taken)


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        (([36, 24], [5], [96]), "row 2 has a length but no quantity"),
        (([36, None], [5, 2], [96]), "row 2 has a quantity but no length"),
        (([36], [5], [96, 120], 0, 0, [9]), "row 2 has a length but no price"),
        (([36], [5], [96], 0, 0, [], [1, 2]), "row 2 has a number on hand but no length"),
        (([136], [5], [96]), "the longest stick is 96 in"),
        (([36], [1.5], [96]), "whole number"),
    ],
)
def test_columns_that_do_not_belong_together(columns: tuple[Any, ...], says: str) -> None:
    with pytest.raises(RuleError, match=says):
        railfuncs.rail_sticks(*columns)


def test_why_tells_of_stock_too() -> None:
    assert "longest stick is 96 in" in railfuncs.rail_why("RAIL_CUT_PLAN", [136], [5], [96])
