"""How sticks are cut, what is refused, and that every plan keeps to the rules."""

import random
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from railfuncs.errors import RuleError
from railfuncs.stock import Piece, Plan, Stick, cut_plan, plan, sticks
from tests.proof import proves

EIGHTH = Fraction(1, 8)


@pytest.fixture(params=[False, True], ids=["plain", "solver"])
def solver(request):
    if request.param:
        pytest.importorskip("highspy")
    return request.param


def lengths_on(made: Plan) -> list[list[Fraction]]:
    return sorted([cut.piece.length for cut in used.cuts] for used in made.sticks)


def test_pieces_that_use_the_stick_exactly_need_no_last_cut(solver):
    half = (96 - EIGHTH) / 2
    made = plan([Piece(half, 2)], [Stick(96)], EIGHTH, solver=solver)
    assert len(made.sticks) == 1
    assert made.sticks[0].offcut == 0
    assert made.sticks[0].cuts[1].end == 96
    assert made.waste == EIGHTH


def test_a_hair_more_needs_a_second_stick(solver):
    half = (96 - EIGHTH) / 2
    made = plan([Piece(half), Piece(half + Fraction(1, 10_000))], [Stick(96)], EIGHTH, solver=solver)
    assert len(made.sticks) == 2


def test_less_than_a_kerf_left_is_all_dust(solver):
    made = plan([Piece(Fraction(191, 2) + Fraction(7, 16))], [Stick(96)], EIGHTH, solver=solver)
    assert made.sticks[0].offcut == 0
    made = plan([Piece(95)], [Stick(96)], EIGHTH, solver=solver)
    assert made.sticks[0].offcut == Fraction(7, 8)


def test_end_trim_is_lost_once_a_stick_and_positions_start_behind_it(solver):
    made = plan([Piece(47, 2)], [Stick(96)], trim=2, solver=solver)
    assert [(cut.start, cut.end) for cut in made.sticks[0].cuts] == [(0, 47), (47, 94)]
    assert made.waste == 2
    assert len(plan([Piece(47, 2)], [Stick(96)], trim=Fraction(33, 16), solver=solver).sticks) == 2


def test_a_dear_short_stick_is_not_taken_for_its_little_waste(solver):
    made = plan([Piece(50)], [Stick(60, Decimal("9.50")), Stick(96, Decimal("7.25"))], solver=solver)
    assert (made.cost, made.waste, made.sticks[0].place) == (Fraction(29, 4), 46, 1)


def test_of_equal_cost_the_least_waste(solver):
    made = plan([Piece(50)], [Stick(96, 7), Stick(60, 7)], solver=solver)
    assert (made.cost, made.waste, made.proven) == (7, 10, True)


def test_sticks_on_hand_are_used_first_and_no_more_than_there_are(solver):
    made = plan([Piece(40, 6)], [Stick(96, 10), Stick(84, 0, on_hand=2)], solver=solver)
    assert sorted(used.place for used in made.sticks) == [0, 1, 1]
    assert (made.cost, made.proven) == (10, True)


def test_kinds_come_from_their_own_stock_and_keep_their_labels(solver, rules_of):
    pieces = [Piece(36, 4, "A", "baluster"), Piece(36, 1, "B", "baluster"), Piece(70, 2, "level", "rail")]
    stock = [Stick(144, 30, kind="rail"), Stick(96, 5, kind="baluster"), Stick(120, 99, kind="rail")]
    made = plan(pieces, stock, EIGHTH, solver=solver)
    assert rules_of(made, pieces, stock, EIGHTH, Fraction(0)) == []
    assert made.cost == 30 + 3 * 5


def test_millimetres_and_inches_are_cut_exactly(solver):
    millimetre = Fraction(5, 127)
    stock = [Stick(2400 * millimetre)]
    assert len(plan([Piece(800 * millimetre, 3)], stock, solver=solver).sticks) == 1
    assert len(plan([Piece(800 * millimetre, 2), Piece(Fraction(63, 2))], stock, solver=solver).sticks) == 2


def test_lengths_on_no_common_tape_still_make_a_plan(solver, rules_of):
    pieces = [Piece(20 + Fraction(1, prime), 3) for prime in (10007, 10009, 10037, 10039, 10061)]
    stock = [Stick(96), Stick(Fraction(120))]
    made = plan(pieces, stock, Fraction(1, 7), solver=solver)
    assert rules_of(made, pieces, stock, Fraction(1, 7), Fraction(0)) == []


@pytest.mark.parametrize(
    ("pieces", "stock", "kerf", "trim", "words"),
    [
        ([Piece(97, 1, "run 2")], [Stick(96)], 0, 0, "'run 2' is 97 in long .* is 96 in: add .* least 97 in"),
        ([Piece(Fraction(191, 2))], [Stick(96)], 0, 1, "less 1 in of end trim: add .* least 96 1/2 in"),
        ([Piece(50)], [Stick(60, on_hand=0), Stick(48)], 0, 0, "the longest stick is 48 in"),
        ([], [Stick(96)], 0, 0, "no pieces to cut"),
        ([Piece(36, 0)], [Stick(96)], 0, 0, "no pieces to cut"),
        ([Piece(36)], [], 0, 0, "no stock to cut a piece from"),
        ([Piece(36, kind="rail")], [Stick(96, kind="shoe")], 0, 0, "no stock of the kind 'rail'"),
        ([Piece(0)], [Stick(96)], 0, 0, "longer than zero"),
        ([Piece(36, -1), Piece(36)], [Stick(96)], 0, 0, "quantity a whole number"),
        ([Piece(36)], [Stick(-1)], 0, 0, "must be more than zero"),
        ([Piece(36)], [Stick(96, -1)], 0, 0, "not negative"),
        ([Piece(36)], [Stick(96, 5), Stick(120)], 0, 0, "a price for every stick or for none"),
        ([Piece(36)], [Stick(96)], -1, 0, "kerf cannot be negative"),
        ([Piece(36)], [Stick(96)], 0, -1, "end trim cannot be negative"),
        ([Piece(50, 3)], [Stick(96, on_hand=1)], 0, 0, "54 in too short"),
        ([Piece(50, 3)], [Stick(96, on_hand=2)], 0, 0, "no way was found"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_refused_in_one_sentence(pieces, stock, kerf, trim, words, solver):
    with pytest.raises(RuleError, match=words) as refused:
        plan(pieces, stock, kerf, trim, solver=solver)
    assert "\n" not in str(refused.value)


def random_job(seed: int) -> tuple[list[Piece], list[Stick], Fraction, Fraction]:
    """Shop jobs and odd ones: priced or not, on hand or not, metric or inch, one stick length or several."""
    dice = random.Random(seed)
    unit = dice.choice([Fraction(1, 16), Fraction(1, 64), Fraction(5, 127), Fraction(1, 10), Fraction(1)])
    kerf = dice.choice([Fraction(0), Fraction(1, 8), Fraction(3, 32), unit])
    trim = dice.choice([Fraction(0), Fraction(1, 2), Fraction(2)])
    priced = dice.random() < 0.5
    stock = [
        Stick(
            length,
            Fraction(dice.randint(300, 3000), 100) if priced else None,
            dice.choice([None, None, dice.randint(1, 4)]),
        )
        for length in dice.sample([60, 72, 84, 96, 120, 144, 192], dice.randint(1, 4))
    ]
    stock[0] = replace(stock[0], on_hand=None)
    longest = min(int((stock[0].length - trim) / unit), 10_000)
    shortest = max(1, longest // dice.choice([3, 8, 20]))
    pieces = [
        Piece(dice.randint(shortest, longest) * unit, dice.choice([1, 1, 2, 3, 7]), dice.choice(["", "A"]))
        for _ in range(dice.randint(1, 14))
    ]
    return pieces, stock, kerf, trim


@pytest.mark.parametrize("block", range(10))
@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="pieces, cuts, offcuts and cost counted again from the plan alone", cases=100)
def test_a_thousand_random_jobs(block, rules_of):
    for seed in range(100 * block, 100 * block + 100):
        pieces, stock, kerf, trim = random_job(seed)
        made = plan(pieces, stock, kerf, trim, solver=False)
        assert rules_of(made, pieces, stock, kerf, trim) == [], seed


@pytest.mark.parametrize("block", range(10))
def test_random_jobs_with_the_solver_agree_with_the_plain_bound(block, rules_of):
    """Two ways to a bound, two ways to a plan: no bound above the other's plan, and the solver's plan no worse."""
    pytest.importorskip("highspy")
    for seed in range(100 * block, 100 * block + 100, 4):
        pieces, stock, kerf, trim = random_job(seed)
        made = plan(pieces, stock, kerf, trim, solver=True, time_limit=0.5)
        assert rules_of(made, pieces, stock, kerf, trim) == [], seed
        plain = plan(pieces, stock, kerf, trim, solver=False)
        assert plain.cost_bound <= made.cost <= plain.cost, seed
        assert made.cost_bound <= plain.cost, seed
        if made.cost == plain.cost and made.least_cost:
            assert made.waste_bound <= plain.waste, seed


def test_a_wrong_plan_does_not_keep_the_rules(rules_of):
    pieces, stock = [Piece(40, 4)], [Stick(96)]
    made = plan(pieces, stock, EIGHTH, solver=False)
    first, second = made.sticks

    def broken(**change):
        return rules_of(replace(made, **change), pieces, stock, EIGHTH, Fraction(0))

    assert broken() == []
    assert "not every piece is cut once" in broken(sticks=(first,))
    assert "not every piece is cut once" in broken(sticks=(first, second, second))
    shifted = replace(first, cuts=(replace(first.cuts[0], start=Fraction(1)), first.cuts[1]))
    assert "a piece does not start a kerf after the one before" in broken(sticks=(shifted, second))
    assert "the cost is not the price of the sticks" in broken(cost=made.cost - 1)
    assert "the plan is better than its bound" in broken(cost_bound=made.cost + 1)
    assert "a stick is overfilled" in rules_of(made, pieces, [Stick(60)], EIGHTH, Fraction(0))


def test_statements_say_no_more_than_is_proved():
    made = plan([Piece(40, 4)], [Stick(96)], solver=False)
    assert made.proven
    assert made.statement == "least cost, and least waste at that cost: proven"
    wasteful = replace(made, waste_bound=made.waste - 1)
    assert wasteful.statement == "least cost: proven; waste 32 in, at least 31 in at that cost"
    dear = replace(made, cost=Fraction(30_001), cost_bound=Fraction(30_000))
    assert dear.statement == "not proven least: at most 0.01 % of the cost could be saved"
    assert dear.gap == Fraction(1, 30_001)


def test_without_the_solver_and_numpy_a_plan_is_made_all_the_same():
    code = (
        "import sys; sys.modules['highspy'] = sys.modules['numpy'] = None\n"
        "from railfuncs.stock import *\n"
        "print(plan([Piece(36, 5), Piece(24, 2)], [Stick(96), Stick(120)]).statement)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "least cost, and least waste at that cost: proven\n"


def test_the_solver_prints_nothing():
    pytest.importorskip("highspy")
    code = (
        "from railfuncs.stock import *\n"
        "pieces = [Piece(n, 3) for n in (33, 41, 47, 52, 58, 61)]\n"
        "plan(pieces, [Stick(150, 7), Stick(170, 8), Stick(190, 9)], solver=True)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")


def test_sheet_functions_agree_with_the_plan():
    asked = ([36, Fraction(97, 4)], [5, 3], [96, 120], EIGHTH, 1, [9, 11], [None, 2])
    table = cut_plan(*asked)
    counts = sticks(*asked)
    assert len(table) == 8
    assert sorted(row[2] for row in table) == [Fraction(97, 4)] * 3 + [36] * 5
    assert [len({row[0] for row in table if row[1] == length}) for length in (96, 120)] == counts
    assert len([row for row in table if row[5] is not None]) == sum(counts)
    made = plan([Piece(36, 5), Piece(Fraction(97, 4), 3)], [Stick(96, 9), Stick(120, 11, 2)], EIGHTH, 1)
    assert 9 * counts[0] + 11 * counts[1] == made.cost


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (([36], [5, 2], [96]), "1 lengths and 2 quantities"),
        (([36], [5], [96, 120], 0, 0, [9]), "2 stock lengths and 1 prices"),
        (([36], [5], [96, 120], 0, 0, [], [1]), "2 stock lengths and 1 numbers on hand"),
        (([36], [Fraction(5, 2)], [96]), "not a number of pieces"),
    ],
)
def test_ranges_that_do_not_go_together_are_refused(asked, words):
    for function in (sticks, cut_plan):
        with pytest.raises(RuleError, match=words):
            function(*asked)
