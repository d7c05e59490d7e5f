"""From a bid sheet file to the plans for it, and a plain account of what was found."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from openpyxl.styles.numbers import is_date_format
from openpyxl.utils import get_column_letter

from railfuncs.books.addition import find, record
from railfuncs.books.addition.edit import placed
from railfuncs.books.addition.plan import COLUMNS, Choices, Plan
from railfuncs.books.addition.reckon import planned
from railfuncs.books.addition.styles import Styles
from railfuncs.books.addition.workbook import SheetEntry, Workbook
from railfuncs.errors import BookError

_DATES = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}  # Excel's own date and time formats


@dataclass
class Prepared:
    """A workbook, and what is to be added to it by worksheet part."""

    book: Workbook
    plans: dict[str, list[Plan]] = field(default_factory=dict)

    @property
    def all(self) -> list[Plan]:
        return [plan for plans in self.plans.values() for plan in plans]


def prepare(
    book: Workbook, choices: Choices, wanted: find.Wanted | None = None, sheets: tuple[str, ...] = ()
) -> Prepared:
    """Find the openings of a workbook and plan the columns; changes nothing.

    Args:
        book: the workbook file as read
        choices: the columns and the numbers they need
        wanted: what the person says about the sheet's columns
        sheets: only these sheets; all visible ones if empty
    Raises:
        BookError: no openings were found, or the file cannot be edited safely.
    """
    if record.is_marked(book):
        name = book.package.name
        raise BookError(f"{name} has added columns already, changed since; take them away with --remove first")
    wanted = wanted or find.Wanted()
    prepared = Prepared(book)
    dates = _DateStyles(book)
    seen: list[str] = []
    for entry in _chosen(book, sheets):
        tables = book.tables(entry)
        sheet = book.sheet(entry)
        blocks = find.blocks(sheet, tables, wanted)
        if not blocks:
            seen.extend(_texts(book, entry))
            continue
        if sheet.protected:
            raise BookError(f"sheet {entry.title} is protected; take the protection off, or leave it out with --sheet")
        plans = []
        for block in blocks:
            dates.set_aside(block)
            if block.rows:
                keys = _columns_for(block, choices)
                start, joins = placed(book, entry, block.table, len(keys))
                plans.append(planned(block, keys, start, joins, choices))
        if plans:
            prepared.plans[entry.part] = plans
    if not prepared.plans:
        raise find.not_found(seen)
    return prepared


def _chosen(book: Workbook, sheets: tuple[str, ...]) -> list[SheetEntry]:
    if not sheets:
        return [entry for entry in book.sheets if not entry.hidden]
    by_title = {entry.title.casefold(): entry for entry in book.sheets}
    for title in sheets:
        if title.casefold() not in by_title:
            there = ", ".join(entry.title for entry in book.sheets)
            raise BookError(f"{book.package.name} has no sheet {title}; it has {there}")
    return [by_title[title.casefold()] for title in sheets]


def _texts(book: Workbook, entry: SheetEntry) -> list[str]:
    """The first texts of a sheet that could be headers, for the sentence that asks for one."""
    sheet = book.sheet(entry)
    found = []
    for row in list(sheet.rows)[:30]:
        shown = [sheet.value(row, c.column) for c in sheet.cells(row).values() if c.is_text]
        lines = ("".join(sign for sign in " ".join(text.split()) if sign.isprintable()) for text in shown if text)
        found += [line[:30] for line in lines if line]
    return found


def _columns_for(block: find.Block, choices: Choices) -> tuple[str, ...]:
    """The columns asked for, and the count where they rest on it; without a wish, all that the inputs suffice for.

    Raises:
        BookError: a column was asked for whose input the sheet does not hold.
    """
    has = block.columns
    depths = choices.bottom_depth is not None and choices.top_depth is not None
    if choices.columns:
        wanted = tuple(key for key in COLUMNS if key in choices.columns)
        if "cut" in wanted and ("height" not in has or not depths):
            raise BookError(
                f"sheet {block.sheet.title} row {block.header_row}: a cut length needs a column of clear heights"
                " (--height) and the mortise depths (--mortise)"
            )
        if "price" in wanted and choices.each is None:
            raise BookError("a price needs what one baluster costs, such as --each 4.35")
        if "pieces" in wanted and "qty" not in has:
            raise BookError(
                f"sheet {block.sheet.title} row {block.header_row}: pieces need a column that says how many runs"
                " (--qty)"
            )
        counted = {"gap", "oc", "tape", "pieces", "price"} & set(wanted) and "count" not in has
        return tuple(key for key in COLUMNS if key in wanted or (key == "count" and counted))
    missing = {"count"} if "count" in has else set()
    missing |= set() if "height" in has and depths else {"cut"}
    missing |= set() if "qty" in has else {"pieces"}
    missing |= set() if choices.each is not None else {"price"}
    return tuple(key for key in COLUMNS if key not in missing)


class _DateStyles:
    """Numbers shown as dates are no lengths: the spreadsheet has turned a typed fraction into a date."""

    def __init__(self, book: Workbook) -> None:
        self._styles = Styles(book.package.parts[book.styles_part] if book.styles_part else None)
        self._known: dict[int, bool] = {}

    def set_aside(self, block: find.Block) -> None:
        column = block.columns["opening"].column
        told = dict(block.skipped)
        for row in (*block.rows, *told):
            cell = block.sheet.cell(row, column)
            if cell and (cell.kind == "d" or (cell.kind == "n" and self._is_date(cell.style))):
                told[row] = "the spreadsheet has turned this length into a date; write it as 0 3/4 or 0.75"
        block.skipped = sorted(told.items())
        block.rows = [row for row in block.rows if row not in told]

    def _is_date(self, style: int) -> bool:
        if style not in self._known:
            code = self._styles.number_format(style)
            self._known[style] = int(code) in _DATES if code.isdigit() else is_date_format(code)
        return self._known[style]


def account(prepared: Prepared) -> Iterator[str]:
    """Lines that say what was found and what is to be added."""
    for plan in prepared.all:
        block = plan.block
        first, last = block.rows[0], block.rows[-1]
        many = f"{len(block.rows)} openings in rows {first} to {last}" if first < last else f"1 opening in row {first}"
        yield f"Sheet {block.sheet.title}: headers in row {block.header_row}, {many}"
        for role in find.ROLES:
            if role in block.columns:
                found = block.columns[role]
                unit = "" if role in ("qty", "count") else f", {found.unit}{' (assumed)' if found.unit_assumed else ''}"
                taken = ", taken as clear height between shoe and rail" if role == "height" else ""
                yield f"  {role:<8} column {found.letter}  {found.header!r}{unit}{taken}"
        for offset, column in enumerate(plan.columns):
            yield f"  adds     column {get_column_letter(plan.start + offset)}  {column.header!r}"
        if block.table:
            told = "joins" if plan.joins_table else "stands apart from"
            yield f"  {told} the table {block.table.name}"
        sums = [row for row, why in block.skipped if why == "a row that sums"]
        if sums:
            yield f"  left blank, as they sum: row {', '.join(map(str, sums))}"
        skipped = [(row, f"is left blank: {why}") for row, why in block.skipped if row not in sums]
        for row, what in sorted([*skipped, *plan.problems], key=lambda told: told[0]):
            yield f"  row {row} {what}"
        for row in plan.wide:
            yield f"  row {row}: the gap REACHES THE LIMIT, or does on a tape: give this opening another baluster"
        opening = block.columns["opening"].column
        for row in block.rows:
            cell = block.sheet.cell(row, opening)
            if cell and cell.is_text and any(c.cells[row].formula for c in plan.columns if row in c.cells):
                yield (
                    f"  row {row}: the length is typed as text, so its formula knows it by heart"
                    " and shows #N/A if the text is changed"
                )
