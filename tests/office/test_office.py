"""The judge is judged first: LibreOffice must recalculate, and must tell errors, texts and blanks apart."""

import os
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tests.office import CellError, Office, OfficeError
from tests.office.pictures import pictures

POISON = 777.25

# Cell, what is typed there, what a right calculation shows. All plain arithmetic.
CELLS = [
    ("A1", 60, 60.0),
    ("A2", 0.625, 0.625),
    ("A3", 13, 13.0),
    ("B1", "=(A1-A3*A2)/(A3+1)", 51.875 / 14),
    ("B2", "=B1+A2", 51.875 / 14 + 0.625),
    ("B3", '="gap "&A3', "gap 13"),
    ("B4", '=IF(A3>0,"","none")', ""),
    ("B5", "=A1/(A3-13)", CellError(532)),
    ("B6", "=NA()", CellError(32767)),
    ("B7", '="x"+1', CellError(519)),
    ("B8", "=NOSUCHFUNCTION(A1)", CellError(525)),
    ("B9", "=A3>12", 1.0),
    ("B10", "=Other!A1*2", 8.0),
    ("C1", "as measured", "as measured"),
]
# A stored text in a number's cell and the reverse, beside plain wrong numbers.
WRONG = {
    "B3": f'<c r="B3"><f>\\g<f></f><v>{POISON}</v></c>',
    "B2": '<c r="B2" t="str"><f>\\g<f></f><v>poison</v></c>',
}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The cells above, with a wrong value stored beside every formula."""
    clean, poisoned = tmp_path / "clean.xlsx", tmp_path / "poisoned.xlsx"
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = "Run 1"
    for address, typed, _ in CELLS:
        sheet[address] = typed
    workbook.create_sheet("Other")["A1"] = 4
    workbook.save(clean)
    with zipfile.ZipFile(clean) as source, zipfile.ZipFile(poisoned, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            if name == "xl/worksheets/sheet1.xml":
                part = poison(part.decode()).encode()
            target.writestr(name, part)
    return poisoned


def poison(xml: str) -> str:
    def cell(match: re.Match[str]) -> str:
        wrong = WRONG.get(match["r"], f'<c r="{match["r"]}"><f>\\g<f></f><v>{POISON}</v></c>')
        return match.expand(wrong)

    done, count = re.subn(r'<c r="(?P<r>\w+)"[^>]*><f>(?P<f>[^<]*)</f><v ?/?>(?:</v>)?</c>', cell, xml)
    assert count == sum(str(typed).startswith("=") for _, typed, _ in CELLS)
    return done


def test_the_wrong_values_are_really_stored(book: Path) -> None:
    sheet = openpyxl.load_workbook(book, data_only=True)["Run 1"]
    stored = {address: sheet[address].value for address, typed, _ in CELLS if str(typed).startswith("=")}
    assert stored == dict.fromkeys(stored, POISON) | {"B2": "poison"}


def test_reading_recalculates_every_formula(office: Office, book: Path) -> None:
    assert office.read(book) == {
        "Run 1": {address: pytest.approx(value) if isinstance(value, float) else value for address, _, value in CELLS},
        "Other": {"A1": 4.0},
    }


def test_the_same_holds_for_ods(office: Office, book: Path, tmp_path: Path) -> None:
    ods, poisoned = tmp_path / "book.ods", tmp_path / "poisoned.ods"
    office.save_as(book, ods)
    with zipfile.ZipFile(ods) as source, zipfile.ZipFile(poisoned, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            if name == "content.xml":
                part, count = re.subn(rb'office:value="8"', b'office:value="777.25"', part)
                assert count == 1
            target.writestr(name, part)
    assert office.read(poisoned) == office.read(book)


def test_changed_inputs_reach_what_depends_on_them(office: Office, book: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept.xlsx"
    before = book.read_bytes()
    changes = {("Run 1", "A1"): 72, ("Run 1", "A3"): 17, ("Other", "A1"): "4", ("Run 1", "C1"): None}
    after = office.change_and_read(book, changes, save_as=kept)
    assert after["Run 1"]["B1"] == pytest.approx((72 - 17 * 0.625) / 18)
    assert after["Run 1"]["B3"] == "gap 17"
    assert after["Run 1"]["B5"] == 18.0
    assert after["Other"]["A1"] == "4"
    assert "C1" not in after["Run 1"]
    assert office.read(kept) == after
    assert book.read_bytes() == before


def test_formulas_in_calcs_spelling(office: Office, book: Path) -> None:
    found = office.formulas(book)
    assert found["Run 1"]["B4"] == '=IF(A3>0;"";"none")'
    assert set(found["Run 1"]) == {address for address, typed, _ in CELLS if str(typed).startswith("=")}
    assert found["Other"] == {}


def test_evaluate(office: Office) -> None:
    shown = office.evaluate(["=B1*2", '=IF(B2="a,b","yes","no")', "=SUM({1,2;3,4})", "=1/0", '=""'],
                            {"B1": 1.5, "B2": "a,b"})
    assert shown == [3.0, "yes", 10.0, CellError(532), ""]


def test_evaluate_array(office: Office) -> None:
    shown = office.evaluate_array("=B1:C2*2", 3, 2, {"B1": 1, "C1": 2, "B2": 3, "C2": 4})
    assert shown == [[2.0, 4.0], [6.0, 8.0], [CellError(32767), CellError(32767)]]


def test_pictures_of_every_sheet(office: Office, book: Path, tmp_path: Path) -> None:
    made = pictures(office, book, tmp_path / "out")
    assert [picture.name for picture in made] == ["01-run-1-1.png", "02-other-1.png"]
    assert all(picture.read_bytes().startswith(b"\x89PNG") for picture in made)
    office.to_pdf(book, tmp_path / "all.pdf")
    assert (tmp_path / "all.pdf").read_bytes().startswith(b"%PDF")


def test_refusals_are_sentences(office: Office, book: Path, tmp_path: Path) -> None:
    with pytest.raises(OfficeError, match="there is no file"):
        office.read(tmp_path / "missing.xlsx")
    with pytest.raises(OfficeError, match="no sheet 'Stair'"):
        office.change_and_read(book, {("Stair", "A1"): 1})
    (tmp_path / "broken.xlsx").write_bytes(b"PK\x03\x04 not a workbook")
    with pytest.raises(OfficeError, match="could not open"):
        office.read(tmp_path / "broken.xlsx")
    assert office.read(book)["Other"] == {"A1": 4.0}


def test_missing_libreoffice_is_one_clear_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", os.fspath(tmp_path))
    with pytest.raises(OfficeError, match=r"LibreOffice Calc is not installed: run `bash tests/run\.sh`"):
        Office()


def test_after_a_crash_the_next_request_starts_it_again() -> None:
    with Office() as own:
        assert own.evaluate(["=1+1"]) == [2.0]
        own._driver.kill()
        with pytest.raises(OfficeError, match="ended unexpectedly"):
            own.evaluate(["=1+1"])
        assert own.evaluate(["=1+1"]) == [2.0]
    assert not Path(own._home.name).exists()
