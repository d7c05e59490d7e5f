"""Odd bid sheets and odd measure sheets: a sound result, or sentences and nothing written."""

import contextlib
import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Font
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

from railfuncs.books.addition.command import add
from railfuncs.books.measure import Job, columns, read_job
from railfuncs.errors import BookError, InputError, RailError
from tests.books.sheets import GOOD, Write, both, csv_text, problems, table, xlsx

OPENINGS = (
    "Opening (in)", "OPENING\n(ft)", "Clear opening, mm", "Lgth ft", "Run", "Length", "Span [m]", "Opening (furlongs)", "Opening”",
    "opng.", "Opening <b>&amp;</b>", " Opening  \u00a0(cm) ",
)  # fmt: skip
HEADERS = (
    "Run", "Baluster width", "Bal. size (mm)", "Qty", "# of runs", "Clear height", "Ht", "Balusters", "Count", "Gap (in)", "Remarks",
    "Öffnung", "開口", "  ", "Total length", "Price / lf", "x" * 300, "_x000D_", "_xD800_", "_x0007_", 7, 0.5, True, None,
    datetime.datetime(2026, 3, 4), "=A1", "#REF!",
)  # fmt: skip
NUMBERS = (
    72, 63.5, 81.3125, 0.5, 6, 1863, 0, -5, -0.0, 1e-9, 1e-300, 0.1 + 0.2, 1 / 3, 2400, 2400.0001, 1e6, 1e15, 1e100, 1.7e308,
    123456789012345678,
)
TEXTS = (
    "63 1/2", "5' 3-1/2\"", "63½", "1600 mm", "-63", "1/0", "63,5", "see drawing 4", "Total", "TOTAL:", "Subtotal", "n/a", "TBD", "?",
    " ", "'72", "½5", "3-Apr", "\u200b", "_x0007_", "9" * 400, "long " * 400, "=72", "+72", "Opening", "<v>72</v>", "&#55;", "]]>",
    "5'\n3\"", "🙂", "#N/A", "TRUE",
)  # fmt: skip
FORMULAS = ("=60+12", "=A1", "=SUM(A1:A9)", "=+sum(b2:b3)", "=1/0", '="63 1/2"', "=NA()", '=IF(A1="<&>","a","b")', "=NoSuch!A1")
OTHERS = (
    None, None, None, True, False, datetime.datetime(2026, 4, 3), datetime.date(2026, 3, 4), datetime.time(3, 4),
    datetime.timedelta(days=2, hours=3), "#N/A", "#DIV/0!",
)  # fmt: skip
CELLS = st.one_of(st.sampled_from(NUMBERS), st.sampled_from(TEXTS), st.sampled_from(FORMULAS), st.sampled_from(OTHERS))
LENGTHS = st.one_of(st.sampled_from((72, 63.5, 60, "63 1/2", "5' 3\"")), CELLS)
TITLES = ("Bid", "Café & Söhne", "Bob's \"bid\"", "2026", "A <b>", "Summary (2)", "開口", "x" * 31)
FORMATS = ("General", "0.00", "# ??/??", "m/d/yyyy", "@", '0.0 "ft"', "[h]:mm", '"March "0')

MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"

modest = settings(max_examples=120, deadline=None, derandomize=True, database=None)


@st.composite
def bids(draw: st.DrawFn) -> Callable[[Path], None]:
    """What writes a workbook of one to three sheets, somebody's bid or none."""
    titles = draw(st.lists(st.sampled_from(TITLES), min_size=1, max_size=3, unique=True))
    shared = draw(st.booleans())
    sheets = [
        (title, draw(rows(bid=place == 0 or draw(st.integers(0, 9)) == 9)), draw(dressings()))
        for place, title in enumerate(titles)
    ]

    def write(path: Path) -> None:
        book = openpyxl.Workbook()
        book.remove(book.active)
        for title, cells, dressing in sheets:
            sheet = book.create_sheet(title)
            for row in cells:
                sheet.append(row)
            for dress in dressing:
                dress(book, sheet)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a table under merged cells is odd, and meant to be
            book.save(path)
        if shared:
            share_texts(path)

    return write


def share_texts(path: Path) -> None:
    """Texts put into the workbook's table of them, as most programs keep them; openpyxl leaves them in their cells."""
    texts: list[bytes] = []
    made = {}
    for name, content in parts(path).items():
        if name.startswith("xl/worksheets/sheet"):

            def number(found: re.Match[bytes]) -> bytes:
                texts.append(found[1])
                return b't="s"><v>%d</v></c>' % (len(texts) - 1)

            content = re.sub(rb't="inlineStr"><is>(.*?)</is></c>', number, content, flags=re.DOTALL)
        made[name] = content
    items = b"".join(b"<si>" + text + b"</si>" for text in texts)
    made["xl/sharedStrings.xml"] = b'<sst xmlns="%s">%s</sst>' % (MAIN, items)
    for name, end, line in (
        ("xl/_rels/workbook.xml.rels", b"</Relationships>",
         b'<Relationship Id="texts" Type="%s/sharedStrings" Target="/xl/sharedStrings.xml"/>' % OFFICE),
        ("[Content_Types].xml", b"</Types>",
         b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument'
         b'.spreadsheetml.sharedStrings+xml"/>'),
    ):  # fmt: skip
        assert made[name].endswith(end)
        made[name] = made[name].removesuffix(end) + line + end
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in made.items():
            archive.writestr(name, content)


@st.composite
def rows(draw: st.DrawFn, bid: bool) -> list[list[Any]]:
    """A sheet's rows; those of a bid hold openings, as a rule."""
    above = draw(st.lists(st.lists(CELLS, max_size=3), max_size=3))
    headers = draw(st.lists(st.sampled_from(HEADERS), min_size=1, max_size=4))
    if bid:
        headers.insert(draw(st.integers(0, len(headers))), draw(st.sampled_from(OPENINGS)))
    body = draw(st.lists(st.one_of(st.just([]), st.lists(LENGTHS, max_size=len(headers) + 1)), max_size=7))
    if bid:
        body.insert(0, [draw(st.sampled_from((72, 63.5, "5' 3\"")))] * len(headers))
    if draw(st.integers(0, 9)) == 9:
        body = [*body, draw(st.sampled_from((headers, [*OPENINGS]))), *body]  # another block
    return [*above, headers, *body, *draw(st.lists(st.lists(CELLS, max_size=2), max_size=2))]


Dress = Callable[[Any, Any], Any]


@st.composite
def dressings(draw: st.DrawFn) -> list[Dress]:
    """Things that stand on or around the cells of a sheet."""
    row, column = draw(st.integers(1, 8)), draw(st.integers(1, 6))
    far = draw(st.sampled_from((7, 40, 16383, 16384)))
    code, name = draw(st.sampled_from(FORMATS)), draw(st.sampled_from(("Bids", "Table1", "Läng_e")))

    def merge(book: Any, sheet: Any) -> None:
        sheet.merge_cells(start_row=row, end_row=row + far % 3, start_column=column, end_column=column + 2)

    def formatted(book: Any, sheet: Any) -> None:
        for cells in sheet.iter_rows(min_row=row):
            for cell in cells[column - 1 :]:
                cell.number_format = code

    def table(book: Any, sheet: Any) -> None:
        heads = [c for c in sheet[row] if isinstance(c.value, str) and c.data_type == "s"]
        if heads and len({str(c.value).casefold() for c in heads}) == len(heads) == heads[-1].column - heads[0].column + 1:
            last = f"{heads[-1].column_letter}{row + max(1, far % 5)}"
            sheet.add_table(Table(displayName=f"{name}{len(book.sheetnames)}", ref=f"{heads[0].coordinate}:{last}"))

    def filtered(book: Any, sheet: Any) -> None:
        sheet.auto_filter.ref = f"A{row}:{sheet.cell(row, column).column_letter}{row + 4}"

    def array(book: Any, sheet: Any) -> None:
        at = sheet.cell(row + 1, column).coordinate
        sheet[at] = ArrayFormula(f"{at}:{sheet.cell(row + 2, column + 1).coordinate}", "=A1:B2*2")

    def hidden(book: Any, sheet: Any) -> None:
        sheet.row_dimensions[row].hidden = True
        sheet.column_dimensions["B"].hidden = True
        sheet.column_dimensions["D"].width = 3.25

    def named(book: Any, sheet: Any) -> None:
        title = sheet.title.replace("'", "''")
        book.defined_names["Openings"] = DefinedName("Openings", attr_text=f"'{title}'!$A$1:$C$9")
        sheet.print_area = "A1:C20"
        sheet.print_title_rows = "1:2"

    def checked(book: Any, sheet: Any) -> None:
        rule = DataValidation("list", formula1='"72,63.5"')
        rule.add(f"A{row}:{sheet.cell(row, column).column_letter}{row + 9}")
        sheet.add_data_validation(rule)
        sheet.conditional_formatting.add("A1:F20", CellIsRule("greaterThan", ["70"], font=Font(bold=True)))

    def noted(book: Any, sheet: Any) -> None:
        sheet.cell(row, column).comment = Comment("mind the newel", "me")
        sheet.cell(row, column).hyperlink = "https://example.com/?a=1&b=2"

    def protected(book: Any, sheet: Any) -> None:
        sheet.protection.sheet = True

    def unseen(book: Any, sheet: Any) -> None:
        if len(book.sheetnames) > 1:
            sheet.sheet_state = "hidden"

    def reaching(book: Any, sheet: Any) -> None:
        sheet.cell(row, far, "far away")

    def looking(book: Any, sheet: Any) -> None:
        sheet.freeze_panes = sheet.cell(row, column)
        sheet.sheet_view.rightToLeft = True
        sheet.page_setup.orientation = "landscape"
        sheet.oddFooter.center.text = "&P of &N"

    every = (formatted, table, filtered, array, hidden, named, checked, noted, protected, unseen, reaching, looking, merge)
    chosen = draw(st.lists(st.sampled_from(range(len(every))), max_size=3, unique=True))
    return [every[place] for place in sorted(chosen)]  # merged cells come last: nothing can be written in them


@st.composite
def options(draw: st.DrawFn) -> list[str]:
    pairs = {
        "--width": ("1/2", "3/4", "0", "-1", "500", "12 mm"), "--limit": ("4", "100 mm", "0", "1/4"), "--target": ("0", "3 1/2", "9"),
        "--parity": ("odd", "even"), "--mortise": ("1/2", "-1"), "--play": ("1/16",), "--each": ("4.35", "-1", "$3"),
        "--as": ("formulas", "functions", "values"), "--host": ("calc",), "--unit": ("in", "ft", "mm", "cm", "m"),
        "--opening": ("A", "B", "xfd", "Length", "no such", "=A1"), "--qty": ("C", "Qty"), "--height": ("D", "Ht"), "--count": ("E",),
        "--width-column": ("B", "Baluster width"), "--header-row": ("1", "2", "3", "99"), "--sheet": ("Bid", "2026"),
        "--columns": ("count", "gap,tape", "pieces", "cut", "price,count", "oc,gap"),
    }  # fmt: skip
    chosen = draw(st.lists(st.sampled_from(sorted(pairs)), max_size=2, unique=True))
    said = [part for name in chosen for part in (name, draw(st.sampled_from(pairs[name])))]
    return said if "--width" in chosen or draw(st.integers(0, 5)) == 5 else ["--width", "1/2", *said]


MAY_CHANGE = re.compile(r"xl/worksheets/sheet\d+\.xml|xl/tables/table\d+\.xml|xl/styles\.xml|xl/workbook\.xml|\[Content_Types\]\.xml|xl/_rels/workbook\.xml\.rels")  # fmt: skip


def run(*arguments: object) -> str:
    """What the command says; its errors are raised."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        add.main([str(each) for each in arguments], standalone_mode=False)
    return said.getvalue()


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def cells(path: Path) -> dict[tuple[str, str], Any]:
    """Every filled cell as openpyxl reads it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(path.read_bytes()))  # which leaves a file open where it fails
    return {
        (sheet.title, cell.coordinate): getattr(cell.value, "text", cell.value)
        for sheet in book.worksheets
        for cell in sheet._cells.values()
        if cell.value is not None
    }


def judge(error: RailError | click.ClickException) -> None:
    """What is wrong must be said in sentences that can be shown on a line."""
    problems = error.problems if isinstance(error, InputError) else [getattr(error, "message", str(error))]
    assert problems
    for sentence in problems:
        assert sentence.isprintable(), sentence
        assert 10 < len(sentence) < 600, sentence


def readable(path: Path) -> bool:
    try:
        cells(path)
    except Exception:  # openpyxl raises nearly anything at a spoilt sheet
        return False
    return True


def added_or_refused(folder: Path, bid: Path, chosen: list[str]) -> bool:
    """Whether columns were added; all that must hold either way is checked."""
    before, old_names = bid.read_bytes(), sorted(folder.iterdir())
    out = folder / "out.xlsx"
    try:
        run(bid, "-o", out, *chosen)
    except (RailError, click.ClickException) as error:
        judge(error)
        assert sorted(folder.iterdir()) == old_names
        assert bid.read_bytes() == before
        return False
    assert bid.read_bytes() == before
    old, new = parts(bid), parts(out)
    changed = {name for name in old if new[name] != old[name]}
    assert all(MAY_CHANGE.fullmatch(name) for name in changed), changed
    assert len(new) == len(old) + 1
    if readable(bid):
        had, has = cells(bid), cells(out)
        assert {place: has.get(place) for place in had} == had
        assert len(has) > len(had)
    back = folder / "back.xlsx"
    run(out, "--remove", "-o", back)
    assert parts(back) == old
    return True


def test_bid_sheets() -> None:
    outcomes = []

    @modest
    @given(bids(), options())
    def each(write: Callable[[Path], None], chosen: list[str]) -> None:
        with TemporaryDirectory() as name:
            bid = Path(name, "bid.xlsx")
            write(bid)
            outcomes.append(added_or_refused(Path(name), bid, chosen))

    each()
    assert 0.2 < sum(outcomes) / len(outcomes) < 0.8, "neither all refused nor all edited"


SPOILT = (
    (rb"<v>[^<]*</v>", (b"<v></v>", b"<v>abc</v>", b"<v>1e999</v>", b"<v>1e999999999</v>", b"<v>NaN</v>", b"<v>INF</v>",
                        b"<v>-5</v>", b"<v>99999</v>", b"<v>1_0</v>", b"<v>" + b"9" * 5000 + b"</v>", b"<v/>", b"")),
    (rb' t="\w+"', (b' t="s"', b' t="inlineStr"', b' t="str"', b' t="b"', b' t="e"', b' t="d"', b' t="zz"', b"")),
    (rb' r="[A-Z]+\d+"', (b"", b' r="A1"', b' r="XFE1"', b' r="ZZZZ1"', b' r="B0"', b' r="b2"', b" r='C2'")),
    (rb'<row r="\d+"', (b"<row", b'<row r="0"', b'<row r="2"', b'<row r="1048577"', b'<row r="x"')),
    (rb"</row>", (b"", b"</row><row/>", b"</row >", b"</row><!-- <row> -->")),
    (rb' s="\d+"', (b' s="9999"', b' s="-1"', b' s="x"')),
    (rb"</?sheetData>", (b"", b"<sheetData/>", b"<extra/>")),
    (rb'ref="[^"]*"', (b'ref=""', b'ref="A1:ZZZZ9"', b'ref="nowhere"', b'ref="A:C"', b'ref="$A$1"')),
    (rb"<c ", (b"<x:c ", b"<c\n", b"<c  ")),
)  # fmt: skip


@st.composite
def spoilings(draw: st.DrawFn) -> Callable[[bytes], bytes]:
    """One thing in the XML of a sheet written as no program should."""
    pattern, instead = draw(st.sampled_from(SPOILT))
    new, which = draw(st.sampled_from(instead)), draw(st.integers(0, 30))

    def spoil(content: bytes) -> bytes:
        found = list(re.finditer(pattern, content))
        if not found:
            return content
        place = found[which % len(found)]
        return content[: place.start()] + new + content[place.end() :]

    return spoil


def respelt(path: Path, change: Callable[[bytes], bytes]) -> None:
    """The first sheet's XML of a workbook changed."""
    old = parts(path)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in old.items():
            archive.writestr(name, change(content) if name == "xl/worksheets/sheet1.xml" else content)


def test_bid_sheets_that_no_program_should_write() -> None:
    """What openpyxl can read it can read still; nothing is lost, and all of it can be taken back."""
    outcomes = []

    @modest
    @given(bids(), st.lists(spoilings(), min_size=1, max_size=2))
    def each(write: Callable[[Path], None], changes: list[Callable[[bytes], bytes]]) -> None:
        with TemporaryDirectory() as name:
            bid = Path(name, "bid.xlsx")
            write(bid)
            for change in changes:
                respelt(bid, change)
            outcomes.append(added_or_refused(Path(name), bid, ["--width", "1/2"]))

    each()
    assert 0.1 < sum(outcomes) / len(outcomes) < 0.9


MEASURED = st.one_of(st.sampled_from(("63 1/2", "1/2", 2.75, "3/4", "1600 mm", 17, "any", "in", "left newel")), CELLS)


@st.composite
def measure_rows(draw: st.DrawFn) -> list[list[Any]]:
    """A measure sheet in which some cells, headers and facts are odd."""
    headers: list[Any] = [*GOOD, *draw(st.lists(st.sampled_from(COLUMNS), max_size=3))]
    runs = [[GOOD.get(header, None) for header in headers] for _ in range(draw(st.integers(1, 3)))]
    for number, run in enumerate(runs):
        run[0] = f"Run {number}"
        for place in draw(st.lists(st.integers(0, len(headers) - 1), max_size=1)):
            run[place] = draw(MEASURED)
    if draw(st.integers(0, 3)) == 3:
        headers[draw(st.integers(0, len(headers) - 1))] = draw(st.sampled_from(HEADERS))
    around: list[list[Any]] = [[], [], []]
    if draw(st.booleans()):
        around = [
            draw(st.lists(st.tuples(st.sampled_from((*FACTS, "Our sheet")), MEASURED).map(list), max_size=3)),
            draw(st.lists(st.lists(CELLS, max_size=3), max_size=1)),
            draw(st.lists(st.lists(CELLS, max_size=2), max_size=2)),
        ]
    return [*around[0], *around[1], headers, *runs, *around[2]]


FACTS = ("Job", "site:", "DATE", "Made\nby", "Marks to the", "Tape")
COLUMNS = [column.header for column in columns().values() if column.header not in GOOD]


def read_or_refused(path: Path) -> bool:
    """Whether a measure sheet was read; what must hold either way is checked."""
    try:
        job = read_job(path)
    except (BookError, InputError) as error:
        judge(error)
        return False
    assert isinstance(job, Job)
    assert job.runs
    for run in job.runs:
        lengths = [getattr(run, key) for key, column in columns().items() if column.kind == "length"]
        longest = 2400 * Fraction("25.4") if run.unit == "mm" else 2400
        assert all(length is None or (type(length) is Fraction and 0 <= length <= longest) for length in lengths)
        assert run.name.isprintable()
    assert len({run.name.casefold() for run in job.runs}) == len(job.runs)
    return True


def test_measure_sheets() -> None:
    outcomes = []

    @modest
    @given(measure_rows(), st.sampled_from(("xlsx", "csv", ";", "\t", "spoilt")), spoilings())
    def each(rows: list[list[Any]], form: str, change: Callable[[bytes], bytes]) -> None:
        with TemporaryDirectory() as name:
            path = Path(name, "measure.xlsx" if form in ("xlsx", "spoilt") else "measure.csv")
            if path.suffix == ".xlsx":
                xlsx(path, rows)
            else:
                path.write_text(csv_text(rows, "," if form == "csv" else form), encoding="utf-8", errors="replace")
            if form == "spoilt":
                respelt(path, change)
            outcomes.append(read_or_refused(path))

    each()
    assert 0.05 < sum(outcomes) / len(outcomes) < 0.9


@modest
@given(st.one_of(st.binary(max_size=60), st.text("Run,Opening at rail\n;\t\"'63 1/2", max_size=80).map(str.encode)))
def test_any_bytes_as_a_measure_sheet(content: bytes) -> None:
    with TemporaryDirectory() as name:
        for ending in (".csv", ".xlsx"):
            path = Path(name, f"measure{ending}")
            path.write_bytes(content)
            read_or_refused(path)


def test_a_line_of_more_columns_than_any_sheet_has() -> None:
    with TemporaryDirectory() as name:
        path = Path(name, "measure.csv")
        path.write_text(csv_text([[*GOOD, *["x"] * 20_000], list(GOOD.values())]), encoding="utf-8")
        assert not read_or_refused(path)


def simple_bid(path: Path) -> Path:
    return xlsx(path, [["Run", "Opening (in)"], ["a", 72], ["b", 63.5], [], ["Run", "Opening (in)"], ["c", 60]], "Bid")


def test_one_print_area_over_two_blocks(tmp_path: Path) -> None:
    bid = simple_bid(tmp_path / "bid.xlsx")
    book = openpyxl.load_workbook(bid)
    book.active.print_area = "A1:B9"
    book.save(bid)
    assert added_or_refused(tmp_path, bid, ["--width", "1/2", "--columns", "count,gap"])
    assert openpyxl.load_workbook(tmp_path / "out.xlsx").active.print_area == "'Bid'!$A$1:$D$9"


def test_a_line_break_within_a_tag(tmp_path: Path) -> None:
    """The last cell of a sheet is seen however its tag is written, and new columns stand right of it."""
    bid = xlsx(tmp_path / "bid.xlsx", [["Run", "Opening (in)"], ["a", 72], ["b", 63.5, "mind the newel"]])
    respelt(bid, lambda content: content.replace(b'<c r="C3"', b'<c\nr="C3"'))
    assert added_or_refused(tmp_path, bid, ["--width", "1/2", "--columns", "count"])
    # 63.5 in: 14 balusters leave 56.5/15 = 3.77 in, 13 would leave 57/14 = 4.07.
    assert openpyxl.load_workbook(tmp_path / "out.xlsx", data_only=True).active["D3"].value == 14


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (b"<v>72</v>", b"<v>1e999999999</v>", "too large"),
        (b"<v>72</v>", b"<v>nan</v>", "too large"),
        (b"<v>72</v>", b"<v>7 2</v>", "cannot be read"),
        (b"<v>0</v>", b"<v>7</v>", "past the table of texts"),
        (b"<v>0</v>", b"<v>-1</v>", "past the table of texts"),
        (b"<v>0</v>", b"<v>0.5</v>", "past the table of texts"),
        (b"</worksheet>", b"<pageMargins></worksheet>", "damaged: xl/worksheets/sheet1.xml is not well-formed"),
    ],
)  # fmt: skip
def test_a_spoilt_sheet_is_called_damaged(tmp_path: Path, old: bytes, new: bytes, says: str) -> None:
    bid = simple_bid(tmp_path / "bid.xlsx")
    share_texts(bid)
    respelt(bid, lambda content: content.replace(old, new, 1))
    with pytest.raises(BookError, match=says):
        run(bid, "--width", "1/2", "-o", tmp_path / "out.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["bid.xlsx"]


def test_half_a_character_as_a_code(tmp_path: Path) -> None:
    bid = xlsx(tmp_path / "bid.xlsx", [["_xD800_", "Name"], ["a", "b"]])
    with pytest.raises(BookError) as caught:
        run(bid)
    assert str(caught.value).endswith("Texts seen: _xD800_, Name, a, b")


def test_a_cell_above_the_first_row_of_a_measure_sheet(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "measure.xlsx", [list(GOOD), list(GOOD.values())])
    assert read_or_refused(path)
    respelt(path, lambda content: content.replace(b'r="B2"', b'r="B0"'))
    with pytest.raises(BookError, match="damaged"):
        read_job(path)


@both
def test_a_line_break_within_a_cell_does_not_break_a_sentence(tmp_path: Path, write: Write) -> None:
    found = problems(write(tmp_path, table(GOOD | {"Colour\nof it": "a\nb", "Unit": "in\nch"}, above=[["Marks\nto the", "1\n2"]])))
    assert any("(Marks to the): '1 2'" in each for each in found)
    assert any("'Colour of it'" in each for each in found)
    assert any("'in ch'" in each for each in found)
