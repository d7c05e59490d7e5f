"""Check tables: one row a check, with its source; the same rows judge Python, formula text and Calc."""

import csv
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class Check:
    """One row. `expected` is a Fraction, a text, or None where the function must refuse."""

    function: str
    arguments: tuple[Any, ...]
    expected: Any
    tolerance: Fraction
    source: str
    place: str
    where: str


def value(text: str) -> Any:
    """A number as tables write it (7, 7/8, 3 7/8, 63.5/18, sums of these); any other text as it is."""
    one = r"-?(?:\d+ )?\d+(?:\.\d+)?(?:/\d+(?:\.\d+)?)?"
    if not re.fullmatch(rf"{one}(?:\+{one})*", text):
        return text
    return sum((_number(part) for part in text.split("+")), Fraction(0))


def _number(text: str) -> Fraction:
    *whole, last = text.lstrip("-").split(" ")
    top, _, bottom = last.partition("/")
    number = Fraction(whole[0] if whole else 0) + Fraction(top) / Fraction(bottom or 1)
    return -number if text.startswith("-") else number


@cache
def rows() -> tuple[Check, ...]:
    """Every row of every table of this folder."""
    found = []
    for path in sorted(FOLDER.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for line, row in enumerate(csv.DictReader(file), start=2):
                texts = row["function"] in ("RAIL_INCHES",)
                arguments = tuple(part if texts else value(part) for part in row["arguments"].split(";"))
                answer = row["expected"] if row["function"] == "RAIL_TAPE" else value(row["expected"])
                found.append(Check(
                    row["function"], arguments, None if answer == "error" else answer, Fraction(row["tolerance"]),
                    row["source"], row["place"], f"{path.name}:{line}",
                ))  # fmt: skip
    return tuple(found)


def agrees(check: Check, got: Any, slack: Fraction = Fraction(0)) -> bool:
    """Whether a result is the row's expected one, within its tolerance (and a host's own slack)."""
    if check.expected is None or isinstance(check.expected, str):
        return bool(got == check.expected)
    return got is not None and not isinstance(got, str) and abs(Fraction(got) - check.expected) <= check.tolerance + slack
