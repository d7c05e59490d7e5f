"""Putting the pages of a job workbook together, in the order of the work."""

from pathlib import Path

from railfuncs.books.cells import Book
from railfuncs.books.files import replacing
from railfuncs.books.job import (
    bid,
    buying,
    checks,
    cut_list,
    drawing,
    marks,
    measured,
    options,
    sharing_page,
    shop,
    spacing,
    stock_plan,
    summary,
    treads,
)
from railfuncs.books.measure import Job
from railfuncs.books.prices import Prices
from railfuncs.books.stored import save
from railfuncs.progress import step

LEAST_CAPACITY = 24


def capacity_for(job: Job) -> int:
    """Lines for marks: half as many again as the longest run needs, in full sixes."""
    most = max(int(measured.spaced_count(run)) for run in job.runs)
    return min(measured.MOST_BALUSTERS, max(LEAST_CAPACITY, -(-most * 3 // 12) * 6))


def build(job: Job, capacity: int | None = None, prices: Prices | None = None) -> Book:
    """The workbook of a job.

    Args:
        capacity: lines for marks a run, fewer or more balusters than these are said in the sheet; by default
            half as many again as the longest run takes now.
        prices: with a price book, the stock plan, the buying list and the bid are added
    """
    lines = capacity or capacity_for(job)
    book = Book()
    first = book.page("Summary")
    facts, runs = measured.add(book, job)
    step("Laying out the runs")
    spaced = spacing.add(book, runs, lines)
    elevation = book.page("Elevation")
    marks.add(book, runs, lines, job.tape)
    spacing.add_widest(spaced, runs)
    shop.add(book, runs)
    cut_list.add(book, runs)
    treads.add(book, runs)
    checks.add(book, runs, job.code)
    drawing.add(book, elevation, runs, lines)
    summary.add(first, facts, runs)
    if prices is not None:
        step("Planning the cuts from stock")
        planned = stock_plan.add(book, runs, prices)
        bought = buying.add(book, runs, prices, planned)
        options.add(book, job, prices, bid.add(book, prices, planned, bought), bought)
    sharing_page.add(book, runs)
    book.workbook.properties.creator = "railfuncs"
    book.workbook.properties.title = job.title
    return book


def write_job(job: Job, path: Path, prices: Prices | None = None) -> list[str]:
    """Write the workbook of a job to `path`: to a new file first, which then takes the place of an old one.

    Returns what a person should look at: every comparison that came out on the wrong side of its limit.
    """
    book = build(job, prices=prices)
    step("Writing the workbook")
    with replacing(path) as temporary:
        save(book.workbook, temporary, book.values)
    return checks.to_see(book, job)
