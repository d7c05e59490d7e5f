"""Between a spreadsheet's cells and the rules: floats and texts in, blocks of floats and texts out."""

from collections.abc import Callable, Sequence
from fractions import Fraction
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

    def one(entry: Function, values: tuple[Any, ...]) -> Any:
        try:
            plain = _in_floats(entry, values)
            result = exactly(entry, values) if plain is None else entry.rule(*plain)
        except RailError as error:
            return refused(error)
        return result if isinstance(result, list) else _shown(result)

    given = [_alone(value) for value in args]
    while given and given[-1] is None and entry.arguments[len(given) - 1].default is not None:
        given.pop()
    try:
        result = over_ranges(entry, tuple(given), one)
    except RailError as error:
        return [[refused(error)]]
    if entry.returns_list and isinstance(result, list):
        return [_row(value) for value in result] or [[""]]
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


def _row(result: Any) -> list[Any]:
    """A row of a table, or one value of a column."""
    return [_shown(value) for value in (result if isinstance(result, list) else [result])]


def _shown(result: Any) -> Any:
    if result is None:
        return ""
    return result if isinstance(result, str) else float(result)


def _in_floats(entry: Function, values: tuple[Any, ...]) -> list[Any] | None:
    """The values as the rule can take them in floats; None where any of them needs to be read exactly.

    Rules give the same in floats as in fractions (see railfuncs.tracing), many times faster.
    """
    takers = _known[entry.name] if entry.name in _known else _takers(entry)
    if takers is None:
        return None
    plain = []
    for (takes, default), value in zip(takers, values, strict=False):
        if value is None or value == "":
            if default is None:
                return None
            value = default
        elif not takes(value):
            return None
        plain.append(value)
    for _, default in takers[len(values) :]:
        plain.append(default)
    return plain


Taker = tuple[Callable[[Any], bool], Any]


_known: dict[str, list[Taker] | None] = {}


def _takers(entry: Function) -> list[Taker] | None:
    """For each argument: whether a value can be used as it stands, and the default as a float."""
    if all(argument.choices or argument.kind in _KINDS for argument in entry.arguments):
        _known[entry.name] = [(_taker(argument), _default(argument)) for argument in entry.arguments]
    else:
        _known[entry.name] = None
    return _known[entry.name]


def _is_measure(value: Any) -> bool:
    return type(value) is float and -_FARTHEST <= value <= _FARTHEST


_KINDS: dict[str, Callable[[Any], bool]] = {
    "length": _is_measure,
    "degrees": _is_measure,
    "whole": lambda value: type(value) is float and value.is_integer(),
}


def _taker(argument: Argument) -> Callable[[Any], bool]:
    return argument.choices.__contains__ if argument.choices else _KINDS[argument.kind]


def _default(argument: Argument) -> Any:
    return float(argument.default) if isinstance(argument.default, int | Fraction) else argument.default


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
