"""Folders of what is sent to a contractor, and of paper for the shop."""

import datetime
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from railfuncs.books.files import replacing
from railfuncs.books.sharing.choice import Shared, gather
from railfuncs.books.sharing.document import write_document
from railfuncs.books.sharing.paper import unprintable
from railfuncs.books.sharing.reading import open_job
from railfuncs.books.sharing.runs import laid_runs
from railfuncs.books.sharing.shop import write_cards, write_labels
from railfuncs.books.sharing.strips import write_strips
from railfuncs.books.sharing.workbook import write_workbook
from railfuncs.errors import BookError
from railfuncs.progress import step


@dataclass(frozen=True)
class Made:
    """The files made, and what a person should know of them."""

    files: list[Path]
    said: list[str]


def share(job: Path, folder: Path, paper: str = "letter", on: datetime.date | None = None) -> Made:
    """Write what the job's sheet Sharing marks yes, and nothing else.

    Args:
        job: a job workbook
        folder: where to write; made if it is not there
        paper: letter or a4
        on: the date that is shown; today by default
    Raises:
        BookError: one sentence; nothing is written then.
    """
    step(f"Reading {job.name}")
    shared = gather(open_job(job), on or datetime.date.today())
    ready(folder)
    stem = f"railing-rev-{_slug(shared)}"
    files = [folder / f"{stem}.xlsx", folder / f"{stem}.pdf"]
    for file in files:
        if file.exists():  # perhaps sent already: two papers of one revision would say different things
            raise BookError(f"{file} is there already; raise Revision on the sheet Sharing, or give another folder")
    with replacing(files[0]) as workbook, replacing(files[1]) as document:
        step("Writing the workbook")
        write_workbook(shared, workbook)
        step("Drawing the PDF")
        write_document(shared, document, paper)
    said = _lost_letters(_texts(shared))
    if shared.left_out:
        said.append(f"Left out, as notes, labour or money: {'; '.join(shared.left_out)}.")
    return Made(files, said)


def _texts(shared: Shared) -> Iterator[str]:
    yield from (part for label, shown in shared.facts for part in (label, shown.text))
    for table in shared.tables:
        yield from (table.title, *(shown.text for row in (table.heads, *table.rows) for shown in row))
    yield from (laid.run.name for laid in shared.runs)


def _lost_letters(texts: Iterable[str]) -> list[str]:
    lost = unprintable(texts)
    return [f"The PDFs' font has no letters for {' '.join(lost)}: they show a question mark there."] if lost else []


def ready(folder: Path) -> None:
    """Make the folder to write in."""
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise BookError(f"the folder '{folder}' cannot be made; choose another, in a folder that exists") from error


def _slug(shared: Shared) -> str:
    return re.sub(r"[^a-z0-9]+", "-", shared.revision.casefold()).strip("-") or "1"


def shop_paper(job: Path, folder: Path, paper: str = "letter") -> Made:
    """Write full-size strips, cards of marks and labels.

    Raises:
        BookError: one sentence; nothing is written then.
    """
    step(f"Reading {job.name}")
    runs = laid_runs(open_job(job))
    ready(folder)
    files = [folder / f"{name}.pdf" for name in ("strips", "cards", "labels")]
    with replacing(files[0]) as strips, replacing(files[1]) as cards, replacing(files[2]) as labels:
        pages = write_strips(runs, strips, paper)
        step("Drawing the cards and labels")
        write_cards(runs, cards, paper)
        write_labels(runs, labels, paper)
    texts = [text for laid in runs for text in (laid.run.name, laid.run.left, laid.run.right, laid.run.face,
                                                laid.run.material)]  # fmt: skip
    said = [f"The strips take {pages} page{'s' if pages > 1 else ''}: print at 100 %, and lay a tape on the ruler of"
            " each page before you trust it."]  # fmt: skip
    return Made(files, said + _lost_letters(texts))
