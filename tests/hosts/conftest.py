"""Calc with the add-in installed."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from railfuncs.hosts.calc import write_addin
from tests.office import Office, OfficeError


@pytest.fixture(scope="session")
def addin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("addin") / "railfuncs.oxt"
    write_addin(path)
    return path


@pytest.fixture(scope="session")
def calc(addin: Path) -> Iterator[Office]:
    """A real LibreOffice with the add-in in its private profile; without it the test fails, never skips."""
    try:
        started = Office([addin])
    except OfficeError as problem:
        pytest.fail(str(problem), pytrace=False)
    with started:
        yield started
