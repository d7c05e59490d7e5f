"""Files made to harm: refused in one sentence or inert, with bounded memory."""

import io
import resource
import struct
import subprocess
import sys
import zipfile
from pathlib import Path

import openpyxl
import pytest

from railfuncs.books.addition.command import add
from railfuncs.errors import BookError
from tests.books.addition.test_sheets import SHEETS


def run(*args: object) -> None:
    add.main([str(arg) for arg in args], standalone_mode=False)


def rebuilt(changes: dict[str, bytes | None], more: dict[str, bytes] | None = None) -> bytes:
    """`plain.xlsx` with some parts changed, taken out or added."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(SHEETS / "plain.xlsx") as old, zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = changes.get(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
        for name, content in (more or {}).items():
            new.writestr(name, content)
    return buffer.getvalue()


def part(name: str) -> bytes:
    with zipfile.ZipFile(SHEETS / "plain.xlsx") as archive:
        return archive.read(name)


def refused(tmp_path: Path, content: bytes, sentence: str) -> None:
    path = tmp_path / "bid.xlsx"
    path.write_bytes(content)
    with pytest.raises(BookError, match=sentence):
        run(path, "--width", "1/2", "-o", tmp_path / "out.xlsx")
    assert [p.name for p in tmp_path.iterdir()] == ["bid.xlsx"]


ENTITY = '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16-be", "utf-16"])
@pytest.mark.parametrize("name", ["one.xml", "book.xml", "[Content_Types].xml", "_rels/.rels"])
def test_entities(tmp_path: Path, name: str, encoding: str) -> None:
    content = f'<?xml version="1.0" encoding="{encoding[:6]}"?>' + ENTITY + part(name).decode()
    refused(tmp_path, rebuilt({name: content.encode(encoding)}), "defines entities")


def test_utf_16_sheet(tmp_path: Path) -> None:
    refused(tmp_path, rebuilt({"one.xml": part("one.xml").decode().encode("utf-16")}), "not in UTF-8")


def test_duplicate_parts(tmp_path: Path) -> None:
    refused(tmp_path, rebuilt({}, {"ONE.xml": b"<x/>"}), "two parts named")


def test_wrong_checksum(tmp_path: Path) -> None:
    data = bytearray((SHEETS / "plain.xlsx").read_bytes())
    with zipfile.ZipFile(SHEETS / "plain.xlsx") as archive:
        info = archive.getinfo("one.xml")
    data[info.header_offset + 30 + len(info.filename) + info.compress_size // 2] ^= 0xFF
    refused(tmp_path, bytes(data), "damaged")


def test_half_a_file(tmp_path: Path) -> None:
    data = (SHEETS / "balconies.xlsx").read_bytes()
    refused(tmp_path, data[: len(data) // 2], "damaged")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "not an Excel workbook"),
        (b"Run,Opening\n1,72\n", "not an Excel workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "encrypted with a password or is an old .xls"),
    ],
)
def test_other_files(tmp_path: Path, content: bytes, sentence: str) -> None:
    refused(tmp_path, content, sentence)


def test_signed(tmp_path: Path) -> None:
    refused(tmp_path, rebuilt({}, {"_xmlsignatures/sig1.xml": b"<s/>"}), "digitally signed")


def test_strict_variant(tmp_path: Path) -> None:
    transitional = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    relations = part("_rels/.rels").replace(transitional, b"http://purl.oclc.org/ooxml/officeDocument/relationships")
    refused(tmp_path, rebuilt({"_rels/.rels": relations}), "strict variant")


def test_rows_numbered_from_zero(tmp_path: Path) -> None:
    sheet = part("one.xml").replace(b"<x:row>", b'<x:row r="0">', 1)
    refused(tmp_path, rebuilt({"one.xml": sheet}), "numbers its rows")


def bomb(size: int) -> bytes:
    return rebuilt({"one.xml": part("one.xml").replace(b"</x:worksheet>", b" " * size + b"</x:worksheet>")})


def test_zip_bomb(tmp_path: Path) -> None:
    refused(tmp_path, bomb(50 * 2**20), "400 times its size")


def test_bomb_that_lies_about_its_size(tmp_path: Path) -> None:
    """The listing says a part is small; unpacking stops soon after that, and memory stays bounded."""
    data = bytearray(bomb(200 * 2**20))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        info = archive.getinfo("one.xml")
    central = data.rindex(b"PK\x01\x02", 0, data.rindex(b"one.xml") + 1)
    for at in (info.header_offset + 22, central + 24):
        data[at : at + 4] = struct.pack("<I", 2000)
    path = tmp_path / "bid.xlsx"
    path.write_bytes(data)
    script = (
        "import resource, sys\n"
        "from pathlib import Path\n"
        "from railfuncs.books.addition.package import Package\n"
        "from railfuncs.errors import BookError\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "try:\n    Package.read(Path(sys.argv[1]))\nexcept BookError as error:\n    print(error)\n"
        "print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)\n"
    )
    told = subprocess.run([sys.executable, "-c", script, path], capture_output=True, text=True, check=True)
    sentence, grown = told.stdout.strip().splitlines()
    assert "damaged" in sentence
    assert int(grown) < 20, f"{grown} MB more memory for a part said to be 2,000 bytes"


def test_huge_dimensions_cost_nothing(tmp_path: Path) -> None:
    """A sheet that claims every row and column, and a cell in the last row."""
    sheet = part("one.xml").replace(b"<x:sheetData>", b'<x:dimension ref="A1:XFD1048576"/><x:sheetData>')
    sheet = sheet.replace(
        b"</x:sheetData>", b'<x:row r="1048576"><x:c r="A1048576"><x:v>1</x:v></x:c></x:row></x:sheetData>'
    )
    path, out = tmp_path / "bid.xlsx", tmp_path / "out.xlsx"
    path.write_bytes(rebuilt({"one.xml": sheet}))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    run(path, "--width", "1/2", "-o", out)
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024 < 50
    with zipfile.ZipFile(out) as archive:
        assert b'<x:c r="D2"' in archive.read("one.xml")


def test_text_that_begins_with_equals_stays_text(tmp_path: Path) -> None:
    """In the person's own cells, and in what we write from them."""
    out = tmp_path / "out.xlsx"
    run(SHEETS / "balconies.xlsx", "-o", out)
    with zipfile.ZipFile(SHEETS / "balconies.xlsx") as old, zipfile.ZipFile(out) as new:
        assert old.read("xl/sharedStrings.xml") == new.read("xl/sharedStrings.xml")
        row = new.read("xl/worksheets/sheet1.xml").partition(b'r="5"')[2].partition(b"</row>")[0]
    assert b'<c r="E5" s="3" t="s"><v>' in row


def test_length_that_is_a_formula_in_disguise(tmp_path: Path) -> None:
    """A text length is quoted inside the formula: nothing in it can run."""
    path, out = tmp_path / "bid.xlsx", tmp_path / "out.xlsx"
    book = openpyxl.Workbook()
    for row in (("Run", "Opening in"), ("a", "5' 3-1/2\""), ("b", '=1+cmd|"/c calc"!A0'), ("c", 72)):
        book.active.append(row)
    book.active["B3"].data_type = "s"
    book.save(path)
    run(path, "--width", "1/2", "-o", out)
    sheet = openpyxl.load_workbook(out).active
    assert '"5\' 3-1/2"""' in sheet["C2"].value
    assert sheet["C3"].value is None
    assert "cmd" not in str([cell.value for row in sheet["C1:Z9"] for cell in row])
