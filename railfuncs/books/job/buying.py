"""What to buy: sticks from the stock plan, and items counted by what the job takes; its prices may be changed."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from openpyxl.worksheet.datavalidation import DataValidation

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.run import RunCells
from railfuncs.books.job.stock_plan import Planned
from railfuncs.books.look import printed
from railfuncs.books.prices import STICKS, Priced, Prices
from railfuncs.rules import job as together
from railfuncs.rules import price as rules
from railfuncs.tracing import is_number, join, need, total, where

_HEADS = ("Item", "For each", "How many", "Needed", "Waste", "On hand", "Pack of", "Buy", "Unit", "Price", "Amount",
          "Taxed", "Taxed amount", "What is wrong")  # fmt: skip
_WIDTHS = (30, 10, 10, 10, 9, 9, 9, 8, 9, 11, 12, 8, 12, 30)

_LEAD = (
    "Boxed cells may be changed. Sticks come from the stock plan; other items are counted by what the job takes, with"
    " waste, less what is on hand, in whole packs. What is on hand costs nothing here."
)


@dataclass(frozen=True)
class Bought:
    """What the bid needs: what things are counted by, the list's sums, and whether anything is wrong in it."""

    counted: dict[str, Cell]
    amount: Cell
    taxed: Cell
    wrong: Cell
    run_wrong: Cell


def _taxed(amount: Any, taxed: Any) -> Any:
    return where(taxed == "yes", amount, 0)


def _numbers(*values: Any) -> None:
    for value in values:
        need(is_number(value), "write a number in each boxed cell of this row")


def _yes_or_no(taxed: Any) -> None:
    need(where(taxed == "yes", True, taxed == "no"), "Taxed: write yes or no")


def _wrong(status: Any) -> Any:
    return where(status == "", 0, 1)


def add(book: Book, runs: list[RunCells], prices: Prices, planned: Planned) -> Bought:
    page = book.page("Buying list")
    page.put(1, 1, "Buying list", "title")
    page.calc(2, 1, _stick_notice, planned.notice, style="status")
    page.put(3, 1, _LEAD, "lead")
    counted, run_wrong, row = _counted(page, runs)
    for column, head in enumerate(_HEADS, start=1):
        page.put(row, column, head, "head")
    first = row + 1
    lines = [
        _line(page, at, priced, counted, planned)
        for at, priced in enumerate(prices.of(*STICKS, "item"), start=first)
    ]
    row = first + len(lines)
    page.put(row, 1, "Together", "group")
    sums = [page.calc(row, column, total, Block([[line[part]] for line in lines]), style="money")
            for part, column in ((0, 11), (1, 13))]  # fmt: skip
    wrong = page.calc(row, 15, together.widest, Block([[line[2]] for line in lines]), style="drawing")
    _shape(page, first, row - 1)
    return Bought(counted, sums[0], sums[1], wrong, run_wrong)


def _stick_notice(notice: Any) -> Any:
    return join("Sticks: ", notice)


def _counted(page: Page, runs: list[RunCells]) -> tuple[dict[str, Cell], Cell, int]:
    """What the job takes, a row a run, and together."""
    for column, head in enumerate(("What the job takes", "Runs", "Balusters", "Handrail, ft"), start=1):
        page.put(5, column, head, "head")
    columns: list[list[Cell]] = [[], [], [], []]
    for row, run in enumerate(runs, start=6):
        page.calc(row, 1, together.label, run["name"], style="text")
        columns[0].append(page.put(row, 2, Fraction(1), "whole"))
        columns[1].append(page.calc(row, 3, together.same, run["n"], style="whole", unless=run["status"]))
        columns[2].append(page.calc(row, 4, together.in_feet, run["cut Handrail"], run.per_inch, style="hours",
                                    unless=run["status"]))  # fmt: skip
        columns[3].append(page.calc(row, 15, _wrong, run["status"], style="drawing"))
    row = 6 + len(runs)
    page.put(row, 1, "Together", "group")
    sums = [page.calc(row, column, total, Block([[cell] for cell in cells]), style=style)
            for column, cells, style in zip((2, 3, 4), columns, ("whole", "whole", "hours"), strict=False)]  # fmt: skip
    wrong = page.calc(row, 15, together.widest, Block([[cell] for cell in columns[3]]), style="drawing")
    page.put(row + 1, 1, "The job")
    job = page.put(row + 1, 2, Fraction(1), "whole")
    return {"job": job, "run": sums[0], "baluster": sums[1], "foot": sums[2]}, wrong, row + 3


def _line(page: Page, row: int, priced: Priced, counted: dict[str, Cell], planned: Planned) -> tuple[Cell, Cell, Cell]:
    page.put(row, 1, priced.item)
    boxed = []
    if priced.use in STICKS:
        page.put(row, 2, "stock plan")
        page.put(row, 3, "", "text")
        needed = page.calc(row, 4, together.same, planned.taken[priced], style="number")
    else:
        page.put(row, 2, priced.each)
        how_many = page.put(row, 3, priced.quantity, "input in")
        boxed.append(how_many)
        needed = page.calc(row, 4, _product, how_many, counted[priced.each], style="number")
    waste = page.put(row, 5, priced.waste if priced.use == "item" else Fraction(0), "input percent")
    on_hand = page.put(row, 6, priced.on_hand, "input in")
    pack = page.put(row, 7, priced.pack if priced.use == "item" else Fraction(1), "input in")
    page.put(row, 9, priced.unit)
    price = page.put(row, 10, priced.price, "input money")
    taxed = page.put(row, 12, priced.taxed, "input text")
    boxed += [waste, on_hand, pack, price]
    take = (needed, waste, on_hand, pack)
    status = page.status(row, 14, [(_numbers, tuple(boxed)), (rules.buy, take), (rules.line, (price, price)),
                                   (_yes_or_no, (taxed,))])  # fmt: skip
    packs = page.calc(row, 8, rules.buy, *take, style="whole", unless=status)
    amount = page.calc(row, 11, rules.line, packs, price, style="money", unless=status)
    taxed_amount = page.calc(row, 13, _taxed, amount, taxed, style="money", unless=status)
    wrong = page.calc(row, 15, _wrong, status, style="drawing")
    return amount, taxed_amount, wrong


def _product(how_many: Any, counted: Any) -> Any:
    """What is needed; text typed in place of a number is said beside it."""
    return where(is_number(how_many), lambda: how_many * counted, 0)


def _shape(page: Page, first: int, last: int) -> None:
    sheet = page.sheet
    for row in (2, 3):
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=12)
    sheet.row_dimensions[3].height = 30
    for letter, width in zip("ABCDEFGHIJKLMN", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.column_dimensions["O"].hidden = True
    rule = DataValidation("list", formula1='"yes,no"', allow_blank=False, showErrorMessage=True)
    rule.error = "Write yes or no."
    rule.add(f"L{first}:L{last}")
    sheet.add_data_validation(rule)
    printed(sheet, landscape=True, tall=True)
