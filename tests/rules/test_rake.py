"""What holds for every slope, and the same results in formula text and in columns."""

import random
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import ironcalc
import numpy
import pytest

import railfuncs
from railfuncs.catalogue import functions
from railfuncs.errors import RuleError
from railfuncs.rules import cutting, job, rake, spacing, treads
from railfuncs.tracing import Ref, atan, cos, formula, sin, sqrt, tan, tracing
from tests.proof import proves

# A float handed from rule to rule is read as the simplest fraction within a billionth.
NEAR = 3e-9
HALF, THIRD = Fraction(1, 2), Fraction(1, 3)
TRIPLES = [(3, 4, 5), (5, 12, 13), (8, 15, 17), (7, 24, 25), (20, 21, 29), (9, 40, 41)]


def sixty_fourths(rng: random.Random, low: float, high: float) -> Fraction:
    return Fraction(rng.randint(int(low * 64), int(high * 64)), 64)


def random_run(rng: random.Random) -> tuple[Fraction, Fraction, int]:
    opening, width = sixty_fourths(rng, 10, 240), sixty_fourths(rng, 0.25, 2)
    return opening, width, rng.randint(1, min(40, int(opening / width) - 1))


def test_without_a_rise_every_rule_is_the_level_rule() -> None:
    """Exactly the same fractions, floats nowhere."""
    rng = random.Random(50)
    for _ in range(1_000):
        opening, width, count = random_run(rng)
        flat = (0, sixty_fourths(rng, 8, 200))
        number, step = rng.randint(1, count), Fraction(1, rng.choice((2, 8, 16, 64)))
        start = rng.choice(("left", "right", "middle"))
        one, two, play = (sixty_fourths(rng, 0, 1) for _ in range(3))
        height, thick = sixty_fourths(rng, 30, 42), sixty_fourths(rng, 1, 3)
        size = sixty_fourths(rng, 1, 90)
        tread, per_tread = flat[1], rng.randint(1, 3)
        pairs = [
            (rake.pitch(*flat), 0),
            (rake.rake(size, *flat), size),
            (rake.level(size, *flat), size),
            (rake.plumb(size, *flat), size),
            (rake.rake_rise(size, 0), 0),
            (rake.rake_run(size, 0), size),
            (
                rake.rake_mark(opening, width, count, number, *flat, step, start, one),
                spacing.mark(opening, width, count, number, step, start, one),
            ),
            (
                rake.rake_marks(opening, width, count, *flat, step, start, one),
                spacing.marks(opening, width, count, step, start, one),
            ),
            (rake.rake_mortise(width, *flat), width),
            (rake.rake_mortise(width, *flat, thick, "shallow"), thick),
            (rake.rake_mortise(width, *flat, thick, "deep"), thick),
            (rake.rake_baluster(size, one, two, *flat), cutting.cut_baluster(size, one, two)),
            (rake.rake_rail(opening, *flat, one, two, thick), cutting.cut_rail(opening, one, two)),
            (rake.rake_shoe(opening, *flat, one, two, thick), cutting.cut_shoe(opening, one, two)),
            (rake.rake_height(one, two, size, thick, *flat), job.guard_height(one, two, size, thick)),
            (rake.end_cut(*flat), 0),
            (rake.end_cut(*flat, "level"), 0),
            (rake.end_cut(*flat, "turn", size), size / 2),
            (
                treads.tread_balusters(height, thick, *flat, 0, per_tread, one, two, play / 2),
                [cutting.cut_baluster(height - thick, one, two, play / 2)] * per_tread,
            ),
        ]
        for sloped, level in pairs:
            assert sloped == level
            assert not any(isinstance(part, float) for part in (sloped if isinstance(sloped, list) else [sloped]))
        assert treads.tread_count(tread, Fraction(1, 2)) == int(tread / (4 + HALF)) + 1


@proves("RAIL_TREAD_BALUSTERS", against="two to a tread differ by half a riser, three by a third", cases=20_000)
def test_two_to_a_tread_differ_by_half_a_riser_and_three_by_a_third() -> None:
    rng = random.Random(51)
    for turn in range(10_000):
        a, b, _ = rng.choice(TRIPLES)
        tread = sixty_fourths(rng, 7, 16)
        # Every other stair has an exact pitch, and there the differences are exact too.
        exact = turn % 2 == 0
        riser = tread * a / b if exact else sixty_fourths(rng, 2, 10)
        first = sixty_fourths(rng, 0, 2)
        measures = (Fraction(36), sixty_fourths(rng, 1, 3), riser, tread, first)
        one, two = treads.tread_balusters(*measures, 2)
        three = treads.tread_balusters(*measures, 3)
        steps = [(two - one, riser * HALF), (three[1] - three[0], riser * THIRD), (three[2] - three[1], riser * THIRD)]
        for difference, part in steps:
            assert difference == part if exact else abs(difference - part) < NEAR
        # A whole riser on, the next tread begins again at the same length.
        assert abs(two + (two - one) - riser - one) < NEAR


@proves("RAIL_RAKE_MARK", "RAIL_RAKE_MORTISE", "RAIL_RAKE_RAIL", against="Pythagoras: exact triangles, 3-4-5 and others", cases=1_900)
def test_pythagorean_stairs_stay_exact() -> None:
    rng = random.Random(52)
    for _ in range(2_000):
        a, b, c = rng.choice(TRIPLES)
        scale = sixty_fourths(rng, 0.25, 3)
        slope = (a * scale, b * scale)
        opening, width, count = random_run(rng)
        number = rng.randint(1, count)
        place = spacing.mark(opening, width, count, number)
        assert rake.rake_mark(opening, width, count, number, *slope) == place * c / b
        assert rake.rake_mortise(width, *slope) == width * c / b
        assert rake.level(rake.rake(opening, *slope), *slope) == opening
        assert rake.rake_rail(opening, *slope, 0, 0, width) == opening * c / b + width * a / b


def test_each_mark_is_rounded_once_from_its_exact_place() -> None:
    rng = random.Random(53)
    for _ in range(1_000):
        opening, width, count = random_run(rng)
        slope = (sixty_fourths(rng, 1, 9), sixty_fourths(rng, 8, 14))
        step = Fraction(1, rng.choice((2, 4, 8, 16, 32, 64)))
        places = rake.rake_marks(opening, width, count, *slope, step)
        assert len(places) == count
        for number, place in enumerate(places, start=1):
            exact = rake.rake_mark(opening, width, count, number, *slope)
            assert abs(place - exact) <= step / 2 + Fraction(NEAR)
            assert (place / step).denominator == 1
    assert rake.rake_marks(3, 1, 0, 7, 10) == []


def test_three_ways_to_measure_agree() -> None:
    rng = random.Random(54)
    for _ in range(2_000):
        riser, tread, steps = sixty_fourths(rng, 4, 9), sixty_fourths(rng, 8, 14), rng.randint(2, 18)
        rise, run = riser * steps, tread * steps
        angle, sloped = rake.pitch(rise, run), rake.rake(run, rise, run)
        turned = rake.rake_rise(sloped, angle), rake.rake_run(sloped, angle)
        assert rake.rake_apart(rise, run, *turned) < 1e-6
        off = sixty_fourths(rng, 0.125, 2)
        assert rake.rake_apart(rise, run, rise + off, run) == off
        assert rake.rake_apart(rise, run, rise - 3 * off, run + 4 * off) == 5 * off


def test_roots_and_angles_are_exact_where_they_can_be() -> None:
    assert [sqrt(Fraction(n * n, 49)) for n in range(20)] == [Fraction(n, 7) for n in range(20)]
    assert sqrt(Fraction(2)) == 2**0.5
    assert [sin(0), sin(30), sin(90), cos(0), cos(60), cos(90), tan(0), tan(45)] == [0, HALF, 1, 1, HALF, 0, 0, 1]
    assert [type(atan(Fraction(n))) for n in (0, 1)] == [Fraction, Fraction]
    assert atan(1) == 45
    assert atan(tan(33)) == pytest.approx(33)
    assert formula(sqrt, Ref("A1")) == "=SQRT(A1)"
    assert formula(tan, Ref("A1") + 1) == "=TAN((A1+1)*PI()/180)"
    with pytest.raises(ValueError, match="domain"):
        sqrt(-1)


BAD: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (rake.pitch, (7, 0), "the run must be more than zero"),
    (rake.rake, (72, -1, 10), "the rise cannot be negative"),
    (rake.rake_rise, (160, 90), "from 0 to less than 90 degrees"),
    (rake.rake_mark, (72, 1, 9, 0, 7, 10), "number must be from 1"),
    (rake.rake_mark, (72, 1, 9, 1, 7, 10, -1), "the step cannot be negative"),
    (rake.rake_mortise, (1, 7.5, 10, 0.375, "deep"), "no depth at its shallow side"),
    (rake.rake_mortise, (0, 7.5, 10), "width must be more than zero"),
    (rake.rake_rail, (72, 7, 10, 0, 0, -1), "thickness cannot be negative"),
    (rake.rake_shoe, (1, 7, 10, 0.5, 0.5), "base trim is wider"),
    (rake.end_cut, (7, 10, "turn", 180), "less than 180 degrees"),
    (treads.risers, (94, 0), "the riser must be more than zero"),
    (treads.tread_gap, (10, 1, 1.5), "must be a whole number"),
    (treads.tread_gap, (10, 5, 2), "do not fit on a tread"),
    (treads.tread_count, (4, 3.5, 0.25), "the limit is too tight"),
    (treads.tread_baluster, (36, 2, 7, 10, -1), "in front of the nosing"),
    (treads.tread_baluster, (36, 2, 7, 10, 5), "the last is not on the tread"),
    (treads.tread_baluster, (36, 2, 7, 10, 1, 2, 3), "from 1 to the number on a tread"),
    (treads.tread_balusters, (36, 2, 7, 10, 1, 4), "one, two or three"),
]


@pytest.mark.parametrize(("rule", "values", "sentence"), BAD)
def test_what_cannot_be_built_is_refused(rule: Callable[..., Any], values: tuple[Any, ...], sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence) as refused:
        rule(*values)
    assert "\n" not in str(refused.value)


def random_values(rng: random.Random, name: str) -> tuple[Any, ...]:
    """Values for one call of a function of the slope that can be built."""
    opening, width, count = random_run(rng)
    slope = (sixty_fourths(rng, 0, 9), sixty_fourths(rng, 8, 14))
    one, two = (sixty_fourths(rng, 0, 1) for _ in range(2))
    size, thick = sixty_fourths(rng, 20, 90), sixty_fourths(rng, 1, 3)
    step = Fraction(rng.choice((0, 1, 1, 1)), rng.choice((2, 16, 64)))
    start, joint = rng.choice(("left", "right", "middle")), rng.choice(("newel", "level", "turn"))
    per_tread = rng.randint(1, 3)
    return {
        "RAIL_PITCH": slope,
        "RAIL_RAKE": (size, *slope),
        "RAIL_LEVEL": (size, *slope),
        "RAIL_PLUMB": (size, *slope),
        "RAIL_RAKE_RISE": (size, thick * 20),
        "RAIL_RAKE_RUN": (size, thick * 20),
        "RAIL_RAKE_APART": (*slope, size, opening),
        "RAIL_RAKE_MARK": (opening, width, count, rng.randint(1, count), *slope, step, start, one),
        "RAIL_RAKE_MORTISE": (width, *slope, thick + 1, rng.choice(("mouth", "shallow", "deep"))),
        "RAIL_RAKE_BALUSTER": (size, one, two, *slope, one / 2),
        "RAIL_RAKE_RAIL": (opening, *slope, one, two, thick),
        "RAIL_RAKE_SHOE": (opening, *slope, one, two, thick),
        "RAIL_RAKE_HEIGHT": (one, two, size, thick, *slope),
        "RAIL_END_CUT": (*slope, joint, size),
        "RAIL_RISERS": (size, slope[1]),
        "RAIL_TREAD_GAP": (slope[1], width, per_tread),
        "RAIL_TREAD_COUNT": (slope[1], width, thick + 2),
        "RAIL_TREAD_BALUSTER": (size + 10, thick, *slope, one, per_tread, rng.randint(1, per_tread), one, two, one / 2),
    }[name]  # fmt: skip


WITH_FORMULA = sorted(entry.name for entry in functions().values() if entry.group == "rake" and entry.has_formula)
ROWS = 40


@pytest.mark.parametrize("name", WITH_FORMULA)
def test_formula_text_and_columns_give_what_python_gives(name: str) -> None:
    """The native formula evaluated by IronCalc, and the rule over a whole column, row by row."""
    rng = random.Random(name)
    entry = functions()[name]
    model = ironcalc.create("slopes", "en", "UTC", "en")
    calls = [random_values(rng, name) for _ in range(ROWS)]
    for row, values in enumerate(calls, start=1):
        given = []
        for column, value in enumerate(values, start=1):
            if isinstance(value, str):
                given.append(value)
            else:
                model.set_user_input(0, row, column, repr(float(value)))
                given.append(Ref(f"{'ABCDEFGHIJ'[column - 1]}{row}"))
        model.set_user_input(0, row, 12, formula(entry.rule, *given))
    model.evaluate()
    for row, values in enumerate(calls, start=1):
        shown = model.get_cell_value(0, row, 12)
        wanted = entry(*values)
        assert abs(shown - wanted) < NEAR, f"{name}{tuple(map(str, values))}: {shown}, not {wanted}"

    alike = [values for values in calls if [v for v in values if isinstance(v, str)] == texts_of(calls[0])]
    columns = [
        each[0] if isinstance(each[0], str) else numpy.array([float(v) for v in each])
        for each in zip(*alike, strict=True)
    ]
    for got, values in zip(getattr(railfuncs, name.lower())(*columns), alike, strict=True):
        assert abs(got - entry(*values)) < NEAR


def texts_of(values: tuple[Any, ...]) -> list[str]:
    return [value for value in values if isinstance(value, str)]


def test_a_helper_cell_can_hold_the_slope() -> None:
    """A workbook works the secant out once a run, and its marks read that cell."""
    with tracing({"secant": Ref("$H$2")}) as trace:
        text = rake.rake_mark(Ref("B2"), Ref("B3"), Ref("B4"), Ref("A9"), Ref("B5"), Ref("B6")).text()
    assert trace.kept["secant"].text() == "SQRT(B5*B5+B6*B6)/B6"
    assert text.endswith("*$H$2")
    assert "SQRT" not in text
