"""`railfuncs codes`: the published limits that jobs are compared with, read out, and copied for a local code."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import click

from railfuncs import data, lengths, profiles
from railfuncs.books.files import replacing
from railfuncs.errors import BookError

CAUTION = (
    "Codes are adopted and amended locally, and some of these limits are not confirmed: check with the local code and"
    " a licensed professional."
)
_ALONE = r"(?<![\d./])(?<!\d ){}(?![\d./]| \d)"  # a number that is not part of another: no 4 in 4 3/8
_FILE = click.Path(path_type=Path)


@click.command()
@click.argument("code", required=False, metavar="[NAME|FILE.csv]")
@click.option("-o", "--output", type=_FILE, help="Copy the limits to this .csv, to change to your local code.")
def codes(code: str | None, output: Path | None) -> None:
    """List the published code limits, read one code's out, or copy it to change to your local code.

    Your own file is read out the same way; a line in it that cannot be used is named.

    \b
        railfuncs codes
        railfuncs codes irc-2018
        railfuncs codes irc-2018 -o our-county.csv
        railfuncs codes our-county.csv
    """
    if code is None:
        if output is not None:
            raise BookError(f"say which code to copy, such as: railfuncs codes irc-2018 -o {output}")
        lines = listing()
    else:
        lines = read_out(code) if output is None else copied(code, output)
    for line in lines:
        click.echo(line)


def listing() -> Iterator[str]:
    """Lines that name every shipped profile: editions, number of limits, how sure we are of them."""
    for name in profiles.shipped():
        limits = profiles.limits(name).values()
        yield f"{name:<13} {', '.join(dict.fromkeys(limit.edition for limit in limits))}"
        # What stands in brackets is where a limit was read, which is told with the limit.
        sure = Counter(limit.certainty.partition(" (")[0] for limit in limits)
        told = "; ".join(f"{number} {certainty}" for certainty, number in sure.items())
        yield f"{'':<13} {_counted(len(limits))}: {told}"
    yield ""
    yield "Read one out with: railfuncs codes NAME"
    yield CAUTION


def read_out(name_or_path: str) -> Iterator[str]:
    """Lines that tell every limit of a profile: what, limit with unit, where it stands, how sure we are of it.

    Raises:
        RuleError: no such profile, or a file that cannot be used.
    """
    name = profiles.chosen(name_or_path)
    limits = profiles.limits(name)
    yield f"{name}: {_counted(len(limits))}"
    for (check, place), limit in limits.items():
        yield ""
        yield f"{check}, {place}: {_told(limit)}"
        yield f"    {limit.what}"
        yield f"    {limit.cited}"
        for bound in _not_in_words(limit):
            yield f"    LOOK AT THIS: the limit is {bound.text}, but the words do not say so; change both"
    yield ""
    yield CAUTION


def copied(name_or_path: str, output: Path) -> Iterator[str]:
    """Write a copy of a profile for a person to change; lines that say so.

    Raises:
        BookError: something is there already, or the name cannot be used.
        RuleError: no such profile, or a file that cannot be used.
    """
    name = profiles.chosen(name_or_path)
    if output.suffix.lower() != ".csv":
        raise BookError(f"{output} must end in .csv")
    if output.stem.lower() in profiles.shipped():
        raise BookError(f"'{output.stem}' is the name of a shipped code; give your copy a name of its own")
    if output.exists():
        raise BookError(f"{output} is there already; give another name")
    source = data.path("profiles") / f"{name}.csv" if name in profiles.shipped() else Path(name_or_path.strip())
    with replacing(output) as temporary:
        temporary.write_bytes(source.read_bytes())
    yield f"Wrote {output}: change each limit together with its words, section, edition and certainty."
    yield f'Look at it with: railfuncs codes "{output}"'
    yield f'Compare a job with it: railfuncs job measure.xlsx -o job.xlsx --code "{output}"'
    yield CAUTION


def _counted(limits: int) -> str:
    return "1 limit" if limits == 1 else f"{limits} limits"


def _told(limit: profiles.Limit) -> str:
    if limit.under is not None:
        return f"under {limit.under.text} (as wide as that is too wide)"
    if limit.least is not None and limit.most is not None:
        return f"at least {limit.least.text}, at most {limit.most.text}"
    if limit.least is not None:
        return f"at least {limit.least.text}"
    assert limit.most is not None  # a limit has one bound at least
    return f"at most {limit.most.text}"


def _not_in_words(limit: profiles.Limit) -> Iterator[profiles.Bound]:
    """Bounds that the words beside them do not say: one of the two was changed and the other forgotten."""
    for bound in (limit.least, limit.most, limit.under):
        if bound is not None:
            spellings = [bound.text.rpartition(" ")[0]]
            if limit.unit == "mm":
                spellings.append(f"{float(bound.value / lengths.MM) / 1000:g} m")
            if not any(re.search(_ALONE.format(re.escape(text)), limit.what) for text in spellings):
                yield bound
