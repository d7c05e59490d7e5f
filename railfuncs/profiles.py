"""Published limits by code profile: tables of data, ours in `shared/profiles` and a shop's own.

A profile is a CSV file named as the profile, one limit a row: `check` and `place` say what is compared (a `gap` of a
`guard`), `unit` is in, mm or degrees, and the limit is `least`, `most`, both, or `under` (a sphere that must not pass:
as wide as this is too wide). `what`, `section`, `edition` and `certainty` are quoted beside every comparison.
Codes are adopted and amended locally: a shop copies a file, changes it to the local code and adds it by `add`.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from io import StringIO
from pathlib import Path

from railfuncs import data, lengths
from railfuncs.errors import LengthError, RuleError

UNITS = ("in", "mm", "degrees")
COLUMNS = ("check", "place", "unit", "least", "most", "under", "what", "section", "edition", "certainty")
# Each check that is made, and the column that a limit of it must fill, or one of them.
CHECKS = {
    "gap": ("under",), "triangle": ("under",), "height": ("least",), "step": ("least", "most"), "uniform": ("most",),
}  # fmt: skip
# Checks that are made at these places only; gaps and heights are compared wherever a profile names a place.
PLACES = {"triangle": ("stair",), "step": ("riser", "tread", "pitch", "sum"), "uniform": ("riser", "tread")}


@dataclass(frozen=True)
class Bound:
    """One end of a limit: in inches, or degrees for a pitch, and as the table writes it."""

    value: Fraction
    text: str


@dataclass(frozen=True)
class Limit:
    """One published limit; its texts are the table's."""

    check: str
    place: str
    unit: str
    least: Bound | None
    most: Bound | None
    under: Bound | None
    what: str
    section: str
    edition: str
    certainty: str

    @property
    def cited(self) -> str:
        """Where the limit stands and how sure we are of it."""
        return f"{self.edition}, {self.section} ({self.certainty})"


Profile = dict[tuple[str, str], Limit]

_own: dict[str, Profile] = {}


def read(path: Path) -> Profile:
    """Read one profile file, ours or a shop's own.

    Raises:
        RuleError: one sentence with the file and line of what cannot be read.

    >>> read(data.path("profiles") / "irc-2018.csv")["gap", "guard"].cited
    'International Residential Code 2018, R312.1.3 (read second-hand (Camden County NC, 2019))'
    """
    profile: Profile = {}
    for where, row in _rows(path):
        limit = _limit(row, where)
        if (limit.check, limit.place) in profile:
            raise RuleError(f"{where} gives the {limit.check} for '{limit.place}' twice")
        profile[limit.check, limit.place] = limit
    if not profile:
        raise RuleError(f"{path.name} holds no limits; start from a copy of a shipped profile")
    return profile


def _rows(path: Path) -> Iterator[tuple[str, dict[str, str | None]]]:
    """The rows that hold something, each with the file and line it begins at."""
    text = _text(path)
    # A spreadsheet writes the list separator of its country.
    delimiter = max(",;\t", key=text.partition("\n")[0].count)
    table = csv.DictReader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    try:
        table.fieldnames = [name.strip().lower() for name in table.fieldnames or ()]
        missing = [column for column in COLUMNS if column not in table.fieldnames]
        if missing:
            raise RuleError(f"{path.name} has no column named {missing[0]}; start from a copy of a shipped profile")
        line = table.line_num + 1
        for row in table:
            if None in row:
                raise RuleError(
                    f"{path.name} line {line} has more cells than there are columns;"
                    " put quote marks around a text that holds a comma"
                )
            if any((text or "").strip() for text in row.values()):
                yield f"{path.name} line {line}", row
            line = table.line_num + 1
    except csv.Error as error:
        raise RuleError(f"{path.name} line {line}: a quote mark is missing or stands in the wrong place") from error


def _text(path: Path) -> str:
    try:
        return data.decoded(path.read_bytes())
    except OSError as error:
        raise RuleError(f"the profile {path.name} cannot be read: {(error.strerror or str(error)).lower()}") from error
    except UnicodeDecodeError as error:
        raise RuleError(f"the profile {path.name} cannot be read: it is no text; save it as CSV UTF-8") from error


def _limit(row: dict[str, str | None], where: str) -> Limit:
    texts = {column: (row[column] or "").strip() for column in COLUMNS}
    unit = texts["unit"].lower()
    if unit not in UNITS:
        raise RuleError(f"{where}: the unit must be in, mm or degrees, not '{texts['unit']}'")
    blank = [c for c in ("check", "place", "what", "section", "edition", "certainty") if not texts[c]]
    if blank:
        raise RuleError(f"{where}: {blank[0]} is blank; every limit says what it is and where it stands")
    least, most, under = (_bound(texts[column], unit, f"{where}, {column}") for column in ("least", "most", "under"))
    if (under is None) == (least is None and most is None):
        raise RuleError(f"{where}: give either under, or least or most or both")
    if least is not None and most is not None and least.value > most.value:
        raise RuleError(f"{where}: the least is more than the most")
    _refuse_what_is_never_compared(texts, unit, where)
    return Limit(
        texts["check"].lower(), texts["place"].lower(), unit, least, most, under,
        texts["what"], texts["section"], texts["edition"], texts["certainty"],
    )  # fmt: skip


def _refuse_what_is_never_compared(texts: dict[str, str], unit: str, where: str) -> None:
    """A slip of the keys must not leave a limit that a person counts on out of every comparison."""
    check, place = texts["check"].lower(), texts["place"].lower()
    if check not in CHECKS:
        raise RuleError(f"{where}: there is no check '{texts['check']}'; there are: {', '.join(CHECKS)}")
    if place not in PLACES.get(check, (place,)):
        raise RuleError(f"{where}: a {check} limit is for {', '.join(PLACES[check])}, not '{texts['place']}'")
    if (unit == "degrees") != ((check, place) == ("step", "pitch")):
        raise RuleError(f"{where}: the unit of a pitch is degrees, and of everything else in or mm")
    if not any(texts[column] for column in CHECKS[check]):
        raise RuleError(f"{where}: a {check} limit is given as {' or '.join(CHECKS[check])}")


def _bound(text: str, unit: str, where: str) -> Bound | None:
    if not text:
        return None
    try:
        bound = lengths.read(text, unit if unit == "mm" else "in")
    except LengthError as error:
        raise RuleError(f"{where}: {error}") from error
    if bound <= 0:
        raise RuleError(f"{where}: a limit must be more than zero, not {text}")
    return Bound(bound, f"{text} {unit}")


def add(path: Path) -> str:
    """Add a shop's own profile for this run of the program; return the name it goes by, its file's.

    Raises:
        RuleError: the file cannot be read, or bears the name of a shipped profile.
    """
    name = path.stem.lower()
    if name in _shipped():
        raise RuleError(f"'{name}' is the name of a shipped profile; give the file {path.name} a name of its own")
    _own[name] = read(path)
    return name


def chosen(name_or_path: str) -> str:
    """The name of the profile a person means: a shipped one by its name, or their own file, which is then added.

    The same file may be chosen again; it is read anew.

    Raises:
        RuleError: no such profile, or the file cannot be used; one sentence that lists what there is.

    >>> chosen("IRC-2018")
    'irc-2018'
    """
    said = name_or_path.strip()
    if said.lower().endswith(".csv"):
        return add(Path(said))
    if said.lower() not in names():
        raise RuleError(
            f"there is no code profile '{said}'; there are: {', '.join(names())}, or a file of your own ending in .csv"
        )
    return said.lower()


def names() -> list[str]:
    """The profiles that can be named, shipped and added.

    >>> "irc-2018" in names()
    True
    """
    return sorted([*_shipped(), *_own])


def limit(profile: str, check: str, place: str) -> Limit:
    """The limit a profile publishes for a check at a place.

    Raises:
        RuleError: no such profile, or nothing published there; the sentence lists what there is.

    >>> limit("irc-2018", "gap", "stair").under
    Bound(value=Fraction(35, 8), text='4 3/8 in')
    """
    name, at = str(profile).strip().lower(), str(place).strip().lower()
    published = limits(str(profile))
    if (check, at) not in published:
        places = [place for kind, place in published if kind == check]
        known = f"it has: {', '.join(places)}" if places else "it has none at all"
        raise RuleError(f"the profile {name} has no {check} limit for '{place}'; {known}")
    return published[check, at]


def limits(profile: str) -> Profile:
    """All limits of a shipped or added profile, by check and place, in the order of its file.

    Raises:
        RuleError: no such profile; the sentence lists what there is.

    >>> list(limits("ada-2010"))
    [('height', 'handrail')]
    """
    name = profile.strip().lower()
    published = _own.get(name) or _shipped().get(name)
    if published is None:
        raise RuleError(f"there is no code profile '{profile}'; there are: {', '.join(names())}")
    return published


def shipped() -> list[str]:
    """The profiles that come with railfuncs."""
    return list(_shipped())


@cache
def _shipped() -> dict[str, Profile]:
    return {path.stem: read(path) for path in sorted(data.path("profiles").glob("*.csv"))}
