"""Progress: one plain line a step, only from the command line, only to who watches or waits."""

import sys
from collections.abc import Callable

import click
import pytest

from railfuncs import cli, progress


def clock_of(*times: float) -> Callable[[], float]:
    """A clock that shows these times, one a look."""
    left = iter(times)
    return lambda: next(left)


def three_steps(*times: float, watched: bool) -> list[str]:
    """What is said of three steps, where the clock shows these times: at the start, then at each step."""
    lines: list[str] = []
    with progress.told(lines.append, watched, clock_of(*times)):
        for _ in progress.steps("abc", "Planning {}".format):
            pass
    return lines


def test_a_person_who_watches_is_told_at_once() -> None:
    assert three_steps(100, 100, 100, 100, watched=True) == [
        "Planning a, 1 of 3 ...", "Planning b, 2 of 3 ...", "Planning c, 3 of 3 ...",
    ]  # fmt: skip


def test_elsewhere_only_what_lasts_over_two_seconds_is_told() -> None:
    assert three_steps(100, 100, 101.9, 102, watched=False) == []
    assert three_steps(100, 100, 102.1, 109, watched=False) == ["Planning b, 2 of 3 ...", "Planning c, 3 of 3 ..."]


def test_each_step_is_told_as_it_begins() -> None:
    lines: list[str] = []
    with progress.told(lines.append, watched=True):
        told = [len(lines) for _ in progress.steps("ab", str)]
    assert told == [1, 2]


def test_nothing_is_told_outside_or_after_a_command_that_failed() -> None:
    lines: list[str] = []
    with pytest.raises(ValueError, match="no"), progress.told(lines.append, watched=True):
        raise ValueError("no")
    progress.step("Planning")
    assert lines == []


@pytest.mark.parametrize("watched", [True, False])
def test_the_command_line_tells_who_watches(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], watched: bool
) -> None:
    """On the error stream, so that what a command prints can be piped on."""

    @click.command()
    def slow() -> None:
        progress.step("Planning")
        click.echo("done")

    monkeypatch.setattr(cli.railfuncs, "get_command", lambda ctx, name: slow)
    monkeypatch.setattr(progress, "PATIENCE", float("inf"))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: watched)
    cli.main(["slow"])
    said = capsys.readouterr()
    assert (said.out, said.err) == ("done\n", "Planning ...\n" if watched else "")
