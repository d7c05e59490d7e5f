"""Putting planned columns into a workbook's parts by splicing bytes; every other part stays as it is."""

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import count
from typing import Any
from xml.parsers import expat

from openpyxl.utils import get_column_letter

from railfuncs.books.addition import record
from railfuncs.books.addition.markup import Changes, Markup, Tag, Undo, attribute, text, undone
from railfuncs.books.addition.names import edit_names
from railfuncs.books.addition.package import Package, parsed
from railfuncs.books.addition.plan import Column, Entry, Plan
from railfuncs.books.addition.sheet import LAST_COLUMN, Area, Sheet, area
from railfuncs.books.addition.styles import Styles
from railfuncs.books.addition.workbook import SheetEntry, TableEntry, Workbook
from railfuncs.errors import BookError

_SPANS = re.compile(rb"""\sspans=["']\d+:(\d+)["']""")
_LONG = 100  # rows from which on a column's formulas are shared
_BEYOND_CELLS = ("conditionalFormatting", "dataValidation")


@dataclass
class Edited:
    """The new file, the parts that changed in it, and what the person should know."""

    content: bytes
    changed: dict[str, bytes | None]
    notes: list[str] = field(default_factory=list)


def placed(book: Workbook, entry: SheetEntry, block_table: TableEntry | None, width: int) -> tuple[int, bool]:
    """The first free column for a block, and whether its columns join the block's table.

    Right of everything in the sheet; a table is joined where nothing stands right of it in its rows.
    """
    if any(relation.kind.endswith("/pivotTable") for relation in book.relations(entry.part)):
        raise BookError(f"sheet {entry.title} holds a pivot table, which could grow over new columns")
    sheet = book.sheet(entry)
    tables = book.tables(entry)
    if block_table is not None:
        here = block_table.area
        beside = Area(here.right + 1, here.top, here.right + width, here.bottom)
        clear = not any(a.meets(beside) for a in (*sheet.merges, *(t.area for t in tables)))
        rows = (r for r in sheet.rows if here.top <= r <= here.bottom)
        if clear and not any(sheet.last_column(r) > here.right for r in rows):
            return here.right + 1, True
    start = max([sheet.right_edge, *(t.area.right for t in tables)]) + 1
    if start + width - 1 > LAST_COLUMN:
        raise BookError(f"sheet {entry.title} is filled to its last columns; there is no room for more")
    return start, False


def edited(book: Workbook, plans: dict[str, list[Plan]]) -> Edited:
    """Make the workbook with the planned columns; `plans` by worksheet part.

    Raises:
        BookError: something in the file forbids it. Nothing is written by this function.
    """
    package = book.package
    styles = Styles(package.parts[book.styles_part] if book.styles_part else None)
    changed: dict[str, bytes | None] = {}
    undo: dict[str, list[Undo]] = {}
    notes: list[str] = []

    def keep(part: str, made: tuple[bytes, list[Undo]] | None) -> None:
        if made is not None and made[1]:
            changed[part], undo[part] = made

    entries = {e.part: e for e in book.sheets}
    for part, of_sheet in plans.items():
        sheet = book.sheet(entries[part])
        keep(part, _edit_sheet(sheet, of_sheet, styles, notes))
        for plan in of_sheet:
            if plan.joins_table and plan.block.table:
                keep(plan.block.table.part, _edit_table(package, plan))
    made_styles = styles.made()
    if made_styles and book.styles_part:
        keep(book.styles_part, made_styles)
    keep(book.part, edit_names(book, plans, entries, notes))
    record.attach(book, changed, undo)
    content = package.assembled(changed)
    _verify(package, content, changed, undo)
    return Edited(content, changed, notes)


def _edit_sheet(sheet: Sheet, plans: list[Plan], styles: Styles, notes: list[str]) -> tuple[bytes, list[Undo]]:
    changes = Changes(sheet.markup.content)
    new_cells: dict[int, list[tuple[int, bytes]]] = {}
    shared = count(sheet.shared_formulas)
    for plan in plans:
        for row_number, cells in _cells(sheet, plan, styles, shared).items():
            new_cells.setdefault(row_number, []).extend(cells)
    for row_number, cells in new_cells.items():
        here = sheet.rows[row_number]
        cells.sort()
        _put_cells(sheet, changes, row_number, cells)
        spans = _SPANS.search(here.tag.attrs)
        if spans and cells[-1][0] > int(spans[1]):
            place = here.tag.attrs_start
            changes.replace(place + spans.start(1), place + spans.end(1), b"%d" % cells[-1][0])
    _widen_dimension(sheet, changes, max(plan.last for plan in plans))
    _set_widths(sheet, changes, plans)
    for plan in plans:
        _widen_filter(sheet, changes, plan)
        _note_ranges(sheet, plan, notes)
    return changes.made()


def _put_cells(sheet: Sheet, changes: Changes, number: int, cells: list[tuple[int, bytes]]) -> None:
    """New cells go at the row's end: they were placed right of everything."""
    row = sheet.rows[number]
    if sheet.last_column(number) >= cells[0][0]:
        raise AssertionError(f"{sheet.title} row {number}: cells stand right of the new ones")
    joined = b"".join(cell for _, cell in cells)
    if row.tag.empty:
        slash = row.tag.end - 2
        changes.replace(slash, row.tag.end, b">" + joined + b"</" + sheet.markup.named("row") + b">")
    else:
        changes.insert(row.end, joined)


def _cells(sheet: Sheet, plan: Plan, styles: Styles, shared: Iterator[int]) -> dict[int, list[tuple[int, bytes]]]:
    """The XML of a block's new cells by row: header, data, and bare format where a neighbour is dressed."""
    block = plan.block
    out: dict[int, list[tuple[int, bytes]]] = {}
    prefix = sheet.markup.prefix
    bottom = block.table.area.bottom if plan.joins_table and block.table else block.last_row
    rows = [row for row in sheet.rows if block.header_row <= row <= bottom]
    looks = {row: sheet.cell(row, block.look) for row in rows}
    for offset, column in enumerate(plan.columns):
        place = plan.start + offset
        letter = get_column_letter(place)
        formulas = _Formulas(prefix, column, letter, shared)
        dressed: dict[int, bytes] = {}
        for row in rows:
            neighbour = looks[row]
            style = neighbour.style if neighbour else 0
            opening = b'<%sc r="%s%d"' % (prefix, letter.encode(), row)
            if row == block.header_row:
                made = opening + _styled(style) + _content(prefix, b"", column.header)
            elif (entry := column.cells.get(row)) is not None:
                if style not in dressed:
                    dressed[style] = _styled(styles.like(style, column.number_format))
                made = opening + dressed[style] + _content(prefix, formulas.of(row, entry), entry.value)
            elif style:
                made = opening + _styled(style) + b"/>"
            else:
                continue
            out.setdefault(row, []).append((place, made))
    return out


class _Formulas:
    """The formulas of a column. In a long one, rows with the same formula share it, as spreadsheets do."""

    def __init__(self, prefix: bytes, column: Column, letter: str, numbers: Iterator[int]) -> None:
        self._name = prefix + b"f"
        rows: dict[str, list[int]] = {}
        if len(column.cells) >= _LONG:
            for row, entry in column.cells.items():
                if entry.template:
                    rows.setdefault(entry.template, []).append(row)
        self._shared: dict[str, tuple[int, bytes]] = {}
        self._heads: dict[int, bytes] = {}
        for template, places in rows.items():
            if len(places) < 2:
                continue
            number_of = next(numbers)
            head = b'<%s t="shared" ref="%s" si="%d">' % (
                self._name, f"{letter}{places[0]}:{letter}{places[-1]}".encode(), number_of,
            )  # fmt: skip
            self._heads[places[0]] = head
            self._shared[template] = (places[0], b'<%s t="shared" si="%d"/>' % (self._name, number_of))

    def of(self, row: int, entry: Entry) -> bytes:
        if entry.formula is None:
            return b""
        if entry.template in self._shared:
            first, follower = self._shared[entry.template]
            if row != first:
                return follower
            return self._heads[row] + text(entry.formula) + b"</" + self._name + b">"
        return b"<" + self._name + b">" + text(entry.formula) + b"</" + self._name + b">"


def _styled(style: int) -> bytes:
    return b' s="%d"' % style if style else b""


def _content(p: bytes, formula: bytes, value: Any) -> bytes:
    """The rest of a cell after its format: kind, formula, value."""
    if not isinstance(value, str):
        return b">%s<%sv>%s</%sv></%sc>" % (formula, p, number(value).encode(), p, p)
    if formula:
        return b' t="str">%s<%sv%s>%s</%sv></%sc>' % (formula, p, _kept_spaces(value), text(value), p, p)
    return b' t="inlineStr"><%sis><%st%s>%s</%st></%sis></%sc>' % (p, p, _kept_spaces(value), text(value), p, p, p)


def _kept_spaces(value: str) -> bytes:
    return b' xml:space="preserve"' if value != value.strip() else b""


def number(value: Fraction | int | float) -> str:
    """A number as it is stored in a cell: whole where it is whole, else the nearest double."""
    return str(int(value)) if value == int(value) else repr(float(value))


def _widen_dimension(sheet: Sheet, changes: Changes, last: int) -> None:
    tag = sheet.markup.find("dimension", 0, sheet.data.start)
    written = tag.get("ref") if tag else None
    if tag is None or not written:
        return
    was = area(written, f"sheet {sheet.title}")
    rows = list(sheet.rows)
    wide = Area(was.left, min([was.top, *rows]), max(was.right, last), max([was.bottom, *rows]))
    changes.set_attribute(tag, "ref", str(wide))


def _set_widths(sheet: Sheet, changes: Changes, plans: list[Plan]) -> None:
    """A width for each new column that no `col` covers yet: enough for its header."""
    markup = sheet.markup
    cols = markup.find("cols", 0, sheet.data.start)
    end = markup.close("cols", cols)[0] if cols else 0
    have = [] if cols is None else list(markup.each("col", cols.end, end))
    spans = [(int(t.get("min") or 0), int(t.get("max") or 0), t) for t in have]
    new: dict[int, bytes] = {}
    for plan in plans:
        for offset, column in enumerate(plan.columns):
            place = plan.start + offset
            if not any(low <= place <= high for low, high, _ in spans):
                wide = _needed_width(column)
                new[place] = b'<%s min="%d" max="%d" width="%s" customWidth="1"/>' % (
                    markup.named("col"), place, place, number(Fraction(repr(wide))).encode(),
                )  # fmt: skip
    if not new:
        return
    if cols is None or cols.empty:
        name = markup.named("cols")
        whole = b"<" + name + b">" + b"".join(new[p] for p in sorted(new)) + b"</" + name + b">"
        if cols is None:
            changes.insert(sheet.data.start, whole)
        else:
            changes.replace(cols.start, cols.end, whole)
        return
    for place in sorted(new):
        after = [tag for low, _, tag in spans if low > place]
        changes.insert(after[0].start if after else end, new[place])


def _needed_width(column: Column) -> float:
    return max(len(column.header) + 2.0, 9.0)


def _widen_filter(sheet: Sheet, changes: Changes, plan: Plan) -> None:
    tag = sheet.markup.find("autoFilter", sheet.data_end[1])
    written = tag.get("ref") if tag else None
    if tag is None or not written:
        return
    was = area(written)
    if was.top == plan.block.header_row and was.right + 1 == plan.start:
        changes.set_attribute(tag, "ref", str(was.widened(plan.last)))


def _note_ranges(sheet: Sheet, plan: Plan, notes: list[str]) -> None:
    """Ranges of formats and checks that end at the block's last column are left, and said."""
    block = plan.block
    beside = Area(block.look, block.header_row, block.look, block.last_row)
    for name, words in zip(_BEYOND_CELLS, ("a conditional format", "a data check"), strict=True):
        for tag in sheet.markup.each(name, sheet.data_end[1]):
            if any(area(ref).meets(beside) for ref in (tag.get("sqref") or "").split()):
                note = f"{sheet.title}: {words} on {tag.get('sqref')} was not widened to the new columns"
                if note not in notes:
                    notes.append(note)


def _edit_table(package: Package, plan: Plan) -> tuple[bytes, list[Undo]]:
    table = plan.block.table
    assert table is not None
    markup = Markup(package.parts[table.part], "table", f"table {table.name}")
    changes = Changes(markup.content)
    changes.set_attribute(markup.root, "ref", str(table.area.widened(plan.last)))
    own_filter = markup.find("autoFilter")
    if own_filter is not None and (written := own_filter.get("ref")):
        changes.set_attribute(own_filter, "ref", str(area(written).widened(plan.last)))
    columns = markup.find("tableColumns")
    if columns is None or columns.empty:
        raise BookError(f"table {table.name} does not say what its columns are")
    tags: list[Tag] = list(markup.each("tableColumn", columns.end))
    identity = max(int(tag.get("id") or 0) for tag in tags)
    end = markup.close("tableColumns", columns)[0]
    lines = []
    for offset, column in enumerate(plan.columns, start=1):
        name = markup.named("tableColumn")
        line = b'<%s id="%d" name="%s"' % (name, identity + offset, attribute(column.header))
        if column.table_formula:
            inner = markup.named("calculatedColumnFormula")
            line += b"><%s>%s</%s></%s>" % (inner, text(column.table_formula), inner, name)
        else:
            line += b"/>"
        lines.append(line)
    changes.insert(end, b"".join(lines))
    if columns.place("count"):
        changes.set_attribute(columns, "count", str(len(tags) + len(plan.columns)))
    return changes.made()


def _verify(package: Package, content: bytes, changed: dict[str, bytes | None], undo: dict[str, list[Undo]]) -> None:
    """Prove the new file before it is written: it opens, what was not to change has not, what changed can go back."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        infos = {info.filename: info for info in archive.infolist()}
        for info in package.infos:
            name = info.filename
            if name not in changed:
                now = infos[name]
                raw = content[now.header_offset : now.header_offset + len(package.raw(name))]
                if (now.CRC, now.file_size) != (info.CRC, info.file_size) or raw != package.raw(name):
                    raise AssertionError(f"{name} has changed and should not have")
        for name, made in changed.items():
            if made is None or archive.read(name) != made:
                raise AssertionError(f"{name} was not written as made")
            if name in undo and undone(made, undo[name]) != package.parts[name]:
                raise AssertionError(f"{name} could not be changed back")
            _refuse_malformed(package, name, made)


def _refuse_malformed(package: Package, name: str, made: bytes) -> None:
    try:
        expat.ParserCreate(namespace_separator=" ").Parse(made, True)
    except expat.ExpatError:
        if name in package.parts:
            parsed(package.parts[name], f"{package.name} is damaged: {name}")  # where it was so before, that is said
        raise
