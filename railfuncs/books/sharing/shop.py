"""A card of marks for each run, and a label for each board and bundle."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from railfuncs.books.job.shop import SHOP_CAUTION
from railfuncs.books.sharing.choice import Shown
from railfuncs.books.sharing.laid import LaidRun, Piece
from railfuncs.books.sharing.paper import BOLD, FONT, LOCAL_CODE, MARGIN, fitted, neutral, size_of
from railfuncs.books.sharing.words import degrees

_BESIDE, _BELOW = 2, 5  # labels on a page
_UNITS = {"in": "inches", "mm": "millimetres"}
_HOOKED = "Hook the tape once; each mark is rounded from its exact place."
_MOST_LINES = 30  # of a card's column, while two columns are enough


def write_cards(runs: list[LaidRun], path: Path, paper: str) -> None:
    """One page a run: every mark from the left end of handrail and shoe."""
    wide, tall = size_of(paper)
    canvas = neutral(str(path), pagesize=(wide, tall))
    for laid in runs:
        _card(canvas, laid, wide, tall)
        canvas.showPage()
    canvas.save()


def _card(canvas: Any, laid: LaidRun, wide: float, tall: float) -> None:
    run, inner = laid.run, wide - 2 * MARGIN
    fitted(canvas, MARGIN, tall - 56, f"{run.name}: marks in {_UNITS[run.unit]}", inner, 20, BOLD)
    top = tall - 74
    for text, size in _facts(laid):
        fitted(canvas, MARGIN, top, text, inner, size)
        top -= 16
    columns = 2 if laid.count <= 2 * _MOST_LINES else 4
    lines = max(-(-laid.count // columns), 1)
    leading = min(24.0, (top - 18 - MARGIN - 20) / lines)
    readings = [[Shown(mark, run.unit).text for mark in laid.marks(board)] for board in laid.marked]
    if laid.kind == "treads":
        readings[1] = [f"{mark}, step {step}" for mark, step in zip(readings[1], laid.steps(), strict=True)]
    for column in range(columns):
        left = MARGIN + column * inner / columns
        most = inner / columns - 12
        _heads(canvas, left, top - 8, most, laid.marked)
        for line in range(lines):
            number = column * lines + line
            if number < laid.count:
                texts = [str(number + 1), *(each[number] for each in readings)]
                _line(canvas, left, top - 12 - (line + 1) * leading, most, leading, texts)
    fitted(canvas, MARGIN, 24, LOCAL_CODE, inner, 8)


def _facts(laid: LaidRun) -> Iterator[tuple[str, float]]:
    """What stands over the marks of a card, and how large."""
    run = laid.run
    ends = [f"LEFT: {run.left or 'left end'}", f"RIGHT: {run.right or 'right end'}"]
    if run.face:
        ends.append(f"wall side: {run.face}")
    yield "    ".join(ends), 11
    lengths = [f"{board} {Shown(laid.board_cut(board), run.unit).text}" for board in laid.boards]
    yield "    ".join([f"{laid.count} balusters", *lengths]), 11
    if not laid.slope:
        yield "Centres from the LEFT end of each board. " + _HOOKED, 10
        return
    yield (f"GOES UP TO THE {run.up.upper()}, {degrees(laid.pitch)} degrees from level. Ends cut plumb:"
           f" {degrees(laid.saw)} degrees off square, both parallel."), 11  # fmt: skip
    yield "Centres along the slope, from the LEFT end of each board's edge. " + _HOOKED, 10
    if laid.kind == "treads":
        yield "On a tread: level, from the nosing in to the baluster's centre; step 1 is the lowest.", 10
        bundles = [f"{piece.name}: {piece.count} cut to {Shown(piece.cut, run.unit).text}"
                   for piece in laid.pieces if piece.name not in laid.boards]  # fmt: skip
        yield f"{'    '.join(bundles)}    (counted in from the nosing)", 10


def _heads(canvas: Any, left: float, y: float, most: float, boards: tuple[str, ...]) -> None:
    for part, head in zip((0.0, 0.22, 0.64), ("No.", *boards), strict=True):
        fitted(canvas, left + part * most, y, head, 0.36 * most, 10, BOLD)
    canvas.setLineWidth(1)
    canvas.line(left, y - 4, left + most, y - 4)


def _line(canvas: Any, left: float, y: float, most: float, leading: float, texts: list[str]) -> None:
    size = min(15.0, leading * 0.72)
    for part, text, font in zip((0.0, 0.22, 0.64), texts, (FONT, BOLD, BOLD), strict=True):
        fitted(canvas, left + part * most, y, text, 0.36 * most, size, font)
    canvas.setLineWidth(0.25)
    canvas.line(left, y - leading * 0.25, left + most, y - leading * 0.25)


def write_labels(runs: list[LaidRun], path: Path, paper: str) -> None:
    """Labels to cut apart: one a board and one a bundle of balusters."""
    wide, tall = size_of(paper)
    canvas = neutral(str(path), pagesize=(wide, tall))
    broad, high = (wide - 2 * MARGIN) / _BESIDE, (tall - 2 * MARGIN - 36) / _BELOW
    pieces = [(laid, piece) for laid in runs for piece in laid.pieces]
    for place, (laid, piece) in enumerate(pieces):
        place %= _BESIDE * _BELOW
        if place == 0:
            _caution(canvas, wide, tall)
        down, beside = divmod(place, _BESIDE)
        _one(canvas, laid, piece, MARGIN + beside * broad, tall - MARGIN - 36 - (down + 1) * high, broad, high)
        if place == _BESIDE * _BELOW - 1:
            canvas.showPage()
    canvas.save()


def _caution(canvas: Any, wide: float, tall: float) -> None:
    fitted(canvas, MARGIN, tall - MARGIN - 4, "Tape each on with LEFT to the left as seen from the room, the wall side"
           " to the wall. Cut apart along the lines.", wide - 2 * MARGIN, 9)  # fmt: skip
    fitted(canvas, MARGIN, tall - MARGIN - 16, SHOP_CAUTION, wide - 2 * MARGIN, 9, BOLD)
    fitted(canvas, MARGIN, tall - MARGIN - 28, LOCAL_CODE, wide - 2 * MARGIN, 9)


def _one(canvas: Any, laid: LaidRun, piece: Piece, x: float, y: float, broad: float, high: float) -> None:
    run, most = laid.run, broad - 24
    canvas.setLineWidth(0.5)
    canvas.rect(x, y, broad, high)
    name = "Balusters" if piece.name == "Baluster" else piece.name
    fitted(canvas, x + 12, y + high - 26, run.name, most, 18, BOLD)
    cut = f"cut to {Shown(piece.cut, run.unit).text} {run.unit}"
    fitted(canvas, x + 12, y + high - 46, f"{name}, {cut}", most, 13)
    if piece.name not in laid.boards:
        made_of = f", {run.material}" if run.material else ""
        fitted(canvas, x + 12, y + high - 66, f"{piece.count} pieces{made_of}", most, 13)
        return
    if piece.name == "Handrail":
        fitted(canvas, x + 12, y + high - 62, "Newel to newel: add what is let into the newels.", most, 10)
    if laid.slope:
        long = f"{Shown(laid.long_points(piece.name), run.unit).text} {run.unit}"
        fitted(canvas, x + 12, y + high - 74, f"UP TO THE {run.up.upper()}; ends plumb, {degrees(laid.saw)} degrees off"
               " square", most, 10, BOLD)  # fmt: skip
        fitted(canvas, x + 12, y + high - 86, f"Cut to along the edge; long point to long point {long}", most,
               10)  # fmt: skip
    half = most / 2 - 6
    ends, face = (y + 30, y + 12) if laid.slope else (y + 42, y + 16)
    _arrow(canvas, x + 12, ends + 4, 1)
    fitted(canvas, x + 30, ends, f"LEFT {run.left}", half - 18, 12, BOLD)
    fitted(canvas, x + 18 + half, ends, f"RIGHT {run.right}", half - 18, 12, BOLD)
    _arrow(canvas, x + broad - 12, ends + 4, -1)
    if run.face:
        fitted(canvas, x + 12, face, f"Wall side: {run.face}", most, 12)


def _arrow(canvas: Any, tip: float, y: float, way: int) -> None:
    canvas.setLineWidth(1.2)
    canvas.line(tip, y, tip + 14 * way, y)
    for up in (-4, 4):
        canvas.line(tip, y, tip + 5 * way, y + up)
