"""What holds for every run, on many random ones."""

import random
from fractions import Fraction

import numpy
import pytest

import railfuncs
from railfuncs.errors import RuleError
from railfuncs.rules.measure import drift, round_to
from railfuncs.rules.spacing import count, gap, mark, marked_gap, marks, match, stepped_end
from railfuncs.tracing import under
from tests.proof import proves

RUNS = 100_000
HALF = Fraction(1, 2)


def random_run(rng: random.Random) -> tuple[Fraction, Fraction, int, Fraction]:
    """Opening, width, count and step as measured: to 1/64 in, or to a millimetre."""
    if rng.random() < 0.7:
        opening, width = Fraction(rng.randint(200, 64 * 240), 64), Fraction(rng.randint(16, 128), 64)
        step = Fraction(1, rng.choice((2, 4, 8, 16, 32, 64)))
    else:
        opening, width, step = Fraction(rng.randint(100, 6000)), Fraction(rng.randint(8, 60)), Fraction(1)
    most = min(40, int(opening / width))
    n = rng.randint(0, most)
    return opening, width, n if n * width < opening else 0, step


@proves("RAIL_GAP", "RAIL_MARK", against="gaps and balusters added up again in exact fractions", cases=99_000)
def test_places_add_up_and_marks_are_near_them() -> None:
    rng = random.Random(11)
    for _ in range(RUNS):
        opening, width, n, step = random_run(rng)
        each = gap(opening, width, n)
        assert (n + 1) * each + n * width == opening
        if n:
            number = rng.randint(1, n)
            exact = mark(opening, width, n, number)
            # Built up another way: so many gaps and whole balusters before it, and half of itself.
            assert exact == number * each + (number - 1) * width + width / 2
            assert abs(mark(opening, width, n, number, step) - exact) <= step / 2
            first, last = mark(opening, width, n, 1) - width / 2, opening - mark(opening, width, n, n) - width / 2
            assert first == last == each


@proves("RAIL_MARKS", "RAIL_MARKED_GAP", against="gaps and balusters added up again in exact fractions", cases=300)
def test_all_marks_of_a_run_are_its_single_marks() -> None:
    rng = random.Random(12)
    for _ in range(300):
        opening, width, n, step = random_run(rng)
        places = marks(opening, width, n, step)
        assert places == [mark(opening, width, n, i, step) for i in range(1, n + 1)]
        edges = [Fraction(0), *(side for p in places for side in (p - width / 2, p + width / 2)), opening]
        gaps = [right - left for left, right in zip(edges[::2], edges[1::2], strict=True)]
        assert marked_gap(opening, width, n, step) == max(gaps)
        assert max(gaps) - gap(opening, width, n) <= step


@proves("RAIL_COUNT", against="one baluster fewer tried, or every number that fits", cases=19_000)
def test_fewest_keeps_every_gap_under_the_limit() -> None:
    rng = random.Random(13)
    checked = 0
    for _ in range(20_000):
        opening, width, _, _ = random_run(rng)
        limit = Fraction(rng.randint(2, 6) * 16 + rng.choice((0, 0, 5)), 16)
        if width >= opening:
            continue
        try:
            n = count(opening, width, limit)
        except RuleError:
            fitting = [n for n in range(int(opening / width) + 1) if n * width < opening]
            assert all(gap(opening, width, n) >= limit for n in fitting)
            continue
        checked += 1
        assert gap(opening, width, n) < limit
        assert n == 0 or gap(opening, width, n - 1) >= limit
    assert checked > 15_000


@proves("RAIL_COUNT", against="every number that fits tried, for the gap nearest to the one wanted", cases=4_900)
def test_target_is_the_nearest_of_its_parity() -> None:
    rng = random.Random(14)
    checked = 0
    for _ in range(5_000):
        opening, width, _, _ = random_run(rng)
        target, limit = Fraction(rng.randint(16, 90), 16), Fraction(rng.randint(32, 96), 16)
        parity = rng.choice(("any", "odd", "even"))
        fitting = [
            n for n in range(int(opening / width) + 1)
            if n * width < opening and under(gap(opening, width, n), limit)
            and (parity == "any" or n % 2 == (parity == "odd"))
        ]  # fmt: skip
        if not fitting or width >= opening:
            continue
        best = min(fitting, key=lambda n: (abs(gap(opening, width, n) - target), -n))
        assert count(opening, width, limit, target, parity) == best
        checked += 1
    assert checked > 3_000


def test_stepping_gathers_the_error_that_exact_marks_do_not() -> None:
    rng = random.Random(15)
    for _ in range(2_000):
        opening, width, n, step = random_run(rng)
        if n == 0:
            continue
        spacing = gap(opening, width, n) + width
        walked = opening / 2 - HALF * (n - 1) * round_to(spacing, step) - width / 2
        assert stepped_end(opening, width, n, step) == walked
        assert drift(spacing, n - 1, step) == (n - 1) * (round_to(spacing, step) - spacing)


@proves("RAIL_MATCH", against="all 27 choices for three openings tried", cases=60)
def test_match_is_the_best_of_all_choices() -> None:
    rng = random.Random(16)
    for _ in range(60):
        openings = [Fraction(rng.randint(300, 1900), 16) for _ in range(3)]
        chosen = match(openings, HALF, 4, Fraction(7, 2))
        alone = [count(o, HALF, 4, Fraction(7, 2)) for o in openings]
        assert all(abs(a - b) <= 1 for a, b in zip(chosen, alone, strict=True))

        def spread(counts: list[int], openings: list[Fraction] = openings) -> Fraction:
            gaps = [gap(o, HALF, n) for o, n in zip(openings, counts, strict=True)]
            return max(gaps) - min(gaps) if max(gaps) < 4 else Fraction(99)

        others = [[a + i, b + j, c + k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1)
                  for a, b, c in [alone]]  # fmt: skip
        assert spread(chosen) == min(map(spread, others))


def test_columns_agree_with_exact_fractions() -> None:
    rng = random.Random(17)
    runs = [run for run in (random_run(rng) for _ in range(4_000)) if run[2] > 0]
    opening, width, n, step = (numpy.array([float(run[i]) for run in runs]) for i in range(4))
    gaps = railfuncs.rail_gap(opening, width, n)
    places = railfuncs.rail_mark(opening, width, n, numpy.ones(len(runs)), step)
    counts = railfuncs.rail_count(opening, width, opening / 3 + width, 0, "odd")
    for i, run in enumerate(runs):
        assert gaps[i] == pytest.approx(float(gap(*run[:3])), abs=1e-9)
        assert places[i] == float(mark(*run[:3], 1, run[3]))
        assert counts[i] == count(run[0], run[1], run[0] / 3 + run[1], 0, "odd")


def test_a_bad_row_of_a_column_is_named() -> None:
    with pytest.raises(RuleError, match="row 2: that many balusters do not fit"):
        railfuncs.rail_gap(numpy.array([72.0, 3.0]), 0.5, 17)
