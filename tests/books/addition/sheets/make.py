"""Six bid sheets of our own invention, as different as estimators' sheets are.

Made anew by `python -m tests.books.addition.sheets.make`.

They hold what a general writer would lose: drawn shapes, header pictures, sparklines, extended conditional formats,
form controls, notes, tables, outlines, validation, a namespace prefix.
"""

import datetime
import io
import zipfile
from pathlib import Path
from typing import Any

import xlsxwriter
from PIL import Image

HERE = Path(__file__).parent
_MADE = datetime.datetime(2025, 3, 3, 8, 0)


def _book(name: str) -> Any:
    book = xlsxwriter.Workbook(str(HERE / name))
    book.set_properties({"title": "Bid", "author": "Estimating", "created": _MADE})
    return book


def _picture() -> io.BytesIO:
    made = io.BytesIO()
    Image.new("RGB", (120, 40), (60, 90, 70)).save(made, "PNG")
    made.seek(0)
    return made


def balconies() -> None:
    """Inches, merged title, a logo in the page header, a drawn note, data bars, sparklines, filter and print area."""
    with _book("balconies.xlsx") as book:
        head = book.add_format(
            {"bold": True, "border": 1, "bg_color": "#DDE5DD", "text_wrap": True, "font_name": "Georgia"}
        )
        cell = book.add_format({"border": 1, "font_name": "Georgia"})
        number = book.add_format({"border": 1, "font_name": "Georgia", "num_format": "0.00"})
        percent = book.add_format({"border": 1, "font_name": "Georgia", "num_format": "0%"})
        sheet = book.add_worksheet("Balconies")
        sheet.merge_range("A1:F1", "Harbor Street, balconies", book.add_format({"bold": True, "font_size": 16}))
        headers = ("Balcony", "Opening (in)", "Baluster width (in)", "Qty", "Remarks", "Waste")
        sheet.write_row("A3", headers, head)
        rows = [("North", 72, 0.5, 1), ("South", 60, 0.625, 2), ("East", 40.5, 0.5, 4), ("West", 33.0625, 0.5, 1)]
        for at, (name, opening, width, quantity) in enumerate(rows, start=3):
            sheet.write(at, 0, name, cell)
            sheet.write_number(at, 1, opening, number)
            sheet.write_number(at, 2, width, number)
            sheet.write_number(at, 3, quantity, cell)
            sheet.write_string(at, 4, "=painted" if at == 4 else "site measured", cell)
            sheet.write_number(at, 5, 0.1, percent)
        sheet.autofilter("A3:F7")
        sheet.print_area("A1:F7")
        sheet.set_column("A:A", 14)
        sheet.set_column("F:F", 11)
        sheet.conditional_format("B4:B7", {"type": "data_bar", "data_bar_2010": True, "bar_solid": True})
        sheet.conditional_format("F4:F7", {"type": "icon_set", "icon_style": "3_arrows"})
        sheet.add_sparkline("A9", {"range": "Balconies!B4:B7"})
        sheet.insert_textbox("B10", "Measured by two people on site", {"width": 220, "height": 60})
        sheet.insert_image("B15", "logo.png", {"image_data": _picture()})
        sheet.set_header("&L&G&RHarbor Street", {"image_left": "logo.png", "image_data_left": _picture()})
        sheet.write_comment("B4", "measured twice", {"author": "Estimating"})


def flights() -> None:
    """Feet, two blocks with subtotals and blank rows, hidden and grouped rows, lengths typed as text."""
    with _book("flights.xlsx") as book:
        sheet = book.add_worksheet("Landings")
        bold = book.add_format({"bold": True, "bottom": 1})
        sheet.write("A1", "All landings by floor")
        at = 2
        blocks = [
            ("Second floor", [("L1", 6), ("L2", 5.25), None, ("L3", "5' 3-1/2\""), ("L4", 4.5)]),
            ("Third floor", [("L5", 8), ("L6", "96 1/2 in"), ("L7", 3.75)]),
        ]
        for title, rows in blocks:
            sheet.write(at, 0, title, bold)
            sheet.write_row(at + 1, 0, ("Location", "Lgth ft", "Ea"), bold)
            first = at + 2
            at = first
            for row in rows:
                if row is not None:
                    sheet.write(at, 0, row[0])
                    sheet.write(at, 1, row[1])
                    sheet.write(at, 2, 2)
                at += 1
            sheet.write(at, 0, "Subtotal", bold)
            total = sum(r[1] for r in rows if r and not isinstance(r[1], str))
            sheet.write_formula(at, 1, f"=SUM(B{first + 1}:B{at})", bold, total)
            at += 3
        sheet.set_row(5, None, None, {"hidden": True})
        sheet.set_row(8, None, None, {"level": 1})
        sheet.freeze_panes(2, 1)
        sheet.insert_button("F2", {"caption": "Sort", "width": 80, "height": 24})


def options() -> None:
    """An Excel table with a totals row, a chart of it on another sheet, drop-downs and a named range."""
    with _book("options.xlsx") as book:
        sheet = book.add_worksheet("Options")
        sheet.write("B2", "Guard options")
        data = [("A", 96.5, 0.75, 1, "oak"), ("B", 80, 0.75, 3, "iron"), ("C", 51.375, 0.5, 2, "oak")]
        columns = [
            {"header": "Option", "total_string": "Total"}, {"header": "Opening (in)"}, {"header": "Bal. size"},
            {"header": "Quantity", "total_function": "sum"}, {"header": "Material"},
        ]  # fmt: skip
        sheet.add_table("B4:F8", {"name": "Guards", "data": data, "columns": columns, "total_row": True})
        sheet.data_validation("F5:F7", {"validate": "list", "source": ["oak", "iron"]})
        book.define_name("Openings", "=Options!$C$5:$C$7")
        chart = book.add_chart({"type": "bar"})
        chart.add_series({"categories": "=Options!$B$5:$B$7", "values": "=Options!$C$5:$C$7"})
        book.add_worksheet("Picture").insert_chart("B2", chart)


def site() -> None:
    """Millimetres over two sheets and a sheet of notes; a width and a clear height in every row."""
    with _book("site.xlsx") as book:
        for title, rows in (
            ("Ground", [("G1", 1600, 19, 860), ("G2", 2415, 19, 862), ("G3", 905.5, 16, 860)]),
            ("Upper", [("U1", 3000, 20, 900), ("U2", 1100, 20, 901)]),
        ):
            sheet = book.add_worksheet(title)
            sheet.write("A1", f"Site measure, {title.lower()} floor")
            sheet.write_row("A2", ("Mark", "Between posts", "Picket size mm", "Shoe to rail [mm]", "Checked"))
            sheet.write("B2", "Between posts, mm")
            for at, row in enumerate(rows, start=2):
                sheet.write_row(at, 0, row)
                sheet.insert_checkbox(at, 4, at % 2 == 0)
            sheet.repeat_rows(1)
        notes = book.add_worksheet("Notes")
        notes.write("A1", "Run the tape along the shoe, not the rail")
        notes.write_rich_string("A2", "All ", book.add_format({"italic": True}), "lengths", " are clear of the posts")


def estimate() -> None:
    """Openings computed from feet and inches by formulas, own baluster counts, rows not known yet, notes beside."""
    with _book("estimate.xlsx") as book:
        sheet = book.add_worksheet("Estimate")
        date = book.add_format({"num_format": "m/d/yyyy"})
        sheet.merge_range("A1:A2", "Run no.")
        sheet.merge_range("B1:C1", "Tape")
        sheet.write_row("B2", ("Feet", "Inches"))
        sheet.write_row("D2", ("Clear opening", "No. of balusters", "Baluster"))
        data = [(1, 5, 3.5, 14), (2, 4, 0, 11), (3, 10, 7.25, 31), (4, 2, 9, 7)]
        for at, (run, feet, inches, count) in enumerate(data, start=2):
            sheet.write_row(at, 0, (run, feet, inches))
            sheet.write_formula(at, 3, f"=B{at + 1}*12+C{at + 1}", None, feet * 12 + inches)
            sheet.write_row(at, 4, (count, 0.5))
        sheet.write_row(6, 0, (5, "", "", "see drawing 4", 3, 0.5))
        sheet.write_row(7, 0, (6, "", ""))
        sheet.write_datetime(7, 3, datetime.datetime(2025, 3, 4), date)
        sheet.write_row(7, 4, (3, 0.5))
        sheet.write("I4", "call the owner")
        sheet.write("D10", "Prices hold for 30 days")


def plain() -> None:
    """What another program might write: a namespace prefix, no addresses, no styles, no shared texts."""
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rows = [("Where", "Span, in", "Height"), ("Deck", 120, 34.5), ("Loft", 88.25, 35), ("Porch", "63½", 34.25)]

    def cell(value: Any) -> str:
        if isinstance(value, str):
            return f'<x:c t="inlineStr"><x:is><x:t>{value}</x:t></x:is></x:c>'
        return f"<x:c><x:v>{value}</x:v></x:c>"

    lines = "".join("<x:row>" + "".join(map(cell, row)) + "</x:row>" for row in rows)
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    relation = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types"><Default Extension="rels"'
        ' ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/book.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/one.xml" ContentType="{kinds}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r" '
        f'Type="{relation}/officeDocument" Target="book.xml"/></Relationships>',
        "book.xml": f'<x:workbook xmlns:x="{space}" xmlns:r="{relation}"><!-- <sheets> --><x:sheets>'
        '<x:sheet name="Bid &amp; more" sheetId="1" r:id="a"/></x:sheets></x:workbook>',
        "_rels/book.xml.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="a" '
        f'Type="{relation}/worksheet" Target="one.xml"/></Relationships>',
        "one.xml": f'<x:worksheet xmlns:x="{space}"><x:sheetData>{lines}</x:sheetData></x:worksheet>',
    }
    with zipfile.ZipFile(HERE / "plain.xlsx", "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(zipfile.ZipInfo(name, (2025, 3, 3, 8, 0, 0)), content)


if __name__ == "__main__":
    for make in (balconies, flights, options, site, estimate, plain):
        make()
