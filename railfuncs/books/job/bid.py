"""The bid: materials, labor, overhead, contingency, margin or markup, and sales tax, all in native formulas."""

from typing import Any

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.buying import Bought
from railfuncs.books.job.stock_plan import Planned
from railfuncs.books.look import printed
from railfuncs.books.prices import Priced, Prices
from railfuncs.rules import job as together
from railfuncs.rules import price as rules
from railfuncs.tracing import is_number, join, need, total

_LEAD = (
    "Boxed cells may be changed. Every line is rounded to the cent, half a cent up, and sums add rounded lines. Sales"
    " tax is taken on the taxed rows of the buying list, at what they cost; who owes it on what differs by place."
)
_RATES = (
    ("crew_rate", "Crew rate, an hour", "input money"),
    ("overhead", "Overhead, on materials and labor", "input percent"),
    ("contingency", "Contingency, on those and overhead", "input percent"),
    ("margin", "Margin: profit as a part of the price", "input percent"),
    ("markup", "Markup: profit as a part of the cost", "input percent"),
    ("tax_rate", "Sales tax rate", "input percent"),
)
_FIRST = 7
PRICE = "price"


def _plan_words(notice: Any) -> Any:
    return join("Sticks: ", notice)


def _sound(run_wrong: Any, wrong: Any) -> None:
    need(run_wrong < 1, "a run cannot be laid out: see the Summary")
    need(wrong < 1, "a row of the buying list must be put right")


def _number(value: Any) -> None:
    need(is_number(value), "write a number in each boxed cell")


def _rates(overhead: Any, contingency: Any, tax_rate: Any) -> None:
    rules.overhead(1, overhead)
    rules.contingency(1, contingency)
    rules.tax(1, tax_rate)


def _less(one: Any, other: Any) -> Any:
    return one - other


def add(book: Book, prices: Prices, planned: Planned, bought: Bought) -> dict[str, Cell]:
    """Write the page; its cells by what they hold."""
    page = book.page("Bid")
    page.put(1, 1, "Bid", "title")
    page.calc(2, 1, _plan_words, planned.notice, style="status")
    page.put(3, 1, _LEAD, "lead")
    page.put(_FIRST - 1, 1, "Rates", "group")
    cells = {
        key: page.put(row, 2, getattr(prices, key), style)
        for row, (key, _, style) in enumerate(_RATES, start=_FIRST)
    }
    for row, (_, label, _) in enumerate(_RATES, start=_FIRST):
        page.put(row, 1, label)
    cells["status"] = _status(page, cells, bought)
    cells["labor"], row = _labor(page, _FIRST + len(_RATES) + 2, prices.of("labor"), cells, bought)
    _sums(page, row + 1, cells, bought)
    sheet = page.sheet
    for at, height in ((2, 18), (3, 42), (4, 30)):
        sheet.merge_cells(start_row=at, end_row=at, start_column=1, end_column=6)
        sheet.row_dimensions[at].height = height
    for letter, width in zip("ABCDEF", (42, 14, 12, 12, 12, 24), strict=True):
        sheet.column_dimensions[letter].width = width
    printed(sheet)
    return cells


def _status(page: Page, cells: dict[str, Cell], bought: Bought) -> Cell:
    needed = ("crew_rate", "overhead", "contingency", "tax_rate")
    return page.status(4, 1, [
        (_sound, (bought.run_wrong, bought.wrong)),
        *((_number, (cells[key],)) for key in needed),
        (rules.labor, (cells["crew_rate"], 1, 1)),
        (_rates, (cells["overhead"], cells["contingency"], cells["tax_rate"])),
        (rules.one_of_both, (cells["margin"], cells["markup"])),
        (rules.sound_profit, (cells["margin"], cells["markup"])),
    ])  # fmt: skip


def _labor(page: Page, row: int, work: list[Priced], cells: dict[str, Cell], bought: Bought) -> tuple[Cell, int]:
    for column, head in enumerate(("Labor", "For each", "How many", "Minutes", "Hours", "Amount"), start=1):
        page.put(row, column, head, "head")
    hours, amounts = [], []
    for priced in work:
        row += 1
        page.put(row, 1, priced.item)
        page.put(row, 2, priced.each)
        count = page.calc(row, 3, together.same, bought.counted[priced.each], style="counted")
        minutes = page.put(row, 4, priced.quantity, "input in")
        status = page.status(row, 7, [(_number, (minutes,)), (rules.hours, (count, minutes))], unless=cells["status"])
        hours.append(page.calc(row, 5, rules.hours, count, minutes, style="hours", unless=status))
        amounts.append(page.calc(row, 6, rules.labor, cells["crew_rate"], count, minutes, style="money", unless=status))
    row += 1
    page.put(row, 1, "Labor together", "group")
    if not work:
        return page.put(row, 6, 0, "money"), row + 1
    page.calc(row, 5, total, Block([[cell] for cell in hours]), style="hours")
    return page.calc(row, 6, total, Block([[cell] for cell in amounts]), style="money"), row + 1


def _sums(page: Page, row: int, cells: dict[str, Cell], bought: Bought) -> None:
    def calc(key: str, label: str, rule: Any, *args: Cell, style: str = "money") -> None:
        nonlocal row
        page.put(row, 1, label)
        cells[key] = page.calc(row, 2, rule, *args, style=style, unless=cells["status"])
        row += 1

    page.put(row, 1, "Price", "group")
    row += 1
    calc("materials", "Materials, from the buying list", together.same, bought.amount)
    calc("work", "Labor", together.same, cells["labor"])
    calc("direct", "Materials and labor", rules.together, cells["materials"], cells["work"])
    calc("over", "Overhead", rules.overhead, cells["direct"], cells["overhead"])
    calc("loaded", "With overhead", rules.together, cells["direct"], cells["over"])
    calc("unforeseen", "Contingency", rules.contingency, cells["loaded"], cells["contingency"])
    calc("cost", "Cost in all", rules.together, cells["loaded"], cells["unforeseen"])
    calc("profit", "Profit", rules.profit_of, cells["cost"], cells["margin"], cells["markup"])
    calc(PRICE, "Price before tax", rules.together, cells["cost"], cells["profit"], style="total")
    calc("made_margin", "Margin: profit as a part of the price", rules.margin, cells["cost"], cells[PRICE],
         style="percent")  # fmt: skip
    calc("made_markup", "Markup: profit as a part of the cost", rules.markup, cells["cost"], cells[PRICE],
         style="percent")  # fmt: skip
    calc("tax", "Sales tax", rules.tax, bought.taxed, cells["tax_rate"])
    calc("charge", "Price with tax", rules.together, cells[PRICE], cells["tax"], style="total")
    calc("foot", "Price a foot of handrail, before tax", rules.a_foot, cells[PRICE], bought.counted["foot"])
