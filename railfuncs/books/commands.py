"""The commands that make a measure sheet and a job workbook.

What they need is imported when they run, so that help and spelling mistakes are answered at once.
"""

from collections.abc import Sequence
from pathlib import Path

import click

from railfuncs.errors import BookError

_FILE = click.Path(path_type=Path)


@click.command()
@click.option("-o", "--output", type=_FILE, required=True, help="The measure sheet to write, ending in .xlsx.")
def template(output: Path) -> None:
    """Write an empty measure sheet to take to the site.

    \b
        railfuncs template -o measure.xlsx
    """
    from railfuncs.books.template import write_template

    write_template(output)
    click.echo(f"Wrote {output}: one row a run; the second sheet says how to fill it in.")


@click.command()
@click.argument("measured", type=_FILE)
@click.option("-o", "--output", type=_FILE, required=True, help="The workbook to write, ending in .xlsx.")
@click.option("--replace", is_flag=True, help="Write over an older workbook of that name, and what was typed into it.")
@click.option("--prices", type=_FILE, help="Your price book: adds the stock plan, the buying list and the bid.")
@click.option("--code", help="Published limits to compare with: a name from railfuncs codes, or your own .csv.")
def job(measured: Path, output: Path, replace: bool, prices: Path | None, code: str | None) -> None:
    """Make the job's workbook from what you measured: a measure sheet (.xlsx), or a .csv with its columns.

    \b
        railfuncs job measure.xlsx -o job.xlsx
        railfuncs job measure.xlsx -o job.xlsx --code our-county.csv
        railfuncs job measure.xlsx -o job.xlsx --prices prices.xlsx
    """
    from dataclasses import replace as changed

    from railfuncs import profiles
    from railfuncs.books.job import write_job
    from railfuncs.books.job.measured import run_problems
    from railfuncs.books.measure import read_job
    from railfuncs.books.prices import read_prices

    new_workbook(output, [measured], replace)
    read = read_job(measured, checks=run_problems)
    if code is not None:
        read = changed(read, code=profiles.chosen(code))
    elif read.code:
        read = changed(read, code=profiles.chosen(beside(measured, read.code)))
    to_see = write_job(read, output, None if prices is None else read_prices(prices))
    runs = len(read.runs)
    click.echo(f"Wrote {output}: {runs} run{'s' if runs > 1 else ''}. Type in its Measured sheet; the rest follows.")
    for sentence in to_see:
        click.echo(f"Look at its sheet {sentence}")


def beside(sheet: Path, code: str) -> str:
    """A code profile as a measure sheet names it: a file is looked for in the sheet's own folder."""
    return str(sheet.parent / code) if code.lower().endswith(".csv") else code


def new_workbook(output: Path, sources: Sequence[Path], replace: bool | None) -> None:
    """Refuse an output that would take the place of what a person measured or typed.

    Args:
        replace: whether an old workbook may be written over; None where the command cannot
    """
    if output.suffix.lower() != ".xlsx":
        raise BookError(f"{output} must end in .xlsx")
    if any(output.exists() and source.exists() and output.samefile(source) for source in sources):
        raise BookError(f"{output} is what is read; give what is written another name")
    if output.is_file() and not replace:
        way = "give another name" if replace is None else "add --replace to write over it and what was typed into it"
        raise BookError(f"{output} is there already; {way}")


@click.command()
@click.option("-o", "--output", type=_FILE, required=True, help="The price book to write, ending in .xlsx.")
def prices(output: Path) -> None:
    """Write an empty price book: sticks, items, work and rates, kept between jobs.

    \b
        railfuncs prices -o prices.xlsx
    """
    from railfuncs.books.prices import write_price_book

    write_price_book(output)
    click.echo(f"Wrote {output}: rates first, then one row an item; the second sheet says how to fill it in.")
