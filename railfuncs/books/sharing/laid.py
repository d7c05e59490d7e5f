"""A run laid out by the rules, as it is marked and cut: on the level, or along its slope.

Gaps and openings are level; what lies on a board (its length, its marks) is along the board.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from railfuncs.books.job.cut_list import MOST_ON_A_TREAD
from railfuncs.books.job.measured import spaced
from railfuncs.books.job.shop import set_up_step
from railfuncs.books.measure import Run
from railfuncs.rules import cutting, elevation, flight
from railfuncs.rules.measure import round_to
from railfuncs.rules.rake import end_cut, pitch, plumb, rake, rake_baluster, rake_mortise, rake_rail
from railfuncs.rules.spacing import gap, place
from railfuncs.rules.treads import tread_gap

BOARDS = ("Handrail", "Shoe")
TREAD = "Tread"  # what is marked where there is no shoe
KINDS = {"level": "on the level", "rake": "on a slope, with a shoe", "treads": "on a slope, balusters on its treads"}


@dataclass(frozen=True)
class Piece:
    """Pieces that are cut alike: what the cut list calls them, how many, and what each is cut to."""

    name: str
    count: int
    cut: Fraction


@dataclass(frozen=True)
class LaidRun:
    """A run as measured in the workbook and laid out by the rules; lengths exact, in the run's own unit.

    `worked` holds its measurements and what follows for its slope; `gap`, `shoe` and `shift` are level.
    """

    run: Run
    step: Fraction
    worked: Mapping[str, Any]
    count: int
    gap: Fraction
    shoe: Fraction
    shift: Fraction

    @property
    def kind(self) -> str:
        return self.run.kind

    @property
    def boards(self) -> tuple[str, ...]:
        return BOARDS if self.kind != "treads" else BOARDS[:1]

    @property
    def marked(self) -> tuple[str, ...]:
        """What marks are made on."""
        return BOARDS if self.kind != "treads" else (BOARDS[0], TREAD)

    @property
    def slope(self) -> tuple[Any, ...]:
        """Rise and run; nothing on the level."""
        return () if self.kind == "level" else (self.worked["slope_rise"], self.worked["slope_run"])

    @property
    def pitch(self) -> Fraction:
        """Degrees from level."""
        return Fraction(pitch(*self.slope)) if self.slope else Fraction(0)

    @property
    def saw(self) -> Fraction:
        """Degrees off square of an end at a plumb newel."""
        return Fraction(end_cut(*self.slope)) if self.slope else Fraction(0)

    @property
    def opening(self) -> Fraction:
        """Level, newel to newel."""
        return Fraction(self.worked["level_opening"])

    @property
    def mouth(self) -> Fraction:
        """Length of a mortise along its board."""
        return Fraction(rake_mortise(self.run.width, *self.slope)) if self.slope else self.run.width

    def plumb(self, square: Fraction) -> Fraction:
        """A height that is stacked square to the boards, as a plumb line meets it."""
        return Fraction(plumb(square, *self.slope)) if self.slope else square

    def climb(self, place: Fraction) -> Fraction:
        """How much the boards have risen at a level distance from the left newel's face."""
        return Fraction(elevation.climb(place, self.opening, self.run.up, *self.slope)) if self.slope else Fraction(0)

    def length(self, board: str) -> Fraction:
        """Of a board along its edge."""
        level = self.opening if board == "Handrail" else self.shoe
        return Fraction(rake_rail(level, *self.slope)) if self.slope else level

    def level_places(self) -> list[Fraction]:
        """Exact centres, level, from the left newel's face."""
        numbers = range(1, self.count + 1)
        if self.kind == "treads":
            at = self.worked
            return [Fraction(flight.place_from_left(self._place(i), at["start"], at["each"], self.opening, self.run.up))
                    for i in numbers]  # fmt: skip
        return [Fraction(place(self.gap, self.run.width, i, 0)) for i in numbers]

    def places(self, board: str) -> list[Fraction]:
        """Exact centres from the left end of a board, along it."""
        if self.kind == "treads":
            return [self._along(level) for level in self.level_places()]
        shift = Fraction(0) if board == "Handrail" else self.shift
        even = self._along(self.gap), self._along(self.run.width)
        return [Fraction(place(*even, i, self._along(shift))) for i in range(1, self.count + 1)]

    def _along(self, level: Any) -> Fraction:
        return Fraction(rake(level, *self.slope)) if self.slope else level

    def _place(self, number: int) -> Any:
        """Where a baluster counted from the left stands, counted up the stair."""
        return flight.which_place(number, self.worked["first_no"], self.worked["last_no"], self.run.up)

    def marks(self, board: str) -> list[Fraction]:
        """Centres as marked, each rounded once from its exact place; on a tread, level from its nosing in."""
        if board != TREAD:
            return [Fraction(round_to(place, self.step)) for place in self.places(board)]
        at = self.worked
        return [Fraction(flight.tread_mark(i, at["first_no"], at["last_no"], at["each"], at["each_tread"], at["first"],
                                           self.run.up, self.step)) for i in range(1, self.count + 1)]  # fmt: skip

    def steps(self) -> list[int]:
        """The step on which each baluster stands, from the left; the lowest step is 1."""
        at, most = self.worked, int(self.worked["steps"])
        stand = at["first_no"], at["last_no"], at["each_tread"], at["steps"]
        upward = [step for step in range(1, most + 1) for _ in range(int(flight.on_this_step(step, *stand)))]
        return upward if self.run.up == "right" else upward[::-1]

    def long_points(self, board: str) -> Fraction:
        """What a board takes of a stick; on the level its length."""
        level = self.opening if board == "Handrail" else self.shoe
        thickness = self.run.rail_thickness if board == "Handrail" else self.run.shoe_thickness
        return self._fine(flight.long_points(level, thickness, *self.slope)) if self.slope else self._fine(level)

    @cached_property
    def pieces(self) -> list[Piece]:
        """The pieces of the run in the order of the cut list, lengths to the set-up's own step."""
        boards = [Piece(board, 1, self.board_cut(board)) for board in self.boards]
        if self.kind == "treads":
            return [*boards, *self._on_treads()]
        run = self.run
        depths = run.clear, run.shoe_depth, run.rail_depth
        sloped = (*depths, *self.slope, run.play)
        long = rake_baluster(*sloped) if self.slope else cutting.cut_baluster(*sloped)
        return [*boards, Piece("Baluster", self.count, self._fine(long))]

    def _on_treads(self) -> list[Piece]:
        run, at = self.run, self.worked
        stand = at["first_no"], at["last_no"], at["each_tread"]
        made = []
        for number in range(1, MOST_ON_A_TREAD + 1):
            count = int(flight.of_this_length(number, *stand))
            if count:
                long = flight.length_on_tread(number, run.height, run.rail_thickness, run.riser, run.tread, run.first,
                                              at["each_tread"], run.shoe_depth, run.rail_depth, run.play)  # fmt: skip
                made.append(Piece(f"Baluster {number} of a tread", count, self._fine(long)))
        return made

    def _fine(self, length: Any) -> Fraction:
        return Fraction(round_to(length, set_up_step(self.run.unit)))

    def board_cut(self, board: str) -> Fraction:
        """Length a board is cut to along its edge, to the set-up's own step."""
        return self._fine(self.length(board))

    def number_of(self, piece: str) -> Fraction:
        """How many pieces the run has of a kind."""
        return next((Fraction(each.count) for each in self.pieces if each.name == piece), Fraction(0))

    def cut(self, piece: str) -> Fraction | None:
        """Length a piece is cut to; None where the run has no such piece."""
        return next((each.cut for each in self.pieces if each.name == piece), None)


def lay_out(run: Run, step: Fraction) -> LaidRun:
    """Lay out a run that can be laid out, to be marked to a step of the tape."""
    made = spaced(run)
    count = int(made.count)
    if run.kind == "treads":
        even = tread_gap(run.tread, run.width, made.worked["each_tread"])
    else:
        even = gap(made.worked["level_opening"], run.width, count)
    return LaidRun(run, step, made.worked, count, *map(Fraction, (even, made.shoe, made.shift)))
