"""Between a spreadsheet's cells and the rules: floats and texts in, blocks of floats and texts out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import repeat, zip_longest
from typing import Any

from railfuncs import lengths
from railfuncs.catalogue import Argument, Function, exactly, over_ranges
from railfuncs.errors import RailError

Block = list[list[Any]]

_FARTHEST = float(lengths.LONGEST)


def answer(entry: Function, args: Sequence[Any], refused: Callable[[RailError], Any]) -> Block:
    """What the cells of a call show: rows of floats and texts, a blank as an empty text.

    Args:
        args: numbers, texts, `None` for what was left out, ranges as rows of these
        refused: what stands in a cell whose values were refused; of a column, only that cell is lost

    >>> from railfuncs.catalogue import functions
    >>> answer(functions()["RAIL_GAP"], [((72.0,), (10.0,), ("",)), 0.5, ((17.0,), (20.0,), (17.0,))], str)
    [[3.5277777777777777], ['that many balusters do not fit in the opening'], ['']]
    """
    given = [_alone(value) for value in args]
    while given and given[-1] is None and entry.arguments[len(given) - 1].default is not None:
        given.pop()
    if not entry.returns_list and (at_once := _at_once(entry, given)) is not None:
        return at_once

    def one(entry: Function, values: tuple[Any, ...]) -> Any:
        try:
            plain = _in_floats(entry, values)
            result = exactly(entry, values) if plain is None else entry.rule(*plain)
        except RailError as error:
            return refused(error)
        return result if isinstance(result, list) else _shown(result)

    try:
        result = over_ranges(entry, tuple(given), one)
    except RailError as error:
        return [[refused(error)]]
    if entry.returns_list and isinstance(result, list):
        return [[_shown(cell) for cell in row] for row in as_rows(result)] or [[""]]
    return result if isinstance(result, list) else [[result]]


def as_rows(result: Any) -> Block:
    """A result as rows: a list is a column, unless its items are rows themselves."""
    if not isinstance(result, list):
        return [[result]]
    return [list(row) if isinstance(row, list | tuple) else [row] for row in result]


def _alone(value: Any) -> Any:
    """A range of one cell is that cell."""
    if isinstance(value, list | tuple) and len(value) == 1 and len(value[0]) == 1:
        return value[0][0]
    return value


def _shown(result: Any) -> Any:
    if result is None:
        return ""
    return result if isinstance(result, str) else float(result)


def _in_floats(entry: Function, values: Sequence[Any]) -> list[Any] | None:
    """The values as the rule can take them in floats; None where any of them needs to be read exactly.

    Rules give the same in floats as in fractions (see railfuncs.tracing), many times faster.
    """
    takers = _known[entry.name] if entry.name in _known else _takers(entry)
    if takers is None:
        return None
    plain = [taker.plain(value) for taker, value in zip_longest(takers, values)]
    return None if None in plain else plain


def _at_once(entry: Function, given: Sequence[Any]) -> Block | None:
    """The answer for plain floats, in single cells or in columns that hold nothing else; None for all the rest.

    What a row costs decides here: a column is checked as a whole, and only the rule itself is called for each row.
    """
    try:
        plain = _in_floats(entry, given)
        if plain is not None:
            return [[_shown(entry.rule(*plain))]]
        columns = _columns(entry, given)
        return columns and [[_shown(result)] for result in map(entry.rule, *columns)]
    except RailError:
        return None  # row by row, to tell which


def _columns(entry: Function, given: Sequence[Any]) -> list[Any] | None:
    takers = _known[entry.name]
    if takers is None:
        return None
    columns: list[Any] = []
    for taker, value in zip_longest(takers, given):
        if isinstance(value, list | tuple):
            if set(map(len, value)) != {1} or taker.takes_all is None:
                return None
            column = [row[0] for row in value]
            if set(map(type, column)) != {float} or not taker.takes_all(column):
                return None
            columns.append(column)
        elif (plain := taker.plain(value)) is None:
            return None
        else:
            columns.append(repeat(plain))
    lengths_given = {len(column) for column in columns if isinstance(column, list)}
    return columns if len(lengths_given) == 1 else None


@dataclass(frozen=True)
class _Taker:
    """How one argument is taken in floats: a single value, a whole column of floats, and the default as a float."""

    takes: Callable[[Any], bool]
    takes_all: Callable[[list[float]], bool] | None
    default: Any

    def plain(self, value: Any) -> Any:
        """The value as the rule can take it; the default for a blank; None where it needs to be read exactly."""
        if value is None or value == "":
            return self.default
        return value if self.takes(value) else None


_known: dict[str, list[_Taker] | None] = {}


def _takers(entry: Function) -> list[_Taker] | None:
    if all(argument.choices or argument.kind in _KINDS for argument in entry.arguments):
        _known[entry.name] = [_taker(argument) for argument in entry.arguments]
    else:
        _known[entry.name] = None
    return _known[entry.name]


def _is_measure(value: Any) -> bool:
    return type(value) is float and -_FARTHEST <= value <= _FARTHEST


def _are_measures(column: list[float]) -> bool:
    return min(column) >= -_FARTHEST and max(column) <= _FARTHEST


def _is_whole(value: Any) -> bool:
    return type(value) is float and value.is_integer()


def _are_whole(column: list[float]) -> bool:
    return all(map(float.is_integer, column))


_KINDS = {
    "length": (_is_measure, _are_measures), "degrees": (_is_measure, _are_measures), "whole": (_is_whole, _are_whole),
}  # fmt: skip


def _taker(argument: Argument) -> _Taker:
    takes, takes_all = (argument.choices.__contains__, None) if argument.choices else _KINDS[argument.kind]
    number = isinstance(argument.default, int | Fraction)
    return _Taker(takes, takes_all, float(argument.default) if number else argument.default)


def help_text(argument: Argument) -> str:
    """The help of an argument with its kind and what it is when left out."""
    kinds = {
        "length": "a length", "lengths": "lengths", "degrees": "degrees", "whole": "a whole number", "text": "text",
        "counts": "whole numbers", "amount": "a number", "money": "money", "percent": "a part: 0.2 or 20%",
        "lengths_or_blank": "lengths; blank cells count", "amounts_or_blank": "numbers; blank cells count",
    }  # fmt: skip
    notes = ["one of " + ", ".join(argument.choices) if argument.choices else kinds.get(argument.kind, "")]
    if argument.default not in (None, "", ()):
        notes.append(f"{argument.default} if left out")
    noted = "; ".join(note for note in notes if note)
    return f"{argument.help} ({noted})" if noted else argument.help
