"""The workbook part: ranges that must follow, a mark on what was added, and a full calculation on opening."""

import re

from railfuncs.books.addition.markup import Changes, Markup, Tag, Undo, text
from railfuncs.books.addition.plan import Plan
from railfuncs.books.addition.sheet import Area, area
from railfuncs.books.addition.workbook import SheetEntry, Workbook

MARK = "_rail_added_"
_PIECE = re.compile(r"^('(?:[^']|'')+'|[^!',]+)!(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)$")
_BEFORE_NAMES = ("externalReferences", "functionGroups", "sheets")
_BEFORE_CALC = ("definedNames", *_BEFORE_NAMES)


def edit_names(
    book: Workbook, plans: dict[str, list[Plan]], entries: dict[str, SheetEntry], notes: list[str]
) -> tuple[bytes, list[Undo]]:
    """The workbook part with print areas and filters widened, each block's columns marked by a hidden name."""
    markup = book.markup
    changes = Changes(markup.content)
    for part, of_sheet in plans.items():
        _widen(markup, changes, entries[part], of_sheet, notes)
    marks = []
    number = 0
    for part, of_sheet in plans.items():
        for plan in of_sheet:
            number += 1
            marks.append(_mark(markup, number, entries[part].title, plan))
    _append(markup, changes, b"".join(marks))
    if any(c.cells and any(e.formula for e in c.cells.values()) for p in plans.values() for q in p for c in q.columns):
        _calculate_on_load(markup, changes)
    return changes.made()


def quoted(title: str) -> str:
    return "'" + title.replace("'", "''") + "'"


def _mark(markup: Markup, number: int, title: str, plan: Plan) -> bytes:
    here = Area(plan.start, plan.block.header_row, plan.last, plan.block.last_row)
    name = markup.named("definedName")
    return b'<%s name="%s%d" hidden="1">%s</%s>' % (
        name, MARK.encode(), number, text(f"{quoted(title)}!{_fixed(here)}"), name,
    )  # fmt: skip


def _fixed(here: Area) -> str:
    return re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", str(here))


def _widen(markup: Markup, changes: Changes, entry: SheetEntry, plans: list[Plan], notes: list[str]) -> None:
    for tag in markup.each("definedName"):
        name = tag.get("name") or ""
        start, stop = tag.end, markup.close("definedName", tag)[0]
        written = markup.content[start:stop].decode("utf-8")
        pieces = written.split(",")
        local = tag.get("localSheetId") == str(entry.index)
        if local and name in ("_xlnm.Print_Area", "_xlnm._FilterDatabase"):
            for plan in plans:  # one area may hold several blocks
                pieces = [_wider(piece, plan, name.endswith("Database")) for piece in pieces]
            changes.replace(start, stop, ",".join(pieces).encode("utf-8"))
        elif (
            len(pieces) == 1 and not name.startswith("_xlnm.") and any(_covers(written, entry, plan) for plan in plans)
        ):
            notes.append(f"{entry.title}: the name {name} ({written}) was not widened to the new columns")


def _wider(piece: str, plan: Plan, is_filter: bool) -> str:
    found = _PIECE.match(piece)
    if found is None:
        return piece
    was = area(found[2])
    block = plan.block
    if is_filter:
        fits = was.top == block.header_row and was.right + 1 == plan.start
    else:
        fits = was.top <= block.last_row and was.bottom >= block.header_row and was.left <= block.look <= was.right
    if not fits or was.right >= plan.last:
        return piece
    return f"{found[1]}!{_fixed(was.widened(plan.last))}"


def _covers(written: str, entry: SheetEntry, plan: Plan) -> bool:
    found = _PIECE.match(written)
    if found is None or found[1].strip("'").replace("''", "'") != entry.title:
        return False
    was = area(found[2])
    block = plan.block
    tall = was.top <= block.header_row + 1 and was.bottom >= block.last_row
    return tall and was.left < was.right == block.look


def _append(markup: Markup, changes: Changes, lines: bytes) -> None:
    names = markup.find("definedNames")
    name = markup.named("definedNames")
    if names is None:
        changes.insert(_after(markup, _BEFORE_NAMES), b"<" + name + b">" + lines + b"</" + name + b">")
    elif names.empty:
        changes.replace(names.start, names.end, b"<" + name + b">" + lines + b"</" + name + b">")
    else:
        changes.insert(markup.close("definedNames", names)[0], lines)


def _after(markup: Markup, candidates: tuple[str, ...]) -> int:
    for name in candidates:
        tag: Tag | None = markup.find(name)
        if tag is not None:
            return markup.close(name, tag)[1]
    raise AssertionError("a workbook without sheets")


def _calculate_on_load(markup: Markup, changes: Changes) -> None:
    tag = markup.find("calcPr")
    if tag is not None:
        changes.set_attribute(tag, "fullCalcOnLoad", "1")
    else:
        # After the names, which were put at the same place if there were none.
        changes.insert(_after(markup, _BEFORE_CALC), b"<" + markup.named("calcPr") + b' fullCalcOnLoad="1"/>')
