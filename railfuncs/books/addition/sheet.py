"""A worksheet part as rows and cells, read by place, so that cells can be put in without touching the others."""

import math
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from html import unescape
from typing import Any

from openpyxl.utils import column_index_from_string, get_column_letter

from railfuncs.books.addition.markup import ATTRS, Markup, Tag
from railfuncs.errors import BookError

LAST_COLUMN, LAST_ROW = 16384, 1048576

_ADDRESS = re.compile(r"^\$?([A-Za-z]{1,3})\$?(\d{1,7})$")
_TEXT = re.compile(rb"<(?:[\w.\-]+:)?t(?:\s[^>]*)?>(.*?)</(?:[\w.\-]+:)?t\s*>", re.DOTALL)
_ONE_TEXT = re.compile(rb"<(?:[\w.\-]+:)?t>([^<]*)</(?:[\w.\-]+:)?t>")
_PHONETIC = re.compile(rb"<(?:[\w.\-]+:)?rPh\b.*?</(?:[\w.\-]+:)?rPh\s*>", re.DOTALL)
_CODED = re.compile(r"_x([0-9A-Fa-f]{4})_")


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of cells, numbered from 1."""

    left: int
    top: int
    right: int
    bottom: int

    def __str__(self) -> str:
        first = f"{get_column_letter(self.left)}{self.top}"
        last = f"{get_column_letter(self.right)}{self.bottom}"
        return first if first == last else f"{first}:{last}"

    def widened(self, right: int) -> "Area":
        return Area(self.left, self.top, max(self.right, right), self.bottom)

    def meets(self, other: "Area") -> bool:
        return (
            self.left <= other.right and other.left <= self.right
            and self.top <= other.bottom and other.top <= self.bottom
        )  # fmt: skip


def area(reference: str, where: str = "the sheet") -> Area:
    """Read a reference such as `A1:K40` or `$B$2`; whole rows or columns reach the sheet's edges."""
    first, _, last = reference.replace("$", "").partition(":")
    last = last or first
    ends = []
    for part, edge in ((first, (1, 1)), (last, (LAST_COLUMN, LAST_ROW))):
        found = re.fullmatch(r"([A-Za-z]{1,3})?(\d{1,7})?", part)
        if found is None or not part:
            raise BookError(f"{where} has a reference {reference} that cannot be read")
        column = column_index_from_string(found[1].upper()) if found[1] else edge[0]
        ends.append((column, int(found[2]) if found[2] else edge[1]))
    (left, top), (right, bottom) = ends
    return Area(min(left, right), min(top, bottom), max(left, right), max(top, bottom))


@dataclass(slots=True)
class Cell:
    """One cell as it stands. `kind` is the file's own (`n`, `s`, `str`, `inlineStr`, `b`, `e`)."""

    column: int
    style: int
    kind: str
    inner: bytes

    @property
    def is_text(self) -> bool:
        return self.kind in ("s", "str", "inlineStr")


@dataclass(slots=True)
class Row:
    """One row: where its content begins and ends in the part."""

    number: int
    tag: Tag
    start: int
    end: int


class Sheet:
    """One worksheet part.

    Raises:
        BookError: the sheet is protected, or its rows cannot be told apart safely.
    """

    def __init__(self, content: bytes, title: str, part: str, shared: "SharedTexts") -> None:
        self.title = title
        self.part = part
        self.shared = shared
        self.markup = Markup(content, "worksheet", f"sheet {title}")
        data = self.markup.find("sheetData")
        if data is None:
            raise BookError(f"sheet {title} holds no cells")
        self.data = data
        self.data_end = self.markup.close("sheetData", data)
        prefix = self.markup.prefix
        self._cell = re.compile(rb"<%sc(%s)\s*(?:/>|>(.*?)</%sc\s*>)" % (prefix, ATTRS, prefix), re.DOTALL)
        self._value = re.compile(rb"<%sv(?:\s[^>]*)?>([^<]*)</%sv\s*>" % (prefix, prefix))
        self._formula = re.compile(rb"<%sf(%s)\s*(?:/>|>([^<]*)</%sf\s*>)" % (prefix, ATTRS, prefix))
        self._parsed: dict[int, dict[int, Cell]] = {}
        self._one: dict[tuple[int, int], Cell | None] = {}
        self._rests: dict[bytes, tuple[int, str]] = {}
        self._last: dict[int, int] = {}
        self._end_cell = b"</%sc>" % prefix
        self._start_cell = b"<%sc" % prefix
        begin, stop = data.end, self.data_end[0]
        opened = self.markup.seen.count(b"<%sc" % prefix, begin, stop)  # whatever stands behind it: a line break may
        # Where every cell begins with its address, one can be found without reading the others.
        self._addressed = opened > 0 and opened == self.markup.seen.count(b'<%sc r="' % prefix, begin, stop)
        self._addressed &= not self.markup.seen.count(b"</%sc " % prefix, begin, stop)
        self.lengths: dict[tuple[str, bytes, str], Any] = {}  # lengths already read, by what stands in the cell

    @property
    def protected(self) -> bool:
        tag = self.markup.find("sheetProtection", self.data_end[1])
        return tag is not None and (tag.get("sheet") or "0") not in ("0", "false")

    @cached_property
    def rows(self) -> dict[int, Row]:
        found: dict[int, Row] = {}
        last = 0
        markup = self.markup
        pattern = markup.pattern("row")
        closing = b"</" + markup.named("row")
        at, stop = self.data.end, self.data_end[0]
        while tag_found := pattern.search(markup.seen, at, stop):
            tag = Tag(
                tag_found.start(), tag_found.end(), tag_found[1], bool(tag_found[2]), tag_found.end() - tag_found.end(1)
            )
            number = self._row_number(tag, last)
            if tag.empty:
                end = at = tag.end
            else:
                end = markup.seen.find(closing, tag.end, stop)
                if end < 0:
                    raise BookError(f"sheet {self.title}: row {number} does not end")
                at = end + len(closing)
            found[number] = Row(number, tag, tag.end, end)
            last = number
        return found

    def _row_number(self, tag: Tag, last: int) -> int:
        plain = _ROW_R.match(tag.attrs)
        written = plain[1].decode() if plain else tag.get("r")
        number = last + 1 if written is None else int(written) if written.isdigit() else 0
        if not last < number <= LAST_ROW:
            raise BookError(f"sheet {self.title} numbers its rows in a way that cannot be edited safely")
        return number

    def cells(self, number: int) -> dict[int, Cell]:
        """The cells of a row by column."""
        if number in self._parsed:
            return self._parsed[number]
        row = self.rows.get(number)
        cells: dict[int, Cell] = {}
        if row is not None:
            last = 0
            for found in self._cell.finditer(self.markup.seen, row.start, row.end):
                column, style, kind = _cell_attributes(found[1])
                column = column or last + 1
                if not last < column <= LAST_COLUMN:
                    raise BookError(f"sheet {self.title}: row {number} has cells out of order")
                last = column
                cells[column] = Cell(column, style, kind, found[2] or b"")
        self._parsed[number] = cells
        return cells

    def cell(self, row: int, column: int) -> Cell | None:
        """One cell of a row."""
        if row in self._parsed or not self._addressed:
            return self.cells(row).get(column)
        key = (row, column)
        if key not in self._one:
            self._one[key] = self._found(row, column)
        return self._one[key]

    def _found(self, row: int, column: int) -> Cell | None:
        place = self.rows.get(row)
        if place is None:
            return None
        seen = self.markup.seen
        at = seen.find(
            b'%s r="%s%d"' % (self._start_cell, get_column_letter(column).encode(), row), place.start, place.end
        )
        if at < 0:
            return None
        close = seen.find(b">", at)
        rest = seen[seen.index(b'"', at + len(self._start_cell) + 4) : close]
        if rest not in self._rests:  # what follows the address is the same in many cells
            _, style, kind = _cell_attributes(rest)
            self._rests[rest] = (style, kind)
        style, kind = self._rests[rest]
        end = close if rest.endswith(b"/") else seen.find(self._end_cell, close, place.end)
        if end < 0:
            raise BookError(f"sheet {self.title}: a cell of row {row} does not end")
        return Cell(column, style, kind, seen[close + 1 : end])

    def last_column(self, row: int) -> int:
        """The last column of a row in which a cell stands; 0 if none does."""
        if row not in self._last:
            self._last[row] = self._last_of(row)
        return self._last[row]

    def _last_of(self, row: int) -> int:
        place = self.rows[row]
        if self._addressed:
            at = self.markup.seen.rfind(self._start_cell + b" ", place.start, place.end)
            found = _CELL_R.match(self.markup.seen, at + len(self._start_cell)) if at >= 0 else None
            if found:
                column: int = column_index_from_string(found[1].decode().upper())
                return column
        return max(self.cells(row), default=0)

    def rows_with(self, indices: frozenset[int], most: int = LAST_ROW) -> list[int]:
        """Rows that may hold one of these shared texts (in no more than `most` cells each), or a text of their own."""
        if not indices and not self._own_texts:
            return []
        numbers = list(self.rows)
        starts = [row.start for row in self.rows.values()]
        wanted = b"|".join(b"%d" % index for index in sorted(indices)) or b"-"
        name = self.markup.prefix
        pattern = rb"""\st=["'](?:s["'][^>]*><%sv>(%s)</%sv>|inlineStr["']|str["'])""" % (name, wanted, name)
        hits = list(re.finditer(pattern, self.markup.seen[self.data.end : self.data_end[0]]))
        times = Counter(hit[1] for hit in hits if hit[1])
        places = (self.data.end + hit.start() for hit in hits if not hit[1] or times[hit[1]] <= most)
        return sorted({numbers[max(bisect_right(starts, place) - 1, 0)] for place in places})

    @cached_property
    def _own_texts(self) -> bool:
        return b"inlineStr" in self.markup.seen or b'"str"' in self.markup.seen or b"'str'" in self.markup.seen

    def value(self, row: int, column: int) -> Any:
        """What a cell shows: text, a `Fraction`, a bool, or `None`. An error value counts as its text."""
        cell = self.cell(row, column)
        if cell is None:
            return None
        if cell.kind == "inlineStr":
            return _text_of(cell.inner) or None
        found = self._value.search(cell.inner)
        if found is None or not found[1].strip():
            return None
        written = found[1]
        if cell.kind == "s":
            return self.shared.text(written)
        if cell.kind in ("str", "e"):
            return _plain(written) or None
        if cell.kind == "b":
            return written.strip() == b"1"
        if cell.kind == "d":
            return _plain(written)
        return _number(written, f"{self.title}!{get_column_letter(column)}{row}")

    def formula(self, row: int, column: int) -> str | None:
        """The text of a cell's formula; a cell that shares another's has an empty text."""
        cell = self.cell(row, column)
        found = self._formula.search(cell.inner) if cell else None
        return None if found is None else unescape((found[2] or b"").decode("utf-8"))

    @property
    def shared_formulas(self) -> int:
        """How many numbers for shared formulas are taken: the first free one."""
        numbers = re.findall(rb"""\ssi=["'](\d+)["']""", self.markup.seen[self.data.end : self.data_end[0]])
        return max((int(number) for number in set(numbers)), default=-1) + 1

    @cached_property
    def merges(self) -> list[Area]:
        return self._areas("mergeCell")

    def _areas(self, name: str) -> list[Area]:
        tags = self.markup.each(name, self.data_end[1])
        return [area(ref, f"sheet {self.title}") for tag in tags if (ref := tag.get("ref"))]

    @cached_property
    def right_edge(self) -> int:
        """The last column that anything stands in: cells, merges, links, array and shared formulas."""
        edge: int = max((a.right for a in (*self.merges, *self._areas("hyperlink"))), default=0)
        edge = max([edge, *(self.last_column(row) for row in self.rows)])
        formula = re.compile(rb"<%sf\s[^>]*?\bref\s*=\s*[\"']([A-Z0-9:$]+)[\"']" % self.markup.prefix)
        refs = formula.findall(self.markup.seen, self.data.end, self.data_end[0])
        return max([edge, *(area(ref.decode()).right for ref in refs)])


_ROW_R = re.compile(rb' r="(\d+)"')
_CELL_R = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]{1,3})\d""")
_CELL_S = re.compile(rb"""\ss\s*=\s*["'](\d+)""")
_CELL_T = re.compile(rb"""\st\s*=\s*["'](\w+)""")


def _cell_attributes(attrs: bytes) -> tuple[int, int, str]:
    place, style, kind = _CELL_R.search(attrs), _CELL_S.search(attrs), _CELL_T.search(attrs)
    return (
        column_index_from_string(place[1].decode().upper()) if place else 0,
        int(style[1]) if style else 0,
        kind[1].decode() if kind else "n",
    )


def _number(written: bytes, where: str) -> Fraction:
    try:
        if math.isfinite(float(written)):  # as spreadsheets hold it; 1e999999999 would take for ever otherwise
            return Fraction(written.strip().decode())
    except (ValueError, ZeroDivisionError) as error:
        raise BookError(f"{where} holds a number that cannot be read") from error
    raise BookError(f"{where} holds a number that is too large")


def _plain(written: bytes) -> str:
    decoded = written.decode("utf-8")
    if "&" in decoded:
        decoded = unescape(decoded)
    return _CODED.sub(_decoded, decoded) if "_x" in decoded else decoded


def _decoded(code: re.Match[str]) -> str:
    sign = chr(int(code[1], 16))
    return code[0] if "\ud800" <= sign <= "\udfff" else sign  # half a character cannot be written anywhere


def _text_of(inner: bytes) -> str:
    if b"rPh" in inner:
        inner = _PHONETIC.sub(b"", inner)
    only = _ONE_TEXT.fullmatch(inner)
    if only:
        return _plain(only[1])
    return "".join(_plain(each) for each in _TEXT.findall(inner))


class SharedTexts:
    """The workbook's table of shared texts, read one at a time."""

    def __init__(self, content: bytes | None) -> None:
        self._items: list[bytes] = []
        if content is not None:
            markup = Markup(content, "sst", "the workbook's table of texts")
            item = re.compile(
                rb"<%ssi(?:%s)\s*(?:/>|>(.*?)</%ssi\s*>)" % (markup.prefix, ATTRS, markup.prefix), re.DOTALL
            )
            self._items = item.findall(markup.seen)

    def text(self, written: bytes) -> str | None:
        """The text of a cell that holds its number."""
        index = written.strip()
        if not index.isdigit() or len(index) > 9 or int(index) >= len(self._items):
            raise BookError("the workbook is damaged: a cell points past the table of texts")
        return _text_of(self._items[int(index)]) or None

    def indices(self, fits: Callable[[str], bool]) -> frozenset[int]:
        """The texts that a question is answered yes for, by their numbers."""
        return frozenset(i for i, item in enumerate(self._items) if fits(_text_of(item)))
