"""Sentences that stand in the contractor's workbook and PDF alike."""

from fractions import Fraction

from railfuncs.books.job.run import LOCALLY
from railfuncs.books.sharing.choice import Shared, Shown
from railfuncs.books.sharing.laid import LaidRun
from railfuncs.rules.measure import round_to

VALUES_ONLY = "Values as of this revision, worked out from what was measured on site; nothing here recalculates."
SIGNING = ("Made by", "Seen by", "Date")


def caption(laid: LaidRun) -> str:
    """What a drawing shows: the run, its opening, count and gap; on a slope its angle."""
    unit = laid.run.unit
    opening = Shown(laid.opening, unit).text
    gap = Shown(round_to(laid.gap, laid.step), unit).text
    told = f"{laid.run.name}: opening {opening} {unit}, {laid.count} balusters, gaps about {gap} {unit}"
    if not laid.slope:
        return told
    told += " on the treads" if laid.kind == "treads" else ""
    return f"{told}, both level; {degrees(laid.pitch)} degrees, going up to the {laid.run.up}"


def degrees(angle: Fraction) -> str:
    """An angle as it is set on a saw.

    >>> degrees(Fraction("36.8699")), degrees(Fraction(45))
    ('36.9', '45')
    """
    return f"{float(angle):.1f}".removesuffix(".0")


def seen(shared: Shared) -> str:
    """How the drawings are to be read."""
    told = "Each run to its own scale, seen from the room."
    if any(laid.kind == "rake" for laid in shared.runs):
        told += " The heavy line under a sloped shoe runs over the nosings."
    return told


def published_lines(shared: Shared) -> list[str]:
    """The published limits that the runs are compared with, and how sure we are of each."""
    return [*shared.cited, LOCALLY]
