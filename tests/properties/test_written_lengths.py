"""Lengths as people write them: each is made from parts whose sum is known, or broken in one way and then refused."""

import datetime
import decimal
import math
import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from railfuncs.books.sharing.choice import Shown
from railfuncs.errors import LengthError
from railfuncs.lengths import read
from railfuncs.rules.measure import tape

INCHES = {  # of one unit; 1 in is 25.4 mm exactly (1959 agreement; from memory)
    "in": Fraction(1), "ft": Fraction(12), "mm": 1 / Fraction("25.4"), "cm": 10 / Fraction("25.4"),
    "m": 1000 / Fraction("25.4"),
}  # fmt: skip
VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
RAISED, LOWERED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"), str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
INCH_SIGNS = ('"', "''", "”", "″", "’’", "′′", "´´", "˝", "ʺ", "＂", "“")
FOOT_SIGNS = ("'", "’", "‘", "′", "´", "`", "ʹ", "＇")
INCH_WORDS = ("in", "in.", "inch", "inches", "IN", "Inches")
FOOT_WORDS = ("ft", "ft.", "foot", "feet", "FT", "Feet")
METRIC = {
    "mm": ("mm", "MM", "mm.", "millimetres", "millimeters"), "cm": ("cm", "CM", "centimetre", "centimeters"),
    "m": ("m", "M", "metre", "meters"),
}  # fmt: skip
FOLDING_SIGNS = {
    **{sign: f" {plain} " for sign, plain in VULGAR.items()}, **dict.fromkeys("’‘′´`", "'"), **dict.fromkeys("”″", '"'),
    **dict.fromkeys("–−‑", "-"), "⁄": "/", "∕": "/", "\u200b": " ", "\u00a0": " ",
}  # fmt: skip

many = settings(max_examples=400, deadline=None, derandomize=True, database=None)


def refusal(value: Any, unit: str = "in") -> str:
    """The one sentence that refuses a value."""
    with pytest.raises(LengthError) as caught:
        read(value, unit)
    return judged(caught.value)


def judged(error: LengthError) -> str:
    sentence = str(error)
    assert sentence.isprintable()
    assert 20 < len(sentence) < 170
    return sentence


@st.composite
def fractions(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A fraction of less than one, and its value."""
    if draw(st.booleans()):
        sign, plain = draw(st.sampled_from(sorted(VULGAR.items())))
        return sign, Fraction(plain)
    bottom = draw(st.sampled_from((2, 3, 4, 8, 10, 16, 32, 64)))
    top = draw(st.integers(0, bottom - 1))
    written = draw(
        st.sampled_from(
            (f"{top}/{bottom}", f"{top}⁄{bottom}", f"{top}∕{bottom}", f"{top} / {bottom}",
             f"{str(top).translate(RAISED)}⁄{str(bottom).translate(LOWERED)}")
        )
    )  # fmt: skip
    return written, Fraction(top, bottom)


@st.composite
def numbers(draw: st.DrawFn, most: int) -> tuple[str, Fraction]:
    """A number of at most `most`: whole, decimal, a fraction or both."""
    whole = draw(st.integers(0, most - 1))
    form = draw(st.sampled_from(("whole", "decimal", "fraction", "mixed")))
    if form == "whole":
        return str(whole), Fraction(whole)
    if form == "decimal":
        places = draw(st.text("0123456789", max_size=5))
        lead = "" if whole == 0 and places and draw(st.booleans()) else str(whole)
        return f"{lead}.{places}", whole + Fraction(int(places or "0"), 10 ** len(places))
    written, part = draw(fractions())
    if form == "fraction":
        return written, part
    joints = [" ", "  ", "-", " - ", "–", "‑", "\u00a0", "\u202f", "\t", " and ", "&", " & ", "\u200b"]
    if not written[0].isdecimal():  # a sign of its own needs nothing between
        joints.append("")
    return str(whole) + draw(st.sampled_from(joints)) + written, whole + part


@st.composite
def inches(draw: st.DrawFn, most: int = 2000) -> tuple[str, Fraction]:
    written, value = draw(numbers(most))
    sign, word = draw(st.sampled_from(INCH_SIGNS)), draw(st.sampled_from(INCH_WORDS))
    return written + draw(st.sampled_from(("", sign, f" {sign}", word, f" {word}", f"-{word}"))), value


@st.composite
def feet_and_inches(draw: st.DrawFn) -> tuple[str, Fraction]:
    feet = draw(st.integers(0, 198))
    sign, word = draw(st.sampled_from(FOOT_SIGNS)), draw(st.sampled_from(FOOT_WORDS))
    foot = draw(st.sampled_from((sign, f" {sign}", word, f" {word}", f"-{word}")))
    joint = draw(st.sampled_from(("", " ", "-", " - ", "–", ", ", " and ", " & ")))
    written, value = draw(inches(12))
    return f"{feet}{foot}{joint}{written}", 12 * feet + value


@st.composite
def feet(draw: st.DrawFn) -> tuple[str, Fraction]:
    written, value = draw(numbers(200))
    sign, word = draw(st.sampled_from(FOOT_SIGNS)), draw(st.sampled_from(FOOT_WORDS))
    return written + draw(st.sampled_from((sign, f" {sign}", word, f" {word}", f"-{word}"))), 12 * value


@st.composite
def metric(draw: st.DrawFn) -> tuple[str, Fraction]:
    unit, words = draw(st.sampled_from(sorted(METRIC.items())))
    written, value = draw(numbers({"mm": 60_000, "cm": 6000, "m": 60}[unit]))
    word = draw(st.sampled_from(words))
    return written + draw(st.sampled_from((word, f" {word}", f"-{word}"))), value * INCHES[unit]


@many
@given(
    st.one_of(inches(), feet_and_inches(), feet(), metric()),
    st.sampled_from(("", "", "", "-", "- ", "−")),
    st.sampled_from(("", " ", "\u00a0", "\n", "\ufeff")),
)
def test_every_way_of_writing_is_read_exactly(length: tuple[str, Fraction], minus: str, around: str) -> None:
    written, value = length
    assert read(around + minus + written + around) == (-value if minus else value)


@many
@given(numbers(60), st.sampled_from(sorted(INCHES)))
def test_a_bare_number_is_in_the_unit_of_its_column(number: tuple[str, Fraction], unit: str) -> None:
    written, value = number
    assert read(written, unit) == value * INCHES[unit]


@many
@given(feet_and_inches(), st.sampled_from(sorted(INCHES)))
def test_bare_inches_behind_feet_are_inches_in_any_column(length: tuple[str, Fraction], unit: str) -> None:
    written, value = length
    assert read(written, unit) == value


@st.composite
def broken(draw: st.DrawFn) -> list[str]:
    """Lengths with one thing wrong with each."""
    written, _ = draw(st.one_of(inches(), feet_and_inches(), feet()))
    plain, _ = draw(numbers(12))
    number = draw(st.integers(1, 99))
    inch, foot = draw(st.sampled_from(('"', " in", "″"))), draw(st.sampled_from(("'", " ft", "′")))
    return [
        f"{written} x", f"x{written}", f"{written}?", f"={written}", f"({written})", f"{written}*2", f"~{written}",
        f"--{written}", f"+{written}", f"{written}-", f"{written},", f"{written} and", f"{written} &",
        f"{written} {number} {number}", f"{written}; {plain}", f"{written} kg", f"{written} of oak", f"{written}²",
        f"{plain}{inch} {number}{foot}", f"{plain}{inch} {number}{inch}", f"{number}{foot} {number}{foot}",
        f"{number}{foot} {plain} mm", f"{number} mm {plain}{inch}", f"{number} m {plain} cm",
        f"{number}{foot} 12{inch}", f"{number}{foot} {number + 11}{inch}", f"{number}{foot} --{plain}{inch}", f"{number}.5{foot} {plain}{inch}",
        f"{number} 1/0", f"{number}/0", f"0/0{inch}", f"{number}{foot} 1/0{inch}", f"{number} {number}/{number}",
        f"{number} {number + 1}/{number}", f"{number + 1} /{number}", f"{number} / {number}", f"{number}/{number}/2",
        f"{number} {number}", f"{number}-{number}", f"{number} {number} 1/2", f"½{number}", f"{number}½{number}",
        f"{number}½½", f"½ {number}", f"{number} ½/2", f"{number},5", f"1,{number:03}", f"1.000,{number}",
        f"1 {number:03} mm", f"{number}..5", f"{number}.5.5", f"{number}.5/8", f"{number} .5", f"{number}e3",
        f"{number}E-3", f"1e{number}", f"0x{number}", f"{number}_000", f"{number}rd", f"{number}th", f"{number} pm",
        f"{number} pcs", f"{number}sft", f"{number}cft", f"{number}\u00ad1/2", f"{number}²", f"{number}:30",
        f"{number + 200}'", f"{number}00 m", f"{number} km", f"{number} kilofeet", f"{number} %", f"${number}",
    ]  # fmt: skip


@settings(many, max_examples=50)
@given(broken(), st.sampled_from(("in", "mm", "ft")))
def test_one_thing_wrong_is_refused_in_a_sentence(wrong: list[str], unit: str) -> None:
    for written in wrong:
        shown = " ".join(written.split())[:20].replace("\u00ad", "�").replace("\u200b", "�")
        assert shown in refusal(written, unit)


@pytest.mark.parametrize(
    "written",
    ["-", "+", "--", ".", "-.", "'", '"', "''", "/", "1/", "/2", "½/", ",", "&", "and", "ft", "in", "mm", "' \"", "5'-", "63 1/",
     "NaN", "nan", "inf", "-inf", "Infinity", "∞", "None", "TRUE", "#N/A", "#DIV/0!", "⑤", "Ⅴ", "5 İn", "5 ſt", "63 in in",
     "9" * 61, "9" * 5000, "1/" + "9" * 5000, "0." + "0" * 5000 + "1", "1 " * 20_000, "5 " + "kilo" * 9000, "x" * 32_767],
)  # fmt: skip
def test_what_no_tape_says(written: str) -> None:
    sentence = refusal(written)
    assert "'" in sentence
    assert ("…" in sentence) == (len(written) > 60)


@pytest.mark.parametrize("written", ["", " ", "\t\n", "\u00a0", "\u2009 \u202f"])
def test_a_blank_is_called_missing(written: str) -> None:
    assert "missing" in refusal(written)


@pytest.mark.parametrize(
    "written",
    ["3-Apr", "4-Mar", "03-Mar", "3. April", "Apr 3", "Mar-16", "3/4/2026", "3/4/26", "2026-04-03", "03.04.2026", "3 Apr 2026"],
)
def test_text_that_a_spreadsheet_has_made_a_date_of_says_so(written: str) -> None:
    # A .csv saved by a spreadsheet holds the date as it was shown.
    assert "0 3/4 or 0.75" in refusal(written)


@pytest.mark.parametrize("written", ["63,5", "1,200", "1.200,5", "5' 3,5\""])
def test_a_comma_in_a_number_is_named(written: str) -> None:
    assert "comma" in refusal(written)


@many
@given(st.one_of(st.text(max_size=30), st.text("0123456789 /-'\".,&½⅜¹₂⁄’″fFtTinINmMcCandxe\u00a0\u200b\u00ad\n", max_size=14)))
def test_any_text_is_a_length_or_one_sentence(written: str) -> None:
    try:
        length = read(written)
    except LengthError as error:
        judged(error)
    else:
        assert type(length) is Fraction
        assert abs(length) <= 2400
        assert re.search(r"\d|[½⅜]", written)


@many
@given(st.text("0126 /-'\".½¾–⁄∕’′”\u00a0\u200b", max_size=9))
def test_typeset_signs_are_read_as_their_plain_spelling(written: str) -> None:
    plain = "".join(FOLDING_SIGNS.get(sign, sign) for sign in written)
    assert outcome(written) == outcome(plain)


def outcome(written: str) -> Fraction | None:
    try:
        return read(written)
    except LengthError:
        return None


@many
@given(
    st.one_of(
        st.floats(), st.floats(-3000, 3000), st.integers(-99_999, 99_999), st.fractions(), st.booleans(), st.none(), st.binary(max_size=3), st.complex_numbers(),
        st.dates(), st.times(), st.datetimes(), st.timedeltas(), st.lists(st.integers(), max_size=2),
        st.decimals(min_value=-(10**9), max_value=10**9) | st.just(decimal.Decimal("nan")),
    ),
    st.sampled_from(sorted(INCHES)),
)  # fmt: skip
def test_any_value_is_a_length_or_one_sentence(value: Any, unit: str) -> None:
    try:
        length = read(value, unit)
    except LengthError as error:
        judged(error)
        if isinstance(value, int | float | Fraction | decimal.Decimal) and not isinstance(value, bool):
            # Refused for its size only, or since it is no number.
            assert not math.isfinite(value) or abs(Fraction(value)) * INCHES[unit] > 2399
    else:
        assert not isinstance(value, bool | datetime.date | datetime.time | datetime.timedelta | None)
        assert abs(length) <= 2400
        if isinstance(value, int | Fraction | decimal.Decimal):
            assert length == Fraction(value) * INCHES[unit]
        elif isinstance(value, float):
            assert abs(length / INCHES[unit] - Fraction(value)) < Fraction(11, 10**10)


def test_numbers_with_more_digits_than_can_be_shown() -> None:
    for value in (10**5000, -(10**5000), Fraction(10**5000, 3), 2.0**1000, decimal.Decimal("1e99")):
        assert "longer than 200 ft" in refusal(value)


def summed(said: str) -> Fraction:
    """A reading of the tape, added up without our reader."""
    feet, _, rest = said.removeprefix("-").rpartition("' ")
    total = 12 * int(feet or 0) + sum(map(Fraction, re.split("[ -]", rest.removesuffix('"'))))
    return -total if said.startswith("-") else total


@pytest.mark.parametrize(
    ("style", "form"),
    [("inches", r"-?(\d+|([1-9]\d* )?\d+/\d+)"), ("feet", r"-?([1-9]\d*' )?(\d+|([1-9]\d*-)?\d+/\d+)\"")],
)
@pytest.mark.parametrize("denominator", [2, 4, 8, 16, 32, 64])
def test_every_mark_of_a_tape_is_said_and_read_back(style: str, form: str, denominator: int) -> None:
    """All marks of the first four feet, to the left of zero too, and some around every foot up to 200."""
    near = range(-48 * denominator, 48 * denominator + 1)
    far = (12 * foot * denominator + off for foot in range(4, 200) for off in (-1, 0, 1, denominator, denominator + 1))
    for mark in (*near, *far):
        length = Fraction(mark, denominator)
        said = tape(length, denominator, style)
        assert summed(said) == length == read(said) == read(f"  {said} ", "mm" if '"' in said else "in"), said
        assert re.fullmatch(form, said)


@pytest.mark.parametrize("number", [-1863, -1, 0, 1, 9, 10, 1600, 60_959])
def test_millimetres_are_said_as_whole_numbers_and_read_back(number: int) -> None:
    length = number * INCHES["mm"]
    assert tape(length, 16, "mm") == str(number)
    assert read(tape(length, 16, "mm"), "mm") == length


@many
@given(
    st.fractions(-2000, 2000, max_denominator=10_000), st.sampled_from([2, 4, 8, 16, 32, 64]),
    st.sampled_from(["inches", "feet", "mm"]),
)  # fmt: skip
def test_any_length_comes_back_to_the_nearest_mark(length: Fraction, denominator: int, style: str) -> None:
    step = INCHES["mm"] if style == "mm" else Fraction(1, denominator)
    back = read(tape(length, denominator, style), "mm" if style == "mm" else "in")
    assert (back / step).denominator == 1
    assert -step / 2 < back - length <= step / 2  # a tie reads as the higher mark


@pytest.mark.parametrize("denominator", [2, 4, 8, 16, 32, 64])
def test_lengths_in_what_is_sent_read_back(denominator: int) -> None:
    for mark in range(-3 * denominator, 40 * denominator):
        length = Fraction(mark, denominator)
        assert read(Shown(length, "in").text) == length
    for tenths in range(20_000):
        assert read(Shown(Fraction(tenths, 10), "mm").text, "mm") == Fraction(tenths, 10) * INCHES["mm"]
