"""What all tests share."""

from collections.abc import Iterator

import pytest

from tests.office import Office, OfficeError

# Runs under the system's Python, which has `uno`; the tests' own has not.
collect_ignore = ["office/driver.py"]


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    """A real LibreOffice; without it the test fails, since a skipped check would look like a passed one."""
    try:
        started = Office()
    except OfficeError as problem:
        pytest.fail(str(problem), pytrace=False)
    with started:
        yield started
