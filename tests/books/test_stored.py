"""openpyxl's own method bodies that the writer of stored values repeats: they must be as they were."""

import hashlib
import inspect

import pytest
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.writer.excel import ExcelWriter


@pytest.mark.parametrize(
    ("method", "digest"),
    [(WorksheetWriter.write_row, "1d9ae0194864e690"), (ExcelWriter.write_worksheet, "ccfd37f0bebe758f")],
)
def test_openpyxl_is_as_it_was(method: object, digest: str) -> None:
    assert hashlib.sha256(inspect.getsource(method).encode()).hexdigest()[:16] == digest  # type: ignore[arg-type]
