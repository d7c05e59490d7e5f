"""Code profiles as a person chooses, reads and copies them."""

import csv
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from railfuncs import data, profiles
from railfuncs.cli import main
from railfuncs.errors import RuleError

SHIPPED = {path.stem: path for path in sorted(data.path("profiles").glob("*.csv"))}
CAUTION = "check with the local code and a licensed professional"


@pytest.fixture(autouse=True)
def no_profile_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(profiles, "_own", {})


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A county that takes the model code over with a smaller sphere."""
    path = tmp_path / "our-county.csv"
    path.write_text(changed("gap,guard,in,,,4,a 4 in sphere", "gap,guard,in,,,3 7/8,a 3 7/8 in sphere"), "utf-8")
    return path


def changed(old: str, new: str) -> str:
    """The International Residential Code's file with one thing changed."""
    text = SHIPPED["irc-2018"].read_text(encoding="utf-8")
    assert text.count(old) == 1
    return text.replace(old, new)


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def run(capsys: pytest.CaptureFixture[str], *args: object) -> tuple[int, list[str]]:
    code = 0
    try:
        main(["codes", *(str(arg) for arg in args)])
    except SystemExit as end:
        code = int(end.code or 0)
    said = capsys.readouterr()
    return code, (said.out + said.err).splitlines()


def test_a_shipped_profile_is_chosen_by_its_name() -> None:
    assert profiles.chosen(" NBC ") == "nbc"
    with pytest.raises(RuleError, match=r"no code profile 'irc-1990'; there are: ad-k-2013, .* ending in \.csv"):
        profiles.chosen("irc-1990")


def test_a_file_of_ones_own_is_chosen_by_its_path_and_again(own: Path) -> None:
    assert profiles.chosen(str(own)) == "our-county"
    assert profiles.limit("our-county", "gap", "guard").under == profiles.Bound(3 + Fraction(7, 8), "3 7/8 in")
    own.write_text(own.read_text(encoding="utf-8").replace("3 7/8", "3 3/4"), encoding="utf-8")
    assert profiles.chosen(str(own)) == "our-county"
    assert profiles.limit("our-county", "gap", "guard").under == profiles.Bound(3 + Fraction(3, 4), "3 3/4 in")


def test_a_file_that_cannot_be_used_is_refused_when_it_is_chosen(own: Path) -> None:
    with pytest.raises(RuleError, match=r"nowhere\.csv cannot be read"):
        profiles.chosen(str(own.with_name("nowhere.csv")))
    twin = own.rename(own.with_name("irc-2018.csv"))
    with pytest.raises(RuleError, match="name of a shipped profile"):
        profiles.chosen(str(twin))
    assert profiles.names() == list(SHIPPED)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("gap,guard", "gaps,guard", "our-county.csv line 2: there is no check 'gaps'; there are: gap, triangle"),
        ("triangle,stair", "triangle,porch", "line 4: a triangle limit is for stair, not 'porch'"),
        ("step,tread", "step,going", "line 10: a step limit is for riser, tread, pitch, sum, not 'going'"),
        ("height,guard,in,36,,,", "height,guard,in,,36,,", "line 5: a height limit is given as least"),
        ("gap,guard,in,,,4,", "gap,guard,in,,4,,", "line 2: a gap limit is given as under"),
        ("step,riser,in,,7 3/4,,", "step,riser,in,,,8,", "line 9: a step limit is given as least or most"),
        ("step,riser,in", "step,riser,degrees", "line 9: the unit of a pitch is degrees"),
        ("step,riser,in", "step,pitch,in", "line 9: the unit of a pitch is degrees"),
        ("gap,stair,", "gap,guard,", "our-county.csv line 3 gives the gap for 'guard' twice"),
        ("a riser is at most", "a riser, they say, is at most", "line 9 has more cells than there are columns"),
        (',"read second-hand (Camden County NC, 2019)"\ngap,stair', "\ngap,stair", "line 2: certainty is blank"),
        ('"a 6 in sphere', '"a 6" in sphere', "line 4: a quote mark is missing or stands in the wrong place"),
        ("a guard is at least", '"a guard is at least', "line 5: a quote mark is missing"),
        ("the largest tread", '"the largest tread', "line 12: a quote mark is missing"),
    ],
)
def test_every_fault_of_a_file_is_one_sentence_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, sentence: str
) -> None:
    path = tmp_path / "our-county.csv"
    path.write_text(changed(old, new), encoding="utf-8")
    code, said = run(capsys, path)
    assert (code, len(said)) == (1, 1)
    assert sentence in said[0]


def test_a_profile_saved_by_a_spreadsheet_is_read(own: Path) -> None:
    """With semicolons, in Windows' own letters, its headers in capitals, blank lines at the end."""
    whole = profiles.read(own)
    table = [list(row.values()) for row in rows(own)]
    table[0][6] = "a 3½ in sphere must not pass – anywhere"
    with own.open("w", encoding="cp1252", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerows([[name.capitalize() for name in profiles.COLUMNS], *table, [""] * 10, [" "] * 10])
    read = profiles.read(own)
    assert read.keys() == whole.keys()
    assert read["gap", "guard"].what == "a 3½ in sphere must not pass – anywhere"
    assert read["height", "stair guard as handrail"] == whole["height", "stair guard as handrail"]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "has no column named check"),
        (",".join(profiles.COLUMNS).encode(), "holds no limits"),
        (b"\x81\x8d", "is no text; save it as CSV UTF-8"),
    ],
)
def test_a_file_without_limits_is_refused(own: Path, content: bytes, sentence: str) -> None:
    own.write_bytes(content)
    with pytest.raises(RuleError, match=sentence):
        profiles.chosen(str(own))


def test_the_list_says_editions_numbers_and_how_sure_we_are(capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys)
    assert code == 0
    assert CAUTION in said[-1]
    for name, path in SHIPPED.items():
        at = next(place for place, line in enumerate(said) if line.split()[:1] == [name])
        table = rows(path)
        assert all(row["edition"] in said[at] for row in table)
        assert f" {len(table)} limit" in said[at + 1]
        sure = Counter(row["certainty"].split(" (")[0] for row in table)
        assert all(f" {number} {words}" in said[at + 1] for words, number in sure.items())


def test_a_code_is_read_out(capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys, "irc-2018")
    assert code == 0
    assert CAUTION in said[-1]
    at = said.index("gap, stair: under 4 3/8 in (as wide as that is too wide)")
    assert said[at + 1 : at + 3] == [
        "    a 4 3/8 in sphere must not pass through the guard on the open side of a stair",
        "    International Residential Code 2018, R312.1.3 (read second-hand (Camden County NC, 2019))",
    ]
    assert "height, guard: at least 36 in" in said
    assert "height, handrail: at least 34 in, at most 38 in" in said
    assert "step, riser: at most 7 3/4 in" in said
    assert len([line for line in said if line and not line.startswith(" ")]) == 1 + 11 + 1


@pytest.mark.parametrize("name", SHIPPED)
def test_no_shipped_limit_is_told_apart_from_its_words(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, said = run(capsys, name)
    assert (code, [line for line in said if "LOOK" in line]) == (0, [])


@pytest.mark.parametrize(("limit", "words"), [("3 7/8", "4"), ("4", "4 3/8"), ("4", "14"), ("3/8", "4 3/8")])
def test_a_limit_changed_without_its_words_is_pointed_at(
    own: Path, capsys: pytest.CaptureFixture[str], limit: str, words: str
) -> None:
    own.write_text(changed("4,a 4 in sphere must not pass through a guard", f"{limit},a {words} in sphere"), "utf-8")
    said = run(capsys, own)[1]
    look = f"    LOOK AT THIS: the limit is {limit} in, but the words do not say so; change both"
    assert [line for line in said if "LOOK" in line] == [look]
    assert said[said.index(look) - 2] == f"    a {words} in sphere"


def test_a_copy_to_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copy = tmp_path / "our-county.csv"
    assert run(capsys, "irc-2018", "-o", copy)[0] == 0
    assert copy.read_bytes() == SHIPPED["irc-2018"].read_bytes()
    assert profiles.chosen(str(copy)) == "our-county"
    other = tmp_path / "next-county.csv"
    copy.write_text(changed("R311.7.8.1", "7 as amended"), encoding="utf-8")
    assert run(capsys, copy, "-o", other)[0] == 0
    assert other.read_bytes() == copy.read_bytes()


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (["irc-2018", "-o", "there.csv"], "there.csv is there already; give another name"),
        (["irc-2018", "-o", "IBC.csv"], "'IBC' is the name of a shipped code"),
        (["irc-2018", "-o", "ours.xlsx"], "must end in .csv"),
        (["irc-2018", "-o", "nowhere/ours.csv"], "the folder 'nowhere' does not exist"),
        (["irc-1990", "-o", "ours.csv"], "there is no code profile 'irc-1990'"),
        (["-o", "ours.csv"], "say which code to copy"),
    ],
)
def test_nothing_is_copied_over_or_under_a_wrong_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, args: list[str], sentence: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.csv").write_bytes(b"mine")
    code, said = run(capsys, *args)
    assert (code, len(said), sentence in said[0]) == (1, 1, True), said
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"there.csv": b"mine"}
