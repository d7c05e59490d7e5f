"""The command line: `railfuncs COMMAND`. Each command is loaded only when it is called."""

import importlib
import sys
from typing import Any

import click

from railfuncs import __version__, progress
from railfuncs.errors import InputError, RailError

# Where each command is, and the first line of its help (a test keeps the two the same), by what it is for.
_SECTIONS = {
    "From the site to the shop": {
        "template": (
            "railfuncs.books.commands:template",
            "Write an empty measure sheet to take to the site.",
        ),
        "job": (
            "railfuncs.books.commands:job",
            "Make the job's workbook from what you measured: a measure sheet (.xlsx), or a .csv with its columns.",
        ),
        "prices": (
            "railfuncs.books.commands:prices",
            "Write an empty price book: sticks, items, work and rates, kept between jobs.",
        ),
        "codes": (
            "railfuncs.books.codes:codes",
            "List the published code limits, read one code's out, or copy it to change to your local code.",
        ),
        "strips": (
            "railfuncs.books.sharing.commands:strips",
            "Make paper for the shop: full-size layout strips, a card of marks for each run, and labels.",
        ),
    },
    "To send": {
        "share": (
            "railfuncs.books.sharing.commands:share",
            "Make a workbook and a PDF for a contractor: only what the job's sheet Sharing marks yes, as values.",
        ),
        "changes": (
            "railfuncs.books.sharing.commands:changes",
            "List what changed between two revisions of a job workbook, as a sheet and in words.",
        ),
    },
    "In spreadsheets of your own": {
        "add": (
            "railfuncs.books.addition.command:add",
            "Add baluster counts, gaps and cut lengths to a bid sheet you already have.",
        ),
        "functions": (
            "railfuncs.hosts.commands:functions",
            "List the worksheet functions, or write their reference or a workbook of them as named functions.",
        ),
        "install": (
            "railfuncs.hosts.commands:install",
            "Install the functions in a spreadsheet program of this computer.",
        ),
        "addin": (
            "railfuncs.hosts.commands:addin",
            "Write the functions as an add-in file for a spreadsheet.",
        ),
    },
}
_COMMANDS = {name: command for section in _SECTIONS.values() for name, command in section.items()}


class _LazyGroup(click.Group):
    """A group whose commands live in modules that only they need."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_COMMANDS)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """What each command does, from the table: help must not wait for workbook libraries."""
        for title, commands in _SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(name, line) for name, (_, line) in commands.items()])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _COMMANDS:
            return None
        module, name = _COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(importlib.import_module(module), name)
        return command


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__)
def railfuncs() -> None:
    """Stair and balcony rails in the spreadsheet you already use.

    Fill in a measure sheet on site, then make the job's workbook from it:

    \b
        railfuncs template -o measure.xlsx
        railfuncs job measure.xlsx -o job.xlsx

    `railfuncs COMMAND --help` says what a command needs, with an example.
    """


def main(args: list[str] | None = None) -> None:
    """Run a command; what a person can put right is said in one sentence each, and the exit code is 1."""
    try:
        with progress.told():
            railfuncs(args=args, standalone_mode=False)
    except InputError as error:
        _say(f"Nothing was written; {_counted(error.problems)} to put right first:")
        for problem in error.problems:
            _say(f"  {problem}")
        sys.exit(1)
    except RailError as error:
        _say(f"Nothing was written: {error}")
        sys.exit(1)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        _say("Stopped; nothing was written.")
        sys.exit(1)


def _counted(problems: list[Any]) -> str:
    return "one thing is" if len(problems) == 1 else f"{len(problems)} things are"


def _say(text: str) -> None:
    click.echo(text, err=True)


if __name__ == "__main__":
    main()
