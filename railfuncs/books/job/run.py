"""The cells of one run, gathered while the pages are written."""

from dataclasses import dataclass, field
from fractions import Fraction

from railfuncs import profiles
from railfuncs.books.cells import Block, Cell
from railfuncs.books.measure import Run
from railfuncs.lengths import MM


@dataclass(frozen=True)
class PieceCells:
    """Pieces of one run that are cut alike: how many, what each is cut to, and what each takes of a stick."""

    name: str  # Handrail, Shoe or Baluster
    called: str
    count: Cell
    cut: Cell
    stick: Cell


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
    pieces: list[PieceCells] = field(default_factory=list)
    blocks: dict[str, Block] = field(default_factory=dict)  # risers and treads measured one by one
    slope_column: int = 0
    rows: dict[str, int] = field(default_factory=dict)  # of the page Slope, by label

    @property
    def unit(self) -> str:
        return self.run.unit

    @property
    def kind(self) -> str:
        return self.run.kind

    def along(self, name: str) -> Cell:
        """A length as it lies on the boards: along the slope, where the run has one."""
        return self.cells.get(f"along {name}", self.cells[name])

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

    least: Fraction | None
    most: Fraction | None
    under: Fraction | None
    cited: str

    @property
    def value(self) -> Fraction:
        """Its one bound."""
        bound = self.under or self.least or self.most
        assert bound is not None  # a limit has one bound at least
        return bound


USUAL_CODE = {"in": "irc-2018", "mm": "ad-k-2013"}
# Where a code may tell these apart, in the order in which they are looked for. A job of balconies: where a code tells
# them from rooms, the balcony's height is the one compared.
_PLACES = {
    ("gap", "level"): ("guard",),
    ("gap", "slope"): ("stair", "guard"),
    ("height", "level"): ("external balcony", "guard"),
    ("height", "slope"): ("stair", "dwelling", "guard"),
    ("handrail", "slope"): ("handrail",),
    ("triangle", "slope"): ("stair",),
    **{("step", kind): (kind,) for kind in ("riser", "tread", "pitch", "sum")},
    **{("uniform", kind): (kind,) for kind in ("riser", "tread")},
}


def published(check: str, place: str, unit: str, code: str = "") -> Published | None:
    """The published limit that a run in this unit is compared with; None where the code has none.

    Args:
        place: level or slope, or what of a step
        code: the job's code profile; blank for the usual one of the unit
    """
    limits = profiles.limits(code or USUAL_CODE[unit])
    checked = "height" if check == "handrail" else check
    for at in _PLACES[check, place]:
        if (checked, at) in limits:
            return _published(limits[checked, at], unit)
    return None


def _published(limit: profiles.Limit, unit: str) -> Published:
    def in_unit(bound: profiles.Bound | None) -> Fraction | None:
        if bound is None:
            return None
        return bound.value / MM if unit == "mm" and limit.unit != "degrees" else bound.value

    cited = f"{limit.edition} {limit.section}: {limit.what} ({limit.certainty})"
    return Published(in_unit(limit.least), in_unit(limit.most), in_unit(limit.under), cited)


LOCALLY = "Codes are adopted and amended locally. A gap exactly as wide as the limit is taken to reach it."
CAUTION = (
    "Guards keep people from falling. These sheets compare measurements with published limits; they prove nothing"
    " about strength and are no verdict on the job. Check with the local code and a licensed professional."
)
