"""The catalogue written out: a list for the terminal, and the reference page of the docs."""

from itertools import groupby

from railfuncs.catalogue import Argument, Function, functions
from railfuncs.hosts.calc import file_name
from railfuncs.hosts.examples import example_calls, literal, typed
from railfuncs.hosts.values import as_rows

KINDS = {
    "length": "length",
    "lengths": "lengths: a range",
    "lengths_or_blank": "lengths: a range; blank cells count",
    "amounts_or_blank": "numbers: a range; blank cells count",
    "amount": "number",
    "percent": "part: 0.2 or 20%",
    "whole": "whole number",
    "counts": "whole numbers, in a column",
    "anything": "cell or range",
}

PAGE = "docs/functions.md"

_HEAD = f"""# Functions

Made by `railfuncs functions -o {PAGE}`; do not change it by hand.

How to get these into a spreadsheet: [Calc](in-calc.md), [Excel](in-excel.md). Lengths may be numbers of inches, or text
as people write it: `5' 3-1/2"`, `63 1/2`, `63½`, `1600 mm`. Where ranges are given for single values, one call answers
for the whole column. A blank cell gives a blank. An argument with a default may be left out.

Results are arithmetic, not advice. Guards and stairs: check with the local code and a licensed professional.
"""


def listing() -> str:
    """One line a function, by group."""
    width = max(len(name) for name in functions())
    lines = []
    for group, entries in by_group():
        lines.append(group.capitalize())
        lines.extend(f"  {entry.name:{width}}  {entry.summary}" for entry in entries)
    return "\n".join(lines)


def by_group() -> list[tuple[str, list[Function]]]:
    """The catalogue in the order of its groups."""
    ordered = sorted(functions().values(), key=lambda entry: entry.group)
    return [(group, list(entries)) for group, entries in groupby(ordered, key=lambda entry: entry.group)]


def page() -> str:
    """The reference page, as Markdown."""
    parts = [_HEAD]
    for group, entries in by_group():
        parts.append(f"## {group.capitalize()}\n")
        parts.extend(_section(entry) for entry in entries)
    return "\n".join(parts)


def _section(entry: Function) -> str:
    rows = [f"| {a.name} | {kind(a)} | {_cell(a.help)} | {_default(a)} |" for a in entry.arguments]
    examples = [f"{typed(entry.name, call)}\n    shows {shown(entry, call)}" for call in example_calls(entry)]
    details = f"\n{entry.details}\n" if entry.details else ""
    arguments = ", ".join(a.name if a.default is None else f"[{a.name}]" for a in entry.arguments)
    return "\n".join([
        f"### {entry.name}({arguments})\n", entry.summary, details,
        "| argument | kind | what it is | default |", "|---|---|---|---|", *rows, "",
        f"Gives: {entry.returns.help} ({kind(entry.returns)}).", "", "```", *examples, "```", "",
        f"Source: {entry.source}. Name in files that Calc opens: `{file_name(entry)}`.", "",
    ])  # fmt: skip



def _default(argument: Argument) -> str:
    return "" if argument.default in (None, "", ()) else f"`{literal(argument.default)}`"


def kind(argument: Argument) -> str:
    """What sort of value an argument or a result is, in words."""
    return "one of " + ", ".join(argument.choices) if argument.choices else KINDS.get(argument.kind, argument.kind)


def shown(entry: Function, call: tuple[object, ...]) -> str:
    """What the cells of a call show, to six places; rows apart by semicolons, where there are several columns."""
    rows = [", ".join(map(_shown_cell, row)) for row in as_rows(entry(*call))]
    return ("; " if any("," in row for row in rows) else ", ").join(rows)


def _shown_cell(value: object) -> str:
    if value is None or isinstance(value, str):
        return value or ""
    return f"{float(value):.6f}".rstrip("0").rstrip(".")  # type: ignore[arg-type]


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
