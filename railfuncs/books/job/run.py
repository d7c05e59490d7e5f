"""The cells of one run, gathered while the pages are written."""

import csv
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache

from railfuncs import data
from railfuncs.books.cells import Cell
from railfuncs.books.measure import Run
from railfuncs.lengths import MM


@dataclass
class RunCells:
    """Cells of one run by what they hold: the measured inputs, then what the later pages work out."""

    number: int
    run: Run
    cells: dict[str, Cell] = field(default_factory=dict)
    rail_marks: list[Cell] = field(default_factory=list)
    shoe_marks: list[Cell] = field(default_factory=list)
    gaps: list[Cell] = field(default_factory=list)
    feet_marks: list[Cell] = field(default_factory=list)

    @property
    def unit(self) -> str:
        return self.run.unit

    @property
    def per_inch(self) -> Fraction:
        return 1 / MM if self.unit == "mm" else Fraction(1)

    def marks_line(self, line: int) -> list[Cell]:
        """The cells of one baluster in the list of marks, in the order of its columns."""
        in_feet = self.feet_marks[2 * line : 2 * line + 2]
        return [self.rail_marks[line], self.shoe_marks[line], self.gaps[line], *in_feet]

    def __getitem__(self, name: str) -> Cell:
        return self.cells[name]


@dataclass(frozen=True)
class Published:
    """A published limit, with where it stands and how sure we are of it."""

    value: Fraction
    what: str
    section: str
    edition: str
    certainty: str

    @property
    def cited(self) -> str:
        return f"{self.edition} {self.section}: {self.what} ({self.certainty})"


@cache
def published(key: str, unit: str) -> Published:
    """The published limit that a run in this unit is compared with."""
    with data.path("limits.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if (row["key"], row["unit"]) == (key, unit):
                texts = (row[name] for name in ("what", "section", "edition", "certainty"))
                return Published(Fraction(row["value"]), *texts)
    raise KeyError(f"limits.csv has no {key} in {unit}")


CAUTION = (
    "Guards keep people from falling. These sheets compare measurements with published limits; they prove nothing"
    " about strength and are no verdict on the job. Check with the local code and a licensed professional."
)
