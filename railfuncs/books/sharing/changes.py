"""What changed between two revisions of a job: what moved, and by how much. Notes are not compared."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from railfuncs.books.files import replacing
from railfuncs.books.job import measured
from railfuncs.books.look import Look
from railfuncs.books.sharing.choice import Shown, Table
from railfuncs.books.sharing.laid import KINDS, LaidRun
from railfuncs.books.sharing.reading import JobBook, as_text, open_job
from railfuncs.books.sharing.runs import laid_runs
from railfuncs.books.sharing.values import Sheet

FACTS = ("Job", "Site", "Date", "Made by")
_UNITS = {"count": "", "steps": "", "angle": "degrees"}  # of what is no length


@dataclass(frozen=True)
class Change:
    """One thing that is not as it was; `run` is blank for the job's own facts."""

    run: str
    what: str
    before: Shown
    now: Shown

    @property
    def by(self) -> Shown:
        """How much more it is now, where both are numbers."""
        one, two = self.before.value, self.now.value
        if isinstance(one, str) or isinstance(two, str):
            return Shown("")
        return Shown(two - one, self.now.unit)

    @property
    def words(self) -> str:
        """
        >>> Change("Porch", "Opening", Shown(Fraction(60), "in"), Shown(Fraction(119, 2), "in")).words
        'Porch: Opening: 60 in before, 59 1/2 in now (1/2 in less)'
        """
        said = [f"{_worded(self.before)} before", f"{_worded(self.now)} now"]
        by = self.by.value
        more = ""
        if isinstance(by, Fraction):
            more = f" ({_worded(Shown(abs(by), self.by.unit))} {'more' if by > 0 else 'less'})"
        return f"{self.run + ': ' if self.run else ''}{self.what}: {', '.join(said)}{more}"


def _worded(shown: Shown) -> str:
    if shown.value == "":
        return "blank"
    return f"{shown.text} {shown.unit}".rstrip()


@dataclass(frozen=True)
class Changes:
    """All that changed: of the job and its runs, and mark by mark."""

    facts: list[Change]
    marks: list[Change]

    def lines(self) -> list[str]:
        """The changes in words, the marks of a board together."""
        said = [change.words for change in self.facts]
        boards = dict.fromkeys((change.run, change.what.partition(",")[0]) for change in self.marks)
        for run, board in boards:
            of = [change for change in self.marks if (change.run, change.what.partition(",")[0]) == (run, board)]
            said.append(f"{run}: {board}: {_moved(of)}")
        return said or ["Nothing changed."]


def _moved(marks: list[Change]) -> str:
    moved = [abs(change.by.value) for change in marks if isinstance(change.by.value, Fraction)]
    parts = []
    if moved:
        unit = marks[0].now.unit or marks[0].before.unit
        least, most = (Shown(part, unit).text for part in (min(moved), max(moved)))
        parts.append(f"{_counted(len(moved))} moved, by {least if least == most else f'{least} to {most}'} {unit}")
    for count, word in ((sum(change.before.value == "" for change in marks), "new"),
                        (sum(change.now.value == "" for change in marks), "gone")):  # fmt: skip
        if count:
            parts.append(f"{_counted(count)} {word}")
    return ", ".join(parts)


def _counted(count: int) -> str:
    return "1 mark" if count == 1 else f"{count} marks"


def compare(old: Path, new: Path) -> Changes:
    """What is not in `new` as it was in `old`; runs are the same where their names are.

    Raises:
        BookError: one of the workbooks cannot be read, or is not laid out as measured.
    """
    before, now = open_job(old), open_job(new)
    runs, others = ({laid.run.name: laid for laid in laid_runs(book)} for book in (before, now))
    facts = list(_facts(before, now))
    marks: list[Change] = []
    for name in dict.fromkeys([*runs, *others]):
        one, two = runs.get(name), others.get(name)
        if one is None or two is None:
            facts.append(Change(name, "Run", Shown("there" if one else ""), Shown("there" if two else "")))
        elif one.run.unit != two.run.unit:
            facts.append(Change(name, "Unit (its lengths are not compared)", Shown(one.run.unit), Shown(two.run.unit)))
        else:
            facts.extend(_run(one, two))
            marks.extend(_marks(one, two))
    return Changes(facts, marks)


def _facts(before: JobBook, now: JobBook) -> Iterator[Change]:
    for label in FACTS:
        one, two = (_fact(book, label) for book in (before, now))
        if one != two:
            yield Change("", label, Shown(one), Shown(two))


def _fact(book: JobBook, label: str) -> str:
    sheet = book.sheet("Measured")
    return next((as_text(sheet.value(row, 2)) for row in sheet.labelled(label)), "")


def _run(one: LaidRun, two: LaidRun) -> Iterator[Change]:
    unit = one.run.unit
    yield from _if_changed(one, "Laid out", KINDS[one.kind], KINDS[two.kind], "")
    for key, label, _ in measured.rows_of(sloped=True):
        # What the balusters stand on is told by how the run is laid out.
        if key not in ("", "notes", "stands"):
            before, now = (getattr(laid.run, key) if measured.asked_of(laid.kind, key) else None for laid in (one, two))
            yield from _if_changed(one, label, before, now, _UNITS.get(key, unit))
    yield from _if_changed(one, "A mark of the tape", one.step, two.step, unit)
    yield from _if_changed(one, "Balusters", Fraction(one.count), Fraction(two.count), "")
    yield from _if_changed(one, "Exact gap", one.gap, two.gap, unit)
    if one.slope or two.slope:
        yield from _if_changed(one, "Opening at the rail, level", one.opening, two.opening, unit)
        yield from _if_changed(one, "The slope's angle from level", one.pitch, two.pitch, "degrees")
    for piece in dict.fromkeys(piece.name for laid in (one, two) for piece in laid.pieces):
        yield from _if_changed(one, f"{piece}: cut to", one.cut(piece), two.cut(piece), unit)
        if piece.startswith("Baluster ") and one.kind == two.kind:
            yield from _if_changed(one, f"{piece}: how many", one.number_of(piece), two.number_of(piece), "")


def _if_changed(laid: LaidRun, what: str, one: Any, two: Any, unit: str) -> Iterator[Change]:
    if one != two:
        yield Change(laid.run.name, what, _shown(one, unit), _shown(two, unit))


def _shown(value: Any, unit: str) -> Shown:
    return Shown(value, unit) if isinstance(value, Fraction) else Shown("" if value is None else str(value))


def _marks(one: LaidRun, two: LaidRun) -> Iterator[Change]:
    for board in dict.fromkeys((*one.marked, *two.marked)):
        old, new = (laid.marks(board) if board in laid.marked else [] for laid in (one, two))
        for i in range(max(len(old), len(new))):
            before, now = (each[i] if i < len(each) else None for each in (old, new))
            yield from _if_changed(one, f"{board}, No. {i + 1}", before, now, one.run.unit)


def write_changes(old: Path, new: Path, path: Path) -> list[str]:
    """Write the changes as a workbook; return them in words.

    Raises:
        BookError: one sentence; nothing is written then.
    """
    changes = compare(old, new)
    book = Workbook()
    look = Look(book)
    first = Sheet(book.active, look, (18, 44, 16, 16, 16))
    book.active.title = "Changes"
    _page(first, "Changes of the job", changes.facts)
    _page(Sheet(book.create_sheet("Marks moved"), look, (18, 22, 16, 16, 16)), "Marks moved", changes.marks)
    book.properties.creator = "railfuncs"
    with replacing(path) as temporary:
        book.save(temporary)
    return changes.lines()


def _page(sheet: Sheet, title: str, changes: list[Change]) -> None:
    sheet.line(title, "title")
    sheet.line("What is more now is positive, what is less negative. Notes are not compared.", "lead")
    sheet.row += 1
    heads = [Shown(text) for text in ("Run", "What", "Before", "Now", "Moved by")]
    rows = [[Shown(change.run), Shown(change.what), change.before, change.now, change.by] for change in changes]
    sheet.table(Table(title, heads, rows or [[Shown("Nothing changed.")]]))
