"""`railfuncs add`: spacing columns in an existing bid sheet."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import click

from railfuncs import lengths, progress
from railfuncs.books.addition.edit import edited
from railfuncs.books.addition.find import Block, Wanted, blocks, in_linear_feet, unfilled
from railfuncs.books.addition.package import (
    Package,
    backup_name,
    refuse_open_elsewhere,
    replace_file,
)
from railfuncs.books.addition.plan import COLUMNS, Choices, Plan
from railfuncs.books.addition.prepare import Prepared, account, prepare
from railfuncs.books.addition.record import taken_back
from railfuncs.books.addition.remove import removed
from railfuncs.books.addition.workbook import SheetEntry, Workbook
from railfuncs.errors import BookError, RailError

CAUTION = "Check openings and heights with the local code and a licensed professional before cutting."


class _Length(click.ParamType[Fraction]):
    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        try:
            return value if isinstance(value, Fraction) else lengths.read(value)
        except RailError as error:
            self.fail(str(error), param, ctx)


class _Money(click.ParamType[Fraction]):
    name = "price"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        try:
            return Fraction(str(value).strip().lstrip("$"))
        except (ValueError, ZeroDivisionError):
            self.fail(f"'{value}' is not a price; write it like 4.35", param, ctx)


_LENGTH = _Length()


@click.command()
@click.argument("bid", type=click.Path(path_type=Path), metavar="BID.xlsx")
@click.option("-o", "out", type=click.Path(path_type=Path), help="The file to write; by default a new one beside BID.")
@click.option("--in-place", is_flag=True, help="Change BID itself; a copy of it as it was stays beside it.")
@click.option("--dry-run", is_flag=True, help="Only say what was found and what would be added.")
@click.option("--remove", is_flag=True, help="Take the added columns away again.")
@click.option("--live", is_flag=True, help="Add to the workbook open in Excel (Windows, Mac); not yet run in Excel.")
@click.option("--columns", help=f"Which columns, with commas between: {', '.join(COLUMNS)}.")
@click.option(
    "--as", "form", type=click.Choice(["formulas", "functions", "values"]), default="formulas", show_default=True,
    help="Formulas work in any spreadsheet; functions need railfuncs in it; values do not follow later changes.",
)  # fmt: skip
@click.option(
    "--host", type=click.Choice(["excel", "calc"]), default="excel", show_default=True,
    help="With --as functions: the program that will open the file; the two spell them differently.",
)  # fmt: skip
@click.option("--width", type=_LENGTH, help="Baluster width, such as 1/2, where the sheet has no column of it.")
@click.option("--limit", type=_LENGTH, default="4", show_default=True, help="No gap gets as wide as this.")
@click.option("--target", type=_LENGTH, default="0", help="Gap you would like; without it, the fewest balusters.")
@click.option(
    "--parity", type=click.Choice(["any", "odd", "even"]), default="any", show_default=True,
    help="Odd puts a baluster in the middle, even a space.",
)  # fmt: skip
@click.option("--mortise", type=_LENGTH, help="Mortise depth in shoe and rail, for the cut lengths.")
@click.option("--top-mortise", type=_LENGTH, help="Mortise depth in the rail, where it differs.")
@click.option("--play", type=_LENGTH, default="0", help="How much shorter a baluster is cut so that it drops in.")
@click.option("--each", type=_Money(), help="What one baluster costs, for a column of prices.")
@click.option("--opening", help="Header text or column letter of the openings.")
@click.option("--width-column", help="Header text or column letter of the baluster widths.")
@click.option("--qty", help="Header text or column letter of how many runs.")
@click.option("--height", help="Header text or column letter of the clear heights.")
@click.option("--count", "count_column", help="Header text or column letter of the sheet's own baluster counts.")
@click.option("--header-row", type=click.IntRange(1), help="The row the headers stand in.")
@click.option("--unit", type=click.Choice(["in", "ft", "mm", "cm", "m"]), help="Unit where a header names none.")
@click.option("--sheet", "sheets", multiple=True, help="Fill in this sheet; once for each if several hold openings.")
def add(
    bid: Path, out: Path | None, in_place: bool, dry_run: bool, remove: bool, live: bool, columns: str | None,
    form: str, host: str, width: Fraction | None, limit: Fraction, target: Fraction, parity: str,
    mortise: Fraction | None, top_mortise: Fraction | None, play: Fraction, each: Fraction | None, opening: str | None,
    width_column: str | None, qty: str | None, height: str | None, count_column: str | None, header_row: int | None,
    unit: str | None, sheets: tuple[str, ...],
) -> None:  # fmt: skip
    """Add baluster counts, gaps and cut lengths to a bid sheet you already have.

    The openings are found by their headers: the first line below shows what was found. Nothing else in the file
    changes, and a new file is written.

    \b
        railfuncs add bid.xlsx --width 1/2 --dry-run
        railfuncs add bid.xlsx --width 1/2 --columns count,gap,tape
        railfuncs add "bid with spacing.xlsx" --remove --in-place
    """
    if in_place and out is not None:
        raise BookError("give either --in-place or -o, not both")
    if remove:
        _remove(bid, out, in_place, dry_run)
        return
    choices = Choices(
        _columns(columns), form, host, width, limit, target, parity, mortise,
        mortise if top_mortise is None else top_mortise, play, each,
    )  # fmt: skip
    said = {"opening": opening, "width": width_column, "qty": qty, "height": height, "count": count_column}
    wanted = Wanted({role: text for role, text in said.items() if text}, header_row, unit)
    package = Package.read(bid, open_elsewhere=live)
    progress.step(f"Looking for openings in {bid.name}")
    before = taken_back(package)
    plain = package if before is None else Package(package.assembled(before), bid.name)
    book = Workbook(plain)
    prepared, passed_over = (prepare(book, choices, wanted, sheets), []) if sheets else _only(book, choices, wanted)
    for line in (*passed_over, *account(prepared), *_to_know(prepared)):
        click.echo(line)
    if dry_run:
        click.echo("Nothing was written (--dry-run).")
    elif live:
        from railfuncs.books.addition.live import write_live

        click.echo(write_live(bid, prepared))
    else:
        progress.step("Adding the columns")
        made = edited(prepared.book, prepared.plans)
        for note in made.notes:
            click.echo(f"Note: {note}")
        if before is not None and Package(made.content, bid.name).parts == package.parts:
            click.echo(f"These columns are in {bid.name} already; nothing was written.")
            return
        _write(bid, out, in_place, package, made.content, "with spacing")
    click.echo(CAUTION)


def _only(book: Workbook, choices: Choices, wanted: Wanted) -> tuple[Prepared, list[str]]:
    """Plans for the one sheet that can be filled in, and lines that say which were passed over and why.

    Raises:
        BookError: several can be filled in, and the person is to say which; or none.
    """
    shown = [entry for entry in book.sheets if not entry.hidden]
    if len(shown) == 1:
        return prepare(book, choices, wanted), []
    titles = [entry.title for entry in shown if _looks_like(book, entry, wanted)]
    made: dict[str, Prepared] = {}
    refused: dict[str, BookError] = {}
    for title in titles:
        try:
            made[title] = prepare(book, choices, wanted, (title,))
        except BookError as error:
            refused[title] = error
    if len(made) > 1:
        there = ", ".join(f"{title} ({_told(plans.all)})" for title, plans in made.items())
        raise BookError(
            f"openings were found on {len(made)} sheets, {there}; say which to fill in with --sheet NAME, once for each"
        )
    if not made and not refused:
        return prepare(book, choices, wanted), []  # says which texts were seen in the whole workbook
    if not made:
        raise _none(refused)
    lines = [f"Passed over sheet {title}: {_bare(title, error)}" for title, error in refused.items()]
    return made.popitem()[1], lines


def _none(refused: dict[str, BookError]) -> BookError:
    """One sentence for a workbook in which no sheet can be filled in."""
    first, *others = refused
    if not others:
        return refused[first]
    if len({_bare(title, error) for title, error in refused.items()}) == 1:
        return BookError(f"sheets {', '.join(refused)}: {_bare(first, refused[first])}")
    return BookError(
        f"{len(refused)} sheets look like openings, and none can be filled in; {refused[first]}; to hear of the others"
        f" ({', '.join(others)}), name one with --sheet"
    )


def _bare(title: str, error: BookError) -> str:
    """A reason without the sheet that most begin with."""
    return str(error).removeprefix(f"sheet {title}").lstrip(": ")


def _looks_like(book: Workbook, entry: SheetEntry, wanted: Wanted) -> bool:
    try:
        return bool(blocks(book.sheet(entry), book.tables(entry), wanted))
    except BookError:
        return True  # why it cannot be filled in is said when that is tried


def _told(plans: list[Plan]) -> str:
    first = plans[0].block
    opening = first.columns["opening"]
    rows = sum(len(plan.block.rows) for plan in plans)
    return f"column {opening.letter} {opening.header!r}, {rows} {'row' if rows == 1 else 'rows'}"


def _to_know(prepared: Prepared) -> Iterator[str]:
    """Lines on what the columns rest on, and on rows that stay blank though nothing in them is wrong."""
    for plan in prepared.all:
        opening = plan.block.columns["opening"]
        if in_linear_feet(opening.header):
            yield (
                f"  column {opening.letter} {opening.header!r} is taken as the clear opening of one run, in feet; where"
                " it is rail to buy, or several runs together, the counts are wrong"
            )
        for why, rows in {**_waiting(plan), **unfilled(plan.block)}.items():
            yield f"  {'row' if len(rows) == 1 else 'rows'} {', '.join(map(str, rows))}: {why}"


def _waiting(plan: Plan) -> dict[str, list[int]]:
    """Rows of openings in which new cells are blank because a cell they rest on is, by what is to be said of them."""
    told = {row for row, _ in plan.problems}
    found: dict[str, list[int]] = {}
    for row in plan.block.rows:
        empty = [c for c in plan.columns if row not in c.cells or c.cells[row].value == ""]
        if row not in told and empty:
            headers = ", ".join(column.header for column in empty)
            wanting = ", ".join(repr(header) for header in _blank_inputs(plan.block, row, {c.key for c in empty}))
            found.setdefault(f"{headers} left blank for want of {wanting}", []).append(row)
    return found


def _blank_inputs(block: Block, row: int, keys: set[str]) -> list[str]:
    """The headers of the blank cells that new cells of these kinds rest on."""
    rest = {"height": "cut" in keys, "qty": "pieces" in keys, "count": bool(keys - {"cut"})}
    columns = [block.columns[role] for role, rests in rest.items() if rests and role in block.columns]
    return [found.header or found.letter for found in columns if block.sheet.value(row, found.column) is None]


def _columns(written: str | None) -> tuple[str, ...]:
    keys = tuple(key.strip().lower() for key in (written or "").split(",") if key.strip())
    for key in keys:
        if key not in COLUMNS:
            raise BookError(f"there is no column '{key}'; choose from {', '.join(COLUMNS)}")
    return keys


def _remove(bid: Path, out: Path | None, in_place: bool, dry_run: bool) -> None:
    package = Package.read(bid)
    made = removed(package)
    if made.exact:
        click.echo("The added columns go; every part of the file is again as it was, byte for byte.")
    else:
        click.echo(
            "The file was saved by another program since; the added cells go, but widths, filters and print areas"
            " stay as that program left them."
        )
    if dry_run:
        click.echo("Nothing was written (--dry-run).")
        return
    _write(bid, out, in_place, package, made.content, "without spacing")


def _write(bid: Path, out: Path | None, in_place: bool, package: Package, content: bytes, words: str) -> None:
    target = bid if in_place else out or bid.with_name(f"{bid.stem} {words}{bid.suffix}")
    if in_place:
        refuse_open_elsewhere(bid)
        if bid.read_bytes() != package.data:
            raise BookError(f"{bid.name} has been changed by another program in the meantime; run this again")
        copy = backup_name(bid)
        replace_file(copy, package.data)
        replace_file(bid, content)
        click.echo(f"Changed {bid}; as it was: {copy.name}")
        return
    if target.exists():
        raise BookError(f"{target} exists already; name another file with -o, or use --in-place")
    if target.suffix.lower() != bid.suffix.lower():
        raise BookError(f"the new file must end in {bid.suffix} like the old one")
    replace_file(target, content)
    click.echo(f"Wrote {target}")
