"""What a contractor is sent: only what is marked, and nothing of what a workbook can hide."""

import datetime
import re
import zipfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference
from openpyxl.formatting.rule import FormulaRule
from openpyxl.packaging.custom import StringProperty
from openpyxl.styles import Font
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation

from railfuncs.books.cells import Book
from railfuncs.books.job.measured import FIRST_ROW
from railfuncs.books.job.spacing import COUNT
from railfuncs.books.sharing.share import share
from railfuncs.errors import BookError
from tests.books.jobs import alter
from tests.books.sharing.made import demo, everything, job_book, mark, spellings
from tests.office import Office

ON = datetime.date(2026, 6, 1)
COST = 98765.43


class Secrets:
    """Hands out words that stand nowhere else, and remembers them."""

    def __init__(self) -> None:
        self.given: dict[str, str] = {}

    def __call__(self, place: str) -> str:
        return self.given.setdefault(place, f"Zq{len(self.given):02}Wkx")


def plant(book: Book, secret: Secrets) -> None:
    """A secret in every place of a workbook that openpyxl can write."""
    whole = book.workbook
    measured, summary, spacing = whole["Measured"], whole["Summary"], whole["Spacing"]
    _cells(book, secret)
    measured["B20"].number_format = f'0.00 "{secret("number format")}"'
    measured["B27"].hyperlink = f"https://example.org/{secret('link')}"
    measured["B27"].hyperlink.tooltip = secret("link tip")
    measured["B29"].font = Font(name=secret("font"))
    measured.conditional_formatting.add("B15", FormulaRule([f'B15="{secret("conditional format")}"']))
    rule = DataValidation("list", formula1=f'"{secret("list")}"', promptTitle="x", prompt=secret("prompt"))
    rule.add("B16")
    measured.add_data_validation(rule)
    for part in (measured.oddHeader, measured.oddFooter):
        part.center.text = secret(f"header or footer {part is measured.oddHeader}")
    measured.row_dimensions[17].hidden = True
    spacing.column_dimensions["H"].hidden = True
    spacing.cell(5, 8).value = secret("hidden column")
    spacing.sheet_properties.codeName = secret("code name")
    whole.create_sheet(secret("sheet name")).sheet_state = "veryHidden"
    for name, value in (("Cost_" + secret("defined name"), "Bid!$B$1"), ("Rate", f'"{secret("constant")}"')):
        whole.defined_names[name] = DefinedName(name, attr_text=value, comment=secret(f"comment of {value}"))
    summary.print_title_rows = "1:2"
    whole.custom_doc_props.append(StringProperty(name=secret("property"), value=secret("property value")))
    for name in ("creator", "lastModifiedBy", "title", "subject", "keywords", "description", "category", "identifier"):
        setattr(whole.properties, name, secret(f"file {name}"))
    chart = BarChart()
    chart.title = secret("chart title")
    chart.add_data(Reference(whole["Bid"], min_col=2, min_row=1, max_row=2), titles_from_data=True)
    summary.add_chart(chart, "P4")


def _cells(book: Book, secret: Secrets) -> None:
    bid = book.workbook.create_sheet("Bid")
    bid.append([secret("bid"), COST])
    bid.append(["Labour", secret("labour")])
    hidden = book.workbook.create_sheet("Rates")
    hidden.sheet_state = "hidden"
    hidden.append([secret("hidden sheet"), COST])
    measured = book.workbook["Measured"]
    measured["J60"] = secret("far cell")
    measured["J61"] = COST
    finish = book.workbook.create_sheet("Finish")
    for row in (["What", "Colour", "Price each"], ["Rail", "oiled", COST], ["Notes", secret("note row"), None],
                ["Shoe", "painted", 1.0], ["Rail end", "oiled", 2.0], [secret("hidden row"), "x", None]):  # fmt: skip
        finish.append(row)
    finish.row_dimensions[6].hidden = True
    finish["D2"] = COST
    finish["D2"].number_format = '"$"#,##0.00'
    mark(book, "Finish", "", "yes")


def stuff(path: Path, secret: Secrets) -> None:
    """Secrets in parts that openpyxl does not write: left-over strings, chart caches, custom XML, links, macros."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    related = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    left_over, comment, author = secret("left-over string"), secret("comment"), secret("comment author")
    parts["xl/sharedStrings.xml"] = f'<sst xmlns="{main}"><si><t>{left_over}</t></si></sst>'.encode()
    parts["xl/comments9.xml"] = (
        f'<comments xmlns="{main}"><authors><author>{author}</author></authors><commentList>'
        f'<comment ref="B15" authorId="0"><text><t>{comment}</t></text></comment></commentList></comments>'
    ).encode()
    for rels, kind, target in (("xl/_rels/workbook.xml.rels", "sharedStrings", "/xl/sharedStrings.xml"),
                               ("xl/worksheets/_rels/sheet2.xml.rels", "comments", "/xl/comments9.xml")):  # fmt: skip
        one = f'<Relationship Id="rId99" Type="{related}/{kind}" Target="{target}"/></Relationships>'
        parts[rels] = parts[rels].replace(b"</Relationships>", one.encode())
        content = f'<Override PartName="{target}" ContentType="application/vnd.openxmlformats-officedocument.'
        content += f'spreadsheetml.{kind}+xml"/></Types>'
        parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(b"</Types>", content.encode())
    charts = [name for name in parts if name.startswith("xl/charts/chart")]
    cache = f"<strCache><ptCount val='1'/><pt idx='0'><v>{secret('chart cache')}</v></pt></strCache>".encode()
    for name in charts:
        parts[name] = parts[name].replace(b"</f></strRef>", b"</f>" + cache + b"</strRef>")
        parts[name] = parts[name].replace(b"</f></c:strRef>", b"</f>" + cache + b"</c:strRef>")
    for name in ("customXml/item1.xml", "xl/externalLinks/externalLink9.xml", "xl/persons/person9.xml",
                 "xl/threadedComments/threadedComment9.xml", "xl/vbaProject.bin",
                 "xl/printerSettings/printerSettings9.bin"):  # fmt: skip
        parts[name] = f"<x>{secret(name)}</x>".encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.comment = secret("zip comment").encode()
        for name, data in parts.items():
            archive.writestr(name, data)


def test_no_planted_secret_is_in_any_byte_of_what_is_shared(tmp_path: Path) -> None:
    secret = Secrets()
    folder = tmp_path / secret("folder name")
    folder.mkdir()
    job = alter(demo(), 0, notes=secret("notes"), left=secret("left end"), face=secret("wall side"), name="Shown01Run")
    job = replace(job, title="Shown02Title", made_by=secret("maker"))
    path = job_book(folder / f"{secret('file name')}.xlsx", job, lambda book: plant(book, secret))
    stuff(path, secret)
    planted = everything(path)
    in_file = {place: word for place, word in secret.given.items() if place not in ("folder name", "file name")}
    assert [place for place, word in in_file.items() if word.encode() not in planted] == []
    assert openpyxl.load_workbook(path)["Measured"]["B15"].comment.text == secret("comment")
    assert len(in_file) > 40

    made = share(path, tmp_path / "sent", on=ON)
    assert [file.suffix for file in made.files] == [".xlsx", ".pdf"]
    for file in made.files:
        sent = everything(file) + file.name.encode()
        found = [place for place, word in secret.given.items() if any(s in sent for s in spellings(word))]
        assert found == []
        assert b"98765" not in sent
        # The same search finds what is shared.
        for shown in ("Shown01Run", "Shown02Title", "oiled", "painted", "Heron Landing"):
            assert any(s in sent for s in spellings(shown)), shown
    # Row 3 is a note; the head of column C speaks of prices, and column D holds dollars.
    assert made.said == ["Left out, as notes, labour or money: sheet 'Finish' row 3; sheet 'Finish' columns C, D."]


def sheet_of(path: Path) -> Any:
    return openpyxl.load_workbook(path)["Railing"]


def rows_of(path: Path) -> dict[str, list[Any]]:
    return {row[0]: list(row[1:]) for row in sheet_of(path).iter_rows(values_only=True) if row[0]}


def test_values_are_those_of_the_job(tmp_path: Path) -> None:
    path = share(job_book(tmp_path / "job.xlsx"), tmp_path / "sent", on=ON).files[0]
    rows = rows_of(path)
    assert rows["Opening, newel to newel"] == [170.75, 81.3125, 1863, 29.875]  # the demo's own measurements
    assert rows["Balusters"] == [41, 18, 17, 7]
    # Worked out by hand: (170.75 - 41 * 0.5) / 42 = 3.577 in, nearest sixteenth 3 9/16
    assert rows["Gap, to the nearest mark"][0] == float(Fraction(57, 16))
    assert rows["Top of the rail above the floor"][1] == 2.25 + 1.25 + 33 + 1.75
    assert rows["Revision 1  ·  2026-06-01"] == [None] * 4
    assert {"Made by", "Seen by", "Date"} < set(rows)  # the place to sign
    assert "Notes" not in rows


def test_all_cells_are_values_and_text_stays_text(tmp_path: Path) -> None:
    job = alter(demo(), 0, name="=1+1", material="@oak")
    job = replace(alter(job, 1, name="+44 1", material="-pine"), title='=HYPERLINK("http://example.org","x")')
    made = share(job_book(tmp_path / "job.xlsx", job), tmp_path / "sent", on=ON)
    with zipfile.ZipFile(made.files[0]) as archive:
        for name in archive.namelist():
            assert not re.search(rb"<f[ >]", archive.read(name)), name
            assert not re.search("external|comment|custom|printer", name.lower())
    seen = set()
    for row in sheet_of(made.files[0]).iter_rows():
        for cell in row:
            if isinstance(cell.value, str) and cell.value[0] in "=+-@":
                assert cell.data_type == "s"
                assert cell.quotePrefix
                seen.add(cell.value)
    assert seen == {"=1+1", "@oak", "+44 1", "-pine", '=HYPERLINK("http://example.org","x")'}


def test_it_opens_in_a_spreadsheet_with_the_same_cells(office: Office, tmp_path: Path) -> None:
    job = alter(demo(), 0, name="=1+1", material="@oak")
    path = share(job_book(tmp_path / "job.xlsx", job), tmp_path / "sent", on=ON).files[0]
    shown = office.read(path)
    cells = [cell for row in sheet_of(path).iter_rows() for cell in row if cell.value is not None]
    assert len(cells) > 80
    for cell in cells:
        assert shown["Railing"][cell.coordinate] == cell.value
    assert len(openpyxl.load_workbook(path)["Elevation"]._images) == 4


def test_a_job_changed_and_saved_in_a_spreadsheet_is_shared_as_changed(office: Office, tmp_path: Path) -> None:
    path = job_book(tmp_path / "job.xlsx")
    typed = {("Measured", "B15"): 60.0, ("Sharing", "B4"): "B 2", ("Sharing", "C7"): "no"}
    office.change_and_read(path, typed, save_as=tmp_path / "changed.xlsx")
    made = share(tmp_path / "changed.xlsx", tmp_path / "sent", on=ON)
    assert [file.name for file in made.files] == ["railing-rev-b-2.xlsx", "railing-rev-b-2.pdf"]
    rows = rows_of(made.files[0])
    assert rows["Opening, newel to newel"][0] == 60
    # By hand, 60 in with 1/2 in balusters and 3 1/2 in wanted, odd: 15 leave (60 - 7.5)/16 = 3.28, 13 leave 3.82.
    assert rows["Balusters"][0] == 15
    assert "Railing" in rows  # the job's own name is not marked any more


def test_what_is_not_marked_is_private(tmp_path: Path) -> None:
    def only_counts(book: Book) -> None:
        page = book.workbook["Sharing"]
        for row in range(7, page.max_row + 1):
            if page.cell(row, 3).value and page.cell(row, 2).value != "Balusters":
                page.cell(row, 3).value = "no"

    made = share(job_book(tmp_path / "job.xlsx", change=only_counts), tmp_path / "sent", on=ON)
    rows = rows_of(made.files[0])
    assert rows["Balusters"] == [41, 18, 17, 7]
    assert {"Opening, newel to newel", "Gap limit used", "Balusters made of"}.isdisjoint(rows)
    assert openpyxl.load_workbook(made.files[0]).sheetnames == ["Railing"]
    assert b"Heron Landing" not in everything(made.files[1])


def hide(title: str) -> Any:
    def change(book: Book) -> None:
        book.workbook[title].sheet_state = "hidden"

    return change


def money(style: str) -> Any:
    def change(book: Book) -> None:
        book.workbook["Spacing"].cell(COUNT, 2).number_format = style

    return change


def hidden_row(book: Book) -> None:
    book.workbook["Measured"].row_dimensions[FIRST_ROW + 1].hidden = True


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda book: mark(book, "Measured", "Notes", "yes"), "notes, labour and money are never shared"),
        (lambda book: mark(book, "Bid", "", "yes"), "notes, labour and money are never shared"),
        (lambda book: mark(book, "Measured", "Chizel", "yes"), "has no row or column 'Chizel'"),
        (lambda book: mark(book, "Measure", "Chisel", "yes"), "has no sheet 'Measure'"),
        (lambda book: mark(book, "Marks", "(whole sheet)", "maybe"), "'maybe' is neither yes nor no"),
        (lambda book: book.workbook.remove(book.workbook["Sharing"]), "has no sheet 'Sharing'"),
        (hide("Checks"), "the sheet 'Checks' is hidden"),
        (money('"€" 0.00'), "holds money"),
        (money("#,##0.00"), "holds money"),
        (money("0.00%"), "holds money"),
        (hidden_row, "is hidden, so it is not shared"),
        (lambda book: book.values["Spacing"].update({(COUNT, 2): 40}), "not that of what is measured"),
    ],
)
def test_a_line_that_cannot_be_followed(tmp_path: Path, change: Any, says: str) -> None:
    path = job_book(tmp_path / "job.xlsx", change=change)
    with pytest.raises(BookError, match=says) as error:
        share(path, tmp_path / "sent", on=ON)
    assert "\n" not in str(error.value)
    assert not (tmp_path / "sent").exists()


def test_a_workbook_saved_without_values_is_refused(tmp_path: Path) -> None:
    path = job_book(tmp_path / "job.xlsx")
    openpyxl.load_workbook(path).save(path)
    with pytest.raises(BookError, match="save it there"):
        share(path, tmp_path / "sent", on=ON)


def test_letters_the_pdf_lacks_are_told(tmp_path: Path) -> None:
    made = share(job_book(tmp_path / "job.xlsx", alter(demo(), 0, name="Жук ≥ 1")), tmp_path / "sent", on=ON)
    assert len(made.said) == 1
    assert "no letters for Ж у к ≥" in made.said[0]
    assert "Жук ≥ 1" in rows_of(made.files[0])["Run"]


def test_the_pdf_says_nothing_of_who_made_it(tmp_path: Path) -> None:
    made = share(job_book(tmp_path / "job.xlsx"), tmp_path / "sent", on=ON)
    raw = made.files[1].read_bytes()
    again = share(tmp_path / "job.xlsx", tmp_path / "again", on=ON).files[1].read_bytes()
    assert raw == again  # no hour, no machine
    assert str(tmp_path).encode() not in everything(made.files[1])
