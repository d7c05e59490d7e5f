"""Adding columns to a 10,000-row bid sheet, against openpyxl loading and saving it, and against re-zipping it.

Run by hand: `python tests/benchmarks/bench_add.py`. Prints ratios of one run; aims: openpyxl takes at least 4 times as
long, and we take at most 3 times as long as re-zipping.
"""

import io
import time
import zipfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

import openpyxl
import xlsxwriter

from railfuncs.books.addition.edit import edited
from railfuncs.books.addition.package import Package
from railfuncs.books.addition.plan import Choices
from railfuncs.books.addition.prepare import prepare
from railfuncs.books.addition.workbook import Workbook

ROWS = 10_000
HEADERS = (
    "Run", "Floor", "Opening (in)", "Baluster size (in)", "Qty", "Clear height (in)", "Wood", "Finish", "Rail, ft",
    "Material", "Hours", "Rate", "Labor", "Price", "Remarks",
)  # fmt: skip


def make(path: Path) -> None:
    """A sheet of 10,000 openings, with texts, prices and formulas beside them as estimators have them."""
    with xlsxwriter.Workbook(str(path)) as book:
        cell, money = book.add_format({"border": 1}), book.add_format({"border": 1, "num_format": "#,##0.00"})
        sheet = book.add_worksheet("Bid")
        sheet.write_row(0, 0, HEADERS, book.add_format({"bold": True, "border": 1}))
        for row in range(1, ROWS + 1):
            opening = 36 + (row * 7 % 1600) / 16
            cells = (f"R{row}", f"Floor {row % 9}", opening, 0.5, row % 4 + 1, 34.5, "oak", "satin")
            sheet.write_row(row, 0, cells, cell)
            sheet.write_formula(row, 8, f"=C{row + 1}/12", money, opening / 12)
            sheet.write_row(row, 9, (38.4, 1.25, 65), money)
            sheet.write_formula(row, 12, f"=K{row + 1}*L{row + 1}", money, 81.25)
            sheet.write_formula(row, 13, f"=J{row + 1}+M{row + 1}", money, 119.65)
            sheet.write(row, 14, f"bay {row % 97}", cell)


def ours(path: Path, columns: tuple[str, ...]) -> None:
    prepared = prepare(Workbook(Package.read(path)), Choices(columns=columns))
    path.with_name("ours.xlsx").write_bytes(edited(prepared.book, prepared.plans).content)


def theirs(path: Path) -> None:
    openpyxl.load_workbook(path).save(path.with_name("theirs.xlsx"))


def rezip(path: Path) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            new.writestr(info.filename, old.read(info))
    path.with_name("rezipped.xlsx").write_bytes(buffer.getvalue())


def best(call: Callable[[], None], times: int = 3) -> Fraction:
    """The shortest of a few runs, in seconds."""
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        spans.append(time.perf_counter() - start)
    return Fraction(min(spans))


def main() -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder, "bid.xlsx")
        make(path)
        saved, zipped = best(lambda: theirs(path), 2), best(lambda: rezip(path))
        for columns in (("count",), ("count", "gap"), ("count", "gap", "oc", "tape", "pieces")):
            added = best(lambda columns=columns: ours(path, columns))
            print(
                f"{len(columns)} columns on {ROWS} rows: openpyxl load and save takes {float(saved / added):.1f} times"
                f" as long (aim: at least 4); ours takes {float(added / zipped):.1f} times re-zipping (aim: at most 3)"
            )


if __name__ == "__main__":
    main()
