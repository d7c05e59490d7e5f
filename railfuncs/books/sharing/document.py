"""The contractor's PDF: the same values and drawings as the workbook, in lines and letters, not pixels."""

from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from railfuncs.books.job.run import CAUTION
from railfuncs.books.sharing.choice import Shared, Shown, Table
from railfuncs.books.sharing.elevation import lines
from railfuncs.books.sharing.paper import BOLD, FONT, MARGIN, neutral, printable, size_of
from railfuncs.books.sharing.values import alone, parts
from railfuncs.books.sharing.words import SIGNING, VALUES_ONLY, caption, published_lines, seen

_HIGH, _HIGH_ON_SLOPE = 150.0, 300.0  # points of a drawing, at most


def write_document(shared: Shared, path: Path, paper: str) -> None:
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    wide, tall = size_of(paper)
    inner = wide - 2 * MARGIN

    def foot(canvas: Any, _: Any) -> None:
        canvas.setFont(FONT, 8)
        canvas.drawString(MARGIN, 24, printable(f"{shared.title}  ·  revision {shared.revision}  ·  {shared.on}"))
        canvas.drawRightString(wide - MARGIN, 24, f"Page {canvas.getPageNumber()}")

    document = BaseDocTemplate(str(path), pagesize=(wide, tall), invariant=1)
    frame = Frame(MARGIN, MARGIN, inner, tall - 2 * MARGIN, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=foot))
    document.build(_story(shared, inner), canvasmaker=neutral)


def _story(shared: Shared, inner: float) -> list[Any]:
    from reportlab.platypus import CondPageBreak, KeepTogether, Spacer

    gap = Spacer(1, 8)
    story: list[Any] = [_text(shared.title, 18, BOLD), _text(f"Revision {shared.revision}  ·  {shared.on}", 10)]
    story += [_text(f"{label}: {shown.text}", 10) for label, shown in shared.facts if label != "Job"]
    story += [gap, _boxed(CAUTION, inner), gap, _text(VALUES_ONLY, 9), gap]
    for table in shared.tables:
        story.append(CondPageBreak(100))
        story.append(_text(table.title, 12, BOLD))
        for part in parts(table):
            story += [gap, _grid(part, inner)]
        story.append(Spacer(1, 16))
    if shared.elevations:
        head = [_text("Elevation", 12, BOLD), _text(seen(shared), 9)]
        for laid in shared.runs:
            drawing = lines(laid, inner, _HIGH_ON_SLOPE if laid.slope else _HIGH)
            story.append(KeepTogether([*head, gap, _text(caption(laid), 10, BOLD), Spacer(1, 4), drawing, gap]))
            head = []
    limits = [_text(text, 9) for text in published_lines(shared)]
    story.append(KeepTogether([gap, _text("Published limits named here, with how sure we are of each", 10, BOLD),
                               *limits]))  # fmt: skip
    story.append(KeepTogether([Spacer(1, 20), _text("To sign", 10, BOLD), _signing(inner)]))
    return story


def _text(text: str, size: float, font: str = FONT) -> Any:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle("text", fontName=font, fontSize=size, leading=size * 1.3, splitLongWords=1)
    return Paragraph(escape(printable(text)), style)


def _boxed(text: str, inner: float) -> Any:
    from reportlab.platypus import Table as Laid

    return Laid([[_text(text, 10, BOLD)]], colWidths=[inner], style=[("BOX", (0, 0), (-1, -1), 1, "black")])


def _grid(part: Table, inner: float) -> Any:
    from reportlab.platypus import Table as Laid

    def cell(shown: Shown, font: str = FONT) -> Any:
        return _text(shown.text, 9, font)

    rows = [[cell(head, BOLD) for head in part.heads]] if part.heads else []
    rows += [[cell(shown) for shown in row] for row in part.rows]
    columns = max(map(len, rows))
    rows = [[*row, *[""] * (columns - len(row))] for row in rows]
    first = inner * (0.32 if part.heads else 1 / columns)
    rest = (inner - first) / max(1, columns - 1)
    style: list[Any] = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.25, "grey"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ]
    above = 1 if part.heads else 0
    style += [("SPAN", (0, i), (-1, i)) for i, row in enumerate(part.rows, start=above) if alone(row)]
    if part.heads:
        style += [("BACKGROUND", (0, 0), (-1, 0), "#E4E4E0"), ("LINEBELOW", (0, 0), (-1, 0), 1, "black")]
    return Laid(rows, colWidths=[first, *[rest] * (columns - 1)][:columns], style=style,
                repeatRows=above, hAlign="LEFT")  # fmt: skip


def _signing(inner: float) -> Any:
    from reportlab.platypus import Table as Laid

    rows = [[_text(label, 10), ""] for label in SIGNING]
    style = [("LINEBELOW", (1, 0), (1, -1), 0.5, "black"), ("VALIGN", (0, 0), (-1, -1), "BOTTOM")]
    return Laid(rows, colWidths=[90, inner - 90], rowHeights=[30] * len(rows), style=style)
