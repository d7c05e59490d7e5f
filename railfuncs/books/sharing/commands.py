"""The commands that make what is sent, and paper for the shop.

What they need is imported when they run, so that help and spelling mistakes are answered at once.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from railfuncs.books.sharing.share import Made

_FILE = click.Path(path_type=Path)
_PAPER = click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True,
                      help="Paper in your printer.")  # fmt: skip


@click.command()
@click.argument("job", type=_FILE)
@click.option("-o", "--output", type=_FILE, required=True, help="The folder to write in; made if it is not there.")
@_PAPER
def share(job: Path, output: Path, paper: str) -> None:
    """Make a workbook and a PDF for a contractor: only what the job's sheet Sharing marks yes, as values.

    \b
        railfuncs share job.xlsx -o to-send
    """
    from railfuncs.books.sharing.share import share as make

    _tell(make(job, output, paper))


@click.command()
@click.argument("job", type=_FILE)
@click.option("-o", "--output", type=_FILE, required=True, help="The folder to write in; made if it is not there.")
@_PAPER
def strips(job: Path, output: Path, paper: str) -> None:
    """Make paper for the shop: full-size layout strips, a card of marks for each run, and labels.

    \b
        railfuncs strips job.xlsx -o paper --paper a4
    """
    from railfuncs.books.sharing.share import shop_paper

    _tell(shop_paper(job, output, paper))


@click.command()
@click.argument("old", type=_FILE)
@click.argument("new", type=_FILE)
@click.option("-o", "--output", type=_FILE, required=True, help="The workbook to write, ending in .xlsx.")
def changes(old: Path, new: Path, output: Path) -> None:
    """List what changed between two revisions of a job workbook, as a sheet and in words.

    \b
        railfuncs changes job-rev-1.xlsx job-rev-2.xlsx -o changes.xlsx
    """
    from railfuncs.books.commands import new_workbook
    from railfuncs.books.sharing.changes import write_changes

    new_workbook(output, [old, new], replace=None)
    for line in write_changes(old, new, output):
        click.echo(line)
    click.echo(f"Wrote {output}")


def _tell(made: "Made") -> None:
    for file in made.files:
        click.echo(f"Wrote {file}")
    for sentence in made.said:
        click.echo(sentence)
