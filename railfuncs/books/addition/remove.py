"""Taking added columns away again."""

import re
from dataclasses import dataclass

from railfuncs.books.addition import record
from railfuncs.books.addition.markup import Changes, Markup
from railfuncs.books.addition.names import MARK
from railfuncs.books.addition.package import Package, parsed
from railfuncs.books.addition.sheet import Area, area
from railfuncs.books.addition.workbook import SheetEntry, Workbook
from railfuncs.errors import BookError


@dataclass
class Removed:
    """The file without the columns; `exact` where every part is byte for byte as before they were added."""

    content: bytes
    exact: bool
    changed: dict[str, bytes | None]


def removed(package: Package) -> Removed:
    """Take the added columns away.

    Raises:
        BookError: there are none.
    """
    book = Workbook(package)
    back = record.taken_back(package)
    if back is not None:
        return Removed(package.assembled(back), True, back)
    if not record.is_marked(book):
        raise BookError(f"{package.name} has no added columns")
    changed = _by_names(book)
    for name, content in changed.items():
        if content is not None:
            parsed(content, name)
    return Removed(package.assembled(changed), False, changed)


def _by_names(book: Workbook) -> dict[str, bytes | None]:
    """Where another program has saved the file since: empty the cells that the hidden names point to."""
    markup = book.markup
    changes = Changes(markup.content)
    changed: dict[str, bytes | None] = {}
    by_title = {entry.title: entry for entry in book.sheets}
    places: dict[str, list[Area]] = {}
    for tag in markup.each("definedName"):
        if not (tag.get("name") or "").startswith(MARK):
            continue
        start, stop = markup.close("definedName", tag)
        title, _, reference = markup.content[tag.end : start].decode("utf-8").rpartition("!")
        entry = by_title.get(title.strip("'").replace("''", "'"))
        if entry is not None and "#REF" not in reference:
            places.setdefault(entry.title, []).append(area(reference))
        changes.replace(tag.start, stop, b"")
    for title, areas in places.items():
        _take_from_sheet(book, by_title[title], areas, changed)
    changed[book.part] = changes.made()[0]
    own = record.own_part(book.package)
    if own is not None:
        changed[own] = record.EMPTY
    return changed


def _take_from_sheet(book: Workbook, entry: SheetEntry, areas: list[Area], changed: dict[str, bytes | None]) -> None:
    sheet = book.sheet(entry)
    if sheet.protected:
        raise BookError(f"sheet {entry.title} is protected; take the protection off first")
    changes = Changes(sheet.markup.content)
    pattern = re.compile(
        rb"<%sc\s[^>]*?\br\s*=\s*[\"']([A-Z]{1,3}\d+)[\"'][^>]*?(?:/>|>.*?</%sc\s*>)"
        % (sheet.markup.prefix, sheet.markup.prefix),
        re.DOTALL,
    )
    for row in sheet.rows.values():
        for cell in pattern.finditer(sheet.markup.seen, row.start, row.end):
            here = area(cell[1].decode())
            if any(here.meets(place) for place in areas):
                changes.replace(cell.start(), cell.end(), b"")
    changed[sheet.part] = changes.made()[0]
    for table in book.tables(entry):
        for place in areas:
            if place.right == table.area.right and place.top == table.area.top and place.left > table.area.left:
                changed[table.part] = _narrowed(book.package.parts[table.part], table.name, place)


def _narrowed(content: bytes, name: str, place: Area) -> bytes:
    """A table without its last columns."""
    markup = Markup(content, "table", f"table {name}")
    changes = Changes(content)
    for tag in (markup.root, markup.find("autoFilter")):
        if tag is not None and (written := tag.get("ref")):
            was = area(written)
            changes.set_attribute(tag, "ref", str(Area(was.left, was.top, place.left - 1, was.bottom)))
    columns = markup.find("tableColumns")
    if columns is None:
        raise BookError(f"table {name} does not say what its columns are")
    tags = list(markup.each("tableColumn", columns.end))
    gone = tags[len(tags) - (place.right - place.left + 1) :]
    for tag in gone:
        changes.replace(tag.start, markup.close("tableColumn", tag)[1], b"")
    changes.set_attribute(columns, "count", str(len(tags) - len(gone)))
    return changes.made()[0]
