"""That "proven least" is least: brute force, published instances, and optima known by construction."""

import csv
import math
import random
import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import product

import pytest

from railfuncs import data
from railfuncs.stock import Piece, Stick, bounds, plan
from railfuncs.stock.buying import Shortfall, ways_to_buy
from railfuncs.stock.greedy import tidy
from railfuncs.stock.job import Solution, on_grid
from tests.proof import proves


def table(name: str) -> list[dict[str, str]]:
    with data.path(f"cutting/{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ORIGINS = table("origins")


def pieces_of(name: str) -> list[Piece]:
    return [Piece(int(row["length"]), int(row["quantity"])) for row in table("pieces") if row["name"] == name]


def by_trying_all(pieces: list[int], stock: list[Stick], kerf: int, trim: int) -> tuple[int, int] | None:
    """Least (cost, stock length) over every way to share the pieces out, sharing nothing with the planner."""
    full = (1 << len(pieces)) - 1

    def fits(group: int, stick: Stick) -> bool:
        cut = [length for at, length in enumerate(pieces) if group >> at & 1]
        return sum(cut) + kerf * (len(cut) - 1) <= stick.length - trim

    @cache
    def least(left: int, there: tuple[int, ...]) -> tuple[float, int]:
        if not left:
            return 0, 0
        first = left & -left
        others, best = left ^ first, (math.inf, 0)
        group = others
        while True:
            for at, stick in enumerate(stock):
                if there[at] and fits(group | first, stick):
                    after = least(others ^ group, tuple(n - (k == at) for k, n in enumerate(there)))
                    price = stick.length if stick.price is None else stick.price
                    best = min(best, (after[0] + price, after[1] + stick.length))
            if not group:
                return best
            group = (group - 1) & others

    found = least(full, tuple(len(pieces) if s.on_hand is None else s.on_hand for s in stock))
    return None if found[0] == math.inf else found


def small_jobs() -> Iterator[tuple[list[int], list[Stick], int, int]]:
    dice = random.Random(7)
    for _ in range(120):
        priced = dice.random() < 0.6
        lengths = dice.sample(range(40, 100), dice.randint(1, 3))
        stock = [Stick(n, dice.randint(0, 30) if priced else None, dice.choice([None, None, 1, 2])) for n in lengths]
        stock[0] = Stick(max(lengths), dice.randint(5, 30) if priced else None)
        pieces = [dice.randint(8, 36) for _ in range(dice.randint(1, 7))]
        yield pieces, stock, dice.randint(0, 3), dice.randint(0, 4)


@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="every way to cut a small job tried", cases=120)
def test_small_jobs_by_trying_all():
    pytest.importorskip("highspy")
    improved = 0
    for pieces, stock, kerf, trim in small_jobs():
        least = by_trying_all(pieces, stock, kerf, trim)
        wanted = [Piece(length) for length in pieces]
        made = plan(wanted, stock, kerf, trim, solver=True)
        assert (made.cost, made.waste + sum(pieces)) == least
        assert made.proven
        plain = plan(wanted, stock, kerf, trim, solver=False)
        assert plain.cost_bound <= least[0] <= plain.cost
        assert not plain.least_cost or plain.cost == least[0]
        assert not plain.proven or (plain.cost, plain.waste + sum(pieces)) == least
        improved += plain.cost > made.cost
    assert improved  # else the jobs are too easy to tell anything


def rounded_up_l2(pieces: list[int], stick: int) -> int:
    """Martello and Toth's bound L2, written from its published description (from memory, not confirmed)."""
    best = 0
    for small in {0, *(length for length in pieces if 2 * length <= stick)}:
        alone = [n for n in pieces if n > stick - small]
        large = [n for n in pieces if stick - small >= n > stick / 2]
        middle = [n for n in pieces if stick / 2 >= n >= small]
        room = len(large) * stick - sum(large)
        best = max(best, len(alone) + len(large) + max(0, math.ceil((sum(middle) - room) / stick)))
    return best


@pytest.mark.parametrize("origin", ORIGINS, ids=[origin["name"] for origin in ORIGINS])
@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="published cutting examples with their least sticks (from memory, not confirmed)", cases=1)
def test_published_instances_reach_their_least(origin):
    pytest.importorskip("highspy")
    pieces = pieces_of(origin["name"])
    stick = int(origin["stick"])
    made = plan(pieces, [Stick(stick, 1)], solver=True)
    assert (made.cost, made.proven) == (int(origin["least_sticks"]), True)
    each = [int(piece.length) for piece in pieces for _ in range(piece.quantity)]
    assert rounded_up_l2(each, stick) <= made.cost
    plain = plan(pieces, [Stick(stick, 1)], solver=False)
    assert plain.cost_bound <= made.cost <= plain.cost


def test_the_paper_mill_wastes_what_its_source_states():
    """Confirms the widths and counts, typed in from memory: 0.401 % of 73 rolls."""
    cut = sum(int(piece.length) * piece.quantity for piece in pieces_of("paper mill"))
    assert round(100 * (1 - cut / (73 * 5600)), 3) == 0.401


@pytest.mark.parametrize("name", [origin["name"] for origin in ORIGINS if origin["least_in_fractions"]])
def test_published_least_in_fractions_of_sticks(name):
    search = pytest.importorskip("railfuncs.stock.search", exc_type=ImportError)
    origin = next(origin for origin in ORIGINS if origin["name"] == name)
    pieces = pieces_of(name)
    job = on_grid(pieces, [Stick(int(origin["stick"]), 1)], Fraction(0), Fraction(0))
    bound = search.bound_in_fractions(job, seconds=5)
    assert bound <= Fraction(origin["least_in_fractions"])
    assert bound == pytest.approx(float(origin["least_in_fractions"]), rel=1e-6)


@pytest.mark.parametrize("name", ["nine pieces", "more than a stick apart"])
def test_small_published_instances_by_trying_all(name):
    origin = next(origin for origin in ORIGINS if origin["name"] == name)
    each = [int(piece.length) for piece in pieces_of(name) for _ in range(piece.quantity)]
    assert by_trying_all(each, [Stick(int(origin["stick"]), 1)], 0, 0)[0] == int(origin["least_sticks"])


def uniform(count: int, seed: int) -> list[int]:
    """Generated from the published description: whole lengths uniform from 20 to 100, sticks of 150."""
    dice = random.Random(seed)
    return [dice.randint(20, 100) for _ in range(count)]


@pytest.mark.parametrize("seed", range(20))
@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="a published lower bound, L2 of Martello and Toth (from memory, not confirmed)", cases=1)
def test_uniform_jobs_of_120_are_proved(seed):
    pytest.importorskip("highspy")
    pieces = uniform(120, seed)
    made = plan(map(Piece, pieces), [Stick(150, 1)], solver=True)
    plain = plan(map(Piece, pieces), [Stick(150, 1)], solver=False)
    assert made.proven
    assert rounded_up_l2(pieces, 150) <= made.cost
    assert plain.cost_bound <= made.cost <= plain.cost


@pytest.mark.parametrize("count", [250, 500, 1000])
def test_longer_uniform_jobs_keep_between_two_bounds(count):
    pytest.importorskip("highspy")
    pieces = uniform(count, count)
    made = plan(map(Piece, pieces), [Stick(150, 1)], solver=True, time_limit=5)
    assert max(rounded_up_l2(pieces, 150), made.cost_bound) <= made.cost
    assert made.gap <= Fraction(1, 100)


def triplets(sticks: int, seed: int) -> list[int]:
    """Three pieces to a stick of 1000 with nothing left: that many sticks are least, by construction."""
    dice = random.Random(seed)
    pieces = []
    for _ in range(sticks):
        long = dice.randint(380, 490)
        middle = dice.randint(255, (1000 - long) // 2)
        pieces += [long, middle, 1000 - long - middle]
    dice.shuffle(pieces)
    return pieces


@pytest.mark.parametrize(("sticks", "seed"), [(10, 1), (20, 2), (20, 3), (20, 4), (40, 5)])
@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="jobs made by cutting up whole sticks, so that the least is known", cases=1)
def test_triplets_that_fill_their_sticks(sticks, seed):
    pytest.importorskip("highspy")
    made = plan(map(Piece, triplets(sticks, seed)), [Stick(1000, 1)], solver=True, time_limit=20)
    assert (made.cost, made.waste, made.proven) == (sticks, 0, True)


@pytest.mark.parametrize("seed", range(5))
@proves("RAIL_STICKS", "RAIL_CUT_PLAN", by="plan", against="jobs made by cutting up whole sticks, so that the least is known", cases=1)
def test_with_a_kerf_full_sticks_stay_full(seed):
    """The same, every piece a kerf shorter: two cuts' dust and no last cut."""
    pytest.importorskip("highspy")
    kerf = 2
    pieces = [Piece(length - kerf) for length in triplets(8, seed)]
    made = plan(pieces, [Stick(1000 - kerf, 1)], kerf, solver=True)
    assert (made.cost, made.waste, made.proven) == (8, 8 * 2 * kerf, True)


def test_bounds_are_never_above_the_least():
    tight = 0
    for pieces, stock, kerf, trim in small_jobs():
        least = by_trying_all(pieces, stock, kerf, trim)
        job = on_grid([Piece(length) for length in pieces], stock, Fraction(kerf), Fraction(trim))
        price = bounds.least(job, job.prices) * job.price_unit
        assert price <= bounds.reachable(bounds.least(job, job.prices), job.prices) * job.price_unit <= least[0]
        assert bounds.least(job, job.lengths) * job.unit <= least[1]
        tight += bounds.reachable(bounds.least(job, job.prices), job.prices) * job.price_unit == least[0]
    assert tight > 40  # a bound that is never reached would pass the rest


def test_what_can_be_paid_with_whole_sticks():
    for costs in ([6, 10, 15], [4, 4], [7], [899, 1149], [0, 5]):
        sums = {
            sum(c * n for c, n in zip(costs, counts, strict=True)) for counts in product(range(40), repeat=len(costs))
        }
        for bound in [Fraction(n, 3) for n in range(0, 90)]:
            assert bounds.reachable(bound, costs) == min(s for s in sums if s >= bound)


def test_what_just_holds_all_is_not_ruled_out():
    assert not Shortfall(6, (3, 2)).rules_out((2, 0))
    assert Shortfall(7, (3, 2)).rules_out((2, 0))


def test_pieces_cut_too_often_are_dropped_and_the_stick_made_smaller():
    job = on_grid([Piece(30, 3)], [Stick(96), Stick(40)], Fraction(0), Fraction(0))
    twice: Solution = {(0, ((0, 3),)): 1, (0, ((0, 1),)): 1}
    assert job.faults(twice) == ["pieces missing or cut twice"]
    once = tidy(job, twice)
    assert job.faults(once) == []
    price, length = job.rank(once)
    assert (price * job.price_unit, length * job.unit) == (96, 96)
    alone = on_grid([Piece(30)], [Stick(96), Stick(40)], Fraction(0), Fraction(0))
    assert tidy(alone, {(0, ((0, 1),)): 1}) == {(1, ((0, 1),)): 1}


def test_most_valuable_filling_by_trying_all():
    pytest.importorskip("numpy")
    from railfuncs.stock.knapsack import Fillings

    dice = random.Random(3)
    for _ in range(60):
        widths = tuple(sorted(dice.sample(range(5, 60), 4), reverse=True))
        demand = tuple(dice.randint(1, 5) for _ in widths)
        values = [dice.randint(1, 90) for _ in widths]
        fillings = Fillings(widths, demand, values, 120)
        every = list(product(*(range(count + 1) for count in demand)))
        for room in (0, 30, 77, 120):
            worth = {
                counts: sum(v * n for v, n in zip(values, counts, strict=True))
                for counts in every
                if sum(w * n for w, n in zip(widths, counts, strict=True)) <= room
            }
            assert fillings.best(room) == max(worth.values())
            wanted = max(worth.values()) * 3 // 4
            listed = [tuple(dict(cut).get(at, 0) for at in range(4)) for cut in fillings.worth_at_least(room, wanted)]
            assert sorted(listed) == sorted(counts for counts, value in worth.items() if value >= wanted)


def test_listing_what_could_serve_finds_a_plan_just_where_there_is_one():
    """Each way to buy up to the least cost, by the listed patterns alone: none will do but at the least cost."""
    search = pytest.importorskip("railfuncs.stock.search", exc_type=ImportError)
    pieces, stock = [83, 79, 68, 68, 66, 60, 55, 36], [Stick(171, 14535), Stick(132, 13332)]
    least = by_trying_all(pieces, stock, 0, 0)
    job = on_grid([Piece(length) for length in pieces], stock, Fraction(0), Fraction(0))
    until = time.monotonic() + 20
    costs = job.prices
    best, _ = search._generate(job, costs, search._Master(job, costs, search._plain_patterns(job)), until)
    most = int(least[0] / job.price_unit)
    ways = ways_to_buy(job, costs, (most + 1, 0), [], until)
    outcomes = []
    for counts in ways:
        bought = replace(job, limits=counts)
        spent = job.bought(counts)[0]
        listed = search._listed(bought, costs, best, max(Fraction(0), spent - best.bound), until)
        found, none = search._choose(bought, listed, [0, 0], until) if listed else (None, True)
        assert none == (spent < most)
        assert (found is None) == none
        outcomes.append(none)
    assert set(outcomes) == {False, True}
