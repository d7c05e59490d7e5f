"""The list and the reference page are those of the catalogue."""

from pathlib import Path

from click.testing import CliRunner

from railfuncs.catalogue import functions
from railfuncs.hosts import commands, reference

ROOT = Path(__file__).parents[2]


def test_the_page_in_the_docs_is_up_to_date() -> None:
    written = (ROOT / reference.PAGE).read_text(encoding="utf-8")
    assert written == reference.page(), f"make it anew: railfuncs functions -o {reference.PAGE}"


def test_the_list_names_every_function_once() -> None:
    shown = CliRunner().invoke(commands.functions, [], catch_exceptions=False).output
    listed = [line.split()[0] for line in shown.splitlines() if line.startswith("  ")]
    assert sorted(listed) == sorted(functions())


def test_the_command_writes_the_page(tmp_path: Path) -> None:
    done = CliRunner().invoke(commands.functions, ["-o", str(tmp_path / "page.md")], catch_exceptions=False)
    assert done.exit_code == 0
    page = (tmp_path / "page.md").read_text(encoding="utf-8")
    assert page == reference.page()
    for entry in functions().values():
        assert f"### {entry.name}(" in page
        assert all(argument.help.replace("|", "\\|") in page for argument in entry.arguments)
