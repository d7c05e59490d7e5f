"""The page of proofs is what the tests say, and the tests say no more than they run."""

import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

import railfuncs
from railfuncs.catalogue import functions
from railfuncs.rules import spacing
from railfuncs.rules.cutting import fence
from tests import proof
from tests.checks import rows
from tests.proof import proves

WRITTEN = (proof.ROOT / proof.PAGE).read_text(encoding="utf-8")


def row_of(name: str) -> list[str]:
    """The cells of a function's row in the page as it is written."""
    found = [line for line in WRITTEN.splitlines() if line.startswith(f"| `{name}` ")]
    assert len(found) == 1, f"{name} has {len(found)} rows; make the page anew: python -m tests.proof"
    return [cell.strip() for cell in found[0].strip("|").split("|")]


def test_the_page_in_the_docs_is_up_to_date() -> None:
    assert proof.page() == WRITTEN, "make it anew: python -m tests.proof"


@pytest.mark.parametrize("name", functions())
def test_every_function_has_a_row_and_a_case(name: str) -> None:
    _, _, checked, cases, sure = row_of(name)
    assert sure
    assert int(cases.replace(",", "")) >= 1
    told = [line.rpartition(": ")[0] for line in checked.split("<br>")]
    assert {check.source for check in rows() if check.function == name} <= set(told)


def test_what_is_not_sure_is_said() -> None:
    """Read off the page itself, not off what made it."""
    for name in functions():
        _, _, checked, _, sure = row_of(name)
        sources = [source for source in checked.split("<br>") if not source.startswith("the limits it compares with")]
        for saying in ("from memory", "second-hand"):
            assert (saying in sure) == any(saying in source for source in sources)
        only_practice = all(source.startswith(proof.NO_SOURCE) for source in sources)
        assert (sure == "**none**") == only_practice
        assert bool(re.search(rf"\s{name}[,.]", WRITTEN)) == only_practice
    assert "from memory" in row_of("RAIL_CHECK_HEIGHT")[2]


@pytest.mark.parametrize(
    ("source", "sure"),
    [
        ("ICS Building Trades Pocketbook (read)", proof.READ),
        ("Approved Document K 2013 (England), read", proof.READ),
        ("IRC 2018 R312.1.3, read second-hand (Camden County NC, 2019)", proof.SECOND_HAND),
        ("second-hand / from memory, not confirmed", proof.MEMORY),
        ("framing-square table, length per foot of run", proof.UNRECORDED),
        ("Pythagoras", proof.WORKED),
        ("lengths spread over a board", proof.WORKED),
        ("common practice, no source; half up", proof.NONE),
    ],
)
def test_how_sure_a_source_is(source: str, sure: str) -> None:
    assert proof.sureness(source) == sure


def alone(width: int) -> Fraction:
    return Fraction(width)


def three_fences() -> None:
    for width in (3, 4, 5, 5):
        assert fence(width, 1) == Fraction(width - 1, 2)


def four_gaps_in_all_the_ways_to_call() -> None:
    assert spacing.gap(72, 0.5, 17) == Fraction(127, 36)
    assert spacing.gap(60, Fraction(5, 8), 13) > 3
    assert railfuncs.rail_gap("6'", "1/2", 17) == Fraction(127, 36)
    assert isinstance(spacing.gap.__wrapped__(75.0, 2.0, 15.0), float)  # type: ignore[attr-defined]


def calls_of_what_stands_behind() -> None:
    assert [alone(width) for width in (1, 2, 3)] == [1, 2, 3]


def inside_another_rule() -> None:
    assert spacing.oc(72, 0.5, 17) > 4


def skipped() -> None:
    fence(3, 1)
    pytest.skip("no solver here")


@pytest.mark.parametrize(
    ("test", "name", "by", "calls"),
    [
        (three_fences, "RAIL_FENCE", "", 3),
        (four_gaps_in_all_the_ways_to_call, "RAIL_GAP", "", 4),
        (calls_of_what_stands_behind, "RAIL_STICKS", "alone", 3),
        (inside_another_rule, "RAIL_GAP", "", 0),
    ],
)
def test_calls_are_counted_and_too_few_fail(test: Callable[[], Any], name: str, by: str, calls: int) -> None:
    before = dict(globals())
    proves(name, against="numbers", cases=calls, by=by)(test)()
    with pytest.raises(AssertionError, match=f"tried {name} {calls} times, yet says {calls + 1}"):
        proves(name, against="numbers", cases=calls + 1, by=by)(test)()
    assert {name: value for name, value in globals().items() if before.get(name) is not value} == {}


def test_two_marks_on_one_test_count_both() -> None:
    both = proves("RAIL_FENCE", against="one", cases=3)(proves("RAIL_FENCE", against="other", cases=3)(three_fences))
    both()
    assert [each.against for each in both.proofs] == ["one", "other"]  # type: ignore[attr-defined]


def test_a_skipped_proof_fails() -> None:
    try:
        proves("RAIL_FENCE", against="numbers", cases=1)(skipped)()
    except (pytest.fail.Exception, pytest.skip.Exception) as outcome:
        assert isinstance(outcome, pytest.fail.Exception)
        assert str(outcome) == "a proof cannot be skipped: no solver here"
    else:
        raise AssertionError("a proof was skipped, and passed")


def test_only_tests_that_run_are_counted() -> None:
    found = list(proof.marked_tests())
    assert len({test for test, _ in found}) >= 20
    for test, each in found:
        file, _, name = test.partition("::")
        assert f"\ndef {name}(" in next((proof.ROOT / "tests").rglob(file)).read_text(encoding="utf-8")
        assert each.cases >= 1
