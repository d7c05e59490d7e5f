"""The commands that make a measure sheet and a job workbook.

What they need is imported when they run, so that help and spelling mistakes are answered at once.
"""

from pathlib import Path

import click

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
def job(measured: Path, output: Path) -> None:
    """Make the job's workbook from a filled measure sheet (.xlsx) or a .csv with the same columns.

    \b
        railfuncs job measure.xlsx -o job.xlsx
    """
    from railfuncs.books.job import write_job
    from railfuncs.books.job.measured import run_problems
    from railfuncs.books.measure import read_job

    read = read_job(measured, checks=run_problems)
    write_job(read, output)
    runs = len(read.runs)
    click.echo(f"Wrote {output}: {runs} run{'s' if runs > 1 else ''}. Type in its Measured sheet; the rest follows.")
