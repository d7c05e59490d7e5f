"""The commands that bring the functions into spreadsheets."""

import shlex
from pathlib import Path

import click

from railfuncs.books.files import replacing
from railfuncs.books.functions import write_functions
from railfuncs.catalogue import functions as catalogue
from railfuncs.errors import BookError
from railfuncs.hosts import calc as calc_host
from railfuncs.hosts import excel as excel_host
from railfuncs.hosts import install as installing
from railfuncs.hosts import reference

_FILE = click.Path(path_type=Path)


@click.group()
def addin() -> None:
    """Write the functions as an add-in file for a spreadsheet."""


@addin.command("calc")
@click.option("-o", "--output", type=_FILE, required=True, help="The add-in to write, ending in .oxt.")
def addin_calc(output: Path) -> None:
    """Write the add-in for LibreOffice Calc.

    \b
        railfuncs addin calc -o railfuncs.oxt
    """
    with replacing(output) as temporary:
        calc_host.write_addin(temporary)
    click.echo(f"Wrote {output}: {len(catalogue())} functions. Open it with LibreOffice to install it.")


@addin.command("excel")
@click.option("-o", "--output", type=_FILE, required=True, help="The starter workbook to write, ending in .xlsm.")
def addin_excel(output: Path) -> None:
    """Write a starter workbook for Excel on Windows, and its Python file beside it.

    \b
        railfuncs addin excel -o rails.xlsm
    """
    module = excel_host.starter_module(output)
    with replacing(output) as workbook, replacing(module) as source:
        workbook.write_bytes(excel_host.starter_workbook())
        source.write_text(excel_host.starter_source(), encoding="utf-8")
    click.echo(f"Wrote {output} and {module}: keep them together. In Excel: xlwings, Import Functions.")


@addin.command("excel-web")
@click.option("-o", "--output", type=_FILE, required=True, help="The Python file to write, ending in .py.")
def addin_excel_web(output: Path) -> None:
    """Write one Python file to paste into the in-browser add-in: Excel on the web, Mac and Windows.

    \b
        railfuncs addin excel-web -o rails_web.py
    """
    with replacing(output) as temporary:
        temporary.write_text(excel_host.pasted_source(), encoding="utf-8")
    click.echo(f"Wrote {output}: {len(catalogue())} functions. Paste it into the add-in's Python editor.")


@click.group()
def install() -> None:
    """Install the functions in a spreadsheet program of this computer."""


@install.command("calc")
def install_calc() -> None:
    """Install the add-in in LibreOffice Calc for the current user.

    \b
        railfuncs install calc
    """
    remove = installing.install_calc()
    click.echo(f"Installed {len(catalogue())} functions. Start LibreOffice anew, then type =RAIL_GAP( in a cell.")
    click.echo(f"To remove them: {shlex.join(remove)}")
    click.echo("or in LibreOffice: Tools > Extensions, Rail functions, Remove.")


@click.command()
@click.option("-o", "--output", type=_FILE, help="Write a file: .md the reference, .xlsx named functions.")
def functions(output: Path | None) -> None:
    """List the worksheet functions, or write their reference or a workbook of them as named functions.

    \b
        railfuncs functions
        railfuncs functions -o functions.md
        railfuncs functions -o functions.xlsx
    """
    if output is None:
        click.echo(reference.listing())
        return
    if output.suffix == ".xlsx":
        write_functions(output)
    elif output.suffix == ".md":
        with replacing(output) as temporary:
            temporary.write_text(reference.page(), encoding="utf-8")
    else:
        raise BookError(f"'{output}': name a file that ends in .md or .xlsx")
    click.echo(f"Wrote {output}.")
