"""Reading what people type, and reading back what the tape formatter writes."""

import datetime
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

import railfuncs
from railfuncs.errors import LengthError
from railfuncs.lengths import _tape_units, exact, read
from railfuncs.rules.measure import tape
from tests.proof import proves

SIXTY_FOURTHS = st.integers(0, 64 * 1200).map(lambda n: Fraction(n, 64))


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("5' 3-1/2\"", "63.5"), ("5'3 1/2\"", "63.5"), ("5′ 3½″", "63.5"), ("5’ 3 ½”", "63.5"), ("5 ft 3 1/2 in", "63.5"),
        ("5'-3 1/2\"", "63.5"), ("5' - 3-1/2\"", "63.5"), ("5 feet, 3.5 inches", "63.5"), ("5'", "60"), ("5' 0\"", "60"),
        ("63 1/2", "63.5"), ("63-1/2", "63.5"), ("63½", "63.5"), ("63 ½", "63.5"), ("63.5", "63.5"), ("63.5\"", "63.5"),
        ("63 1/2 in", "63.5"), ("63 1/2''", "63.5"), ("127/2", "63.5"), ("⅝", "0.625"), (".5", "0.5"), ("0", "0"),
        ("3⁄8", "0.375"), ("63\u00a01/2", "63.5"), ("-3/8", "-0.375"), ("5.25'", "63"), ("2 yd", "72"), ("1 FT", "12"),
        ("25.4mm", "1"), ("2.54 cm", "1"), ("0.0254 m", "1"), ("63 1/2 in.", "63.5"), ("25400 um", "1"),
    ],
)  # fmt: skip
@proves("RAIL_INCHES", by="read", against="lengths as people write them, converted by hand", cases=1)
def test_ways_to_write_a_length(typed: str, inches: str) -> None:
    assert read(typed) == Fraction(inches)


@pytest.mark.parametrize(
    "typed",
    [
        "", "  ", "abc", "5''3", "63 17/16", "1/0", "63,5", "1,200", "10 miles", "1e3", "5' 13\"", "5.5' 3\"", "5\" 3'",
        "3 5", "5-3", "1/2/3", "--5", "63 1/2 kg", "5' 3' 2'", "63..5", "½½", "=5", "nan", "inf", "63 1/2 x",
    ],
)  # fmt: skip
def test_what_is_refused(typed: str) -> None:
    with pytest.raises(LengthError) as refused:
        read(typed)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "value", [datetime.date(2026, 4, 3), datetime.datetime(2026, 4, 3), datetime.time(3, 4), True, float("nan"), 1e30]
)
def test_values_that_are_no_lengths(value: object) -> None:
    with pytest.raises(LengthError):
        read(value)


def test_a_date_says_how_to_write_the_fraction() -> None:
    with pytest.raises(LengthError, match=r"0 3/4 or 0\.75"):
        railfuncs.rail_gap(datetime.date(2026, 4, 3), 0.5, 3)


@given(SIXTY_FOURTHS, st.sampled_from(["inches", "feet"]), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_reading_back_what_the_tape_says(length: Fraction, style: str, denominator: int) -> None:
    said = tape(length, Fraction(denominator), style)
    assert abs(read(said) - length) <= Fraction(1, 2 * denominator)
    assert (read(said) * denominator).denominator == 1


@given(st.integers(0, 20_000))
def test_reading_back_millimetres(length: int) -> None:
    said = tape(read(length, unit="mm"), 16, "mm")
    assert read(said, unit="mm") == read(f"{length} mm")


@given(st.text(max_size=14))
def test_any_text_is_read_or_refused(typed: str) -> None:
    try:
        assert isinstance(read(typed), Fraction)
    except LengthError as refused:
        assert str(refused)


@given(st.fractions(min_value=0, max_value=2000, max_denominator=4096))
def test_floats_mean_the_fraction_they_came_from(length: Fraction) -> None:
    assert exact(float(length)) == length


@proves("RAIL_INCHES", by="_tape_units", against="every unit that can be written, by pint, a library of units", cases=1)
def test_units_are_those_of_pint() -> None:
    registry = pint.UnitRegistry(non_int_type=Fraction)
    names = {'"': "inch", "'": "foot"}
    for spelling, inches in _tape_units().items():
        assert registry.Quantity(Fraction(1), names.get(spelling, spelling)).to("inch").magnitude == inches
