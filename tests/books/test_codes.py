"""Code profiles as a person chooses, reads and copies them."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from railfuncs import data, profiles
from railfuncs.errors import RuleError

SHIPPED = sorted(path.stem for path in data.path("profiles").glob("*.csv"))


@pytest.fixture(autouse=True)
def no_profile_stays() -> Iterator[None]:
    yield
    profiles._own.clear()


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A county that takes the model code over with a smaller sphere."""
    path = tmp_path / "our-county.csv"
    text = (data.path("profiles") / "irc-2018.csv").read_text(encoding="utf-8")
    assert text.count("gap,guard,in,,,4,") == 1
    path.write_text(text.replace("gap,guard,in,,,4,", "gap,guard,in,,,3 7/8,"), encoding="utf-8")
    return path


def test_a_shipped_profile_is_chosen_by_its_name() -> None:
    assert profiles.chosen(" NBC ") == "nbc"
    with pytest.raises(RuleError, match="no code profile 'irc-1990'; there are: ad-k-2013, .* ending in .csv"):
        profiles.chosen("irc-1990")


def test_a_file_of_ones_own_is_chosen_by_its_path_and_again(own: Path) -> None:
    assert profiles.chosen(str(own)) == "our-county"
    assert profiles.limit("our-county", "gap", "guard").under == profiles.Bound(3 + Fraction(7, 8), "3 7/8 in")
    own.write_text(own.read_text(encoding="utf-8").replace("3 7/8", "3 3/4"), encoding="utf-8")
    assert profiles.chosen(str(own)) == "our-county"
    assert profiles.limit("our-county", "gap", "guard").under == profiles.Bound(3 + Fraction(3, 4), "3 3/4 in")


def test_a_file_that_cannot_be_used_is_refused_when_it_is_chosen(own: Path) -> None:
    with pytest.raises(RuleError, match=r"nowhere\.csv"):
        profiles.chosen(str(own.with_name("nowhere.csv")))
    twin = own.rename(own.with_name("irc-2018.csv"))
    with pytest.raises(RuleError, match="name of a shipped profile"):
        profiles.chosen(str(twin))
    assert profiles.names() == SHIPPED


