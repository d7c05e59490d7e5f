"""Job workbooks for these tests, and every byte of what is made from them."""

import base64
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from railfuncs.books.cells import Book
from railfuncs.books.job import build, sharing_page
from railfuncs.books.job.measured import run_problems
from railfuncs.books.measure import Job, read_job
from railfuncs.books.stored import save

DEMO = Path(__file__).parents[3] / "workbooks" / "demo-measure.csv"


STAIRS = Path(__file__).with_name("stairs.csv")


def demo() -> Job:
    """The balcony of the demo job: its four runs on the level before the stair."""
    job = read_job(DEMO, checks=run_problems)
    return replace(job, runs=job.runs[:4])


def stairs() -> Job:
    return read_job(STAIRS, checks=run_problems)


def job_book(path: Path, job: Job | None = None, change: Callable[[Book], Any] = lambda book: None) -> Path:
    """The job's workbook with its stored values, after `change` had its way with it."""
    book = build(job or demo())
    if sharing_page.TITLE not in book.workbook.sheetnames:
        sharing_page.add(book, [])
    change(book)
    for title in book.workbook.sheetnames:
        book.values.setdefault(title, {})
    save(book.workbook, path, book.values)
    return path


def mark(book: Book, sheet: str, label: str, share: str, called: str = "") -> None:
    """Write a line of the sheet Sharing, or change the one there is."""
    page = book.workbook[sharing_page.TITLE]
    row = next(row for row in range(sharing_page.HEAD_ROW + 1, page.max_row + 1)
               if page.cell(row, 1).value in (None, "", sheet) and page.cell(row, 2).value in (None, "", label))
    for column, text in enumerate((sheet, label, share, called or page.cell(row, 4).value), start=1):
        page.cell(row, column).value = text or None


def streams(pdf: bytes) -> Iterator[bytes]:
    """Every stream of a PDF, unpacked."""
    for found in re.finditer(rb"<<((?:(?!stream).)*?)>>\s*stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        head, body = found[1], found[2]
        if b"ASCII85Decode" in head:
            body = base64.a85decode(body.strip().removesuffix(b"~>"))
        yield zlib.decompress(body) if b"FlateDecode" in head else body


def everything(path: Path) -> bytes:
    """All bytes of a file, those of its parts unpacked, and the names of the parts."""
    raw = path.read_bytes()
    if path.suffix == ".pdf":
        return b"\n".join([raw, *streams(raw)])
    unpacked = [raw]
    with zipfile.ZipFile(path) as archive:
        for part in archive.infolist():
            data = archive.read(part)
            unpacked += [part.filename.encode(), part.comment, part.extra, data]
            if data.startswith(b"\x89PNG"):
                unpacked.append(_pixels(data))
    return b"\n".join(unpacked)


def _pixels(png: bytes) -> bytes:
    at, packed = 8, b""
    while at < len(png):
        size = int.from_bytes(png[at : at + 4], "big")
        if png[at + 4 : at + 8] == b"IDAT":
            packed += png[at + 8 : at + 8 + size]
        at += size + 12
    return zlib.decompress(packed)


def spellings(secret: str) -> list[bytes]:
    """How a text may stand in a file."""
    return [secret.encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be")]
