"""The live route into Excel, driven with a stand-in for Excel's objects: it has not been run in Excel itself."""

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from railfuncs.books.addition.command import add
from railfuncs.books.addition.live import write_live
from railfuncs.books.addition.package import Package
from railfuncs.books.addition.plan import Choices
from railfuncs.books.addition.prepare import Prepared, prepare
from railfuncs.books.addition.workbook import Workbook
from railfuncs.errors import BookError
from tests.books.addition.test_sheets import SHEETS

BID = SHEETS / "balconies.xlsx"


class Range:
    """One range: keeps what is set on it."""

    def __init__(self) -> None:
        self.api = SimpleNamespace(PasteSpecial=lambda kind: None)

    def copy(self) -> None:
        pass


class Sheet:
    def __init__(self) -> None:
        self.ranges: dict[Any, Range] = {}

    def range(self, *place: Any) -> Range:
        return self.ranges.setdefault(place, Range())


def excel(monkeypatch: pytest.MonkeyPatch, *, saved: bool = True, name: Path = BID) -> Sheet:
    sheet = Sheet()
    book = SimpleNamespace(fullname=str(name), sheets={"Balconies": sheet}, api=SimpleNamespace(Saved=saved))
    monkeypatch.setitem(sys.modules, "xlwings", SimpleNamespace(apps=[SimpleNamespace(books=[book])]))
    return sheet


@pytest.fixture
def prepared() -> Prepared:
    return prepare(Workbook(Package.read(BID)), Choices(columns=("count", "gap")))


def test_the_same_plan_goes_into_the_open_workbook(monkeypatch: pytest.MonkeyPatch, prepared: Prepared) -> None:
    sheet = excel(monkeypatch)
    assert "save it there" in write_live(BID, prepared)
    assert sheet.ranges[((3, 7),)].value == "Balusters"  # type: ignore[attr-defined]
    entry = prepared.all[0].columns[1].cells[4]
    made = sheet.ranges[((4, 8),)]
    assert (made.formula, made.number_format) == ("=" + str(entry.formula), "0.000")  # type: ignore[attr-defined]


def test_not_open_and_not_saved(monkeypatch: pytest.MonkeyPatch, prepared: Prepared) -> None:
    excel(monkeypatch, name=Path("/elsewhere/other.xlsx"))
    with pytest.raises(BookError, match="is not open in Excel"):
        write_live(BID, prepared)
    excel(monkeypatch, saved=False)
    with pytest.raises(BookError, match="save it in Excel first"):
        write_live(BID, prepared)


def test_the_command_reads_a_workbook_that_excel_has_open(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bid = tmp_path / "bid.xlsx"
    bid.write_bytes(BID.read_bytes())
    bid.with_name("~$bid.xlsx").write_bytes(b"")
    sheet = excel(monkeypatch, name=bid)
    add.main([str(bid), "--live", "--columns", "count"], standalone_mode=False)
    assert "Added to bid.xlsx in Excel" in capsys.readouterr().out
    assert sheet.ranges[((3, 7),)].value == "Balusters"  # type: ignore[attr-defined]
    assert bid.read_bytes() == BID.read_bytes()
