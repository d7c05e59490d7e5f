"""What every PDF of ours has in common: paper, letters, and nothing told about the machine that made it."""

from collections.abc import Iterable
from typing import Any

FONT, BOLD = "Helvetica", "Helvetica-Bold"  # every PDF reader has them; they hold western letters
MARGIN = 40.0  # points; most printers reach this far
LOCAL_CODE = (
    "Guards keep people from falling. This paper proves nothing about strength and is no verdict on the job: check with"
    " the local code and a licensed professional."
)
INCH = 72  # points, exactly


def size_of(paper: str) -> tuple[float, float]:
    """Width and height of a sheet held upright, in points.

    >>> size_of("letter")
    (612.0, 792.0)
    """
    from reportlab.lib import pagesizes

    size: tuple[float, float] = pagesizes.LETTER if paper == "letter" else pagesizes.A4
    return float(size[0]), float(size[1])


def printable(text: str) -> str:
    """Text in the letters the PDF's font has; any other letter becomes a question mark.

    >>> printable("3′ × ½ Größe · Ж")
    '3? × ½ Größe · ?'
    """
    return text.encode("cp1252", "replace").decode("cp1252")


def unprintable(texts: Iterable[str]) -> str:
    """The letters among these that the PDF's font lacks, each once.

    >>> unprintable(["Größe", "Ж and Щ", "Ж"])
    'ЖЩ'
    """
    return "".join(letter for letter in dict.fromkeys("".join(texts)) if printable(letter) != letter)


def neutral(filename: Any, **settings: Any) -> Any:
    """A canvas whose file says nothing of its author, machine or hour."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(filename, **settings | {"invariant": 1, "pageCompression": 1})
    canvas.setAuthor("")
    canvas.setTitle("Railing")
    canvas.setSubject("")
    canvas.setCreator("railfuncs")
    canvas.setProducer("railfuncs")
    return canvas


def fitted(canvas: Any, x: float, y: float, text: str, most: float, size: float, font: str = FONT) -> None:
    """Write one line from x, in smaller letters where it would be longer than `most` points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    shown = printable(text)
    wide = stringWidth(shown, font, size)
    canvas.setFont(font, size if wide <= most else size * most / wide)
    canvas.drawString(x, y, shown)
