"""Lengths: what people type on a tape measure, read as exact fractions of an inch."""

import csv
import datetime
import re
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from numbers import Rational
from typing import Any

from railfuncs import data
from railfuncs.errors import LengthError

MM = Fraction(5, 127)  # one millimetre in inches: 1 in is 25.4 mm exactly
LONGEST = Fraction(2400)  # 200 ft: a longer "opening" is a slip of the keys

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_NUMBER = r"(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<plain>\d+\.?\d*|\.\d+)"
_TERM = re.compile(rf"(?:{_NUMBER})\s*(?P<unit>[a-z]+|'|\"|)\.?\s*[-,]?\s*", re.IGNORECASE)


def exact(number: Any) -> Fraction:
    """A number as the fraction its writer meant.

    A float is taken as the simplest fraction within a billionth of it (so one third computed by a
    spreadsheet is one third again), else as the decimal it prints as.

    >>> exact(0.1), exact(1 / 3), exact(63.4375)
    (Fraction(1, 10), Fraction(1, 3), Fraction(1015, 16))
    """
    if isinstance(number, Rational | Decimal):
        return Fraction(number)
    value = float(number)
    if value != value or value in (float("inf"), float("-inf")):
        raise LengthError(f"{value} is not a number that can be measured")
    near = Fraction(value).limit_denominator(1_000_000)
    return near if abs(near - Fraction(value)) <= Fraction(1, 10**9) else Fraction(repr(value))


def read(value: Any, unit: str = "in") -> Fraction:
    """Read one length; return inches, exactly.

    Args:
        value: a number, or text as people type it; feet and inches, fractions, decimals, metric
        unit: the unit of a bare number ("in", "mm", "ft", ...)
    Raises:
        LengthError: one sentence saying what cannot be read and what to write instead.

    >>> read("5' 3-1/2\\""), read("63½"), read("1600 mm"), read(1600, unit="mm")
    (Fraction(127, 2), Fraction(127, 2), Fraction(8000, 127), Fraction(8000, 127))
    """
    if value is None or (isinstance(value, str) and not value.strip()):
        raise LengthError("a length is missing; write it like 63 1/2 or 1600 mm")
    if isinstance(value, bool):
        raise LengthError(f"{value} is not a length; write it like 63 1/2 or 1600 mm")
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        raise LengthError(
            "the spreadsheet has turned this length into a date; write it as 0 3/4 or 0.75, or type an"
            " apostrophe before it"
        )
    if isinstance(value, str):
        inches = _read_text(value, unit)
    else:
        try:
            inches = exact(value) * _inches_in(unit)
        except (TypeError, ValueError, OverflowError) as error:
            raise LengthError(f"{value!r} is not a length; write it like 63 1/2 or 1600 mm") from error
    if abs(inches) > LONGEST:
        shown = repr(value.strip()) if isinstance(value, str) else value
        raise LengthError(f"{shown} is longer than 200 ft; check the number and its unit")
    return inches


@lru_cache(maxsize=4096)
def _read_text(text: str, unit: str) -> Fraction:
    plain = _plain(text)
    sign = -1 if plain.startswith("-") else 1
    rest = plain.removeprefix("-").strip()
    terms: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(rest):
        term = _TERM.match(rest, at)
        if term is None:
            raise _unreadable(text)
        terms.append((_number(term, text), term["unit"].lower()))
        at = term.end()
    if not terms or rest[-1] in "-,":
        raise _unreadable(text)
    if len(terms) == 1:
        number, spelt = terms[0]
        return sign * number * _inches_in(spelt or unit, text)
    (feet, foot), (inches, inch) = terms if len(terms) == 2 else (terms[0], (Fraction(-1), "?"))
    if foot not in ("'", "ft", "foot", "feet") or inch not in ("", '"', "in", "inch", "inches"):
        raise _unreadable(text)
    if feet.denominator != 1 or not 0 <= inches < 12:
        raise LengthError(f"'{text.strip()}': write whole feet, then less than 12 inches, like 5' 3-1/2\"")
    return sign * (12 * feet + inches)


def _plain(text: str) -> str:
    """One spelling for quotes, prime marks, dashes, fraction signs and spaces."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    for group, one in (("’‘′`", "'"), ("”“″", '"'), ("–—−‐‑", "-"), ("⁄∕", "/"), ("\u00a0\u202f\u2009", " ")):
        for sign in group:
            text = text.replace(sign, one)
    return text.replace("''", '"').strip()


def _number(term: re.Match[str], text: str) -> Fraction:
    if term["plain"]:
        return Fraction(term["plain"])
    top, bottom = int(term["top"]), int(term["bottom"])
    if bottom == 0:
        raise LengthError(f"'{text.strip()}' divides by zero; write a fraction like 3/8")
    if term["whole"] and top >= bottom:
        raise LengthError(f"'{text.strip()}': the fraction after a whole number must be less than one")
    return int(term["whole"] or 0) + Fraction(top, bottom)


def _unreadable(text: str) -> LengthError:
    shown = text.strip()
    if re.search(r"\d,\d", shown):
        return LengthError(f"'{shown}' has a comma in the number; write a point, like 63.5")
    return LengthError(f"'{shown}' is not a length; write it like 63 1/2, 5' 3-1/2\" or 1600 mm")


@cache
def _tape_units() -> dict[str, Fraction]:
    with data.path("units.csv").open(encoding="utf-8", newline="") as file:
        return {row["spelling"]: Fraction(row["inches"]) for row in csv.DictReader(file)}


@cache
def _inches_in(unit: str, text: str = "") -> Fraction:
    """How many inches one `unit` is: the tape's own units from the table, any other from pint."""
    known = _tape_units().get(unit)
    if known is not None:
        return known
    try:
        import pint  # only here: half a second that a tape's own units need not wait for
    except ImportError:  # in the Calc add-in, which carries no libraries
        raise LengthError(f"'{text or unit}': the unit must be ft, in, mm, cm or m") from None
    registry: Any = pint.UnitRegistry(non_int_type=Fraction)
    try:
        return Fraction(registry.Quantity(Fraction(1), unit).to("inch").magnitude)
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError) as error:
        raise LengthError(f"'{text or unit}': the unit must be ft, in, mm, cm or m") from error
