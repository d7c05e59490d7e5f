"""The check tables against Python and against formula text in an engine that is not ours."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import ironcalc
import pytest

import railfuncs
from railfuncs.catalogue import functions
from railfuncs.errors import RailError
from railfuncs.tracing import Ref, formula
from tests.checks import Check, agrees, rows

IN_DOUBLES = Fraction(1, 10**9)


def by_python(check: Check) -> Any:
    try:
        return getattr(railfuncs, check.function.lower())(*check.arguments)
    except RailError:
        return None


@pytest.mark.parametrize("check", rows(), ids=lambda check: f"{check.where} {check.function}")
def test_python_gives_the_published_value(check: Check) -> None:
    got = by_python(check)
    assert agrees(check, got), f"{check.function}{check.arguments} = {got}, not {check.expected} ({check.source})"


@pytest.mark.parametrize("check", rows(), ids=lambda check: f"{check.where} {check.function}")
def test_a_wrong_row_fails(check: Check) -> None:
    if check.expected is None:
        wrong: Any = Fraction(1)
    elif isinstance(check.expected, str):
        wrong = check.expected + "x"
    else:
        wrong = check.expected + 2 * check.tolerance + Fraction(1, 1000)
    assert not agrees(replace(check, expected=wrong), by_python(check), IN_DOUBLES)


def test_formula_text_gives_the_published_value() -> None:
    """Every row with native formula text, its arguments in cells, evaluated by IronCalc."""
    model = ironcalc.create("checks", "en", "UTC", "en")
    entries = functions()
    put = []
    for row, check in enumerate(rows(), start=1):
        entry = entries[check.function]
        if not entry.has_formula or check.expected is None:
            continue
        given: list[Any] = []
        for column, argument in enumerate(check.arguments, start=1):
            # Texts stay constants: the way a rule is asked for is chosen when the formula is made.
            if isinstance(argument, str):
                given.append(argument)
            else:
                model.set_user_input(0, row, column, repr(float(argument)))
                given.append(Ref(f"{'ABCDEFG'[column - 1]}{row}"))
        defaults = [a.default for a in entry.arguments[len(given) :]]
        model.set_user_input(0, row, 9, formula(entry.rule, *given, *defaults))
        put.append((row, check))
    model.evaluate()
    assert len(put) >= 30
    for row, check in put:
        shown = model.get_cell_value(0, row, 9)
        got = shown if isinstance(check.expected, str) else Fraction(shown)
        assert agrees(check, got, IN_DOUBLES), f"{check.where}: {check.function} = {shown}"


def test_every_function_stands_in_a_table() -> None:
    # These give or take whole columns, or carry tables of their own, and are checked in their own tests.
    elsewhere = {"RAIL_MARKS", "RAIL_MATCH", "RAIL_STICKS", "RAIL_CUT_PLAN"}
    missing = set(functions()) - {check.function for check in rows()} - elsewhere
    assert not missing


def test_every_row_names_its_source() -> None:
    assert all(check.source and check.place for check in rows())
