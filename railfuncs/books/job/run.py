"""The cells of one run, gathered while the pages are written."""

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache

from railfuncs import profiles
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
    """A published limit in the run's unit, and the sentence that says where it stands and how sure we are of it."""

    value: Fraction
    cited: str


# A job of balconies: where a code tells them from rooms, the balcony's height is the one compared.
_COMPARED = {
    ("opening", "in"): ("irc-2018", "gap", "guard"),
    ("opening", "mm"): ("ad-k-2013", "gap", "guard"),
    ("height", "in"): ("irc-2018", "height", "guard"),
    ("height", "mm"): ("ad-k-2013", "height", "external balcony"),
}


@cache
def published(key: str, unit: str) -> Published:
    """The published limit that a run in this unit is compared with."""
    limit = profiles.limit(*_COMPARED[key, unit])
    bound = limit.under or limit.least
    assert bound is not None
    value = bound.value / MM if unit == "mm" else bound.value
    return Published(value, f"{limit.edition} {limit.section}: {limit.what} ({limit.certainty})")


CAUTION = (
    "Guards keep people from falling. These sheets compare measurements with published limits; they prove nothing"
    " about strength and are no verdict on the job. Check with the local code and a licensed professional."
)
