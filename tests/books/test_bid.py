"""The stock plan, the buying list and the bid in a real spreadsheet."""

import random
from collections import Counter
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.cell import MergedCell

from railfuncs.books import commands
from railfuncs.books.cells import Book
from railfuncs.books.job import build
from railfuncs.books.job.measured import run_problems
from railfuncs.books.measure import Job, read_job
from railfuncs.books.prices import Prices, read_prices
from railfuncs.books.sharing.commands import share
from railfuncs.books.stored import save
from railfuncs.errors import InputError
from railfuncs.rules import price as rules
from tests.books.jobs import CAPACITY, alter, cells_compared, changed_cells, differences, job_of, level_kinds
from tests.office import Office

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
CUT_ROWS = range(5, 5 + 6 * 3 + 4)  # six runs with a shoe, one on treads
PLAN, BUYING, BID, OPTIONS = "Stock plan", "Buying list", "Bid", "Options"
CHANGED = "lengths changed, make the plan again"
UNCHANGED = "made for the lengths in the cut list"
Shown = dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(WORKBOOKS / "demo-measure.csv", checks=run_problems)


@pytest.fixture(scope="module")
def prices() -> Prices:
    return read_prices(WORKBOOKS / "demo-prices.csv")


@pytest.fixture(scope="module")
def book(job: Job, prices: Prices) -> Book:
    return build(job, prices=prices)


@pytest.fixture
def path(book: Book, tmp_path: Path) -> Path:
    save(book.workbook, tmp_path / "job.xlsx", book.values)
    return tmp_path / "job.xlsx"


def row_of(shown: Shown, sheet: str, label: str) -> int:
    """The last row with a label in its first column."""
    return max(int(a[1:]) for a, value in shown[sheet].items() if a[0] == "A" and a[1:].isdigit() and value == label)


def bid(shown: Shown, label: str) -> Any:
    return shown[BID].get(f"B{row_of(shown, BID, label)}", "")


def items(shown: Shown) -> range:
    return range(row_of(shown, BUYING, "Item") + 1, row_of(shown, BUYING, "Together"))



def work(shown: Shown) -> range:
    heads = [int(address[1:]) for address, value in shown[BID].items() if address[0] == "A" and value == "Labor"]
    return range(min(heads) + 1, row_of(shown, BID, "Labor together"))


def decimal(value: Any) -> Decimal:
    """A cell's number as the decimal its writer meant."""
    return Decimal(repr(round(float(value or 0), 9)))


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def by_hand(shown: Shown) -> dict[str, Decimal]:
    """The bid from its inputs as the sheet shows them, in decimals, by none of the rules of the product."""
    materials = taxed = labor = Decimal(0)
    for row in items(shown):
        needed, waste, on_hand, pack, price = (decimal(shown[BUYING].get(f"{c}{row}")) for c in "DEFGJ")
        packs = (max(needed * (1 + waste) - on_hand, Decimal(0)) / pack).to_integral_value(ROUND_CEILING)
        amount = cents(packs * price)
        materials += amount
        taxed += amount if shown[BUYING][f"L{row}"] == "yes" else 0
    rate, overhead, contingency, margin, markup, tax = (decimal(shown[BID].get(f"B{row}")) for row in range(7, 13))
    for row in work(shown):
        # Feet are no whole decimals: as far as the cell shows them.
        count, minutes = Fraction(shown[BID][f"C{row}"]), Fraction(str(shown[BID][f"D{row}"]))
        worth = count * minutes / 60 * Fraction(rate)
        labor += cents(Decimal(worth.numerator) / Decimal(worth.denominator))
    loaded = materials + labor + cents((materials + labor) * overhead)
    cost = loaded + cents(loaded * contingency)
    price = cents(cost / (1 - margin)) if "B10" in shown[BID] else cents(cost * (1 + markup))
    due = cents(taxed * tax)
    return {"Materials, from the buying list": materials, "Cost in all": cost, "Price before tax": price,
            "Sales tax": due, "Price with tax": price + due}  # fmt: skip


def assert_to_the_cent(shown: Shown) -> None:
    for label, amount in by_hand(shown).items():
        got = bid(shown, label)
        assert isinstance(got, float), f"{label}: {got!r}"
        assert abs(got - float(amount)) < 1e-6, f"{label}: {got} is not {amount}"


def test_the_workbook_recalculates_to_its_stored_values(office: Office, book: Book, path: Path) -> None:
    shown = office.read(path)
    assert list(differences(book, shown)) == []
    assert sum(len(book.values[title]) for title in (PLAN, BUYING, BID)) > 150
    assert cells_compared(book) > 3_000
    assert_to_the_cent(shown)
    assert shown[OPTIONS]["A2"] == "made for the bid as it stands"


def other_inputs(shown: Shown, rng: random.Random, by_margin: bool) -> dict[tuple[str, str], Any]:
    """Something else in every boxed cell of both sheets."""
    changes: dict[tuple[str, str], Any] = {}
    for row in items(shown):
        typed = {
            "E": rng.choice((0.0, 0.05, 0.1, 0.125)), "F": float(rng.randint(0, 3)),
            "G": float(rng.choice((1, 1, 10, 12))), "J": rng.randint(1, 30_000) / 100, "L": rng.choice(("yes", "no")),
        }  # fmt: skip
        if f"C{row}" in shown[BUYING]:
            typed["C"] = rng.randint(1, 400) / 100
        changes |= {(BUYING, f"{column}{row}"): value for column, value in typed.items()}
    rates = [
        rng.randint(3_000, 25_000) / 100, rng.randint(0, 400) / 1000, rng.randint(0, 150) / 1000,
        rng.randint(0, 600) / 1000 if by_margin else None, None if by_margin else rng.randint(0, 900) / 1000,
        rng.randint(0, 1100) / 10_000,
    ]  # fmt: skip
    changes |= {(BID, f"B{row}"): rate for row, rate in enumerate(rates, start=7)}
    return changes | {(BID, f"D{row}"): rng.randint(0, 240) / 2 for row in work(shown)}


def test_totals_follow_changed_inputs_to_the_cent(office: Office, book: Book, path: Path) -> None:
    """Every boxed cell of the buying list and the bid changed, eight times over."""
    shown = office.read(path)
    rng = random.Random(6)
    for turn in range(8):
        changes = other_inputs(shown, rng, by_margin=turn % 2 == 0)
        after = office.change_and_read(path, changes)
        assert_to_the_cent(after)
        assert after[PLAN]["A2"] == UNCHANGED
        assert after[OPTIONS]["A2"] == "the bid has changed, make the options again"
        assert bid(after, "Price before tax") != bid(shown, "Price before tax")


def test_python_gives_the_same_totals(office: Office, path: Path) -> None:
    """The rules of the product, with the inputs the sheet shows after a change."""
    shown = office.change_and_read(path, {("Measured", "B15"): 150.0, (BID, "B8"): 0.175, (BID, "B10"): 0.333})
    materials = sum(
        rules.line(rules.buy(*(Fraction(str(shown[BUYING].get(f"{c}{row}", 0))) for c in "DEFG")),
                   Fraction(str(shown[BUYING][f"J{row}"])))
        for row in items(shown)
    )  # fmt: skip
    labor = sum(
        rules.labor(92, shown[BID][f"C{row}"], Fraction(str(shown[BID][f"D{row}"]))) for row in work(shown)
    )
    loaded = materials + labor + rules.overhead(materials + labor, 0.175)
    cost = loaded + rules.contingency(loaded, 0.04)
    assert bid(shown, "Cost in all") == pytest.approx(float(cost), abs=1e-6)
    assert bid(shown, "Price before tax") == pytest.approx(float(rules.margin_price(cost, 0.333)), abs=1e-6)


def test_twenty_percent_margin_is_twenty_five_percent_markup(office: Office, path: Path) -> None:
    by_margin = office.change_and_read(path, {(BID, "B10"): 0.2, (BID, "B11"): None})
    by_markup = office.change_and_read(path, {(BID, "B10"): None, (BID, "B11"): 0.25})
    assert bid(by_margin, "Price before tax") == bid(by_markup, "Price before tax")
    for shown in (by_margin, by_markup):
        assert bid(shown, "Margin: profit as a part of the price") == pytest.approx(0.2, abs=1e-5)
        assert bid(shown, "Markup: profit as a part of the cost") == pytest.approx(0.25, abs=1e-5)


@pytest.mark.parametrize(
    ("address", "typed", "notice"),
    [
        ("B15", 170.0, CHANGED),  # the opening of the first run
        ("B25", 43.0, CHANGED),  # its own count
        ("B32", 34.0, CHANGED),  # its clear height
        ("B21", "oak", CHANGED),  # what its balusters are made of
        ("B27", 3.0, CHANGED),  # its rail's width
        ("B15", 170.75, UNCHANGED),  # what it was
        ("B40", "a note", UNCHANGED),
    ],
)
def test_the_plan_says_when_lengths_changed(office: Office, path: Path, address: str, typed: Any, notice: str) -> None:
    shown = office.change_and_read(path, {("Measured", address): typed})
    assert shown[PLAN]["A2"] == notice
    assert shown[BUYING]["A2"] == shown[BID]["A2"] == f"Sticks: {notice}"


@pytest.mark.parametrize(
    ("sheet", "address", "typed", "sentence"),
    [
        (BID, "B11", 0.25, "give a margin or a markup, one of the two"),
        (BID, "B10", None, "give a margin or a markup, one of the two"),
        (BID, "B10", 1.0, "a margin must be less than 100 %"),
        (BID, "B8", -0.1, "the overhead cannot be negative"),
        (BID, "B7", "ninety", "write a number in each boxed cell"),
        (BUYING, "J25", "free", "a row of the buying list must be put right"),
        (BUYING, "G25", 0.0, "a row of the buying list must be put right"),
        (BUYING, "L25", "maybe", "a row of the buying list must be put right"),
        ("Measured", "B15", 0.0, "a run cannot be laid out: see the Summary"),
    ],
)
def test_bad_input_hides_the_price(
    office: Office, path: Path, sheet: str, address: str, typed: Any, sentence: str
) -> None:
    shown = office.change_and_read(path, {(sheet, address): typed})
    assert shown[BID]["A4"] == sentence
    for label in ("Price before tax", "Price with tax", "Price a foot of handrail, before tax"):
        assert bid(shown, label) == ""


def cut_list(book: Book) -> dict[tuple[int, int], Any]:
    """How many, cut to, width and made of, as the cut list has them."""
    return {place: value for place, value in book.values["Cut list"].items() if place[1] in (3, 4, 6, 11)}


@settings(max_examples=6, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
          suppress_health_check=list(HealthCheck))  # fmt: skip
@given(st.data())
def test_random_jobs(office: Office, prices: Prices, tmp_path: Path, data: st.DataObject) -> None:
    """As generated; then with another job's measurements typed in, the plan says so and the totals follow."""
    any_size = replace(prices, rows=tuple(replace(row, width=None, material="") for row in prices.rows))
    kinds = data.draw(level_kinds)
    first, second = data.draw(job_of(kinds, "inches")), data.draw(job_of(kinds, "inches"))
    book, other = build(first, CAPACITY, any_size), build(second, CAPACITY)
    path = tmp_path / "job.xlsx"
    save(book.workbook, path, book.values)
    shown = office.read(path)
    assert list(differences(book, shown)) == []
    assert_to_the_cent(shown)
    after = office.change_and_read(path, changed_cells(book, other))
    assert after[PLAN]["A2"] == (UNCHANGED if cut_list(book) == cut_list(other) else CHANGED)
    assert_to_the_cent(after)


def test_every_piece_is_drawn_once(book: Book) -> None:
    sheet = book.workbook[PLAN]
    drawn: Counter[str] = Counter()
    for row in sheet.iter_rows(min_row=6, min_col=5, max_row=90):
        times = sheet.cell(row[0].row, 1).value
        for cell in row:
            if isinstance(cell.value, str) and cell.value[1:2] == " " and isinstance(times, int):
                drawn[cell.value] += times
    needed: Counter[str] = Counter()
    cut, sheet = book.values["Cut list"], book.workbook["Cut list"]
    letters = {run: letter for letter, run in zip("ABCDEFG", dict.fromkeys(cut[row, 1] for row in CUT_ROWS), strict=True)}
    for row in CUT_ROWS:
        if cut.get((row, 3)) == 0:
            continue  # no third baluster on a tread
        board = sheet.cell(row, 2).value in ("Handrail", "Shoe")
        # A sloped board takes more of a stick than its edge is long.
        length, letter = Fraction(cut.get((row, 13), cut[row, 4]) if board else cut[row, 4]), letters[cut[row, 1]]
        whole, part = divmod(length, 1)
        reads = f"{whole} {part}" if part else f"{whole}"
        unit = sheet.cell(row, 5).value
        needed[f"{letter} {reads}{' mm' if unit == 'mm' else ''}"] += int(cut.get((row, 3), 1))
    assert drawn == needed
    assert sum(drawn.values()) > 80


def test_sticks_on_hand_go_first_and_only_once(job: Job, prices: Prices) -> None:
    book = build(replace(job, runs=job.runs[:4]), prices=prices)
    bought = {
        str(book.workbook[BUYING].cell(row, 1).value): book.values[BUYING][row, 8]
        for row in range(14, 30)
    }
    assert bought["Oak handrail 16 ft"] == 0
    assert bought["Iron bar 1/2 in 12 ft"] == 12 - 4
    assert bought["Metal and wood adhesive"] == 5  # 83 at 0.06 with 10 % is 5.478, less one on hand


def test_no_stick_or_too_short_a_stick_is_said(job: Job, prices: Prices) -> None:
    lacking = replace(prices, rows=tuple(row for row in prices.rows if row.material != "oak" and row.use != "shoe"))
    with pytest.raises(InputError) as refused:
        build(replace(job, runs=job.runs[:4]), prices=lacking)
    assert len(refused.value.problems) == 5  # the shoes of four runs, and oak
    assert ("the price book has no stick for the baluster of Kitchen side: add a row with Use baluster, Made of oak,"
            " Width 3/4 in, or leave those cells blank for any") in refused.value.problems  # fmt: skip
    with pytest.raises(InputError, match="the longest stick is 192 in, less 3/4 in of end trim"):
        build(alter(job, 0, opening=Fraction(200), shoe_opening=None), prices=prices)


def test_without_prices_there_is_no_bid(job: Job, book: Book) -> None:
    plain = build(job)
    assert {PLAN, BUYING, BID, OPTIONS} <= set(book.workbook.sheetnames)
    assert not {PLAN, BUYING, BID, OPTIONS} & set(plain.workbook.sheetnames)


def test_a_shelf_shared_by_two_groups_is_not_used_twice(job: Job, prices: Prices) -> None:
    """A stick of any width serves both, beside sticks of each width."""
    shelf = next(row for row in prices.rows if row.item == "Oak shoe 5 1/4 16 ft")
    rows = (*prices.rows, replace(shelf, item="Any board", width=None, on_hand=Fraction(1)))
    made = build(job, prices=replace(prices, rows=rows))
    sheet = made.workbook[PLAN]
    used = [sheet.cell(row, 1).value for row in range(6, 60) if sheet.cell(row, 2).value == "Any board (on hand)"]
    assert used == [1]


def test_options_are_whole_bids(job: Job, prices: Prices, book: Book) -> None:
    """The column of odd counts is the bid of the job measured so; one that cannot be built says why."""
    odd = replace(job, runs=tuple(replace(run, parity="odd") for run in job.runs))
    made = build(odd, prices=prices)
    sheet, there = book.workbook[OPTIONS], made.values[BID]
    heads = [cell.value for cell in sheet[6]]
    assert heads[1:] == ["As measured", "odd counts", "even counts", "iron 1/2 in", "iron 16 mm", "oak 3/4 in",
                         "oak 1 1/4 in"]  # fmt: skip
    labels = [cell.value for (cell,) in sheet.iter_rows(min_row=7, max_row=13, max_col=1)]
    column = heads.index("odd counts") + 1
    for row, label in enumerate(labels, start=7):
        if label == "Balusters":
            assert sheet.cell(row, column).value == sum(made.values["Summary"][line, 4] for line in range(8, 15))
            continue
        wanted = "Materials, from the buying list" if label == "Materials" else label
        line = max(cell.row for (cell,) in made.workbook[BID].iter_rows(max_col=1) if cell.value == wanted)
        assert sheet.cell(row, column).value == pytest.approx(float(there[line, 2]))
    short = replace(prices, rows=tuple(row for row in prices.rows if row.item != "Oak baluster 3/4 in 48 in"))
    assert all(isinstance(cell.value, int | float) for cell in sheet[7][1:])
    said = str(build(job, prices=short).workbook[OPTIONS].cell(7, heads.index("oak 3/4 in") + 1).value)
    assert said.startswith("Baluster: the piece 'baluster of Water front' is 35 9/16 in long and the longest stick")


def test_a_second_engine_agrees(book: Book, tmp_path: Path) -> None:
    """IronCalc works out the buying list and the bid from their formulas."""
    import ironcalc

    path = tmp_path / "bid.xlsx"
    charts = {sheet.title: sheet._charts for sheet in book.workbook}
    for sheet in book.workbook:  # IronCalc reads cells; pictures are not its business
        sheet._charts = []
    poisoned = {title: dict.fromkeys(values, 0) for title, values in book.values.items()}
    save(book.workbook, path, poisoned)
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    for index, sheet in enumerate(book.workbook):
        sheet._charts = charts[sheet.title]
        for row in sheet.iter_rows():
            for cell in row:
                # IronCalc takes a blank boxed cell of a file for a number; one emptied by hand is blank.
                blank = cell.value is None and not isinstance(cell, MergedCell)
                if blank and (sheet.title, cell.row > 12) in (("Measured", True), (BID, False)):
                    model.set_user_input(index, cell.row, cell.column, "")
    model.evaluate()
    compared = 0
    for title in (PLAN, BUYING, BID, OPTIONS):
        index = book.workbook.sheetnames.index(title)
        for (row, column), value in book.values[title].items():
            got = model.get_cell_value(index, row, column)
            same = (got or "") == value if isinstance(value, str) else got == pytest.approx(float(value), abs=1e-9)
            assert same, f"{title} row {row} column {column}: {got!r}, not {value!r}"
            compared += 1
    assert compared > 150


@pytest.mark.parametrize("sheet", [BUYING, OPTIONS, PLAN])
def test_no_price_is_shared(office: Office, book: Book, path: Path, sheet: str) -> None:
    """Even where somebody marks the whole sheet to be shared."""
    marked = path.with_name("marked.xlsx")
    line = {("Sharing", "A60"): sheet, ("Sharing", "B60"): "(whole sheet)", ("Sharing", "C60"): "yes"}
    office.change_and_read(path, line, save_as=marked)
    done = CliRunner().invoke(share, [str(marked), "-o", str(path.with_name("out"))], catch_exceptions=False)
    assert done.exit_code == 0
    assert f"sheet '{sheet}'" in done.output
    amounts = {float(value) for value in book.values[BID].values() if not isinstance(value, str) and value > 100}
    money = {repr(amount) for amount in amounts if not amount.is_integer()}
    assert len(money) > 8
    for made in path.with_name("out").glob("*.xlsx"):
        with ZipFile(made) as parts:
            text = b"".join(map(parts.read, parts.namelist())).decode(errors="replace")
        assert not [amount for amount in money if amount in text]
        assert "labor" not in text.lower()


def test_the_commands(tmp_path: Path) -> None:
    run = CliRunner()
    made = run.invoke(commands.prices, ["-o", str(tmp_path / "prices.xlsx")], catch_exceptions=False)
    assert made.exit_code == 0
    assert (tmp_path / "prices.xlsx").exists()
    out = tmp_path / "job.xlsx"
    arguments = [WORKBOOKS / "demo-measure.csv", "-o", out, "--prices", WORKBOOKS / "demo-prices.csv"]
    assert run.invoke(commands.job, list(map(str, arguments)), catch_exceptions=False).exit_code == 0
    assert BID in load_workbook(out, read_only=True).sheetnames


def test_a_plan_is_proven_or_says_its_bound(book: Book) -> None:
    groups = [str(cell.value) for (cell,) in book.workbook[PLAN].iter_rows(max_col=1) if ": " in str(cell.value)]
    stated = [text for text in groups if "proven" in text]
    assert len(stated) == 9
