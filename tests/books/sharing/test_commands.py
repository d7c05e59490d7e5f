"""The three commands as a person runs them."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from railfuncs.books.sharing.commands import changes, share, strips
from tests.books.sharing.made import job_book, mark, streams


def run(command: object, *arguments: object) -> Result:
    return CliRunner().invoke(command, [str(each) for each in arguments])  # type: ignore[arg-type]


def test_share_and_strips_write_where_they_say(tmp_path: Path) -> None:
    path = job_book(tmp_path / "job.xlsx")
    done = run(share, path, "-o", tmp_path / "sent", "--paper", "a4")
    assert (done.exit_code, done.exception) == (0, None)
    assert sorted(file.name for file in (tmp_path / "sent").iterdir()) == ["railing-rev-1.pdf", "railing-rev-1.xlsx"]
    done = run(strips, path, "-o", tmp_path / "paper")
    assert (done.exit_code, "print at 100 %" in done.output) == (0, True)
    assert sorted(file.name for file in (tmp_path / "paper").iterdir()) == ["cards.pdf", "labels.pdf", "strips.pdf"]
    done = run(changes, path, path, "-o", tmp_path / "changes.xlsx")
    assert "Nothing changed." in done.output


@pytest.mark.parametrize("name", ["nowhere.xlsx", "job.csv", "job.xlsx"])
def test_what_is_no_job_is_said_and_nothing_is_written(tmp_path: Path, name: str) -> None:
    (tmp_path / "job.csv").write_text("Run")
    (tmp_path / "job.xlsx").write_bytes(b"PK\x03\x04 half of a file")
    for command in (share, strips):
        done = run(command, tmp_path / name, "-o", tmp_path / "sent")
        assert type(done.exception).__name__ == "BookError"
        assert not (tmp_path / "sent").exists()


def test_cards_and_labels_tell_every_mark_and_piece(tmp_path: Path) -> None:
    run(strips, job_book(tmp_path / "job.xlsx"), "-o", tmp_path / "paper")
    cards, labels = (b"\n".join(streams((tmp_path / "paper" / f"{name}.pdf").read_bytes())) for name in
                     ("cards", "labels"))  # fmt: skip
    # By hand: (81.3125 - 18 * 0.75)/19 = 3.5691 in; No. 1 at 3.944, nearest 3 15/16; No. 18 at 77.368, nearest 77 3/8.
    for text in (b"(3 15/16) Tj", b"(77 3/8) Tj"):
        assert cards.count(text) == 2  # handrail and shoe
    for text in (b"(LEFT corner newel B) Tj", b"(RIGHT wall newel) Tj", b"(Wall side: house on the right) Tj"):
        assert labels.count(text) == 2
    assert b"(18 pieces, oak) Tj" in labels


def test_a_whole_sheet_can_be_shared(tmp_path: Path) -> None:
    path = job_book(tmp_path / "job.xlsx", change=lambda book: mark(book, "Marks", "(whole sheet)", "yes"))
    done = run(share, path, "-o", tmp_path / "sent")
    assert (done.exit_code, done.exception) == (0, None)
    pdf = b"\n".join(streams((tmp_path / "sent" / "railing-rev-1.pdf").read_bytes()))
    assert b"166 15/16" in pdf
    assert b"1767" in pdf
