"""What every plan must keep, counted anew from the plan alone."""

from collections import Counter
from collections.abc import Callable
from fractions import Fraction

import pytest

from railfuncs.stock import Piece, Plan, Stick

Check = Callable[..., None]


def broken_rules(plan: Plan, pieces: list[Piece], sticks: list[Stick], kerf: Fraction, trim: Fraction) -> list[str]:
    found = []
    wanted: Counter[tuple[Fraction, str, str]] = Counter()
    for piece in pieces:
        wanted[Fraction(piece.length), piece.label, piece.kind] += piece.quantity
    cut = Counter((each.piece.length, each.piece.label, each.piece.kind) for s in plan.sticks for each in s.cuts)
    if +wanted != cut:
        found.append("not every piece is cut once")
    for used in plan.sticks:
        length = Fraction(sticks[used.place].length)
        usable = length - trim
        if used.stick.length != length or used.stick.kind != sticks[used.place].kind:
            found.append("the stick is not the one of its place")
        at = Fraction(0)
        for number, each in enumerate(used.cuts):
            at += kerf if number else 0
            if each.start != at or each.end != at + Fraction(each.piece.length):
                found.append("a piece does not start a kerf after the one before")
            if each.piece.kind != used.stick.kind:
                found.append("a piece comes from a stick of another kind")
            at = each.end
        if at > usable:
            found.append("a stick is overfilled")
        if used.offcut != max(Fraction(0), usable - at - kerf):
            found.append("the offcut is wrong")
    taken = Counter(used.place for used in plan.sticks)
    if any(stick.on_hand is not None and taken[place] > stick.on_hand for place, stick in enumerate(sticks)):
        found.append("more sticks used than there are")
    paid = sum(Fraction(s.price if s.price is not None else s.length) * taken[i] for i, s in enumerate(sticks))
    bought = sum(Fraction(stick.length) * taken[place] for place, stick in enumerate(sticks))
    if plan.cost != paid:
        found.append("the cost is not the price of the sticks")
    if plan.waste != bought - sum(Fraction(piece.length) * piece.quantity for piece in pieces):
        found.append("the waste is not what is bought less what is wanted")
    if plan.cost < plan.cost_bound or (plan.least_cost and plan.waste < plan.waste_bound):
        found.append("the plan is better than its bound")
    return found


@pytest.fixture
def rules_of() -> Callable[..., list[str]]:
    return broken_rules
