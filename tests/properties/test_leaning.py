"""Newels with base trim, plumb or leaning: the rules against places in the room, worked out another way."""

import random
from fractions import Fraction

from railfuncs.rules import job as together
from railfuncs.rules.spacing import count, gap, marked_gap
from railfuncs.tracing import under

HALF = Fraction(1, 2)


def test_marks_and_widest_gap_in_the_room() -> None:
    """Rail from 0 to L in the room; the newel faces at the shoe stand half the lean further out at each end."""
    rng = random.Random(21)
    for _ in range(2_000):
        opening, width = Fraction(rng.randint(20 * 16, 120 * 16), 16), Fraction(rng.choice((1, 2, 3)), 2)
        left, right = Fraction(rng.randint(0, 16), 16), Fraction(rng.randint(0, 16), 16)
        leaning = Fraction(rng.randint(-8, 8), 16)
        shoe = opening + leaning - left - right
        step = Fraction(1, 16)
        assert together.shoe_length(opening, None if leaning == 0 else shoe, left, right) == shoe
        assert together.lean(opening, shoe, left, right) == leaning
        shoe_starts = left - leaning / 2  # in the room, from the rail's left end
        assert together.shoe_shift(leaning, left) == shoe_starts

        n = count(opening, width, together.effective_limit(Fraction(4), leaning))
        each = gap(opening, width, n)
        assert each < 4
        assert each + max(leaning, 0) / 2 < 4
        rails, shoes, widest = [Fraction(0)], [Fraction(0)], []
        for number in range(1, n + 2):
            rail = together.rail_mark(number, n, each, width, step, 0)
            on_shoe = together.rail_mark(number, n, each, width, step, shoe_starts)
            widest.append(together.widest_here(
                number, n, width, opening, rails[-1], rail, shoes[-1], on_shoe, shoe, left, right
            ))  # fmt: skip
            if number <= n:
                assert abs(on_shoe + shoe_starts - (number * each + (number - HALF) * width)) <= step / 2
                rails.append(rail)
                shoes.append(on_shoe)
        at_rail = edges(rails[1:], width, Fraction(0), opening)
        at_shoe = edges([m + shoe_starts for m in shoes[1:]], width, -leaning / 2, opening + leaning / 2)
        assert widest == [max(pair) for pair in zip(at_rail, at_shoe, strict=True)]


def edges(centres: list[Fraction], width: Fraction, left: Fraction, right: Fraction) -> list[Fraction]:
    """Clear gaps between a left face, balusters at these centres, and a right face."""
    sides = [left, *(side for c in centres for side in (c - width / 2, c + width / 2)), right]
    return [b - a for a, b in zip(sides[::2], sides[1::2], strict=True)]


def test_no_gap_as_marked_reaches_the_limit_without_a_warning() -> None:
    """What the sheet says of the widest gap as marked, for 100,000 runs counted by the limit."""
    rng = random.Random(22)
    warned = 0
    for _ in range(100_000):
        width, limit = Fraction(rng.randint(8, 64), 32), Fraction(rng.randint(40, 64), 16)
        opening = width + Fraction(rng.randint(64, 32 * 24), 32)
        n = count(opening, width, limit)
        widest = marked_gap(opening, width, n, Fraction(1, rng.choice((2, 4, 8, 16))))
        said = together.compared(widest, limit, "", "add a baluster")
        assert said.startswith("REACHES") == (widest >= limit) == (not under(widest, limit))
        warned += widest >= limit
    assert 100 < warned < 50_000
