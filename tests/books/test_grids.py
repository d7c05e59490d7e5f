"""Files as spreadsheets save them are read; files that are no measure sheet are refused in one sentence."""

from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile

import pytest
from openpyxl import load_workbook

from railfuncs.books.measure import read_job
from railfuncs.errors import BookError
from tests.books.sheets import GOOD, csv_text, in_xlsx, problems, refused, table, xlsx


def changed(plain: Path, path: Path, old: bytes, new: bytes) -> Path:
    """A copy of a workbook, with one thing in the XML of its first sheet replaced."""
    with ZipFile(plain) as source, ZipFile(path, "w") as copy:
        for part in source.namelist():
            content = source.read(part)
            if part == "xl/worksheets/sheet1.xml":
                assert content.count(old) == 1
                content = content.replace(old, new)
            copy.writestr(part, content)
    return path


def test_stored_value_of_a_formula_is_used(tmp_path: Path) -> None:
    plain = in_xlsx(tmp_path, table(GOOD | {"Opening at rail": "=60+3.5"}))
    path = changed(plain, tmp_path / "formula.xlsx", b"</f><v></v>", b"</f><v>63.5</v>")
    assert read_job(path).runs[0].opening == Fraction(127, 2)


def test_formula_without_a_stored_value(tmp_path: Path) -> None:
    (found,) = problems(in_xlsx(tmp_path, table(GOOD | {"Opening at rail": "=60+3.5"})))
    assert found.startswith("sheet 'Measure' cell B2 (Opening at rail): the formula has no stored value")


def test_error_in_a_cell(tmp_path: Path) -> None:
    (found,) = problems(in_xlsx(tmp_path, table(GOOD | {"Left end at": "#DIV/0!"})))
    assert "(Left end at): holds the error #DIV/0!" in found


def test_sheet_named_measure_is_read_first(tmp_path: Path) -> None:
    workbook = load_workbook(xlsx(tmp_path / "two.xlsx", table(GOOD | {"Run": "Other"}), "Other"))
    sheet = workbook.create_sheet("measure")
    for row in table(GOOD):
        sheet.append(row)
    workbook.save(tmp_path / "two.xlsx")
    assert read_job(tmp_path / "two.xlsx").runs[0].name == "Front"


def test_sheet_of_another_name_is_found_by_its_headers(tmp_path: Path) -> None:
    workbook = load_workbook(xlsx(tmp_path / "site.xlsx", table(GOOD | {"Clear height": 0}), "Site"))
    workbook.create_sheet("Cover", 0)["A1"] = "Lake house"
    workbook.save(tmp_path / "site.xlsx")
    (found,) = problems(tmp_path / "site.xlsx")
    assert found.startswith("sheet 'Site' cell H2 (Clear height): 0")


def test_sheet_that_reaches_to_the_last_cell_is_read_all_the_same(tmp_path: Path) -> None:
    workbook = load_workbook(in_xlsx(tmp_path, table(GOOD)))
    workbook.active["XFD1048576"].number_format = "0.00"
    workbook.save(tmp_path / "far.xlsx")
    assert len(read_job(tmp_path / "far.xlsx").runs) == 1


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_csv_as_spreadsheets_save_it(tmp_path: Path, delimiter: str, encoding: str) -> None:
    run = GOOD | {"Opening at rail": "5' 3½\"", "Notes": "Señor Núñez, kitchen; side"}
    path = tmp_path / "measure.csv"
    path.write_bytes(csv_text(table(run, above=[["Job", "Café"]]), delimiter).encode(encoding))
    job = read_job(path)
    assert job.title == "Café"
    assert (job.runs[0].opening, job.runs[0].notes) == (Fraction(127, 2), "Señor Núñez, kitchen; side")


def test_decimal_comma_is_explained(tmp_path: Path) -> None:
    path = tmp_path / "measure.csv"
    path.write_text(csv_text(table(GOOD | {"Opening at rail": "63,5"}), ";"))
    (found,) = problems(path)
    assert "has a comma in the number" in found


def test_quote_mark_never_closed(tmp_path: Path) -> None:
    path = tmp_path / "measure.csv"
    path.write_text(csv_text(table(GOOD, GOOD | {"Run": "Back"})) + '"Side,60,1/2\n')
    assert "line 4: a quote mark" in refused(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "there is no file" in refused(tmp_path / "none.xlsx")
    assert "is a folder" in refused(tmp_path)


@pytest.mark.parametrize("name", ["measure.ods", "measure.txt", "measure", "measure.xls"])
def test_wrong_extension(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"anything")
    assert "neither .xlsx nor .csv" in refused(tmp_path / name)


@pytest.mark.parametrize("name", ["measure.xlsx", "measure.csv"])
def test_empty_file(tmp_path: Path, name: str) -> None:
    (tmp_path / name).touch()
    assert "is empty" in refused(tmp_path / name)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999])
def test_half_written_workbook(tmp_path: Path, share: float) -> None:
    path = in_xlsx(tmp_path, table(GOOD))
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    assert "damaged, half-written or not a workbook" in refused(path)


def test_every_part_of_a_workbook_broken_in_turn(tmp_path: Path) -> None:
    whole = in_xlsx(tmp_path, table(GOOD))
    with ZipFile(whole) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    refusals = 0
    for broken in parts:
        path = tmp_path / "broken.xlsx"
        with ZipFile(path, "w", ZIP_STORED) as archive:
            for name, content in parts.items():
                archive.writestr(name, content[: len(content) // 2] if name == broken else content)
        with suppress(BookError):
            assert read_job(path).runs[0].opening == Fraction(127, 2)  # all that broke is, say, the theme
            continue
        refusals += 1
    assert refusals >= 4


@pytest.mark.parametrize(
    "content", [b"PK\x03\x04 not really", b"\x89PNG\r\n\x1a\n" + bytes(99), b"Run,Opening at rail"]
)
def test_workbook_that_is_something_else(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "measure.xlsx"
    path.write_bytes(content)
    assert "damaged, half-written or not a workbook" in refused(path)


def test_csv_that_is_something_else(tmp_path: Path) -> None:
    path = tmp_path / "measure.csv"
    path.write_bytes(in_xlsx(tmp_path, table(GOOD)).read_bytes())
    assert "rename it to end in .xlsx" in refused(path)
    for content in (bytes(range(256)), csv_text(table(GOOD)).encode("utf-16"), b"Run,\x81\x8d\x8f"):
        path.write_bytes(content)
        assert "save it as CSV UTF-8" in refused(path)
    path.write_text("width,height\n1,2\n")
    assert "no row with the headers 'Run' and 'Opening at rail'" in refused(path)


def test_encrypted_and_old_workbooks(tmp_path: Path) -> None:
    # The first bytes of the compound file format ([MS-CFB] 2.2) and the stream name of [MS-OFFCRYPTO] 2.3.4.4.
    container = bytes.fromhex("D0CF11E0A1B11AE1") + bytes(504)
    path = tmp_path / "measure.xlsx"
    path.write_bytes(container + "EncryptedPackage".encode("utf-16-le"))
    assert "password" in refused(path)
    path.write_bytes(container + "Workbook".encode("utf-16-le"))
    assert "older format" in refused(path)


def test_file_in_use_by_another_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def locked(_: Path) -> bytes:
        raise PermissionError(13, "The process cannot access the file")

    path = in_xlsx(tmp_path, table(GOOD))
    monkeypatch.setattr(Path, "read_bytes", locked)
    assert "close it in any other program" in refused(path)


def test_entities_are_refused(tmp_path: Path) -> None:
    plain = in_xlsx(tmp_path, table(GOOD))
    entity = changed(plain, tmp_path / "entity.xlsx", b"<worksheet", b'<!DOCTYPE x [<!ENTITY e "Front">]><worksheet')
    assert "damaged" in refused(entity)


def test_parts_without_measurements_are_passed_over_quietly(tmp_path: Path) -> None:
    # Conditional formats of a later release, of which openpyxl warns; the suite turns warnings into failures.
    extension = b'<extLst><ext uri="{78C0D931-6437-407d-A8EE-F0AAD7539E65}"/></extLst></worksheet>'
    path = changed(in_xlsx(tmp_path, table(GOOD)), tmp_path / "later.xlsx", b"</worksheet>", extension)
    with pytest.warns(UserWarning, match="Conditional Formatting extension"):
        load_workbook(path)
    assert read_job(path).runs[0].name == "Front"


def test_file_far_too_large(tmp_path: Path) -> None:
    path = tmp_path / "measure.csv"
    with path.open("wb") as file:
        file.truncate(30_000_000)
    assert "far too large" in refused(path)
    bomb = tmp_path / "bomb.xlsx"
    with ZipFile(bomb, "w", compression=ZIP_DEFLATED) as archive, archive.open("zeros", "w") as part:
        for _ in range(201):
            part.write(bytes(1_000_000))
    assert "far too large" in refused(bomb)
