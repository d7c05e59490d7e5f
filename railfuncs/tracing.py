"""One rule body, three evaluations: exact numbers, NumPy columns, and spreadsheet formula text.

A rule uses ordinary arithmetic and the helpers below. Given numbers it computes; given arrays it computes
whole columns; given `Ref` cell references it builds the native formula for those cells.

Floats (columns and spreadsheets) are snapped: `floor` and `ceil` treat a number within `SNAP` of a whole
number as that number, and the comparisons treat two lengths within `SNAP` as equal, so a tie falls the same way
in every spreadsheet and in exact fractions. That holds for lengths measured to 1/64 in, 0.001 in or 0.1 mm and
up to 250 balusters: between such lengths no true difference is as small as `SNAP`.
"""

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from railfuncs.errors import RuleError

SNAP = Fraction(1, 10**9)
_SNAP_FLOAT = float(SNAP)

_RANK = {"&": 2, "=": 1, "<": 1, ">": 1, "<=": 1, ">=": 1, "<>": 1, "+": 3, "-": 3, "*": 4, "/": 4}
_ATOM = 9


class Expr:
    """A spreadsheet expression. `parts` are literal text and slots (`Ref`s); `rank` says how tightly it binds."""

    __slots__ = ("parts", "rank")

    def __init__(self, parts: tuple[Any, ...], rank: int) -> None:
        self.parts = parts
        self.rank = rank

    def __bool__(self) -> bool:
        raise TypeError("a rule may not branch on a cell's value with `if`; use where()")

    def __add__(self, other: Any) -> "Expr":
        return _binary("+", self, other)

    def __radd__(self, other: Any) -> "Expr":
        return _binary("+", other, self)

    def __sub__(self, other: Any) -> "Expr":
        return _binary("-", self, other)

    def __rsub__(self, other: Any) -> "Expr":
        return _binary("-", other, self)

    def __mul__(self, other: Any) -> "Expr":
        return _binary("*", self, other)

    def __rmul__(self, other: Any) -> "Expr":
        return _binary("*", other, self)

    def __truediv__(self, other: Any) -> "Expr":
        return _binary("/", self, other)

    def __rtruediv__(self, other: Any) -> "Expr":
        return _binary("/", other, self)

    def __neg__(self) -> "Expr":
        return _binary("-", 0, self)

    def __eq__(self, other: object) -> "Expr":  # type: ignore[override]
        return _binary("=", self, other)

    def __ne__(self, other: object) -> "Expr":  # type: ignore[override]
        return _binary("<>", self, other)

    def __lt__(self, other: Any) -> "Expr":
        return _binary("<", self, other)

    def __le__(self, other: Any) -> "Expr":
        return _binary("<=", self, other)

    def __gt__(self, other: Any) -> "Expr":
        return _binary(">", self, other)

    def __ge__(self, other: Any) -> "Expr":
        return _binary(">=", self, other)

    __hash__ = object.__hash__

    def text(self) -> str:
        """The formula, without its leading equals sign."""
        return "".join(part.name if isinstance(part, Ref) else part for part in self.parts)


class Ref(Expr):
    """A cell or range reference, or a slot to be filled with one."""

    __slots__ = ("name",)

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__((self,), _ATOM)


def _literal(value: Any) -> Expr:
    if isinstance(value, Expr):
        return value
    if isinstance(value, str):
        doubled = value.replace('"', '""')
        return Expr((f'"{doubled}"',), _ATOM)
    if isinstance(value, bool):
        return Expr(("TRUE()" if value else "FALSE()",), _ATOM)
    number = Fraction(value)
    scale = 1
    while (number * scale).denominator != 1 and scale < 10**12:
        scale *= 10
    if (number * scale).denominator == 1:
        # Plain digits: no exponent, which some spreadsheets read as a name.
        digits = str(abs((number * scale).numerator)).rjust(len(str(scale)), "0")
        cut = len(str(scale)) - 1
        shown = digits[:-cut] + "." + digits[-cut:] if cut else digits
        return Expr((shown,), _ATOM) if number >= 0 else Expr((f"(-{shown})",), _ATOM)
    return Expr((f"({number.numerator}/{number.denominator})",), _ATOM)


def _binary(sign: str, left: Any, right: Any) -> Expr:
    rank = _RANK[sign]
    one, two = _literal(left), _literal(right)
    # Comparisons do not chain, and - and / do not associate: bracket whatever could be read two ways.
    loose = rank == 1 or sign in "-/"
    return Expr((*_bracketed(one, rank + (rank == 1)), sign, *_bracketed(two, rank + loose)), rank)


def _bracketed(part: Expr, rank: int) -> tuple[Any, ...]:
    return part.parts if part.rank >= rank else ("(", *part.parts, ")")


def call(function: str, *args: Any) -> Expr:
    """A call of a spreadsheet's own function."""
    parts: list[Any] = [function, "("]
    for number, arg in enumerate(args):
        if number:
            parts.append(",")
        parts.extend(_literal(arg).parts)
    return Expr((*parts, ")"), _ATOM)


def traced(*values: Any) -> bool:
    """Whether any of the values is a spreadsheet expression rather than a number."""
    return any(isinstance(value, Expr) for value in values)


def _arrays(*values: Any) -> Any:
    """NumPy, where one of the values is an array; else None. The core itself never imports it."""
    if any(hasattr(value, "__array__") for value in values):
        import numpy

        return numpy
    return None


def floor(value: Any) -> Any:
    """The whole number at or below (a float within SNAP below a whole number counts as that number)."""
    if type(value) is float:
        return math.floor(value + _SNAP_FLOAT)
    if isinstance(value, Fraction):
        return value.numerator // value.denominator
    if traced(value):
        return call("INT", value + SNAP)
    numpy = _arrays(value)
    if numpy is not None:
        return numpy.floor(value + _SNAP_FLOAT)
    return math.floor(value + _SNAP_FLOAT) if isinstance(value, float) else math.floor(value)


def ceil(value: Any) -> Any:
    """The whole number at or above."""
    return -floor(-value)


def round_half_up(value: Any) -> Any:
    """The nearest whole number; a half goes up, for negative numbers too (-1/2 gives 0)."""
    return floor(value + Fraction(1, 2) if not isinstance(value, float) and not _arrays(value) else value + 0.5)


def where(condition: Any, yes: Any, no: Any) -> Any:
    """`yes` where the condition holds, else `no`.

    A branch that only makes sense when it is taken (it reads a cell that may be empty) is given as a function.
    """
    if isinstance(condition, bool) or not (traced(condition) or hasattr(condition, "__array__")):
        return _made(yes if condition else no)
    if traced(condition):
        return call("IF", condition, _taken(condition, yes), _taken(call("NOT", condition), no))
    return _arrays(condition).where(condition, _made(yes), _made(no))


def _made(branch: Any) -> Any:
    return branch() if callable(branch) else branch


def _taken(condition: Expr, branch: Any) -> Any:
    """A branch of a formula; what it needs when given as a function, it needs only where it is taken."""
    if not callable(branch) or not _open_traces:
        return _made(branch)
    needs = _open_traces[-1].needs
    before = len(needs)
    made = branch()
    needs[before:] = [(call("IF", condition, asked, True), sentence) for asked, sentence in needs[before:]]
    return made


def both(one: Any, two: Any) -> Any:
    """Whether both conditions hold."""
    if traced(one, two):
        return call("AND", one, two)
    return one & two


def under(value: Any, limit: Any) -> Any:
    """Whether a length is truly less than a limit: equal counts as reaching it."""
    return value < limit - (_SNAP_FLOAT if _floating(value, limit) else SNAP if traced(value, limit) else 0)


def at_most(value: Any, limit: Any) -> Any:
    """Whether a length is no more than a limit; equal counts as at most."""
    return value <= limit + (_SNAP_FLOAT if _floating(value, limit) else SNAP if traced(value, limit) else 0)


def _floating(*values: Any) -> bool:
    return not traced(*values) and any(isinstance(v, float) or hasattr(v, "__array__") for v in values)


def _pick(function: str, choose: Callable[[Any, Any], Any], ufunc: str) -> Callable[[Any, Any], Any]:
    def picked(one: Any, two: Any) -> Any:
        if isinstance(one, int | Fraction) and isinstance(two, int | Fraction):
            return choose(one, two)
        if traced(one, two):
            return call(function, one, two)
        numpy = _arrays(one, two)
        return getattr(numpy, ufunc)(one, two) if numpy is not None else choose(one, two)

    return picked


maximum = _pick("MAX", max, "maximum")
minimum = _pick("MIN", min, "minimum")
gcd = _pick("GCD", lambda one, two: math.gcd(int(one), int(two)), "gcd")


def sqrt(value: Any) -> Any:
    """The square root; of a fraction that is a square, such as a 3-4-5 stair's, the exact fraction."""
    if traced(value):
        return call("SQRT", value)
    numpy = _arrays(value)
    if numpy is not None:
        return numpy.sqrt(value)
    if isinstance(value, int | Fraction) and value >= 0:
        ratio = Fraction(value)
        top, bottom = math.isqrt(ratio.numerator), math.isqrt(ratio.denominator)
        if top * top == ratio.numerator and bottom * bottom == ratio.denominator:
            return Fraction(top, bottom)
    return math.sqrt(value)


# The only whole degrees of a quarter turn where these are fractions (Niven's theorem).
_EXACT_SIN = {0: Fraction(0), 30: Fraction(1, 2), 90: Fraction(1)}
_EXACT_COS = {90 - degrees: value for degrees, value in _EXACT_SIN.items()}
_EXACT_TAN = {0: Fraction(0), 45: Fraction(1)}


def _of_degrees(function: str, known: dict[int, Fraction]) -> Callable[[Any], Any]:
    def of_degrees(degrees: Any) -> Any:
        if traced(degrees):
            return call(function, degrees * call("PI") / 180)
        numpy = _arrays(degrees)
        if numpy is not None:
            return getattr(numpy, function.lower())(numpy.radians(degrees))
        if degrees in known:
            return known[degrees]
        return getattr(math, function.lower())(math.radians(degrees))

    return of_degrees


# Of an angle in degrees from 0 to 90.
sin = _of_degrees("SIN", _EXACT_SIN)
cos = _of_degrees("COS", _EXACT_COS)
tan = _of_degrees("TAN", _EXACT_TAN)


def atan(ratio: Any) -> Any:
    """The angle in degrees whose tangent is the ratio."""
    if traced(ratio):
        return call("ATAN", ratio) * 180 / call("PI")
    numpy = _arrays(ratio)
    if numpy is not None:
        return numpy.degrees(numpy.arctan(ratio))
    for degrees, known in _EXACT_TAN.items():
        if ratio == known:
            return Fraction(degrees)
    return math.degrees(math.atan(ratio))


def largest(values: Any) -> Any:
    """The largest number of a range; text in it is passed over."""
    if traced(values):
        return call("MAX", values)
    return max((value for value in values if not isinstance(value, str)), default=0)


def smallest(values: Any) -> Any:
    """The smallest number of a range; text in it is passed over."""
    if traced(values):
        return call("MIN", values)
    return min((value for value in values if not isinstance(value, str)), default=0)


def total(values: Any) -> Any:
    """The sum of a range; text in it is passed over."""
    if traced(values):
        return call("SUM", values)
    return sum(value for value in values if not isinstance(value, str))


def is_number(value: Any) -> Any:
    """Whether a cell holds a number."""
    if traced(value):
        return call("ISNUMBER", value)
    return not isinstance(value, str) and value is not None


def is_blank(value: Any) -> Any:
    """Whether a cell holds nothing, or an empty text."""
    if traced(value):
        return _binary("=", value, "")
    return value is None or value == ""


def join(*parts: Any) -> Any:
    """Text made of texts and whole numbers."""
    if traced(*parts):
        whole = parts[0]
        for part in parts[1:]:
            whole = _binary("&", whole, part)
        return _binary("&", whole, "") if len(parts) == 1 else whole
    numpy = _arrays(*parts)
    if numpy is not None:
        column = numpy.vectorize(_joined, otypes=[object])(*parts)
        return column if column.ndim else column.item()
    return _joined(*parts)


def _joined(*parts: Any) -> str:
    return "".join(part if isinstance(part, str) else str(int(part)) for part in parts)


@dataclass
class Trace:
    """What a rule asked for while its formula was being built."""

    helpers: dict[str, Ref]
    kept: dict[str, Expr] = field(default_factory=dict)
    needs: list[tuple[Expr, str]] = field(default_factory=list)


_open_traces: list[Trace] = []


@contextmanager
def tracing(helpers: dict[str, Ref] | None = None) -> Iterator[Trace]:
    """Collect the needs and the helper steps of the rules called with `Ref`s inside."""
    trace = Trace(helpers or {})
    _open_traces.append(trace)
    try:
        yield trace
    finally:
        _open_traces.remove(trace)


def need(condition: Any, sentence: str) -> None:
    """State what must hold for the rule: `RuleError(sentence)` for numbers, a guard beside a formula."""
    if condition is True:  # at once: a column of floats asks this many times a row
        return
    if traced(condition):
        if _open_traces:
            _open_traces[-1].needs.append((condition, sentence))
    elif (numpy := _arrays(condition)) is not None:
        bad = numpy.flatnonzero(numpy.logical_not(condition))
        if len(bad):
            raise RuleError(f"row {int(bad[0]) + 1}: {sentence}")
    elif not condition:
        raise RuleError(sentence)


def keep(name: str, value: Any) -> Any:
    """A step worth a helper cell of its own: used in place, or through the cell the caller set aside for it."""
    if traced(value) and _open_traces and name in _open_traces[-1].helpers:
        _open_traces[-1].kept[name] = value
        return _open_traces[-1].helpers[name]
    return value


def formula(rule: Callable[..., Any], *args: Any, **kwargs: Any) -> str:
    """The native formula text of a rule for the given references and constants.

    >>> from railfuncs.rules.spacing import gap
    >>> formula(gap, Ref("B4"), Ref("B5"), Ref("B6"))
    '=(B4-B6*B5)/(B6+1)'
    """
    with tracing():
        return "=" + _literal(rule(*args, **kwargs)).text()
