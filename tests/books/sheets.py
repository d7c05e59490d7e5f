"""Filled measure sheets for the tests, as workbooks and as CSV, and what reading them says."""

import csv
import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from railfuncs.books.measure import read_job
from railfuncs.errors import BookError, InputError

GOOD: dict[str, Any] = {
    "Run": "Front", "Opening at rail": "63 1/2", "Baluster width": "1/2", "Rail width": "2 3/4",
    "Rail thickness": "1 3/4", "Shoe width": "5 1/4", "Shoe thickness": "1 1/4", "Clear height": "34 1/2",
    "Mortise in rail": "5/8", "Mortise in shoe": "1/2",
}  # fmt: skip
Rows = Sequence[Sequence[Any]]


def table(*runs: dict[str, Any], above: Rows = ()) -> list[list[Any]]:
    """Rows of a sheet: what stands above, headers of all columns used, then the runs; a blank is None."""
    headers = list(dict.fromkeys(header for run in (GOOD, *runs) for header in run))
    return [*map(list, above), headers, *([run.get(header) for header in headers] for run in runs)]


def xlsx(path: Path, rows: Rows, sheet: str = "Measure") -> Path:
    workbook = Workbook()
    workbook.active.title = sheet
    for row in rows:
        workbook.active.append(row)
    workbook.save(path)
    return path


def csv_text(rows: Rows, delimiter: str = ",") -> str:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue()


def in_xlsx(folder: Path, rows: Rows) -> Path:
    return xlsx(folder / "measure.xlsx", rows)


def in_csv(folder: Path, rows: Rows) -> Path:
    path = folder / "measure.csv"
    path.write_text(csv_text(rows), encoding="utf-8")
    return path


def problems(path: Path, **more: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_job(path, **more)
    assert not any("\n" in problem for problem in caught.value.problems)
    return caught.value.problems


def refused(path: Path) -> str:
    with pytest.raises(BookError) as caught:
        read_job(path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


both = pytest.mark.parametrize("write", [in_xlsx, in_csv])
Write = Callable[[Path, Rows], Path]
