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
from railfuncs.books.sharing.reading import BOARDS, JobBook, LaidRun, as_text, laid_runs, open_job
from railfuncs.books.sharing.values import Sheet

FACTS = ("Job", "Site", "Date", "Made by")
_PIECES = (*BOARDS, "Baluster")


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
    for key, label, _ in measured.ROWS:
        if key and key != "notes":
            values = getattr(one.run, key), getattr(two.run, key)
            yield from _if_changed(one, label, *values, "" if key == "count" else unit)
    yield from _if_changed(one, "A mark of the tape", one.step, two.step, unit)
    yield from _if_changed(one, "Balusters", Fraction(one.count), Fraction(two.count), "")
    yield from _if_changed(one, "Exact gap", one.gap, two.gap, unit)
    for piece in _PIECES:
        yield from _if_changed(one, f"{piece}: cut to", one.cut(piece), two.cut(piece), unit)


def _if_changed(laid: LaidRun, what: str, one: Any, two: Any, unit: str) -> Iterator[Change]:
    if one != two:
        yield Change(laid.run.name, what, _shown(one, unit), _shown(two, unit))


def _shown(value: Any, unit: str) -> Shown:
    return Shown(value, unit) if isinstance(value, Fraction) else Shown("" if value is None else str(value))


def _marks(one: LaidRun, two: LaidRun) -> Iterator[Change]:
    for board in BOARDS:
        old, new = one.marks(board), two.marks(board)
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
