"""Writing a file loses nothing: neither the old file, nor a half of the new one."""

import errno
import os
import stat
import sys
from pathlib import Path

import pytest

from railfuncs.books.files import replacing
from railfuncs.errors import BookError


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def sentence(path: Path) -> str:
    """The one sentence that refuses to write to `path`, before anything is given to write to."""
    with pytest.raises(BookError) as caught, replacing(path):
        pytest.fail("was given a file to write to")
    assert "\n" not in str(caught.value)
    return str(caught.value)


def write_half(path: Path, failure: type[BaseException]) -> None:
    with replacing(path) as temporary:
        temporary.write_text("half")
        raise failure


def test_new_file_takes_the_place_of_the_old_one_only_at_the_end(tmp_path: Path) -> None:
    target = tmp_path / "job.xlsx"
    target.write_text("old")
    with replacing(target) as temporary:
        temporary.write_text("new")
        assert temporary.parent == tmp_path
        assert temporary.suffix == ".xlsx"
        assert target.read_text() == "old"
    assert target.read_text() == "new"
    assert names(tmp_path) == ["job.xlsx"]


@pytest.mark.parametrize("failure", [ValueError, OSError, KeyboardInterrupt])
def test_failure_leaves_the_old_file_and_nothing_else(tmp_path: Path, failure: type[BaseException]) -> None:
    target = tmp_path / "job.xlsx"
    target.write_text("old")
    with pytest.raises(failure):
        write_half(target, failure)
    assert target.read_text() == "old"
    assert names(tmp_path) == ["job.xlsx"]


def test_failure_leaves_no_new_file(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError):
        write_half(tmp_path / "job.xlsx", ZeroDivisionError)
    assert names(tmp_path) == []


def test_full_disk_is_said_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="no room left on the disk"), replacing(tmp_path / "job.xlsx"):
        raise OSError(errno.ENOSPC, "No space left on device")
    assert names(tmp_path) == []


def test_locked_target_stays_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # What Windows does while the old workbook is open in a spreadsheet.
    def locked(*_: object) -> None:
        raise PermissionError(errno.EACCES, "The process cannot access the file")

    target = tmp_path / "job.xlsx"
    target.write_text("old")
    monkeypatch.setattr(os, "replace", locked)
    with pytest.raises(BookError, match="close it in any other program"), replacing(target) as temporary:
        temporary.write_text("new")
    assert target.read_text() == "old"
    assert names(tmp_path) == ["job.xlsx"]


def test_missing_folder(tmp_path: Path) -> None:
    assert "does not exist" in sentence(tmp_path / "none" / "job.xlsx")
    assert names(tmp_path) == []


def test_target_is_a_folder(tmp_path: Path) -> None:
    assert "is a folder" in sentence(tmp_path)


def test_folder_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "site.txt").write_text("kept")
    sentence(tmp_path / "site.txt" / "job.xlsx")
    assert (tmp_path / "site.txt").read_text() == "kept"


def test_name_longer_than_a_name_may_be(tmp_path: Path) -> None:
    with pytest.raises(BookError), replacing(tmp_path / f"{'long' * 100}.xlsx") as temporary:
        temporary.write_text("new")
    assert names(tmp_path) == []


@pytest.mark.skipif(sys.platform != "linux", reason="needs a folder that nobody at all may write in")
def test_folder_that_cannot_be_written_in() -> None:
    assert "cannot write in the folder" in sentence(Path("/proc/job.xlsx"))


def test_write_protected_target_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The superuser may write anywhere, so the answer of the system is put in its mouth.
    target = tmp_path / "job.xlsx"
    target.write_text("old")
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert "write-protected" in sentence(target)
    assert target.read_text() == "old"


@pytest.mark.skipif(sys.platform == "win32", reason="modes and links of POSIX")
def test_mode_and_link_are_kept(tmp_path: Path) -> None:
    target, link = tmp_path / "job.xlsx", tmp_path / "latest.xlsx"
    target.write_text("old")
    target.chmod(0o640)
    link.symlink_to(target)
    with replacing(link) as temporary:
        temporary.write_text("new")
    assert link.is_symlink()
    assert target.read_text() == "new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


@pytest.mark.skipif(sys.platform == "win32", reason="modes of POSIX")
def test_new_file_has_the_ordinary_mode(tmp_path: Path) -> None:
    (tmp_path / "ordinary").touch()
    with replacing(tmp_path / "job.xlsx"):
        pass
    assert (tmp_path / "job.xlsx").stat().st_mode == (tmp_path / "ordinary").stat().st_mode
