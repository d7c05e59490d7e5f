"""Money, percentages and other plain numbers as people type them, read as exact fractions."""

import datetime
import re
from fractions import Fraction
from typing import Any

from railfuncs import lengths
from railfuncs.errors import RailError, RuleError

_PLAIN = re.compile(r"-?(?:\d+\.?\d*|\.\d+)")
_LARGEST = 10**9
_LARGEST_PART = 3  # 300 %


def read(value: Any) -> Fraction:
    """Read a plain number: 18.5, "18.50" or "$18.50".

    Raises:
        RailError: one sentence saying what cannot be read and what to write instead.

    >>> read("$18.50"), read(0.1)
    (Fraction(37, 2), Fraction(1, 10))
    """
    if isinstance(value, bool | datetime.date | datetime.time | datetime.timedelta):
        raise RuleError(f"{value} is not a number; write it like 18.50")
    if isinstance(value, str):
        text = value.strip().removeprefix("$").strip()
        if not _PLAIN.fullmatch(text):
            comma = " without a comma" if "," in text else ""
            raise RuleError(f"'{value.strip()}' is not a number; write it{comma} like 18.50")
        number = Fraction(text)
    else:
        try:
            number = lengths.exact(value)
        except RailError:
            raise
        except (TypeError, ValueError, OverflowError) as error:
            raise RuleError(f"{value!r} is not a number; write it like 18.50") from error
    if abs(number) > _LARGEST:
        raise RuleError(f"{value} is too large a number here; check it")
    return number


def percent(value: Any) -> Fraction:
    """Read a percentage as the part it is: text with a sign ("20 %"), or the part itself (0.2), as cells hold it.

    >>> percent("20 %"), percent(0.0825)
    (Fraction(1, 5), Fraction(33, 400))
    """
    signed = isinstance(value, str) and value.strip().endswith("%")
    part = read(value.strip()[:-1]) / 100 if signed else read(value)
    if abs(part) > _LARGEST_PART:
        raise RuleError(f"{value} would be {float(part * 100):g} %; write 20 % or 0.2 for twenty percent")
    return part
