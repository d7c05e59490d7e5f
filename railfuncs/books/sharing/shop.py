"""A card of marks for each run, and a label for each board and bundle."""

from pathlib import Path
from typing import Any

from railfuncs.books.job.shop import SHOP_CAUTION
from railfuncs.books.sharing.choice import Shown
from railfuncs.books.sharing.paper import BOLD, FONT, MARGIN, fitted, neutral, size_of
from railfuncs.books.sharing.reading import BOARDS, LaidRun

_BESIDE, _BELOW = 2, 5  # labels on a page
_UNITS = {"in": "inches", "mm": "millimetres"}
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
    ends = [f"LEFT: {run.left or 'left end'}", f"RIGHT: {run.right or 'right end'}"]
    if run.face:
        ends.append(f"wall side: {run.face}")
    fitted(canvas, MARGIN, tall - 74, "    ".join(ends), inner, 11)
    lengths = "    ".join(f"{board} {Shown(laid.cut(board), run.unit).text}" for board in BOARDS)
    fitted(canvas, MARGIN, tall - 90, f"{laid.count} balusters    {lengths}", inner, 11)
    fitted(canvas, MARGIN, tall - 106, "Centres from the LEFT end of each board. Hook the tape once; each mark is"
           " rounded from its exact place.", inner, 10)  # fmt: skip
    columns = 2 if laid.count <= 2 * _MOST_LINES else 4
    lines = max(-(-laid.count // columns), 1)
    leading = min(24.0, (tall - 140 - MARGIN - 20) / lines)
    marks = [laid.marks(board) for board in BOARDS]
    for column in range(columns):
        left = MARGIN + column * inner / columns
        most = inner / columns - 12
        _heads(canvas, left, tall - 130, most)
        for line in range(lines):
            number = column * lines + line
            if number < laid.count:
                readings = [Shown(each[number], run.unit).text for each in marks]
                _line(canvas, left, tall - 134 - (line + 1) * leading, most, leading, [str(number + 1), *readings])


def _heads(canvas: Any, left: float, y: float, most: float) -> None:
    for part, head in zip((0.0, 0.22, 0.64), ("No.", *BOARDS), strict=True):
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
    broad, high = (wide - 2 * MARGIN) / _BESIDE, (tall - 2 * MARGIN - 24) / _BELOW
    pieces = [(laid, piece) for laid in runs for piece in (*BOARDS, "Baluster")]
    for place, (laid, piece) in enumerate(pieces):
        place %= _BESIDE * _BELOW
        if place == 0:
            _caution(canvas, wide, tall)
        down, beside = divmod(place, _BESIDE)
        _one(canvas, laid, piece, MARGIN + beside * broad, tall - MARGIN - 24 - (down + 1) * high, broad, high)
        if place == _BESIDE * _BELOW - 1:
            canvas.showPage()
    canvas.save()


def _caution(canvas: Any, wide: float, tall: float) -> None:
    fitted(canvas, MARGIN, tall - MARGIN - 4, "Tape each on with LEFT to the left as seen from the room, the wall side"
           " to the wall. Cut apart along the lines.", wide - 2 * MARGIN, 9)  # fmt: skip
    fitted(canvas, MARGIN, tall - MARGIN - 16, SHOP_CAUTION, wide - 2 * MARGIN, 9, BOLD)


def _one(canvas: Any, laid: LaidRun, piece: str, x: float, y: float, broad: float, high: float) -> None:
    run, most = laid.run, broad - 24
    canvas.setLineWidth(0.5)
    canvas.rect(x, y, broad, high)
    boards = piece in BOARDS
    name = piece if boards else "Balusters"
    fitted(canvas, x + 12, y + high - 26, run.name, most, 18, BOLD)
    cut = f"cut to {Shown(laid.cut(piece), run.unit).text} {run.unit}"
    fitted(canvas, x + 12, y + high - 46, f"{name}, {cut}", most, 13)
    if not boards:
        made_of = f", {run.material}" if run.material else ""
        fitted(canvas, x + 12, y + high - 66, f"{laid.count} pieces{made_of}", most, 13)
        return
    if piece == "Handrail":
        fitted(canvas, x + 12, y + high - 62, "Newel to newel: add what is let into the newels.", most, 10)
    half = most / 2 - 6
    _arrow(canvas, x + 12, y + 46, 1)
    fitted(canvas, x + 30, y + 42, f"LEFT {run.left}", half - 18, 12, BOLD)
    fitted(canvas, x + 18 + half, y + 42, f"RIGHT {run.right}", half - 18, 12, BOLD)
    _arrow(canvas, x + broad - 12, y + 46, -1)
    if run.face:
        fitted(canvas, x + 12, y + 16, f"Wall side: {run.face}", most, 12)


def _arrow(canvas: Any, tip: float, y: float, way: int) -> None:
    canvas.setLineWidth(1.2)
    canvas.line(tip, y, tip + 14 * way, y)
    for up in (-4, 4):
        canvas.line(tip, y, tip + 5 * way, y + up)
