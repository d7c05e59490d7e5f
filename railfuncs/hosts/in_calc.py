"""What runs inside LibreOffice Calc: the answers to its calls. Knows nothing of UNO; oxt/component.txt does.

Calc hands over a required argument as rows of cells and an optional one as a value, as rows or, left out, as `None`.
A refusal shows as #NUM! (a NaN); a fault of ours raises, and shows as #VALUE!.
"""

import math
from collections.abc import Callable
from typing import Any

from railfuncs.catalogue import Function, functions
from railfuncs.errors import RailError
from railfuncs.hosts.values import answer, help_text

SERVICE = "RAIL"
CATEGORY = "Add-In"  # Calc sorts every add-in's functions there, whatever else is asked for
_BLANK_CELL = ((0.0,),)


def short_name(entry: Function) -> str:
    """The function's name within the add-in's service, as files hold it after `RAIL.`.

    >>> short_name(functions()["RAIL_CUT_RAIL"])
    'CUT_RAIL'
    """
    return entry.name.removeprefix("RAIL_")


def by_short_name() -> dict[str, Function]:
    return {short_name(entry): entry for entry in functions().values()}


def _error(error: RailError) -> float:
    return math.nan


def respond(entry: Function, args: tuple[Any, ...]) -> tuple[tuple[Any, ...], ...]:
    """The rows that the call of a function shows in Calc.

    A single blank cell arrives as zero. So where a zero is refused, the result is blank: a column can be filled past
    the data. (Within a range a blank cell is known from a zero.)
    """
    block = answer(entry, args, _error)
    if len(block) == 1 and block[0][0] != block[0][0] and _may_be_blank(entry, args):
        return (("",),)
    return tuple([tuple(row) for row in block])


def _may_be_blank(entry: Function, args: tuple[Any, ...]) -> bool:
    return any(value == _BLANK_CELL for value, a in zip(args, entry.arguments, strict=False) if a.default is None)


def add_methods(component: type) -> None:
    """Give the component one method for each function, named as in the type library."""
    for name, entry in by_short_name().items():
        setattr(component, name, _method(entry))


def _method(entry: Function) -> Callable[..., Any]:
    def method(self: Any, *args: Any) -> Any:
        return respond(entry, args)

    return method


def described(entry: Function) -> str:
    """The help of a function in Calc's wizard."""
    return f"{entry.summary} ({entry.group})"


def argument_name(name: str, index: int) -> str:
    return by_short_name()[name].arguments[index].name


def argument_help(name: str, index: int) -> str:
    return help_text(by_short_name()[name].arguments[index])
