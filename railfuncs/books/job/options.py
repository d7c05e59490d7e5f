"""The job priced in other ways, side by side: odd or even counts, and each baluster of the price book for all runs."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter

from railfuncs.books.cells import Book, Cell, Page
from railfuncs.books.job import bid, buying, cut_list, measured, shop, spacing, stock_plan
from railfuncs.books.look import printed
from railfuncs.books.measure import Job, Run
from railfuncs.books.prices import Prices
from railfuncs.errors import InputError
from railfuncs.lengths import MM
from railfuncs.progress import steps
from railfuncs.rules import price as rules

_LEAD = (
    "Worked out once, for the measurements and the price book of then: these columns do not follow their inputs. Every"
    " option has its own count, stock plan, buying list and bid, at the same rates and minutes. Runs with a count of"
    " your own keep it. To make them again, make the workbook again."
)
_SECONDS = 1.0  # for one group of pieces of one option: there are many
_ROWS = (
    ("Balusters", "balusters", "whole"), ("Materials", "materials", "money"), ("Labor", "work", "money"),
    ("Cost in all", "cost", "money"), ("Price before tax", "price", "total"), ("Price with tax", "charge", "money"),
    ("Price a foot of handrail, before tax", "foot", "money"),
)  # fmt: skip
_FIRST = 6


@dataclass(frozen=True)
class Option:
    """One way to build the job."""

    title: str
    job: Job


def options(job: Job, prices: Prices) -> Iterator[Option]:
    """The job with other counts, then with each baluster that the price book names."""
    for parity in ("odd", "even"):
        yield Option(f"{parity} counts", _with(job, parity=parity))
    named = dict.fromkeys((row.material, row.width) for row in prices.of("baluster") if row.material and row.width)
    for material, width in named:
        if width is not None:
            on_a_tape = 64 % width.denominator == 0
            shown = stock_plan.in_words(width, "in") if on_a_tape else stock_plan.in_words(width / MM, "mm")
            yield Option(f"{material} {shown}", replace(job, runs=tuple(_of(run, material, width) for run in job.runs)))


def _with(job: Job, **parts: Any) -> Job:
    return replace(job, runs=tuple(replace(run, **parts) for run in job.runs))


def _of(run: Run, material: str, width: Fraction) -> Run:
    """The run with other balusters; a chisel of the old width becomes one of the new."""
    own = width / MM if run.unit == "mm" else width
    return replace(run, material=material, width=own, chisel=own if run.chisel == run.width else run.chisel)


def priced(job: Job, prices: Prices) -> dict[str, Any]:
    """What the bid comes to, by the same pages as the workbook's own.

    Raises:
        InputError: the job cannot be laid out so, or the price book has no stick for it.
    """
    problems = [f"{run.name}: {text}" for run in job.runs for _, text in measured.run_problems(run)]
    if problems:
        raise InputError(problems)
    book = Book()
    _, runs = measured.add(book, job)
    spacing.add(book, runs, measured.MOST_BALUSTERS)
    shop.add(book, runs)
    cut_list.add(book, runs)
    planned = stock_plan.add(book, runs, prices, _SECONDS)
    bought = buying.add(book, runs, prices, planned)
    return _values(bid.add(book, prices, planned, bought), bought)


def _values(cells: dict[str, Cell], bought: buying.Bought) -> dict[str, Any]:
    return {key: cell.value for key, cell in cells.items()} | {"balusters": bought.counted["baluster"].value}


def add(book: Book, job: Job, prices: Prices, cells: dict[str, Cell], bought: buying.Bought) -> None:
    """Write the page; `cells` are those of the workbook's own bid, the first option."""
    page = book.page("Options")
    page.put(1, 1, "Options side by side", "title")
    page.put(3, 1, _LEAD, "lead")
    page.put(_FIRST, 1, "Option", "head")
    for row, (label, _, _) in enumerate(_ROWS, start=_FIRST + 1):
        page.put(row, 1, label)
    more = _FIRST + 1 + len(_ROWS)
    page.put(more, 1, "More than as measured, before tax")
    first = _column(page, 2, "As measured", _values(cells, bought))
    column = 2
    for column, option in enumerate(steps(list(options(job, prices)), lambda each: f"Pricing {each.title}"), start=3):
        try:
            price = _column(page, column, option.title, priced(option.job, prices))
        except InputError as error:
            _not_built(page, column, option.title, error.problems[0])
        else:
            page.calc(more, column, rules.more, price, first, style="money")
    page.calc(2, 1, rules.options_notice, first, cells[bid.PRICE], style="status")
    sheet = page.sheet
    for row, height in ((2, 18), (3, 46)):
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=min(column, 6))
        sheet.row_dimensions[row].height = height
    sheet.row_dimensions[_FIRST].height = 30
    sheet.column_dimensions["A"].width = 38
    for at in range(2, column + 1):
        sheet.column_dimensions[get_column_letter(at)].width = 17
    printed(sheet, landscape=True)


def _column(page: Page, column: int, title: str, made: dict[str, Any]) -> Cell:
    """One option's figures; its price."""
    page.put(_FIRST, column, title, "head")
    cells = {
        key: page.put(row, column, Fraction(made[key]), style)
        for row, (_, key, style) in enumerate(_ROWS, start=_FIRST + 1)
    }
    return cells["price"]


def _not_built(page: Page, column: int, title: str, sentence: str) -> None:
    page.put(_FIRST, column, title, "head")
    page.put(_FIRST + 1, column, sentence, "lead")
    last = _FIRST + len(_ROWS)
    page.sheet.merge_cells(start_row=_FIRST + 1, end_row=last, start_column=column, end_column=column)
