"""Lines and words of a PDF page with their places, read from its drawing commands alone."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.books.sharing.made import streams

_TOKEN = re.compile(rb"\((?:\\.|[^\\()])*\)|/[^\s/<>\[\]()]+|[-+]?\d*\.?\d+|[A-Za-z'\"*]+|[\[\]]|<[^>]*>")


@dataclass
class Line:
    x: float
    y: float
    to_x: float
    to_y: float
    pen: float


@dataclass
class Page:
    lines: list[Line] = field(default_factory=list)
    words: list[tuple[float, float, str]] = field(default_factory=list)


Matrix = tuple[float, float, float, float, float, float]


def _times(one: Matrix, two: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    g, h, i, j, k, m = two
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m)


def pages(path: Path) -> list[Page]:
    return [_page(stream) for stream in streams(path.read_bytes()) if b" Tm " in stream]


def _page(stream: bytes) -> Page:
    page = Page()
    matrix: Matrix = (1, 0, 0, 1, 0, 0)
    pen, kept = 1.0, []
    here, text = (0.0, 0.0), (0.0, 0.0)
    path: list[tuple[float, float, float, float]] = []
    for operator, numbers, word in _commands(stream):
        if operator == "q":
            kept.append((matrix, pen))
        elif operator == "Q":
            matrix, pen = kept.pop()
        elif operator == "cm":
            matrix = _times(numbers[-6:], matrix)  # type: ignore[arg-type]
        elif operator == "w":
            pen = numbers[-1]
        elif operator == "m":
            here = _at(matrix, *numbers[-2:])
        elif operator == "l":
            there = _at(matrix, *numbers[-2:])
            path.append((*here, *there))
            here = there
        elif operator in ("S", "s"):
            page.lines += [Line(*each, pen) for each in path]
            path = []
        elif operator in ("n", "f"):
            path = []
        elif operator == "Tm":
            text = _at(matrix, *numbers[-2:])
        elif operator == "Tj":
            page.words.append((*text, word))
    return page


def _at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def _commands(stream: bytes) -> Iterator[tuple[str, list[float], str]]:
    numbers: list[float] = []
    word = ""
    for found in _TOKEN.finditer(stream):
        token = found[0]
        if token[:1] == b"(":
            raw = re.sub(rb"\\(\d{3})", lambda each: bytes([int(each[1], 8)]), token[1:-1])
            word = re.sub(rb"\\(.)", rb"\1", raw).decode("cp1252")
        elif re.fullmatch(rb"[-+]?\d*\.?\d+", token):
            numbers.append(float(token))
        elif token[:1] not in b"/[]<":
            yield token.decode(), numbers, word
            numbers = []
