"""The rules that have native formula text, as LAMBDAs to stand behind defined names: functions with no install.

A file holds LET and LAMBDA as `_xlfn.LET` and their parameters as `_xlpm.opening`. Every argument is given, a blank
cell for a default: how files write an argument that may be left out is not published.
"""

from dataclasses import dataclass
from typing import Any

from railfuncs.catalogue import Argument, Function
from railfuncs.errors import RuleError
from railfuncs.tracing import Expr, Ref, Trace, call, tracing

LONGEST = 8192  # characters; Excel's own limit


@dataclass(frozen=True)
class NamedFunction:
    """What stands behind a defined name.

    `text` has no leading equals sign. `arguments` are those it takes; `fixed` are chosen once, at their defaults.
    `refusals` are the sentences of what it refuses, with #N/A.
    """

    text: str
    arguments: tuple[Argument, ...]
    fixed: tuple[Argument, ...]
    refusals: tuple[str, ...]


class _Steps(dict[str, Ref]):
    """A name for every step that a rule keeps."""

    def __bool__(self) -> bool:
        return True

    def __contains__(self, name: object) -> bool:
        return True

    def __missing__(self, name: str) -> Ref:
        return _local(name)


def _local(name: str) -> Ref:
    """A name inside the LAMBDA that no argument has."""
    return Ref(f"_xlpm.{name}_")


def named_function(entry: Function) -> NamedFunction:
    """The LAMBDA of a rule.

    >>> from railfuncs.catalogue import functions
    >>> [argument.name for argument in named_function(functions()["RAIL_CHECK_GAP"]).arguments]
    ['gap']
    """
    # A text is no cell's business: it picks what the formula is made of. Some rules treat choices so too.
    fixed = tuple(argument for argument in entry.arguments if argument.kind == "text")
    try:
        made, trace = _traced(entry, fixed)
    except RuleError:
        fixed = tuple(argument for argument in entry.arguments if argument.kind == "text" or argument.choices)
        made, trace = _traced(entry, fixed)
    arguments = tuple(argument for argument in entry.arguments if argument not in fixed)
    needs = [*_gate(arguments), *trace.needs]
    for condition, _ in reversed(needs):
        made = call("IF", condition, made, call("NA"))
    for argument in arguments:
        if argument.default is None and argument.takes_number:
            made = call("IF", _given(argument) == "", "", made)
    steps: list[Any] = []
    for argument in arguments:
        if argument.default is not None:
            given = _given(argument)
            steps += [_local(argument.name), call("IF", given == "", argument.default, given)]
    for name, value in trace.kept.items():
        steps += [_local(name), value]
    whole = call("_xlfn.LET", *steps, made) if steps else made
    # MAX, AND and the like would make one value of a range.
    numbers = [_given(argument) for argument in arguments if argument.takes_number]
    if numbers:
        sizes = [call("ROWS", each) * call("COLUMNS", each) for each in numbers]
        whole = call("IF", call("AND", *[size == 1 for size in sizes]), whole, call("NA"))
    text = call("_xlfn.LAMBDA", *map(_given, arguments), whole).text()
    return NamedFunction(text, arguments, fixed, tuple(dict.fromkeys(sentence for _, sentence in needs)))


def _traced(entry: Function, fixed: tuple[Argument, ...]) -> tuple[Expr, Trace]:
    with tracing(_Steps()) as trace:
        made = entry.rule(*[a.default if a in fixed else _inside(a) for a in entry.arguments])
    return made, trace


def _inside(argument: Argument) -> Ref:
    """The argument as the rule sees it: given, or its default."""
    return _given(argument) if argument.default is None else _local(argument.name)


def _given(argument: Argument) -> Ref:
    return Ref(f"_xlpm.{argument.name}")


def _gate(arguments: tuple[Argument, ...]) -> list[tuple[Expr, str]]:
    """What the catalogue asks of values before a rule sees them."""
    needs: list[tuple[Expr, str]] = []
    for argument in arguments:
        label, value = argument.name.replace("_", " "), _inside(argument)
        if argument.choices:
            known = call("OR", *[value == choice for choice in argument.choices])
            needs.append((known, f"the {label} must be one of {', '.join(argument.choices)}"))
        elif argument.takes_number:
            needs.append((call("ISNUMBER", value), "every length and number must be one number"))
            if argument.kind == "whole":
                needs.append((call("INT", value) == value, f"the {label} must be a whole number"))
    return needs
