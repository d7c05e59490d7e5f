"""Lengths: what people type on a tape measure, read as exact fractions of an inch."""

import csv
import datetime
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from numbers import Rational
from typing import Any

from railfuncs import data
from railfuncs.errors import LengthError

MM = Fraction(5, 127)  # one millimetre in inches: 1 in is 25.4 mm exactly
LONGEST = Fraction(2400)  # 200 ft: a longer "opening" is a slip of the keys

# What is taken from pint, of all the lengths it knows: it would read 3rd as three rods, and 4th as mils.
_ELSEWHERE = {("", name) for name in ("inch", "foot", "yard", "mile")} | {
    (prefix, "meter") for prefix in ("", "deci", "centi", "milli", "micro")
}
_LONGEST_TEXT = 60  # characters; "199 feet and 11 63/64 inches" has 28

# Signs of one character, and typeset fractions such as ⁵⁄₁₆ and ⅟₁₆. Superscripts alone are no numbers.
_FRACTION = re.compile("⅟[₀-₉]+|[¼-¾⅐-⅟↉]|[⁰¹²³⁴-⁹]+[/⁄∕][₀-₉]+")
_ONE_SPELLING = str.maketrans(
    dict.fromkeys("’‘‛′‵´`ʹʼ＇", "'")
    | dict.fromkeys("”“„‟″‶˝ʺ〃＂", '"')
    | dict.fromkeys("–—―‒−‐‑－", "-")
    | dict.fromkeys("⁄∕／", "/")
    # Marks that nobody sees come along when text is copied; a digit before and one after are still two numbers.
    | dict.fromkeys("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff", " ")
)
_AND = r"-|&|\band\b"
_NUMBER = (
    rf"(?:(?P<whole>\d+)(?:\s+|\s*(?:{_AND})\s*))?(?P<top>\d+)(?P<bar>\s*/\s*)(?P<bottom>\d+)"
    r"|(?P<plain>\d+\.?\d*|\.\d+)"
)
_UNIT = r"\s*(?P<sign>['\"])|\s*-?\s*(?P<word>[a-z]+)\.?|"
_TERM = re.compile(rf"(?:{_NUMBER})(?:{_UNIT})\s*(?P<tail>{_AND}|,|)\s*")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_DATE = re.compile(rf"\d+([-/.])\d+\1\d+|\d+[-./ ]*{_MONTH}[-./ ]*\d*|{_MONTH}[-./ ]*\d+")
_WRITE = "write it like 63 1/2, 5' 3-1/2\" or 1600 mm"
_NO_DATE = "write it as 0 3/4 or 0.75, or type an apostrophe before it"


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
        raise LengthError(f"the spreadsheet has turned this length into a date; {_NO_DATE}")
    if isinstance(value, str):
        inches = _read_text(value, unit)
    else:
        try:
            inches = exact(value) * _inches_in(unit)
        except (TypeError, ValueError, OverflowError) as error:
            raise LengthError(f"{in_brief(repr(value))} is not a length; write it like 63 1/2 or 1600 mm") from error
    if abs(inches) > LONGEST:
        number = value if abs(inches) < 10**15 else "this number"  # which may have too many digits to be shown
        shown = f"'{in_brief(value)}'" if isinstance(value, str) else number
        raise LengthError(f"{shown} is longer than 200 ft; check the number and its unit")
    return inches


@lru_cache(maxsize=4096)
def _read_text(text: str, unit: str) -> Fraction:
    plain = _plain(text)
    if len(plain) > _LONGEST_TEXT:
        raise _unreadable(text)
    sign = -1 if plain.startswith("-") else 1
    rest = plain.removeprefix("-").strip()
    terms: list[tuple[Fraction, str]] = []
    at, tail = 0, ""
    while at < len(rest):
        term = _TERM.match(rest, at)
        if term is None:
            raise _unreadable(text)
        terms.append((_number(term, text), term["sign"] or term["word"] or ""))
        at, tail = term.end(), term["tail"]
    if not terms or tail or _DATE.fullmatch(plain):
        raise _unreadable(text)
    if len(terms) == 1:
        number, spelt = terms[0]
        return sign * number * _inches_in(spelt or unit, text)
    (feet, foot), (inches, inch) = terms if len(terms) == 2 else (terms[0], (Fraction(-1), "?"))
    if foot not in ("'", "ft", "foot", "feet") or inch not in ("", '"', "in", "inch", "inches"):
        raise _unreadable(text)
    if feet.denominator != 1 or not 0 <= inches < 12:
        raise LengthError(f"'{in_brief(text)}': write whole feet, then less than 12 inches, like 5' 3-1/2\"")
    return sign * (12 * feet + inches)


def _plain(text: str) -> str:
    """One spelling for quotes, prime marks, dashes and fractions; small letters."""
    # Spaces around a fraction: after ½ a digit would be read into its lower number.
    text = _FRACTION.sub(lambda found: f" {unicodedata.normalize('NFKD', found[0])} ", text)
    return text.translate(_ONE_SPELLING).replace("''", '"').strip().lower()


def _number(term: re.Match[str], text: str) -> Fraction:
    if term["plain"]:
        return Fraction(term["plain"])
    top, bottom = int(term["top"]), int(term["bottom"])
    if bottom == 0:
        raise LengthError(f"'{in_brief(text)}' divides by zero; write a fraction like 3/8")
    if term["whole"] and top >= bottom:
        raise LengthError(f"'{in_brief(text)}': the fraction after a whole number must be less than one")
    if term["bar"] != "/" and top >= bottom:  # 63 /2 was perhaps to be 63 1/2
        raise LengthError(f"'{in_brief(text)}': the top number of the fraction may be missing; write it like 63 1/2")
    return int(term["whole"] or 0) + Fraction(top, bottom)


def _unreadable(text: str) -> LengthError:
    shown = in_brief(text)
    if re.search(r"\d,\d", shown):
        return LengthError(f"'{shown}' has a comma in the number; write a point, like 63.5")
    if _DATE.fullmatch(_plain(text)):
        return LengthError(f"'{shown}' is not a length but a date; {_NO_DATE}")
    return LengthError(f"'{shown}' is not a length; {_WRITE}")


def in_brief(text: str) -> str:
    """Text within a sentence: on one line, cut where it is long, with nothing that cannot be printed."""
    line = "".join(sign if sign.isprintable() else "�" for sign in " ".join(text.split()))
    return line if len(line) <= 40 else line[:39] + "…"


@cache
def _tape_units() -> dict[str, Fraction]:
    with data.path("units.csv").open(encoding="utf-8", newline="") as file:
        return {row["spelling"]: Fraction(row["inches"]) for row in csv.DictReader(file)}


def _inches_in(unit: str, text: str = "") -> Fraction:
    """How many inches one `unit` is: the tape's own units from the table, other spellings of them from pint."""
    known = _tape_units().get(unit)
    if known is not None:
        return known
    unknown = LengthError(f"'{in_brief(text or unit)}': the unit must be ft, in, mm, cm or m")
    try:
        registry = _registry()
    except ImportError:  # in the Calc add-in, which carries no libraries
        raise unknown from None
    for prefix, name, _ in registry.parse_unit_name(unit):
        if (prefix, name) in _ELSEWHERE:
            return Fraction(registry.Quantity(Fraction(1), prefix + name).to("inch").magnitude)
    raise unknown


@cache
def _registry() -> Any:
    import pint  # only here: half a second that a tape's own units need not wait for

    return pint.UnitRegistry(non_int_type=Fraction)
