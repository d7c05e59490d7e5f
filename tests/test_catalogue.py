"""Every worksheet function is declared in full, and takes what a spreadsheet hands it."""

import re
from fractions import Fraction

import pytest

import railfuncs
from railfuncs.catalogue import Function, functions
from railfuncs.errors import RailError, RuleError

ALL = list(functions().values())
# Excel's own rule for a name typed as a VBA function; a cell address is not allowed either.
LEGAL = re.compile(r"RAIL_[A-Z][A-Z_]*[A-Z]")
KINDS = {"length", "lengths", "whole", "counts", "text", "degrees", "number", "anything", "amount", "money", "percent",
         "lengths_or_blank", "amounts_or_blank"}  # fmt: skip


@pytest.mark.parametrize("entry", ALL, ids=lambda entry: entry.name)
def test_declaration(entry: Function) -> None:
    assert LEGAL.fullmatch(entry.name)
    assert len(entry.name) <= 31
    assert entry.summary.endswith(".")
    assert len(entry.summary) <= 255
    assert entry.source
    assert ">>>" in entry.example
    for argument in (*entry.arguments, entry.returns):
        assert argument.help
        assert len(argument.help) <= 255
        assert argument.choices or argument.kind in KINDS
    given = [argument.default is None for argument in entry.arguments]
    assert given == sorted(given, reverse=True), "arguments that may be left out come last"


def test_names_are_importable() -> None:
    assert railfuncs.rail_gap(72, 0.5, 17) == Fraction(127, 36)
    assert set(dir(railfuncs)) >= {entry.name.lower() for entry in ALL}
    with pytest.raises(AttributeError):
        railfuncs.rail_nothing  # noqa: B018


def test_text_lengths_and_blanks() -> None:
    assert railfuncs.rail_gap("6'", "1/2", "17") == Fraction(127, 36)
    assert railfuncs.rail_gap(None, 0.5, 17) is None
    assert railfuncs.rail_gap("", 0.5, 17) is None
    assert railfuncs.rail_count(72, 0.5, None, 3.5, "Odd") == 17


def test_ranges_give_their_own_shape() -> None:
    column = railfuncs.rail_gap([[72], ["6'"], [None]], 0.5, [[17], [17], [17]])
    assert column == [[Fraction(127, 36)], [Fraction(127, 36)], [None]]
    assert railfuncs.rail_gap([[72, 60]], 0.5, 5) == [[Fraction(139, 12), Fraction(115, 12)]]
    with pytest.raises(RuleError, match="different sizes"):
        railfuncs.rail_gap([72, 60], 0.5, [1, 2, 3])


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: railfuncs.rail_gap(72, 0.5), "needs its count"),
        (lambda: railfuncs.rail_gap(72, 0.5, 17, 1), "takes at most 3"),
        (lambda: railfuncs.rail_gap("wide", 0.5, 17), "opening: 'wide' is not a length"),
        (lambda: railfuncs.rail_count(72, 0.5, 4, 0, "some"), "parity: 'some' is not one of any, odd, even"),
        (lambda: railfuncs.rail_mark(72, 0.5, 17, 1.5), "number: 1.5 is not a whole number"),
        (lambda: railfuncs.rail_mark(72, 0.5, 17, 18), "from 1 to the number of balusters"),
    ],
)
def test_what_is_wrong_is_said(call: object, says: str) -> None:
    with pytest.raises(RailError, match=re.escape(says)):
        call()  # type: ignore[operator]


def test_a_fault_of_ours_stays_visible() -> None:
    with pytest.raises(TypeError):
        functions()["RAIL_GAP"].rule("72", 0.5, 17)
