"""The gap of 10,000 rows in a real Calc: native formulas, the add-in row by row, and the add-in as one array.

    python -m tests.benchmarks.bench_hosts

Aims: row by row at most 10 times native, as one array at most 4 times. The best of several recalculations each, in one
run; only the ratios mean something.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

from openpyxl import Workbook
from openpyxl.worksheet.formula import ArrayFormula

from railfuncs.hosts.calc import write_addin
from railfuncs.rules.spacing import gap
from railfuncs.tracing import Ref, formula
from tests.office import Office

ROWS = 10_000
TIMES = 7


def book(path: Path, kind: str) -> Path:
    workbook = Workbook()
    sheet = workbook.active
    for row in range(1, ROWS + 1):
        sheet.append([40 + row % 640 / 16, 0.5, 6 + row % 4])
        if kind == "native":
            sheet.cell(row, 4, formula(gap, Ref(f"A{row}"), Ref(f"B{row}"), Ref(f"C{row}")))
        elif kind == "add-in by row":
            sheet.cell(row, 4, f"=RAIL.GAP(A{row},B{row},C{row})")
    if kind == "add-in as one array":
        ranges = ",".join(f"{column}1:{column}{ROWS}" for column in "ABC")
        sheet["D1"] = ArrayFormula(f"D1:D{ROWS}", f"=RAIL.GAP({ranges})")
    workbook.save(path)
    return path


def main() -> None:
    with TemporaryDirectory() as folder:
        addin = Path(folder, "railfuncs.oxt")
        write_addin(addin)
        kinds = ("native", "add-in by row", "add-in as one array")
        with Office([addin]) as calc:
            books = {kind: book(Path(folder, f"{number}.xlsx"), kind) for number, kind in enumerate(kinds)}
            shown = [calc.read(path)["Sheet"] for path in books.values()]
            for address, value in shown[0].items():
                assert all(abs(other[address] - value) < 1e-9 for other in shown[1:]), address
            best = {kind: min(calc.seconds_to_calculate(path, TIMES)) for kind, path in books.items()}
    for kind, seconds in best.items():
        print(f"{kind:22} {seconds * 1000:8.1f} ms {seconds / best['native']:6.1f} times native")


if __name__ == "__main__":
    main()
