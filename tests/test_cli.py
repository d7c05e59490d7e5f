"""The commands as a person runs them: what they write, and one clear sentence for what cannot be."""

import shlex
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import click
import openpyxl
import pytest

from railfuncs import cli, profiles
from railfuncs.cli import main

DEMO = Path(__file__).parents[1] / "workbooks" / "demo-measure.csv"
GOOD = DEMO.read_text(encoding="utf-8")


def run(capsys: pytest.CaptureFixture[str], *args: object) -> tuple[int, str]:
    try:
        main([str(arg) for arg in args])
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 1
    else:
        code = 0
    said = capsys.readouterr()
    return code, said.out + said.err


def test_job_from_the_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys, "job", DEMO, "-o", tmp_path / "job.xlsx")
    assert (code, "7 runs" in said) == (0, True)
    titles = openpyxl.load_workbook(tmp_path / "job.xlsx").sheetnames
    assert titles == ["Summary", "Measured", "Slope", "Spacing", "Elevation", "Marks", "Card", "Shop", "Cut list",
                      "Labels", "Treads", "Checks", "Drawing", "Sharing"]  # fmt: skip


def test_an_empty_template_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "measure.xlsx"
    assert run(capsys, "template", "-o", sheet)[0] == 0
    code, said = run(capsys, "job", sheet, "-o", tmp_path / "job.xlsx")
    assert (code, "no runs" in said) == (1, True)
    assert not (tmp_path / "job.xlsx").exists()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("81 5/16", "", "(Opening at rail): is blank"),
        ("81 5/16", "wide", "'wide' is not a length"),
        ("81 5/16", "0", "more than zero"),
        ("81 5/16", "-81", "zero"),
        ("81 5/16", "1/2", "the baluster is wider than the opening"),
        ("81 5/16", "10 miles", "longer than 200 ft"),
        ("81 5/16", "195 ft", "more than 250 balusters"),
        ("81 5/16,,,,3/4", "81 5/16,,,,3-Apr", "'3-Apr' is not a length"),
        ("Kitchen side", "Water front", "Water front"),
        ("28 11/16", "12", "disagree too much"),
        ("Run,Unit", "Ran,Unit", "Run"),
    ],
)
def test_bad_cells(tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, says: str) -> None:
    assert GOOD.count(old) == 1
    (tmp_path / "bad.csv").write_text(GOOD.replace(old, new), encoding="utf-8")
    code, said = run(capsys, "job", tmp_path / "bad.csv", "-o", tmp_path / "job.xlsx")
    assert (code, says in said) == (1, True), said
    assert "Nothing was written" in said
    assert "Traceback" not in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.csv"]


def test_two_bad_cells_are_both_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bad.csv").write_text(GOOD.replace("81 5/16", "wide").replace("1863", "x"), encoding="utf-8")
    _, said = run(capsys, "job", tmp_path / "bad.csv", "-o", tmp_path / "job.xlsx")
    assert "2 things are to put right" in said
    assert "line 10" in said
    assert "line 11" in said


def half_written(path: Path) -> None:
    run_demo = path.with_name("whole.xlsx")
    main(["template", "-o", str(run_demo)])
    path.write_bytes(run_demo.read_bytes()[:3000])
    run_demo.unlink()


def encrypted(path: Path) -> None:
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000))


def other_zip(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("hello.txt", "hello")


@pytest.mark.parametrize("make", [half_written, encrypted, other_zip, Path.mkdir, lambda path: None])
def test_broken_files(tmp_path: Path, capsys: pytest.CaptureFixture[str], make: object) -> None:
    make(tmp_path / "measure.xlsx")  # type: ignore[operator]
    capsys.readouterr()
    code, said = run(capsys, "job", tmp_path / "measure.xlsx", "-o", tmp_path / "job.xlsx")
    assert code == 1
    assert said.startswith("Nothing was written")
    assert "Traceback" not in said
    assert len(said.strip().splitlines()) == 1
    assert not (tmp_path / "job.xlsx").exists()


def test_output_folder_that_does_not_exist(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys, "job", DEMO, "-o", tmp_path / "nowhere" / "job.xlsx")
    assert (code, "nowhere" in said) == (1, True)
    assert list(tmp_path.iterdir()) == []


def test_what_a_person_measured_or_typed_is_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text(GOOD, encoding="utf-8")
    assert "must end in .xlsx" in run(capsys, "job", mine, "-o", mine)[1]
    sheet = tmp_path / "measure.xlsx"
    run(capsys, "template", "-o", sheet)
    before = sheet.read_bytes()
    assert "is what is read" in run(capsys, "job", sheet, "-o", sheet, "--replace")[1]
    assert "add --replace" in run(capsys, "job", mine, "-o", sheet)[1]
    assert sheet.read_bytes() == before
    assert mine.read_text(encoding="utf-8") == GOOD
    assert run(capsys, "job", mine, "-o", sheet, "--replace")[0] == 0


def test_what_reaches_a_limit_is_said_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    low = tmp_path / "low.csv"
    low.write_text(GOOD.replace(",33,2 1/4,", ",25,5,"), encoding="utf-8")
    code, said = run(capsys, "job", low, "-o", tmp_path / "job.xlsx")
    assert code == 0
    assert "Kitchen side: gap under the shoe REACHES THE LIMIT" in said
    assert "Kitchen side: height LOWER than the least height" in said


def test_a_job_is_compared_with_a_code_of_ones_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A county takes the model code over, but asks for a guard 40 in high; the demo's rails are lower."""
    monkeypatch.setattr(profiles, "_own", {})
    county = tmp_path / "our-county.csv"
    assert run(capsys, "codes", "irc-2018", "-o", county)[0] == 0
    table = county.read_text(encoding="utf-8")
    assert table.count("in,36,,,a guard is at least 36 in high") == 1
    county.write_text(table.replace("in,36,,,a guard is at least 36", "in,40,,,a guard is at least 40"), "utf-8")
    assert "LOWER" not in run(capsys, "job", DEMO, "-o", tmp_path / "job.xlsx", "--code", "irc-2018")[1]
    code, said = run(capsys, "job", DEMO, "-o", tmp_path / "own.xlsx", "--code", county)
    assert (code, "Kitchen side: height LOWER than the least height" in said) == (0, True)
    code, said = run(capsys, "job", DEMO, "-o", tmp_path / "none.xlsx", "--code", "irc-1990")
    assert (code, "there is no code profile 'irc-1990'; there are: ad-k-2013" in said) == (1, True)
    assert not (tmp_path / "none.xlsx").exists()


def test_an_old_workbook_stays_when_the_input_is_bad(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "job.xlsx").write_bytes(b"the old one")
    (tmp_path / "bad.csv").write_text(GOOD.replace("81 5/16", "wide"), encoding="utf-8")
    assert run(capsys, "job", tmp_path / "bad.csv", "-o", tmp_path / "job.xlsx", "--replace")[0] == 1
    assert (tmp_path / "job.xlsx").read_bytes() == b"the old one"


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys, "--help")
    assert code == 0
    assert all(f"\n  {command} " in said for command in cli._COMMANDS)


def test_command_runs_without_loading_what_it_does_not_need() -> None:
    """Help must come at once: no workbook library, no pint, no NumPy."""
    script = (
        "import sys, railfuncs.cli\n"
        "try: railfuncs.cli.main(['--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted({'openpyxl', 'pint', 'numpy', 'lxml', 'xlwings', 'reportlab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_the_list_of_commands_says_what_each_command_says() -> None:
    for name, (_, line) in cli._COMMANDS.items():
        command = cli.railfuncs.get_command(click.Context(cli.railfuncs), name)
        assert command is not None
        assert command.help is not None
        assert " ".join(command.help.split("\n\n")[0].split()) == line


def leaves(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command that does something, with the words that call it."""
    if not isinstance(command, click.Group):
        yield path, command
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        below = command.get_command(context, name)
        assert below is not None
        yield from leaves(below, (*path, name))


LEAVES = dict(leaves(cli.railfuncs))


@pytest.mark.parametrize("path", LEAVES, ids=" ".join)
def test_every_help_has_an_example_that_can_be_typed(path: tuple[str, ...]) -> None:
    command = LEAVES[path]
    said = [line.strip() for line in (command.help or "").splitlines()]
    lines = [shlex.split(line) for line in said if line.startswith("railfuncs ")]
    assert lines
    for line in lines:
        assert line[1 : len(path) + 1] == list(path)
        command.make_context(" ".join(path), line[len(path) + 1 :])


def test_papers_and_lists_do_not_take_the_place_of_what_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.xlsx"
    run(capsys, "job", DEMO, "-o", job)
    before = job.read_bytes()
    assert "is what is read" in run(capsys, "changes", job, job, "-o", job)[1]
    assert job.read_bytes() == before
    assert run(capsys, "share", job, "-o", tmp_path / "sent")[0] == 0
    code, said = run(capsys, "share", job, "-o", tmp_path / "sent")
    assert (code, "raise Revision on the sheet Sharing" in said) == (1, True)
