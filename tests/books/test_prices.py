"""The price book: what is wrong with it is said at once, and a filled template is read."""

from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook

from railfuncs.books.prices import SHEET, columns, facts, read_prices, write_price_book
from railfuncs.errors import BookError, InputError


def test_every_bad_cell_is_said_at_once(tmp_path: Path) -> None:
    bad = tmp_path / "prices.csv"
    bad.write_text(
        "Margin,120 %\nMarkup,20 %\nDiscount,3\n\n"
        "Item,Use,Length,Price,Taxed,Pack of,Waste,On hand\n"
        "Rail,handrail,,12,yes,,,\n"
        "Bar,baluster,12 ft,\"1,250\",perhaps,,,1.5\n"
        "Glue,item,,,yes,0,-5 %,\n"
        ",item,,3,,,,\n"
        "Screws,hardware,,3,,,,\n"
        "Fit it,labor,,,,,,\n"
    )
    with pytest.raises(InputError) as refused:
        read_prices(bad)
    said = "\n".join(refused.value.problems)
    for part in (
        "line 3: above the headers write one of Crew rate,",
        "line 6, column C (Length): is blank or zero; write how long a stick is",
        "line 7, column D (Price): '1,250' is not a number; write it without a comma like 18.50",
        "line 7, column E (Taxed): 'perhaps' is not known here; write yes or no",
        "line 8, column G (Waste): '-5 %' cannot be less than zero",
        "line 9, column A (Item): is blank; write what it is",
        "line 10, column B (Use): 'hardware' is not known here",
        "a Margin must be less than 100 %",
        "write a Margin or a Markup above the headers, one of the two",
        "there is labor but no Crew rate above the headers",
    ):
        assert part in said, part
    assert len(refused.value.problems) == 10


def test_a_filled_template_is_read(tmp_path: Path) -> None:
    path = tmp_path / "prices.xlsx"
    write_price_book(path)
    with pytest.raises(BookError, match="is there already"):
        write_price_book(path)
    workbook = load_workbook(path)
    sheet = workbook[SHEET]
    sheet["B4"], sheet["B8"] = 88, "25%"
    header = next(row for row in range(1, 30) if sheet.cell(row, 1).value == "Item")
    keys = list(columns())
    for key, value in (("item", "Oak rail"), ("use", "handrail"), ("length", "12'"), ("price", "$64.50")):
        sheet.cell(header + 1, keys.index(key) + 1, value)
    workbook.save(path)
    read = read_prices(path)
    assert read.crew_rate == 88
    assert read.markup == Fraction(1, 4)
    assert read.margin is None
    assert (read.rows[0].length, read.rows[0].price, read.rows[0].pack, read.rows[0].taxed) == (144, 64.5, 1, "yes")
    assert list(facts())[4] == "markup"
