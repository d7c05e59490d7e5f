"""Which stick each piece is cut from: made by Python once, for the lengths of the moment, and saying so."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from openpyxl.utils import get_column_letter

from railfuncs.books.cells import Block, Book, Cell, Page
from railfuncs.books.job.run import PieceCells, RunCells
from railfuncs.books.job.shop import SHOP_CAUTION
from railfuncs.books.look import printed
from railfuncs.books.prices import Priced, Prices
from railfuncs.errors import InputError, RuleError
from railfuncs.lengths import MM
from railfuncs.rules import job as together
from railfuncs.rules import stock as rules
from railfuncs.stock import CutStick, Piece, Plan, Stick, plan
from railfuncs.stock.job import Length, inches

_WIDE = 64  # narrow columns that a stick is drawn over
_DRAWN = 5  # the first of them
SECONDS = 10.0  # for one group of pieces
# What is cut from sticks: (use in the price book, piece in the cut list, its width).
_PIECES = (("handrail", "Handrail", "rail_width"), ("shoe", "Shoe", "shoe_width"), ("baluster", "Baluster", "width"))

_LEAD = (
    "This sheet does not follow its inputs: it was worked out once, for the lengths in the table at its end and the"
    " prices of then, with a saw kerf of {} and {} off each stick to square its ends. Cut from the squared end, left to"
    " right. To make it again, make the workbook again."
)


@dataclass(frozen=True)
class Needed:
    """Pieces of one run that are cut alike; `length` is what one takes of a stick, in the run's own unit."""

    run: RunCells
    use: str
    cells: PieceCells

    @property
    def name(self) -> str:
        return self.cells.name

    @property
    def count(self) -> int:
        return int(self.cells.count.value)

    @property
    def length(self) -> Fraction:
        length: Fraction = self.cells.stick.value
        return length

    @property
    def piece(self) -> Piece:
        """As the planner takes it, in inches."""
        return Piece(self.length / self.run.per_inch, self.count, self.words)

    @property
    def drawn(self) -> str:
        """A letter for the run, and the length as its tape reads it."""
        return f"{self.letter} {in_words(self.length, self.run.unit).removesuffix(' in')}"

    @property
    def letter(self) -> str:
        letter: str = get_column_letter(self.run.number + 1)
        return letter

    @property
    def words(self) -> str:
        return f"{self.cells.called[0].lower()}{self.cells.called[1:]} of {self.run.run.name}"


@dataclass(frozen=True)
class Group:
    """Pieces cut from the same sticks, and their plan; `rows` of the price book beside each stick offered."""

    title: str
    unit: str
    drawn: dict[str, str]  # what is written on a piece, by its label
    rows: tuple[Priced, ...]
    made: Plan

    def shown(self, length: Length) -> str:
        """A length of this group in words, in its own unit."""
        return in_words(length / MM, "mm") if self.unit == "mm" else in_words(length, "in")


@dataclass(frozen=True)
class Planned:
    """What later pages need: how many sticks of each row of the price book, and the notice over the plan."""

    taken: dict[Priced, Cell]
    notice: Cell


def in_words(length: Length, unit: str) -> str:
    """A length as a tape in that unit reads it; millimetres to a tenth.

    >>> in_words(Fraction(195, 2), "in"), in_words(Fraction(5333, 10), "mm")
    ('97 1/2 in', '533.3 mm')
    """
    return inches(length) if unit == "in" else f"{float(length):.1f}".removesuffix(".0") + " mm"


def pieces(runs: list[RunCells]) -> list[Needed]:
    """What is to be cut, as the cut list has it now."""
    return [
        Needed(run, use, cells)
        for use, name, _ in _PIECES
        for run in runs
        for cells in run.pieces
        if cells.name == name
    ]


def make(needed: list[Needed], prices: Prices, seconds: float) -> list[Group]:
    """A plan for each group of pieces that the same sticks of the price book serve.

    Raises:
        InputError: a sentence for each piece that no stick serves.
    """
    groups: dict[tuple[int, ...], list[Needed]] = {}
    problems = []
    for each in needed:
        if not each.count and each.cells.called != each.name:
            continue  # a place on a tread that has no baluster
        serving = tuple(place for place, row in enumerate(prices.rows) if _serves(row, each))
        if not serving:
            problems.append(f"the price book has no stick for the {each.words}: add a row with Use {each.use},"
                            f" {_wanted(each)}, or leave those cells blank for any")  # fmt: skip
        groups.setdefault(serving, []).append(each)
    if problems:
        raise InputError(problems)
    left = {place: int(row.on_hand) for place, row in enumerate(prices.rows)}
    made = []
    for places, members in groups.items():
        try:
            made.append(_group(members, places, prices, left, seconds))
        except RuleError as error:
            problems.append(f"{members[0].name}: {error}")
    if problems:
        raise InputError(problems)
    return made


def _width_key(each: Needed) -> str:
    return next(key for use, _, key in _PIECES if use == each.use)


def _width(each: Needed) -> Fraction:
    width: Fraction = each.run[_width_key(each)].value
    return width / each.run.per_inch


def _serves(row: Priced, each: Needed) -> bool:
    material = each.run["material"].value if each.use == "baluster" else ""
    made_of = not row.material or each.use != "baluster" or row.material.casefold() == material.casefold()
    return row.use == each.use and made_of and row.width in (None, _width(each))


def _wanted(each: Needed) -> str:
    made_of = f"Made of {each.run['material'].value}, " if each.use == "baluster" else ""
    return f"{made_of}Width {in_words(each.run[_width_key(each)].value, each.run.unit)}"


def _group(
    members: list[Needed], places: tuple[int, ...], prices: Prices, left: dict[int, int], seconds: float
) -> Group:
    """What is on hand costs nothing more, and there is only so much of it; any number can be bought."""
    rows = [prices.rows[place] for place in places]
    offered = [(place, Stick(row.length or 0, 0, left[place])) for place, row in zip(places, rows, strict=True)
               if left[place]]  # fmt: skip
    offered += [(place, Stick(row.length or 0, row.price)) for place, row in zip(places, rows, strict=True)]
    made = plan([each.piece for each in members], [stick for _, stick in offered], prices.kerf, prices.trim,
                time_limit=seconds)  # fmt: skip
    for cut in made.sticks:
        place, stick = offered[cut.place]
        left[place] -= stick.on_hand is not None
    titles = dict.fromkeys(_title(each) for each in members)
    unit = "mm" if all(each.run.unit == "mm" for each in members) else "in"
    drawn = {each.words: each.drawn for each in members}
    return Group(", ".join(titles), unit, drawn, tuple(prices.rows[place] for place, _ in offered), made)


def _title(each: Needed) -> str:
    material = f"{each.run['material'].value} " if each.use == "baluster" else ""
    return f"{each.name} {material}{in_words(each.run[_width_key(each)].value, each.run.unit)}"


def add(book: Book, runs: list[RunCells], prices: Prices, seconds: float = SECONDS) -> Planned:
    needed = pieces(runs)
    groups = make(needed, prices, seconds)
    page = book.page("Stock plan")
    page.put(1, 1, "Stock plan", "title")
    page.put(3, 1, _LEAD.format(inches(prices.kerf), inches(prices.trim)), "lead")
    page.put(4, 1, SHOP_CAUTION, "caution")
    row = 6
    taken: dict[Priced, int] = dict.fromkeys(prices.of("handrail", "shoe", "baluster"), 0)
    for group in groups:
        row = _sticks(page, row, group) + 1
        for cut in group.made.sticks:
            taken[group.rows[cut.place]] += 1
    row, flags = _made_for(page, row, needed)
    notice = page.calc(2, 1, rules.plan_notice, Block([[flag] for flag in flags]), style="status")
    counts = _taken(page, row + 1, taken)
    _shape(page)
    return Planned(counts, notice)


def _sticks(page: Page, row: int, group: Group) -> int:
    """The sticks of one group, alike ones in one row, drawn to the scale of the longest."""
    page.put(row, 1, f"{group.title}: {group.made.statement}", "group")
    for column, head in enumerate(("Sticks", "Cut from", "Stick", "Offcut"), start=1):
        page.put(row + 1, column, head, "head")
    page.put(row + 1, _DRAWN, "Pieces: run and length", "head")
    _merge(page, row + 1, _DRAWN, _DRAWN + _WIDE - 1)
    longest = max(cut.stick.length for cut in group.made.sticks)
    row += 2
    for _, alike in groupby(group.made.sticks, key=_as_drawn):
        same = list(alike)
        priced = group.rows[same[0].place]
        shelf = " (on hand)" if same[0].stick.on_hand is not None else ""
        page.put(row, 1, Fraction(len(same)), "whole")
        page.put(row, 2, priced.item + shelf)
        page.put(row, 3, group.shown(same[0].stick.length), "text")
        page.put(row, 4, group.shown(same[0].offcut), "text")
        _draw(page, row, group, same[0], Fraction(longest))
        page.sheet.row_dimensions[row].height = 26
        row += 1
    return row


def _as_drawn(cut: CutStick) -> Any:
    return cut.place, [each.piece.label for each in cut.cuts]


def _draw(page: Page, row: int, group: Group, cut: CutStick, longest: Fraction) -> None:
    """Each piece as a box of cells, the rest of the stick as a tinted one."""
    end = max(1, round(cut.stick.length / longest * _WIDE))
    boxes = [(round(each.end / longest * _WIDE), group.drawn[each.piece.label], "piece") for each in cut.cuts]
    boxes.append((end, "", "offcut"))
    start = 0
    for stop, label, style in boxes:
        stop = min(stop, end)
        if stop <= start:
            continue  # too narrow to draw
        for column in range(start, stop):
            page.put(row, _DRAWN + column, "" if column > start else label, style)
        _merge(page, row, _DRAWN + start, _DRAWN + stop - 1)
        start = stop


_HEADS = ("Made for", "Piece", "How many", "Length taken", "Width", "Made of", "Now", "Taken now", "Changed: 1")
_PLACES = (1, 2, 3, 4, *(_DRAWN + 12 * place for place in range(5)))


def _made_for(page: Page, row: int, needed: list[Needed]) -> tuple[int, list[Cell]]:
    """The pieces planned for beside those of the cut list now."""
    for column, head in zip(_PLACES, _HEADS, strict=True):
        page.put(row, column, head, "head")
        _widened(page, row, column)
    flags = []
    for each in needed:
        row += 1
        run, unit = each.run, each.run.unit
        page.put(row, 1, f"{each.letter} = {run.run.name}")
        page.put(row, 2, f"{each.cells.called}, {unit}")
        count = page.put(row, 3, Fraction(each.count), "whole")
        length = page.put(row, 4, each.length, f"fine {unit}")
        width_now = run[_width_key(each)]
        width = page.put(row, _PLACES[4], width_now.value, f"fine {unit}")
        baluster = each.use == "baluster"
        made_of = page.put(row, _PLACES[5], run["material"].value if baluster else "", "centre")
        now_count = page.calc(row, _PLACES[6], together.same, each.cells.count, style="whole")
        now_length = page.calc(row, _PLACES[7], together.same, each.cells.stick, style=f"fine {unit}")
        now = (now_count, now_length, width_now, run["material"] if baluster else made_of)
        flags.append(page.calc(row, _PLACES[8], rules.changed, count, length, width, made_of, *now, style="whole"))
        for column in _PLACES[4:]:
            _widened(page, row, column)
    return row + 1, flags


def _widened(page: Page, row: int, column: int) -> None:
    if column >= _DRAWN:
        _merge(page, row, column, column + 11)


def _merge(page: Page, row: int, first: int, last: int) -> None:
    if last > first:
        page.sheet.merge_cells(start_row=row, end_row=row, start_column=first, end_column=last)


def _taken(page: Page, row: int, taken: dict[Priced, int]) -> dict[Priced, Cell]:
    page.put(row, 1, "Sticks", "head")
    page.put(row, 2, "Taken in all, on hand and bought", "head")
    counts = {}
    for at, (priced, count) in enumerate(taken.items(), start=row + 1):
        counts[priced] = page.put(at, 1, Fraction(count), "whole")
        page.put(at, 2, priced.item)
    return counts


def _shape(page: Page) -> None:
    sheet = page.sheet
    last = _DRAWN + _WIDE - 1
    for row, height in ((2, 18), (3, 30), (4, 30)):
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=last)
        sheet.row_dimensions[row].height = height
    for letter, width in zip("ABCD", (16, 26, 11, 13), strict=True):
        sheet.column_dimensions[letter].width = width
    for column in range(_DRAWN, last + 1):
        sheet.column_dimensions[get_column_letter(column)].width = 1.3
    printed(sheet, landscape=True, tall=True)
