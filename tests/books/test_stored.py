"""openpyxl's own method bodies that the writer of stored values repeats must be as they were."""

import hashlib
import inspect
import zipfile
from pathlib import Path

import pytest
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.writer.excel import ExcelWriter

from railfuncs.books.job import write_job
from railfuncs.books.measure import read_job

DEMO = Path(__file__).parents[2] / "workbooks" / "demo-measure.csv"


@pytest.mark.parametrize(
    ("method", "digest"),
    [(ExcelWriter._write_charts, "f35b59df72f9c8f7"), (WorksheetWriter.write_row, "1d9ae0194864e690"), (ExcelWriter.write_worksheet, "ccfd37f0bebe758f")],
)
def test_openpyxl_is_as_it_was(method: object, digest: str) -> None:
    assert hashlib.sha256(inspect.getsource(method).encode()).hexdigest()[:16] == digest  # type: ignore[arg-type]


def test_a_drawing_keeps_its_line_and_has_no_title(tmp_path: Path) -> None:
    write_job(read_job(DEMO), tmp_path / "job.xlsx")
    with zipfile.ZipFile(tmp_path / "job.xlsx") as archive:
        charts = [name for name in archive.namelist() if name.startswith("xl/charts/chart")]
        assert len(charts) == 7
        for name in charts:
            xml = archive.read(name).decode()
            assert xml.count("<autoTitleDeleted val=") == 1
            assert xml.count("numRef>") == 4
