"""Cells that know both their address and their value, and pages of them.

`Page.calc(row, column, rule, *args)` calls the rule twice: with the references of its cells for the formula, with
their values for what is stored beside it. That is the only way a number gets into a workbook of ours.
"""

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import cache
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from railfuncs.books.look import Look
from railfuncs.books.stored import Stored
from railfuncs.errors import RuleError
from railfuncs.tracing import Expr, Ref, call, formula, tracing

LONGEST_FORMULA = 8192  # characters; Excel's own limit


class _Held:
    """What a rule can be given of a workbook: where it is, and what it holds."""

    __slots__ = ("address", "elsewhere", "page", "value")
    address: str
    elsewhere: str
    page: str
    value: Any


class Cell(_Held):
    """One cell: `value` is what rules compute with (a blank input counts as `None` or as its default)."""

    __slots__ = ("column", "row")

    def __init__(self, page: str, row: int, column: int, value: Any) -> None:
        self.page, self.row, self.column, self.value = page, row, column, value
        self.address = f"{get_column_letter(column)}{row}"
        self.elsewhere = f"{quoted(page)}!{self.address}"


class Block(_Held):
    """A rectangle of cells, for rules that read a range."""

    __slots__ = ()

    def __init__(self, cells: Sequence[Sequence[Cell]]) -> None:
        first, last = cells[0][0], cells[-1][-1]
        self.page = first.page
        self.value = [cell.value for row in cells for cell in row]
        self.address = f"${get_column_letter(first.column)}${first.row}:${get_column_letter(last.column)}${last.row}"
        self.elsewhere = f"{quoted(first.page)}!{self.address}"


Check = tuple[Callable[..., Any], tuple[Any, ...]]


class Book:
    """A workbook being written, its pages, and the value of every formula cell."""

    def __init__(self) -> None:
        self.workbook = Workbook()
        self.workbook.remove(self.workbook.active)
        self.values: dict[str, Stored] = {}
        self.look = Look(self.workbook)
        self.templates: dict[Any, tuple[Any, ...]] = {}

    def page(self, title: str) -> "Page":
        sheet = self.workbook.create_sheet(title)
        self.values[title] = {}
        return Page(self, sheet)


class Page:
    """One sheet."""

    def __init__(self, book: Book, sheet: Worksheet) -> None:
        self.book = book
        self.sheet = sheet
        self.title: str = sheet.title

    def put(self, row: int, column: int, value: Any, style: str = "text", blank_as: Any = None) -> Cell:
        """A label or an input. A blank input (`None`) counts as `blank_as` in rules."""
        shown = float(value) if isinstance(value, Fraction) and value.denominator != 1 else value
        cell = self.sheet.cell(row, column, int(shown) if isinstance(shown, Fraction) else shown)
        if isinstance(value, str):
            cell.data_type = "s"  # what a person wrote stays text, even if it begins with =
        self.book.look.dress(cell, style)
        return Cell(self.title, row, column, blank_as if value is None else value)

    def merge(self, row: int, first: int, last: int) -> None:
        """Make one cell of a row's cells, each dressed already (openpyxl's own way dresses them again, slowly)."""
        self.sheet.merged_cells.add(f"{get_column_letter(first)}{row}:{get_column_letter(last)}{row}")

    def calc(
        self, row: int, column: int, rule: Callable[..., Any], *args: Any, style: str = "number",
        unless: Cell | None = None,
    ) -> Cell:  # fmt: skip
        """A formula cell and its value. `unless` names a status cell; while it holds a sentence, the cell is blank."""
        rule = getattr(rule, "__wrapped__", rule)
        if unless is not None and unless.value != "":
            value = ""
        else:
            value = rule(*[a.value if isinstance(a, _Held) else a for a in args])
        return self._write(row, column, self._filled(rule, args, unless), value, style)

    def status(self, row: int, column: int, checks: Sequence[Check], unless: Cell | None = None) -> Cell:
        """A sentence that says the first thing wrong, or an empty text: the needs of the given rules, in order."""
        sentence = unless.value if unless is not None else ""
        expression: Any = ""
        needs: list[tuple[Expr, str]] = []
        for rule, args in checks:
            with tracing() as trace:
                rule(*[Ref(self._reference(a)) if isinstance(a, _Held) else a for a in args])
            needs.extend(trace.needs)
            if not sentence:
                try:
                    rule(*[a.value if isinstance(a, _Held) else a for a in args])
                except RuleError as error:
                    sentence = str(error)
        for condition, text in reversed(needs):
            expression = call("IF", condition, expression, text)
        if unless is not None:
            reference = Ref(self._reference(unless))
            expression = call("IF", reference == "", expression, reference)
        return self._write(row, column, expression.text(), sentence, "status")

    def _write(self, row: int, column: int, text: str, value: Any, style: str) -> Cell:
        if len(text) >= LONGEST_FORMULA:
            raise AssertionError(f"{self.title} row {row} column {column}: a formula of {len(text)} characters")
        cell = self.sheet.cell(row, column)
        cell._value, cell.data_type = "=" + text, "f"
        self.book.look.dress(cell, style)
        self.book.values[self.title][row, column] = value
        return Cell(self.title, row, column, value)

    def _filled(self, rule: Callable[..., Any], args: tuple[Any, ...], unless: Cell | None) -> str:
        """The rule's formula for these cells. A rule is traced once for each kind of call, then only filled in."""
        key = (rule, unless is None, *[None if isinstance(a, _Held) else a for a in args])
        template = self.book.templates.get(key)
        if template is None:
            slots = [Ref(str(i)) if isinstance(a, _Held) else a for i, a in enumerate(args)]
            template = self.book.templates[key] = _template(rule, slots, unless is not None)
        held = args if unless is None else (*args, unless)
        return "".join([self._reference(held[part]) if type(part) is int else part for part in template])

    def _reference(self, cell: _Held) -> str:
        return cell.address if cell.page == self.title else cell.elsewhere


@cache
def quoted(title: str) -> str:
    """A sheet's title as formulas write it."""
    return title if title.isidentifier() else "'" + title.replace("'", "''") + "'"


def _template(rule: Callable[..., Any], slots: list[Any], guarded: bool) -> tuple[Any, ...]:
    def whole() -> Any:
        made = rule(*slots)
        return call("IF", Ref(str(len(slots))) == "", made, "") if guarded else made

    with tracing():
        made = whole()
    if not isinstance(made, Expr):
        return (formula(lambda: made)[1:],)
    template: list[Any] = []
    for part in made.parts:
        if isinstance(part, Ref):
            template.append(int(part.name))
        elif template and isinstance(template[-1], str):
            template[-1] += part
        else:
            template.append(part)
    return tuple(template)
