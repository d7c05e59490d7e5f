"""Cells that know both their address and their value, and pages of them.

`Page.calc(row, column, rule, *args)` calls the rule twice: with the references of its cells for the formula, with
their values for what is stored beside it. That is the only way a number gets into a workbook of ours.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from railfuncs.books.look import Look
from railfuncs.books.stored import Stored
from railfuncs.errors import RuleError
from railfuncs.tracing import Expr, Ref, call, formula, tracing

LONGEST_FORMULA = 8192  # characters; Excel's own limit


@dataclass(slots=True)
class Cell:
    """One cell: `value` is what rules compute with (a blank input counts as `None` or as its default)."""

    page: str
    row: int
    column: int
    value: Any

    @property
    def address(self) -> str:
        return f"{get_column_letter(self.column)}{self.row}"


@dataclass(slots=True)
class Block:
    """A rectangle of cells, for rules that read a range."""

    cells: Sequence[Sequence[Cell]]

    @property
    def value(self) -> list[Any]:
        return [cell.value for row in self.cells for cell in row]

    @property
    def page(self) -> str:
        return self.cells[0][0].page

    @property
    def address(self) -> str:
        first, last = self.cells[0][0], self.cells[-1][-1]
        return f"${get_column_letter(first.column)}${first.row}:${get_column_letter(last.column)}${last.row}"


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

    def calc(
        self, row: int, column: int, rule: Callable[..., Any], *args: Any, style: str = "number",
        unless: Cell | None = None,
    ) -> Cell:  # fmt: skip
        """A formula cell and its value. `unless` names a status cell; while it holds a sentence, the cell is blank."""
        rule = getattr(rule, "__wrapped__", rule)
        if unless is not None and unless.value != "":
            value = ""
        else:
            value = rule(*[a.value if isinstance(a, Cell | Block) else a for a in args])
        return self._write(row, column, self._filled(rule, args, unless), value, style)

    def status(self, row: int, column: int, checks: Sequence[Check], unless: Cell | None = None) -> Cell:
        """A sentence that says the first thing wrong, or an empty text: the needs of the given rules, in order."""
        sentence = unless.value if unless is not None else ""
        expression: Any = ""
        needs: list[tuple[Expr, str]] = []
        for rule, args in checks:
            with tracing() as trace:
                rule(*[Ref(self._reference(a)) if isinstance(a, Cell | Block) else a for a in args])
            needs.extend(trace.needs)
            if not sentence:
                try:
                    rule(*[a.value if isinstance(a, Cell | Block) else a for a in args])
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
        constants = tuple(None if isinstance(a, Cell | Block) else a for a in args)
        key = (rule, constants, unless is not None)
        template = self.book.templates.get(key)
        if template is None:
            slots = [Ref(str(i)) if isinstance(a, Cell | Block) else a for i, a in enumerate(args)]
            template = self.book.templates[key] = _template(rule, slots, unless is not None)
        names = [self._reference(a) if isinstance(a, Cell | Block) else "" for a in args]
        if unless is not None:
            names.append(self._reference(unless))
        return "".join([names[part] if isinstance(part, int) else part for part in template])

    def _reference(self, cell: Cell | Block) -> str:
        if cell.page == self.title:
            return cell.address
        return f"{quoted(cell.page)}!{cell.address}"


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
    return tuple(int(part.name) if isinstance(part, Ref) else part for part in made.parts)
