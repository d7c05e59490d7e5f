"""Comparisons with published limits: the data, the words, the exact edge, and a shop's own profile."""

import csv
import random
import re
from fractions import Fraction
from pathlib import Path

import ironcalc
import numpy
import pytest

import railfuncs
from railfuncs import data, profiles
from railfuncs.catalogue import functions
from railfuncs.errors import RuleError
from railfuncs.lengths import MM
from railfuncs.rules import checks
from railfuncs.tracing import Ref, formula, tracing

SHIPPED = sorted(data.path("profiles").glob("*.csv"))
TINY = Fraction(1, 10**6)
CAUTION = "check with the local code and a licensed professional"

OWN = """check,place,unit,least,most,under,what,section,edition,certainty
gap,guard,mm,,,89,an 89 mm sphere must not pass,7,Town of Example 2024,read
"""


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place for a shop's own profile, forgotten after the test."""
    monkeypatch.setattr(profiles, "_own", {})
    return tmp_path / "our-town.csv"


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_limit_says_what_it_is_and_how_sure_we_are(path: Path) -> None:
    assert len(profiles.read(path)) == len(table(path))
    for row in table(path):
        assert re.match(r"(read|second-hand|from memory, not confirmed)", row["certainty"]), row
        numbers = [row[column] for column in ("least", "most", "under") if row[column]]
        assert numbers
        # The words say the same numbers as the columns; 1000 mm is written out as 1 m.
        assert all(number in row["what"] or (number == "1000" and "1 m " in row["what"]) for number in numbers), row


def test_superseded_limits_are_not_shipped() -> None:
    """An 8 in sphere between 34 and 42 in stood in the International Building Code 2000, 1003.2.12.2 (read)."""
    spheres = {(row["under"], row["unit"]) for path in SHIPPED for row in table(path) if row["check"] == "gap"}
    assert spheres == {("4", "in"), ("4 3/8", "in"), ("21", "in"), ("100", "mm"), ("125", "mm")}


def told(path: Path, row: dict[str, str], value: Fraction) -> str:
    return checks.compared("measure", value, profiles.read(path)[row["check"], row["place"]])


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_limit_divides_at_its_exact_value(path: Path) -> None:
    """Each row read here by plain fractions; a millionth of an inch on either side tells."""
    for row in table(path):
        unit = MM if row["unit"] == "mm" else Fraction(1)
        for column, below, at, above in (
            ("under", "smaller than", "REACHES", "REACHES"),
            ("least", "LESS than", "not less than", "not less than"),
            ("most", "not more than", "not more than", "MORE than"),
        ):
            if not row[column]:
                continue
            whole, _, part = row[column].partition(" ")
            limit = (Fraction(whole) + Fraction(part or 0)) * unit
            for value, word in ((limit - TINY, below), (limit, at), (limit + TINY, above)):
                text = told(path, row, value)
                assert f"{word} {row[column]} {row['unit']}" in text, text
                for quoted in (row["what"], row["section"], row["edition"], row["certainty"], CAUTION):
                    assert quoted in text
                # No verdict, in any spelling.
                assert not re.search(r"\b(ok|pass(es|ed)?|fails?|compl(y|ies|iant)|legal|safe)\b", text.lower()
                                     .replace("must not pass", ""))  # fmt: skip
                assert "\n" not in text


def test_what_is_shown_never_contradicts_what_is_told() -> None:
    """A gap a hair under 4 in does not read 4.000, nor a height a hair under 36 in 36.000."""
    hair = Fraction(1, 10_000)
    assert checks.check_gap(4 - hair).startswith("gap 3.999 in, smaller than 4 in")
    assert checks.check_height(36 - hair).startswith("height 35.999 in, LESS than 36 in")
    assert checks.check_height(38 + hair, "handrail").startswith("height 38.001 in, MORE than 38 in")
    assert checks.check_step(Fraction(31, 4) + hair, 10).startswith("riser 7.751 in, MORE than 7 3/4 in")
    assert checks.check_gap(Fraction(1, 200)).startswith("gap 0.005 in")


def test_a_flight_is_judged_by_its_extremes() -> None:
    assert "0.375 in, not more than 3/8 in" in checks.check_uniform([7.5, 7.375, 7.75, 7.5])
    assert "0.391 in, MORE than 3/8 in" in checks.check_uniform([7.5, 7.375, "", 7 + Fraction(49, 64)])
    assert "from memory, not confirmed" in railfuncs.rail_check_uniform([["10", None], ["10 1/8", "10"]], "tread")
    for sizes in ([], [["", None]], [7.5, 0]):
        with pytest.raises(RuleError, match="give every riser as measured"):
            railfuncs.rail_check_uniform(sizes)


def test_the_triangle_grows_with_the_rail_until_it_is_no_measure() -> None:
    assert "smaller than 6 in" in checks.check_triangle(7.75, 10, 1.082)
    assert "REACHES 6 in" in checks.check_triangle(7.75, 10, 1.084)
    with pytest.raises(RuleError, match="too high above such steps"):
        checks.triangle(2, 10, 6)


def test_measurements_that_disagree_are_told_by_how_much() -> None:
    assert checks.check_measures(112, 160, 112.125, 160).endswith("0.125 in apart: within what is allowed")
    assert checks.check_measures(112, 160, 112.126, 160).endswith("0.126 in apart: MEASURE AGAIN")
    assert checks.check_measures(112, 160, 113, 160, 2).endswith("1.000 in apart: within what is allowed")


def test_a_shop_adds_its_own_profile(own: Path) -> None:
    own.write_text(OWN, encoding="utf-8-sig")
    assert profiles.add(own) == "our-town"
    assert "our-town" in profiles.names()
    text = railfuncs.rail_check_gap("89 mm", "guard", "Our-Town")
    assert text.startswith("gap 89.000 mm, REACHES 89 mm: an 89 mm sphere must not pass; Town of Example 2024, 7 (")
    assert checks.check_gap(89 * MM - TINY, "guard", "our-town").startswith("gap 88.999 mm, smaller than 89 mm")
    own.write_text(OWN.replace("89", "95"), encoding="utf-8")
    profiles.add(own)
    assert "95 mm" in checks.check_gap(3, "guard", "our-town")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("certainty", "source"), "our-town.csv has no column named certainty"),
        ((",mm,", ",ft,"), "our-town.csv line 2: the unit must be in, mm or degrees, not 'ft'"),
        ((",,,89,", ",,,,"), "line 2: give either under, or least or most or both"),
        ((",,,89,", ",1,,89,"), "line 2: give either under, or least or most or both"),
        ((",,,89,", ",90,80,,"), "line 2: the least is more than the most"),
        ((",,,89,", ",,,wide,"), "line 2, under: 'wide' is not a length"),
        ((",,,89,", ",,,-89,"), "line 2, under: a limit must be more than zero, not -89"),
        ((",read", ","), "line 2: certainty is blank"),
        (("\n", "\ngap,guard,in,,,4,a sphere,1,Town,read\n"), "gives the gap for 'guard' twice"),
    ],
)
def test_a_profile_that_cannot_be_used_is_refused(own: Path, change: tuple[str, str], sentence: str) -> None:
    own.write_text(OWN.replace(*change, 1), encoding="utf-8")
    with pytest.raises(RuleError, match=re.escape(sentence)) as refused:
        profiles.add(own)
    assert "\n" not in str(refused.value)
    assert "our-town" not in profiles.names()


def test_shipped_names_stay_the_shipped_profiles(own: Path) -> None:
    twin = own.with_name("irc-2018.csv")
    twin.write_text(OWN, encoding="utf-8")
    with pytest.raises(RuleError, match="name of a shipped profile"):
        profiles.add(twin)
    with pytest.raises(RuleError, match="cannot be read"):
        profiles.add(own.with_name("nowhere.csv"))


def test_what_is_not_published_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(profiles, "_own", {})
    with pytest.raises(RuleError, match="no code profile 'irc-1990'; there are: ad-k-2013, ada-2010, ibc"):
        checks.check_gap(3, "guard", "irc-1990")
    with pytest.raises(RuleError, match="the profile ncc-housing has no step limit for 'riser'; it has none at all"):
        checks.check_step(7, 10, "riser", "ncc-housing")
    with pytest.raises(RuleError, match="has no height limit for 'guard'; it has: dwelling, external balcony"):
        checks.check_height(40, "guard", "ad-k-2013")
    with pytest.raises(RuleError, match="chosen when the formula is made"):
        formula(checks.check_gap, Ref("A1"), Ref("B1"))


def test_formula_text_tells_what_python_tells() -> None:
    """Random measures, many at a limit or a hair off, for every limit of every profile, evaluated by IronCalc."""
    rng = random.Random(60)
    model = ironcalc.create("checks", "en", "UTC", "en")
    wanted = []
    for path in SHIPPED:
        for (check, place), limit in profiles.read(path).items():
            bounds = [bound.value for bound in (limit.least, limit.most, limit.under) if bound]
            for _ in range(12):
                off = Fraction(rng.randint(1, 99), rng.choice((64, 1000)))
                value = max(rng.choice(bounds) + rng.choice((0, 0, 1, -1)) * off, Fraction(0))
                row = len(wanted) + 1
                model.set_user_input(0, row, 1, repr(float(value)))
                with tracing():
                    text = checks.compared(f"{check} {place}", Ref(f"A{row}"), limit).text()
                # Excel holds no constant text over 255 characters, nor a formula over 8192.
                assert max(map(len, re.findall(r'"((?:[^"]|"")*)"', text))) < 255
                assert len(text) < 2_500
                model.set_user_input(0, row, 2, "=" + text)
                wanted.append(checks.compared(f"{check} {place}", value, limit))
    model.evaluate()
    assert len(wanted) > 400
    for row, text in enumerate(wanted, start=1):
        assert model.get_cell_value(0, row, 2) == text


def test_formulas_of_the_check_functions() -> None:
    rng = random.Random(61)
    model = ironcalc.create("checks", "en", "UTC", "en")
    names = ["RAIL_TRIANGLE", "RAIL_CHECK_TRIANGLE", "RAIL_CHECK_STEP", "RAIL_CHECK_MEASURES"]
    calls = []
    for row in range(1, 161):
        entry = functions()[rng.choice(names)]
        values = [Fraction(rng.randint(4 * 64, 14 * 64), 64) for _ in range(2)]
        if entry.name == "RAIL_CHECK_MEASURES":
            values += [value + Fraction(rng.choice((-3, 0, 0, 4, 12)), 64) for value in values]
        elif entry.name != "RAIL_CHECK_STEP":
            values.append(Fraction(rng.randint(0, 64), 64))
        for column, value in enumerate(values, start=1):
            model.set_user_input(0, row, column, repr(float(value)))
        defaults = [argument.default for argument in entry.arguments[len(values) :]]
        given = [Ref(f"{letter}{row}") for letter in "ABCD"[: len(values)]]
        model.set_user_input(0, row, 9, formula(entry.rule, *given, *defaults))
        calls.append((entry, values))
    model.evaluate()
    for row, (entry, values) in enumerate(calls, start=1):
        shown, wanted = model.get_cell_value(0, row, 9), entry(*values)
        assert shown == wanted if isinstance(wanted, str) else abs(shown - wanted) < 1e-9


def test_whole_columns() -> None:
    gaps = numpy.array([3.5, 4.0, 4.25])
    assert list(railfuncs.rail_check_gap(gaps)) == [checks.check_gap(gap) for gap in (3.5, 4, 4.25)]
    assert railfuncs.rail_check_gap([3.5, None, "4 in"], "stair") == [
        checks.check_gap(3.5, "stair"), None, checks.check_gap(4, "stair"),
    ]  # fmt: skip
    spheres = railfuncs.rail_triangle(numpy.array([7.5, 7.0]), numpy.array([10.0, 11.0]))
    assert spheres == pytest.approx([5, 4.9616], abs=5e-5)
