"""What a command is at, in one plain line a step, so that nobody wonders whether it hangs.

Work that can take seconds calls `step` as it begins each part. Only a command at the command line tells (`told`): at
once where a person watches, otherwise from when it has lasted over `PATIENCE`. From Python and in spreadsheets nothing
is printed.
"""

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

PATIENCE = 2.0  # seconds

Item = TypeVar("Item")
_say: ContextVar[Callable[[str], None] | None] = ContextVar("say", default=None)


@contextmanager
def told(
    say: Callable[[str], None] | None = None, watched: bool | None = None, clock: Callable[[], float] = time.monotonic
) -> Iterator[None]:
    """Tell the steps of what is done inside.

    Args:
        say: takes a line; by default it goes to the standard error stream, so that results can be piped on
        watched: whether a person watches; by default whether that stream is a terminal
        clock: the time in seconds
    """
    began = clock()
    at_once = sys.stderr.isatty() if watched is None else watched

    def tell(line: str) -> None:
        if at_once or clock() - began > PATIENCE:
            (say or _to_stderr)(line)

    token = _say.set(tell)
    try:
        yield
    finally:
        _say.reset(token)


def step(words: str) -> None:
    """Say what begins now, such as "Planning the handrail from stock".

    >>> with told(print, watched=True):
    ...     step("Drawing the strips")
    Drawing the strips ...
    >>> step("Drawing the strips")
    """
    say = _say.get()
    if say is not None:
        say(f"{words} ...")


def steps(items: Sequence[Item], words: Callable[[Item], str]) -> Iterator[Item]:
    """The items one by one, each said as it begins.

    >>> with told(print, watched=True):
    ...     for parity in steps(("odd", "even"), "Pricing {} counts".format):
    ...         pass
    Pricing odd counts, 1 of 2 ...
    Pricing even counts, 2 of 2 ...
    """
    for number, item in enumerate(items, start=1):
        step(f"{words(item)}, {number} of {len(items)}")
        yield item


def _to_stderr(line: str) -> None:
    import click

    click.echo(line, err=True)
