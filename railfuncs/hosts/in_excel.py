"""The functions as Excel's user-defined functions, by the decorators of xlwings or of its author's browser add-in.

Nothing here imports xlwings: the module that Excel loads hands its decorators over (see `railfuncs.hosts.excel`).
An error shows as its sentence, since such functions cannot give an error value; a fault of ours raises.
"""

from collections.abc import Callable
from inspect import Parameter, Signature
from typing import Any

from railfuncs.catalogue import Argument, Function, functions
from railfuncs.hosts.values import answer, help_text

Decorator = Callable[..., Any]

# Words that mean something to VBA where an argument's name would stand.
_VBA_STATEMENTS = ("step", "name", "width", "type", "next", "end", "to")


def bind(names: dict[str, Any], func: Decorator, arg: Decorator) -> None:
    """Put every function of the catalogue among a module's `names`, registered by the decorators given."""
    for entry in functions().values():
        names[entry.name] = excel_function(entry, func, arg)


def excel_function(entry: Function, func: Decorator, arg: Decorator) -> Any:
    """One function, registered."""

    def call(*args: Any) -> Any:
        block = answer(entry, args, str)
        return block[0][0] if len(block) == len(block[0]) == 1 else block

    call.__name__ = call.__qualname__ = entry.name
    call.__doc__ = entry.summary
    call.__annotations__ = {}  # xlwings would take a type hint for a converter
    parameters = [_parameter(argument) for argument in entry.arguments]
    call.__signature__ = Signature(parameters)  # type: ignore[attr-defined]
    registered: Any = call
    for argument in entry.arguments:
        registered = arg(argument_name(argument), ndim=2, doc=help_text(argument))(registered)
    # The outermost decorator: each `arg` sets the category back.
    return func(category=category(entry))(registered)


def _parameter(argument: Argument) -> Parameter:
    default = Parameter.empty if argument.default is None else None
    return Parameter(argument_name(argument), Parameter.POSITIONAL_OR_KEYWORD, default=default)


def argument_name(argument: Argument) -> str:
    """An argument's name in the generated VBA."""
    return f"{argument.name}_" if argument.name in _VBA_STATEMENTS else argument.name


def category(entry: Function) -> str:
    """The category in Excel's list of functions.

    >>> category(functions()["RAIL_GAP"])
    'Rail spacing'
    """
    return f"Rail {entry.group}"
