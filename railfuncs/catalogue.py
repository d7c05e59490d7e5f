"""What a worksheet function is: declared once, by `@function` and the docstring beside the rule's body.

The docstring is the declaration: a one-line summary, then `Args:` lines `name (kind): help`, `Returns (kind): help`,
`Source:` and a running `Example:`. Kinds: length, lengths, whole, counts, amount and money (plain numbers), percent
(a part: 0.2 is 20 %), text, anything (cells or ranges, handed on as they are), columns whose blanks count
(lengths_or_blank, amounts_or_blank), or choices such as `any|odd|even`.
"""

import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import wraps
from itertools import repeat, zip_longest
from typing import Any, ParamSpec, TypeVar

from railfuncs import amounts, lengths
from railfuncs.errors import RailError, RuleError

P = ParamSpec("P")
R = TypeVar("R")

_LISTS = ("lengths", "counts", "anything", "lengths_or_blank", "amounts_or_blank")
_READERS: dict[str, Callable[[Any], Fraction]] = {
    "amount": amounts.read, "money": amounts.read, "amounts_or_blank": amounts.read, "percent": amounts.percent,
}  # fmt: skip


@dataclass(frozen=True)
class Argument:
    """One argument: `default` is None where it must be given."""

    name: str
    kind: str
    help: str
    default: Any

    @property
    def choices(self) -> tuple[str, ...]:
        return tuple(self.kind.split("|")) if "|" in self.kind else ()

    @property
    def takes_range(self) -> bool:
        """Whether a range is one value to it, rather than one value a cell."""
        return self.kind in _LISTS

    @property
    def takes_number(self) -> bool:
        """Whether it is one number."""
        return not self.takes_range and not self.choices and self.kind != "text"


@dataclass(frozen=True)
class Function:
    """One entry of the catalogue; hosts and documents are made from these."""

    name: str
    group: str
    summary: str
    details: str
    arguments: tuple[Argument, ...]
    returns: Argument
    source: str
    example: str
    has_formula: bool
    returns_list: bool
    rule: Callable[..., Any]

    def __call__(self, *args: Any) -> Any:
        """Values as a person or a spreadsheet gives them: text lengths, floats, blanks, ranges, arrays."""
        return over_ranges(self, args, exactly)


_functions: dict[str, Function] = {}


def functions() -> dict[str, Function]:
    """Every worksheet function by its name.

    >>> functions()["RAIL_GAP"].summary
    'Clear gap between balusters, all gaps the same.'
    """
    from railfuncs.rules import (  # noqa: F401  (importing declares them)
        checks,
        cutting,
        explain,
        measure,
        price,
        rake,
        spacing,
        stock,
        treads,
    )

    # In the order of the files and of their lines, whichever of them was imported first.
    def place(entry: Function) -> tuple[str, int]:
        return entry.rule.__module__, entry.rule.__code__.co_firstlineno

    return {entry.name: entry for entry in sorted(_functions.values(), key=place)}


def function(
    group: str, *, name: str = "", formula: bool = True, returns_list: bool = False
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declare a rule as a worksheet function of a group.

    Args:
        name: where Python's own word must not be hidden (`round`), the worksheet name after the prefix
        formula: whether the rule has native formula text (no loop over a list inside)
        returns_list: whether one call returns a column
    """

    def declare(rule: Callable[P, R]) -> Callable[P, R]:
        entry = _read_declaration(rule, group, name or rule.__name__.upper(), formula, returns_list)
        _functions[entry.name] = entry
        return _exact(rule)

    return declare


def _exact(rule: Callable[P, R]) -> Callable[P, R]:
    """Rules compute with fractions: a float given by hand is taken as the fraction it stands for."""

    @wraps(rule)
    def exactly(*args: P.args, **kwargs: P.kwargs) -> R:
        if any(hasattr(value, "__array__") for value in args):  # a column stays in floats throughout
            return rule(*args, **kwargs)
        return rule(*map(_fraction, args), **{k: _fraction(v) for k, v in kwargs.items()})

    return exactly


def _fraction(value: Any) -> Any:
    return lengths.exact(value) if isinstance(value, float) else Fraction(value) if type(value) is int else value


def _read_declaration(
    rule: Callable[..., Any], group: str, name: str, formula: bool, returns_list: bool
) -> Function:
    text = inspect.getdoc(rule) or ""
    head, _, rest = text.partition("\nArgs:\n")
    summary, _, details = head.partition("\n")
    helps = {m[1]: (m[2], m[3]) for m in re.finditer(r"^    (\w+) \(([\w|]+)\): (.+)$", rest, re.MULTILINE)}
    arguments = []
    for parameter in inspect.signature(rule).parameters.values():
        kind, help_text = helps[parameter.name]
        default = None if parameter.default is parameter.empty else parameter.default
        arguments.append(Argument(parameter.name, kind, help_text, default))
    returned = re.search(r"^Returns \((\w+)\): (.+)$", rest, re.MULTILINE)
    source = re.search(r"^Source: (.+)$", rest, re.MULTILINE)
    example = re.search(r"^Example:\n((?:    .*\n?)+)", rest, re.MULTILINE)
    if not (returned and source and example):
        raise TypeError(f"{rule.__name__} must declare what it returns, its source and an example")
    returns = Argument("result", returned[1], returned[2], None)
    return Function(
        f"RAIL_{name}", group, summary, details.strip(), tuple(arguments), returns, source[1],
        inspect.cleandoc(example[1]), formula, returns_list, rule,
    )  # fmt: skip


One = Callable[[Function, tuple[Any, ...]], Any]


def over_ranges(entry: Function, args: tuple[Any, ...], one: One) -> Any:
    """`one` called for single cells, or for each row and column of the ranges among `args`."""
    if len(args) > len(entry.arguments):
        raise RuleError(f"{entry.name} takes at most {len(entry.arguments)} values")
    for argument in entry.arguments[len(args) :]:
        if argument.default is None:
            raise RuleError(f"{entry.name} needs its {argument.name.replace('_', ' ')}: {argument.help}")
    arrays = [v for v in args if hasattr(v, "__array__") and _is_range(v)]
    if arrays and all(a.dtype.kind in "fiu" for a in arrays):
        return entry.rule(*[_whole_column(a, v) for a, v in zip_longest(entry.arguments, args)])
    grids = {i: _grid(v) for i, v in enumerate(args) if _is_range(v) and entry.arguments[i].kind not in _LISTS}
    if not grids:
        return one(entry, args)
    if entry.returns_list:
        raise RuleError(f"{entry.name} gives a whole column for one opening; give it single cells")
    rows, columns = _shape(entry, list(grids.values()))
    flat = any(not _is_range(row) for i in grids for row in args[i])
    cells = zip(
        *[_spread(grids[i], rows, columns) if i in grids else repeat(v) for i, v in enumerate(args)], strict=False
    )
    results = [one(entry, values) for values in cells]
    if flat and columns == 1:
        return results
    return [results[at : at + columns] for at in range(0, len(results), columns)]


def _whole_column(argument: Argument, value: Any) -> Any:
    if hasattr(value, "__array__"):
        return value.astype(float)
    cleaned = _clean(argument, value)
    return float(cleaned) if isinstance(cleaned, Fraction) else cleaned


def _is_range(value: Any) -> bool:
    return isinstance(value, list | tuple) or len(getattr(value, "shape", ())) > 0


def _grid(value: Any) -> list[Any]:
    return [row if isinstance(row, list | tuple) else list(row) if _is_range(row) else [row] for row in value]


def _shape(entry: Function, grids: list[list[Any]]) -> tuple[int, int]:
    rows, columns = max(len(g) for g in grids), max(len(g[0]) for g in grids)
    for grid in grids:
        if len(grid) not in (1, rows) or not {1, columns}.issuperset(map(len, grid)):
            raise RuleError(f"the ranges given to {entry.name} are of different sizes")
    return rows, columns


def _spread(grid: list[Any], rows: int, columns: int) -> Iterator[Any]:
    """Every cell, row by row; a single row or column is repeated to the shape of the others."""
    for row in grid if len(grid) == rows else grid * rows:
        yield from row if len(row) == columns else row * columns


def exactly(entry: Function, args: tuple[Any, ...]) -> Any:
    """One call. A blank where a value is needed gives a blank, so that a column can be filled past the data."""
    values = []
    for argument, value in zip_longest(entry.arguments, args):
        if _blank(value):
            if argument.default is None:
                return None
            value = argument.default
        values.append(_clean(argument, value))
    return entry.rule(*values)


def _blank(value: Any) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def _clean(argument: Argument, value: Any) -> Any:
    """The one gate: what a cell holds becomes what a rule computes with."""
    label = argument.name.replace("_", " ")
    if argument.kind == "anything":
        return value
    try:
        if _blank(value):
            return _clean(argument, argument.default)
        if argument.choices:
            chosen = str(value).strip().lower()
            if chosen not in argument.choices:
                raise RuleError(f"'{value}' is not one of {', '.join(argument.choices)}")
            return chosen
        if argument.kind in _LISTS:
            flat = list(_flatten(value)) if _is_range(value) else [value]
            reader = _READERS.get(argument.kind, lengths.read)
            if argument.kind.endswith("_or_blank"):
                return [None if _blank(each) else reader(each) for each in flat]
            return [reader(each) for each in flat if not _blank(each)]
        if argument.kind == "whole":
            return _whole(value)
        return value if argument.kind == "text" else _READERS.get(argument.kind, lengths.read)(value)
    except RailError as error:
        raise type(error)(f"{label}: {error}") from error


def _flatten(value: Any) -> Iterator[Any]:
    for each in value:
        yield from _flatten(each) if _is_range(each) else (each,)


def _whole(value: Any) -> Fraction:
    number = lengths.read(value) if isinstance(value, str) else lengths.exact(value)
    if number.denominator != 1:
        raise RuleError(f"{value} is not a whole number")
    return number
