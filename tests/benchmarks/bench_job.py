"""Speed as ratios within one run, by hand: python -m tests.benchmarks.bench_job"""

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy
import openpyxl

import railfuncs
from railfuncs.books.job import build, write_job
from railfuncs.books.measure import read_job

DEMO = Path(__file__).parents[2] / "workbooks" / "demo-measure.csv"


def seconds(work: Callable[[], Any], times: int = 7) -> float:
    """The median of some runs, after one to warm up."""
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def job_of_40() -> None:
    demo = read_job(DEMO)
    runs = tuple(replace(demo.runs[i % 4], name=f"Run {i + 1}") for i in range(40))
    job = replace(demo, runs=runs)
    made = build(job).workbook
    cells = {ws.title: [(c.row, c.column, c.value) for row in ws.iter_rows() for c in row if c.value is not None]
             for ws in made}  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.xlsx"

        def plain() -> None:
            book = openpyxl.Workbook()
            for title, places in cells.items():
                sheet = book.create_sheet(title)
                for row, column, value in places:
                    sheet.cell(row, column, value)
            book.save(path)

        ours, theirs = seconds(lambda: write_job(job, path), 5), seconds(plain, 5)
    count = sum(map(len, cells.values()))
    print(f"40-run job, {count} cells: {ours / theirs:.2f} times openpyxl writing the same cells (aim 1.5)")


def start_up() -> None:
    def command(*args: str) -> Callable[[], Any]:
        return lambda: subprocess.run([sys.executable, *args], check=True, capture_output=True)

    ours = seconds(command("-m", "railfuncs", "--help"), 15)
    theirs = seconds(command("-c", "import openpyxl"), 15)
    print(f"start-up: {ours / theirs:.2f} times bare Python importing openpyxl (aim 1.3)")


def column() -> None:
    openings = numpy.random.default_rng(1).uniform(20, 200, 100_000)
    ours = seconds(lambda: railfuncs.rail_gap(openings, 0.5, 17), 51)
    theirs = seconds(lambda: (openings - 17 * 0.5) / 18, 51)
    print(f"column of 100,000 gaps: {ours / theirs:.2f} times plain NumPy (aim 3)")


if __name__ == "__main__":
    job_of_40()
    start_up()
    column()
