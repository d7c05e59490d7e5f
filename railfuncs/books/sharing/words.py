"""Sentences that stand in the contractor's workbook and PDF alike."""

from railfuncs.books.job.run import published
from railfuncs.books.sharing.choice import Shared, Shown
from railfuncs.books.sharing.reading import LaidRun
from railfuncs.rules.measure import round_to

VALUES_ONLY = "Values as of this revision, worked out from what was measured on site; nothing here recalculates."
SIGNING = ("Made by", "Seen by", "Date")
LOCALLY = "Codes are adopted and amended locally. A gap exactly as wide as the limit is taken to reach it."


def caption(laid: LaidRun) -> str:
    """What a drawing shows: the run, its opening, count and gap."""
    run = laid.run
    opening = Shown(run.opening, run.unit).text
    gap = Shown(round_to(laid.gap, laid.step), run.unit).text
    return f"{run.name}: opening {opening} {run.unit}, {laid.count} balusters, gaps about {gap} {run.unit}"


def published_lines(shared: Shared) -> list[str]:
    """The published limits for the units of the job, and how sure we are of each."""
    units = sorted({laid.run.unit for laid in shared.runs})
    return [*(published(key, unit).cited for unit in units for key in ("opening", "height")), LOCALLY]
