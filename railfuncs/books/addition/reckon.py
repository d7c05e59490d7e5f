"""Reckoning the new columns: formula and value of every cell from the same rule.

It is called once with cell references and once with numbers.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from openpyxl.utils import get_column_letter

from railfuncs import lengths
from railfuncs.books.addition.find import Block, Found, read_length
from railfuncs.books.addition.plan import Choices, Column, Entry, Plan
from railfuncs.errors import BookError, RuleError
from railfuncs.rules import cutting, spacing
from railfuncs.rules.job import times
from railfuncs.rules.measure import SIXTEENTH, round_to
from railfuncs.tracing import Ref, both, call, formula, is_number, maximum, need, tracing, under, where

LONGEST_FORMULA = 8192  # characters; Excel's own limit
_ROW = "\0"  # stands for the row's number in a formula that is made once and filled in for every row
_FROM_INCHES = {"in": Fraction(1), "mm": 1 / lengths.MM}
_INCHES = {"in": Fraction(1), "ft": Fraction(12), "mm": lengths.MM, "cm": 10 * lengths.MM, "m": 1000 * lengths.MM}
_HEADERS = {
    "count": "Balusters", "gap": "Gap ({})", "oc": "On center ({})", "tape": "Gap on tape", "cut": "Cut length ({})",
    "pieces": "Pieces", "price": "Baluster price",
}  # fmt: skip
_FUNCTIONS = {
    "count": "RAIL_COUNT", "gap": "RAIL_GAP", "oc": "RAIL_OC", "tape": "RAIL_ROUND", "cut": "RAIL_CUT_BALUSTER",
    "price": "RAIL_LINE",
}  # fmt: skip


@dataclass(frozen=True)
class _Operand:
    """A value and the expression of the cell it comes from, both in the block's unit."""

    value: Any
    expression: Any
    kind: Any = ""  # what makes this row's formula differ from others of the block
    why: str = ""  # why there is no value


def planned(block: Block, keys: tuple[str, ...], start: int, joins_table: bool, choices: Choices) -> Plan:
    """The new columns of a block, computed row by row."""
    if "width" not in block.columns and choices.width is None:
        raise BookError(
            f"sheet {block.sheet.title}: no column of baluster widths was found; give the width, such as --width 1/2,"
            " or say which column it is with --width-column"
        )
    unit = unit_of_block(block)
    # A fraction format is exact for a number already rounded to a tape's mark, and only for such a one.
    formats = {"count": "0", "pieces": "0", "price": "#,##0.00", "tape": "# ??/??" if unit == "in" else "0"}
    columns = [
        Column(key, _HEADERS[key].format(unit), formats.get(key, "0.000" if unit == "in" else "0.0")) for key in keys
    ]
    plan = Plan(block, start, joins_table, columns)
    _refuse_names_taken(plan)
    names = _Names(plan, False)
    for row in block.rows:
        _plan_row(plan, row, unit, choices, names)
    gaps = next((column for column in columns if column.key == "gap"), None)
    if gaps is not None:
        limit, mark = choices.limit * _FROM_INCHES[unit], SIXTEENTH if unit == "in" else Fraction(1)
        filled = {row: entry.value for row, entry in gaps.cells.items() if entry.value != ""}
        # A gap just under the limit reaches it once its marks are rounded.
        plan.wide = [row for row, gap in filled.items() if not under(maximum(gap, round_to(gap, mark)), limit)]
    if joins_table and choices.form != "values":
        _plan_table_formulas(plan, unit, choices)
    return plan


def unit_of_block(block: Block) -> str:
    """Inches for sheets measured in inches or feet, millimetres for metric ones."""
    return "in" if block.columns["opening"].unit in ("in", "ft") else "mm"


def _refuse_names_taken(plan: Plan) -> None:
    block = plan.block
    taken = {str(block.sheet.value(block.header_row, c)).casefold() for c in block.sheet.cells(block.header_row)}
    if block.table:
        taken |= {name.casefold() for name in block.table.columns}
    for column in plan.columns:
        if column.header.casefold() in taken:
            raise BookError(
                f"sheet {block.sheet.title} row {block.header_row} already has a column named {column.header}"
            )


def _roles_needed(plan: Plan) -> list[str]:
    """The columns of the sheet that the new ones rest on."""
    keys = {column.key for column in plan.columns}
    needed = {"count": "count" not in keys, "qty": "pieces" in keys, "height": "cut" in keys}
    return ["opening", "width", *(role for role, wanted in needed.items() if wanted)]


class _Names:
    """How a block's cells are referred to: by address in any row, or by name within a table."""

    def __init__(self, plan: Plan, by_name: bool) -> None:
        self.plan = plan
        self.by_name = by_name
        self.roles = _roles_needed(plan)
        self.read = [plan.block.columns[role].column for role in self.roles if role in plan.block.columns]
        self.known: dict[tuple[Any, ...], dict[str, str]] = {}
        self.rows: dict[tuple[Any, ...], tuple[dict[str, str], dict[str, Any], list[str]]] = {}

    def own(self, found: Found) -> Ref:
        return self._at(found.column)

    def new(self, key: str) -> Ref | None:
        for place, column in enumerate(self.plan.columns):
            if column.key == key:
                return self._at(self.plan.start + place)
        return None

    def _at(self, column: int) -> Ref:
        if not self.by_name:
            return Ref(get_column_letter(column) + _ROW)
        table = self.plan.block.table
        assert table is not None
        place = column - table.area.left
        inside = place < len(table.columns)
        name = table.columns[place] if inside else self.plan.columns[column - self.plan.start].header
        return Ref(f"{table.name}[[#This Row],[{name}]]")


def _plan_row(plan: Plan, row: int, unit: str, choices: Choices, names: _Names) -> None:
    sheet = plan.block.sheet
    cells = [sheet.cell(row, column) for column in names.read]
    key = tuple((cell.kind, cell.inner) if cell else None for cell in cells)
    if key not in names.rows:
        names.rows[key] = _of_row(plan, row, unit, choices, names)
    texts, values, problems = names.rows[key]
    plan.problems.extend((row, problem) for problem in problems)
    if problems and not values:
        return
    for column in plan.columns:
        value = values[column.key]
        if template := texts.get(column.key):
            column.cells[row] = Entry(template.replace(_ROW, str(row)), value, template)
        elif value != "":
            column.cells[row] = Entry(None, value)


def _of_row(
    plan: Plan, row: int, unit: str, choices: Choices, names: _Names
) -> tuple[dict[str, str], dict[str, Any], list[str]]:
    """Formulas (the row's number left open), values and problems of a row."""
    block = plan.block
    try:
        inputs = {
            "opening": _operand(plan, row, block.columns["opening"], unit, names),
            "width": _width(plan, row, unit, choices, names),
        }
    except RuleError as error:
        return {}, {}, [f"is left blank: {error}"]
    for role in names.roles[2:]:
        if role in block.columns:
            inputs[role] = _optional(plan, row, block.columns[role], unit, names)
    steps = _steps(plan, inputs, unit, choices)
    values, reasons = _values(steps, inputs)
    empty = (role for role, found in block.columns.items() if block.sheet.value(row, found.column) is None)
    problems = _told(plan, reasons, {inputs[role].why for role in empty if role in inputs})
    values = {key: "" if isinstance(value, RuleError) else value for key, value in values.items()}
    if choices.form == "values":
        return {}, values, problems
    kind = tuple(operand.kind for operand in inputs.values())
    if kind not in names.known:
        names.known[kind] = _formulas(plan, steps, inputs, names, choices)
    return names.known[kind], values, problems


def _told(plan: Plan, reasons: dict[str, list[str]], waiting: set[str]) -> list[str]:
    """What is said of a row: which of its columns stay blank, and why; nothing where it only waits for a number."""
    told = []
    found = dict.fromkeys(why for some in reasons.values() for why in some)
    for why in found if found.keys() - waiting else ():
        blank = [column.header for column in plan.columns if why in reasons.get(column.key, ())]
        if len(blank) == len(plan.columns):
            told.append(f"is left blank: {why}")
        elif blank:
            told.append(f"leaves {', '.join(blank)} blank: {why}")
        elif why not in waiting:
            told.append(f"wants a look: {why}")
    return told


def _text(expression: Any, plan: Plan) -> str:
    text = formula(lambda: expression)[1:]
    if len(text) + 200 >= LONGEST_FORMULA:
        raise BookError(f"sheet {plan.block.sheet.title}: a formula is longer than Excel takes; add fewer columns")
    return text


def _operand(plan: Plan, row: int, found: Found, unit: str, names: _Names) -> _Operand:
    sheet = plan.block.sheet
    reference = names.own(found)
    shown = sheet.value(row, found.column)
    blank = _Operand("", reference, why=f"{found.header or found.letter} is blank")
    if found.role in ("qty", "count"):
        if isinstance(shown, Fraction) and shown.denominator == 1 and shown >= 0:
            return _Operand(shown, reference)
        none = shown is None or (isinstance(shown, str) and not shown.strip())
        return blank if none else _raise(found, f"{shown} is not a whole number")
    length = read_length(sheet, row, found)
    if length is None:
        return blank if found.role != "width" else _raise(found, "is blank")
    if isinstance(length, str):
        return _raise(found, length)
    factor = _INCHES[found.unit] * _FROM_INCHES[unit]
    scaled = reference if factor == 1 else reference * factor
    value = length * _FROM_INCHES[unit]
    if isinstance(shown, str):
        # A length typed as text: the formula knows it by heart, and says so by #N/A if the text is changed.
        known = where(reference == shown, value, call("NA"))
        return _Operand(value, where(is_number(reference), scaled, known), shown)
    return _Operand(value, scaled)


def _optional(plan: Plan, row: int, found: Found, unit: str, names: _Names) -> _Operand:
    """An input that not every column rests on: where it is faulty, those that do get no cell."""
    try:
        return _operand(plan, row, found, unit, names)
    except RuleError as error:
        return _Operand("", "", "faulty", str(error))


def _raise(found: Found, what: str) -> _Operand:
    raise RuleError(f"{found.header or found.letter}: {what}")


def _width(plan: Plan, row: int, unit: str, choices: Choices, names: _Names) -> _Operand:
    found = plan.block.columns.get("width")
    if found is None or (choices.width is not None and plan.block.sheet.value(row, found.column) is None):
        assert choices.width is not None
        value = choices.width * _FROM_INCHES[unit]
        return _Operand(value, value, "given")
    return _operand(plan, row, found, unit, names)


def _guarded(cells: list[Ref], made: Any) -> Any:
    """The formula, blank while a cell it reads is not a number."""
    if not cells:
        return made
    condition = is_number(cells[0])
    for each in cells[1:]:
        condition = both(condition, is_number(each))
    return where(condition, made, "")


def _refs(expression: Any) -> list[Ref]:
    return [part for part in getattr(expression, "parts", ()) if isinstance(part, Ref)]


@dataclass(frozen=True)
class _Step:
    """One rule of a row, what it is called with (names of inputs or of earlier steps, or constants), and its needs."""

    key: str
    rule: Callable[..., Any]
    arguments: tuple[Any, ...]


def _steps(plan: Plan, inputs: dict[str, _Operand], unit: str, choices: Choices) -> list[_Step]:
    """The rules of a row in the order they rest on each other; names of values stand for `@name`."""
    scale = _FROM_INCHES[unit]
    keys = {column.key for column in plan.columns}
    steps = []
    if "count" in keys or "count" not in inputs:
        settings = (choices.limit * scale, choices.target * scale, choices.parity)
        steps.append(_Step("count", spacing.count, ("@opening", "@width", *settings)))
    steps.append(_Step("gap", spacing.gap, ("@opening", "@width", "@count")))
    if "oc" in keys:
        steps.append(_Step("oc", spacing.oc, ("@opening", "@width", "@count")))
    if "tape" in keys:
        steps.append(_Step("tape", round_to, ("@gap", SIXTEENTH if unit == "in" else Fraction(1))))
    if "pieces" in keys:
        steps.append(_Step("pieces", times, ("@count", "@qty")))
    if "price" in keys:
        from railfuncs.rules import price  # only where a price is asked for

        pieces = "@pieces" if "pieces" in keys else "@count"
        steps.append(_Step("price", price.line, (pieces, choices.each)))
    if "cut" in keys:
        depths = [(choices.bottom_depth or 0) * scale, (choices.top_depth or 0) * scale, choices.play * scale]
        steps.append(_Step("cut", cutting.cut_baluster, ("@height", *depths)))
    return steps


def _values(steps: list[_Step], inputs: dict[str, _Operand]) -> tuple[dict[str, Any], dict[str, list[str]]]:
    """What each step gives: a value, a blank where an input is blank, or the rule's own error; and why it is blank."""
    values = {role: operand.value for role, operand in inputs.items()}
    reasons = {role: [operand.why] for role, operand in inputs.items() if operand.why}
    for step in steps:
        names = [a[1:] if isinstance(a, str) and a[:1] == "@" else "" for a in step.arguments]
        arguments = [values[name] if name else a for name, a in zip(names, step.arguments, strict=True)]
        if any(isinstance(a, RuleError) or (isinstance(a, str) and not a) for a in arguments):
            values[step.key] = ""
            reasons[step.key] = [why for name in names for why in reasons.get(name, ())]
            continue
        try:
            if step.key == "cut":
                _needs_fit(steps, values)
            values[step.key] = step.rule(*arguments)
        except RuleError as error:
            values[step.key] = error
            reasons[step.key] = [str(error)]
    return values, reasons


def _needs_fit(steps: list[_Step], known: dict[str, Any]) -> None:
    """What must hold of a row before a baluster is cut for it; a blank count of the sheet's own is no hindrance."""
    count = known["count"]
    if steps[0].key != "count":
        spacing.gap(known["opening"], known["width"], where(is_number(count), count, 0))
    elif isinstance(count, RuleError):
        raise count
    else:
        need(is_number(count), "the balusters cannot be counted")


def _spelt(key: str, host: str) -> str:
    """A function's name as files for that host hold it."""
    name = _FUNCTIONS[key]
    if host == "excel":
        return name
    from railfuncs.catalogue import functions
    from railfuncs.hosts.calc import file_name

    return file_name(functions()[name])


def _formulas(
    plan: Plan, steps: list[_Step], inputs: dict[str, _Operand], names: _Names, choices: Choices
) -> dict[str, str]:
    """The formula text of every step, with the row's number left open."""
    known: dict[str, Any] = {role: operand.expression for role, operand in inputs.items()}
    needs: dict[str, list[tuple[Any, str]]] = {}
    texts = {}
    functions = choices.form == "functions"
    for step in steps:
        arguments = [known[a[1:]] if isinstance(a, str) and a[:1] == "@" else a for a in step.arguments]
        if any(isinstance(a, str) and not a for a in arguments):
            known[step.key] = ""
            continue
        with tracing() as trace:
            if step.key == "cut":
                _needs_fit(steps, known)
            called = functions and step.key in _FUNCTIONS
            made = call(_spelt(step.key, choices.host), *arguments) if called else step.rule(*arguments)
        own_count = names.new("count") is None  # ours is guarded once, and what rests on it is blank with it
        needs[step.key] = trace.needs
        hidden = step.key == "tape" and names.new("gap") is None  # a gap without a cell of its own to guard it
        if step.key in ("count", "cut") or ((step.key in ("gap", "oc") or hidden) and own_count):
            for condition, _ in reversed(needs["gap" if hidden else step.key]):
                made = where(condition, made, "")
        reference = names.new(step.key)
        if reference is not None:
            run = [known["opening"], known["width"]]
            read = [*run, known["count"]] if hidden else [*arguments, *run] if step.key == "cut" else arguments
            refs = {ref.name: ref for each in read if not _by_heart(each) for ref in _refs(each)}
            texts[step.key] = _text(_guarded(list(refs.values()), made), plan)
        known[step.key] = made if reference is None else reference
    return texts


def _by_heart(expression: Any) -> bool:
    """Whether an operand is a text length that guards itself."""
    parts: tuple[Any, ...] = getattr(expression, "parts", ())
    return bool(parts) and isinstance(parts[0], str) and parts[0] == "IF"


def _plan_table_formulas(plan: Plan, unit: str, choices: Choices) -> None:
    """What the table fills in by itself in a new row: the same rules, by column names."""
    table = plan.block.table
    assert table is not None
    if any(set(name) & set("[]#'@\n\r") for name in (*table.columns, table.name)):
        return
    names = _Names(plan, True)
    inputs = {}
    for role in names.roles:
        found = plan.block.columns.get(role)
        if found is None:
            continue
        if not table.area.left <= found.column <= table.area.right:
            return
        reference = names.own(found)
        length = role not in ("qty", "count")
        factor = _INCHES[found.unit] * _FROM_INCHES[unit] if length else Fraction(1)
        inputs[role] = _Operand(None, reference if factor == 1 else reference * factor)
    if "width" not in inputs:
        assert choices.width is not None
        value = choices.width * _FROM_INCHES[unit]
        inputs["width"] = _Operand(value, value)
    texts = _formulas(plan, _steps(plan, inputs, unit, choices), inputs, names, choices)
    for column in plan.columns:
        column.table_formula = texts[column.key]
