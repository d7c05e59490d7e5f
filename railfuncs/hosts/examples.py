"""The running examples of the catalogue as people type them into cells."""

import inspect
from collections.abc import Sequence
from contextlib import redirect_stdout
from doctest import DocTestParser
from fractions import Fraction
from io import StringIO
from typing import Any

from railfuncs.catalogue import Function


def example_calls(entry: Function) -> list[tuple[Any, ...]]:
    """The arguments of each call in a function's example.

    >>> from railfuncs.catalogue import functions
    >>> example_calls(functions()["RAIL_OC"])
    [(72, 0.5, 17)]
    """
    calls = []
    bind = inspect.signature(entry.rule).bind

    def noted(*args: Any, **kwargs: Any) -> Any:
        calls.append(bind(*args, **kwargs).args)
        return entry.rule(*args, **kwargs)

    # The example is run as the doctest runs it, with every call of the function itself noted.
    names = {**entry.rule.__globals__, entry.rule.__name__: noted}
    for example in DocTestParser().get_examples(entry.example):
        with redirect_stdout(StringIO()):
            exec(compile(example.source, entry.name, "exec"), names)
    return calls


def typed(name: str, arguments: Sequence[Any]) -> str:
    """The formula as a person types it.

    >>> typed("RAIL_MATCH", [[72, 40.5], Fraction(1, 3), 4, 3.5, "odd"])
    '=RAIL_MATCH({72;40.5},1/3,4,3.5,"odd")'
    """
    return f"={name}({','.join(literal(argument) for argument in arguments)})"


def literal(value: Any) -> str:
    """A value as a formula holds it."""
    if isinstance(value, str):
        doubled = value.replace('"', '""')
        return f'"{doubled}"'
    if isinstance(value, list):
        return "{" + ";".join(literal(each) for each in value) + "}"
    number = Fraction(value) if isinstance(value, int | Fraction) else Fraction(repr(value))
    near = float(number)
    if Fraction(repr(near)) != number:
        return f"{number.numerator}/{number.denominator}"
    return str(int(near)) if near.is_integer() else repr(near)
