"""What each rule has been checked against, counted from the tests: `python -m tests.proof` writes docs/proof.md.

Two things are counted: the rows of the check tables, and the tests marked with `@proves`. A marked test says of how many
different calls it checks the rule's answer, and fails when it makes fewer: so the page cannot claim more than is run.
"""

import importlib
import inspect
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from textwrap import fill
from types import FunctionType, ModuleType
from typing import Any

import pytest

from railfuncs import data, profiles
from railfuncs.catalogue import Function, functions
from railfuncs.hosts.reference import by_group
from tests.checks import rows

ROOT = Path(__file__).parents[1]
PAGE = "docs/proof.md"

NO_SOURCE = ("common practice, no source", "the function's own sentence")
READ, SECOND_HAND, MEMORY, UNRECORDED, WORKED, NONE = (
    "published, read", "published, read second-hand", "published, from memory", "published, reading not recorded",
    "worked out another way", "**none**",
)  # fmt: skip
SURENESS = (READ, SECOND_HAND, MEMORY, UNRECORDED, WORKED, NONE)

_HEAD = """# What each rule has been checked against

Each of the {functions} rules has a row below: where the rule comes from, what its answers were compared with, and in how
many cases. Made from the tests by `python -m tests.proof`; do not change it by hand: a test fails when it is out of date.
It does not prove strength, nor that a job meets a code, nor that a shop's way of working is a good one: it shows that the
arithmetic is that of the sources named. Check with your local code and a licensed professional.

How to read the last column, from the surest down:

- **published, read**: the answer stands in a table or book which was read for these tests.
- **published, read second-hand**: somebody else's copy of the text was read.
- **published, from memory**: the value was typed in from memory and has not been confirmed since.
- **published, reading not recorded**: a known table; whether it was read or remembered is not noted.
- **worked out another way**: by hand (derived), by definition, by drawing and measuring, or by trying all choices. That
  judges the arithmetic, not the practice.
- **none**: nobody outside has published it; the cases are common practice put into numbers, or the rule's own sentences.

{without}

A case is one set of values; those that must be refused count too. {rows} of the cases are rows of the tables in
`tests/checks`: Python, the add-in in LibreOffice Calc and, where a rule has a cell formula, that formula in another
engine must each give the row's answer. The others are calls which a test makes and compares, at least so many.

| rule | where it comes from | checked against: cases | cases | outside check |
|---|---|---|---:|---|"""


@dataclass(frozen=True)
class Proof:
    """What one run of a test checks: the rules, what they are checked against, and of how many calls at least."""

    names: tuple[str, ...]
    against: str
    cases: int


def proves(*names: str, against: str, cases: int, by: str = "") -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Mark a test that judges rules by something other than railfuncs.

    Args:
        names: the rules, as worksheet functions are named
        against: what judges them, in plain words; where a value is from memory, it says so
        cases: different calls of each rule that one run of the test makes, at least
        by: where the test calls what stands behind the rules, the name of that function in the test's module
    """

    def marked(test: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(test)
        def counted(*args: Any, **kwargs: Any) -> None:
            calls = {name: set[Any]() for name in names}
            with pytest.MonkeyPatch.context() as patch:
                _count(patch, sys.modules[test.__module__], calls, cases, by)
                try:
                    test(*args, **kwargs)
                except pytest.skip.Exception as skipped:
                    pytest.fail(f"a proof cannot be skipped: {skipped}")
            for name, seen in calls.items():
                assert len(seen) >= cases, f"{test.__name__} tried {name} {len(seen)} times, yet says {cases}"

        counted.proofs = [Proof(names, against, cases), *getattr(test, "proofs", [])]  # type: ignore[attr-defined]
        return counted

    return marked


def _count(patch: pytest.MonkeyPatch, module: ModuleType, calls: dict[str, set[Any]], most: int, by: str) -> None:
    """Let the calls that a test's own module makes of the rules be noted; what rules call in each other is not."""
    if by:
        every: set[Any] = set()
        patch.setattr(module, by, _noting(getattr(module, by), every, most))
        calls.update(dict.fromkeys(calls, every))
        return
    wanted = {functions()[name].rule: seen for name, seen in calls.items()}

    def noted(value: Any) -> Any:
        rule = inspect.unwrap(value) if isinstance(value, FunctionType) else None
        return _noting(value, wanted[rule], most) if rule in wanted else value

    for name, value in list(vars(module).items()):
        if isinstance(value, ModuleType) and re.match(r"railfuncs$|railfuncs\.rules\.", value.__name__):
            twin = ModuleType(value.__name__)
            vars(twin).update({inner: noted(each) for inner, each in vars(value).items()})
            if value.__name__ == "railfuncs":
                called = {each.lower(): _noting(functions()[each], seen, most) for each, seen in calls.items()}
                vars(twin).update(called)
            patch.setattr(module, name, twin)
        elif (instead := noted(value)) is not value:
            patch.setattr(module, name, instead)


def _noting(function: Callable[..., Any], seen: set[Any], most: int) -> Callable[..., Any]:
    """The function, with its different calls noted until there are as many as the test says."""

    @wraps(function)
    def noting(*args: Any, **kwargs: Any) -> Any:
        if len(seen) < most:
            call = (args, tuple(kwargs.items()))
            try:
                seen.add(call)
            except TypeError:  # lists among the arguments
                seen.add(repr(call))
        return function(*args, **kwargs)

    if hasattr(function, "__wrapped__"):  # the rule without its gate, which a test may call too
        noting.__wrapped__ = _noting(function.__wrapped__, seen, most)  # type: ignore[attr-defined]
    return noting


def marked_tests() -> Iterator[tuple[str, Proof]]:
    """Every proof of every marked test that pytest collects, with its cases over all its sets of parameters."""
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        if "\n@proves(" not in path.read_text(encoding="utf-8"):
            continue
        module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
        for name, test in vars(module).items():
            if name.startswith("test_") and test.__module__ == module.__name__ and hasattr(test, "proofs"):
                marks = getattr(test, "pytestmark", [])
                if any(mark.name.startswith(("skip", "xfail")) for mark in marks):
                    raise AssertionError(f"{name} is no proof: it is marked to be skipped or to fail")
                runs = 1
                for mark in marks:
                    runs *= len(mark.args[1]) if mark.name == "parametrize" else 1
                for proof in test.proofs:
                    yield f"{path.name}::{name}", Proof(proof.names, proof.against, proof.cases * runs)


def evidence() -> dict[str, Counter[str]]:
    """Rule -> what it is checked against -> number of cases."""
    found: dict[str, Counter[str]] = {name: Counter() for name in functions()}
    for check in rows():
        found[check.function][check.source] += 1
    for test, proof in marked_tests():
        for name in proof.names:
            if name not in found:
                raise AssertionError(f"{test} proves {name}, which is no function")
            found[name][proof.against] += proof.cases
    return found


def sureness(source: str) -> str:
    """How sure a check is, by what its source says of itself; of two sayings, the weaker one."""
    if source.startswith(NO_SOURCE):
        return NONE
    for saying, kind in (("from memory", MEMORY), ("second-hand", SECOND_HAND), (r"(^|[(,] ?)read\b", READ)):
        if re.search(saying, source):
            return kind
    return UNRECORDED if "table" in source else WORKED


def page() -> str:
    """The page of the docs, as Markdown."""
    found = evidence()
    bare = [name for name, sources in found.items() if set(map(sureness, sources)) <= {NONE}]
    without = f"Rules that have no outside check at all ({len(bare)}): {', '.join(bare) or 'none'}."
    lines = [_HEAD.format(functions=len(found), rows=len(rows()), without=fill(without, 120))]
    for group, entries in by_group():
        lines.append(f"| **{group.capitalize()}** | | | | |")
        lines.extend(_row(entry, found[entry.name]) for entry in entries)
    return "\n".join([*lines, ""])


def _row(entry: Function, sources: Counter[str]) -> str:
    ordered = sorted(sources.items(), key=lambda each: (SURENESS.index(sureness(each[0])), -each[1], each[0]))
    kinds = [kind for kind in SURENESS if kind in set(map(sureness, sources))] or [NONE]
    if kinds != [NONE]:
        kinds = [kind for kind in kinds if kind != NONE]
    checked = [*(f"{source}: {cases:,}" for source, cases in ordered), *_limits(entry)]
    cells = f"`{entry.name}` {entry.summary}", entry.source, "<br>".join(checked), f"{sources.total():,}", "; ".join(kinds)
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def _limits(entry: Function) -> list[str]:
    """How sure the published limits are that a function compares with."""
    check = entry.name.removeprefix("RAIL_CHECK_").lower()
    every = [limit for path in data.path("profiles").glob("*.csv") for limit in profiles.read(path).values()]
    sure = Counter(sureness(limit.certainty) for limit in every if limit.check == check)
    told = ", ".join(f"{sure[kind]} {kind.removeprefix('published, ')}" for kind in SURENESS if sure[kind])
    return [f"the limits it compares with: {told}"] if told and entry.name.startswith("RAIL_CHECK_") else []


if __name__ == "__main__":
    (ROOT / PAGE).write_text(page(), encoding="utf-8")
