"""What hosts are given in floats is what the exact path gives: the same numbers, texts and refusals."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from railfuncs.catalogue import Argument, Function, functions
from railfuncs.errors import RailError
from railfuncs.hosts import values
from railfuncs.hosts.values import answer

REFUSED = "refused"


def cells(argument: Argument) -> st.SearchStrategy[Any]:
    """Values as cells hold them: lengths to the 64th, zero and negative ones among them."""
    if argument.choices:
        return st.sampled_from(argument.choices)
    if argument.kind == "whole":
        return st.integers(-1, 40).map(float)
    return st.integers(-64, 64 * 120).map(lambda sixty_fourths: sixty_fourths / 64)


def exact(entry: Function, row: tuple[Any, ...]) -> Any:
    try:
        return entry(*[Fraction(value) if isinstance(value, float) else value for value in row])
    except RailError:
        return REFUSED


def agree(shown: Any, wanted: Any) -> bool:
    if isinstance(shown, str) or isinstance(wanted, str):
        return bool(shown == wanted)
    return abs(Fraction(shown) - Fraction(wanted)) < Fraction(1, 10**8)


IN_FLOATS = [
    entry for entry in functions().values() if values._takers(entry) is not None and not entry.returns_list
]


def test_most_rules_are_taken_in_floats() -> None:
    assert len(IN_FLOATS) >= 25


@pytest.mark.parametrize("entry", IN_FLOATS, ids=lambda entry: entry.name)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_floats_give_what_fractions_give(entry: Function, data: st.DataObject) -> None:
    rows = data.draw(st.lists(st.tuples(*map(cells, entry.arguments)), min_size=2, max_size=6))
    wanted = [exact(entry, row) for row in rows]
    one_by_one = [answer(entry, row, lambda _: REFUSED)[0][0] for row in rows]
    assert all(map(agree, one_by_one, wanted)), (rows, one_by_one, wanted)
    columns = [[[row[at]] for row in rows] for at in range(len(entry.arguments))]
    assert [row[0] for row in answer(entry, columns, lambda _: REFUSED)] == one_by_one
