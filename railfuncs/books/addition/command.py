"""`railfuncs add`: spacing columns in an existing bid sheet."""

from fractions import Fraction
from pathlib import Path

import click

from railfuncs import lengths
from railfuncs.books.addition.edit import edited
from railfuncs.books.addition.find import Wanted
from railfuncs.books.addition.package import (
    Package,
    backup_name,
    refuse_open_elsewhere,
    replace_file,
)
from railfuncs.books.addition.plan import COLUMNS, Choices
from railfuncs.books.addition.prepare import account, prepare
from railfuncs.books.addition.record import taken_back
from railfuncs.books.addition.remove import removed
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
    help="Formulas work anywhere; functions need railfuncs installed there; values do not follow changes.",
)  # fmt: skip
@click.option(
    "--host", type=click.Choice(["excel", "calc"]), default="excel", show_default=True,
    help="Whose spelling functions get: Excel's or LibreOffice Calc's.",
)  # fmt: skip
@click.option("--width", type=_LENGTH, help="Baluster width where the sheet has no column of it, such as 1/2.")
@click.option("--limit", type=_LENGTH, default="4", show_default=True, help="Every gap stays under this.")
@click.option("--target", type=_LENGTH, default="0", help="Gap wanted; without it, the fewest balusters.")
@click.option("--parity", type=click.Choice(["any", "odd", "even"]), default="any", show_default=True)
@click.option("--mortise", type=_LENGTH, help="Mortise depth in shoe and rail, for the cut length.")
@click.option("--top-mortise", type=_LENGTH, help="Mortise depth in the rail, where it differs.")
@click.option("--play", type=_LENGTH, default="0", help="What a baluster is cut short by so that it drops in.")
@click.option("--each", type=_Money(), help="Price of one baluster, for a column of prices.")
@click.option("--opening", help="Header text or column letter of the openings.")
@click.option("--width-column", help="Header text or column letter of the baluster widths.")
@click.option("--qty", help="Header text or column letter of how many runs.")
@click.option("--height", help="Header text or column letter of the clear heights.")
@click.option("--count", "count_column", help="Header text or column letter of the sheet's own baluster counts.")
@click.option("--header-row", type=click.IntRange(1), help="The row the headers stand in.")
@click.option("--unit", type=click.Choice(["in", "ft", "mm", "cm", "m"]), help="Unit where a header names none.")
@click.option("--sheet", "sheets", multiple=True, help="Only this sheet; may be given more than once.")
def add(
    bid: Path, out: Path | None, in_place: bool, dry_run: bool, remove: bool, live: bool, columns: str | None,
    form: str, host: str, width: Fraction | None, limit: Fraction, target: Fraction, parity: str,
    mortise: Fraction | None, top_mortise: Fraction | None, play: Fraction, each: Fraction | None, opening: str | None,
    width_column: str | None, qty: str | None, height: str | None, count_column: str | None, header_row: int | None,
    unit: str | None, sheets: tuple[str, ...],
) -> None:  # fmt: skip
    """Add baluster counts, gaps and cut lengths to a bid sheet you already have.

    The openings are found by their headers. Nothing else in the file changes, and a new file is written.

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
    before = taken_back(package)
    plain = package if before is None else Package(package.assembled(before), bid.name)
    prepared = prepare(plain, choices, wanted, sheets)
    for line in account(prepared):
        click.echo(line)
    if dry_run:
        click.echo("Nothing was written (--dry-run).")
    elif live:
        from railfuncs.books.addition.live import write_live

        click.echo(write_live(bid, prepared))
    else:
        made = edited(prepared.book, prepared.plans)
        for note in made.notes:
            click.echo(f"Note: {note}")
        if before is not None and Package(made.content, bid.name).parts == package.parts:
            click.echo(f"These columns are in {bid.name} already; nothing was written.")
            return
        _write(bid, out, in_place, package, made.content, "with spacing")
    click.echo(CAUTION)


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
