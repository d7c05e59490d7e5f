"""Writing a file so that nothing is lost: to a new file beside it first, which then takes its place."""

import errno
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex

from railfuncs.errors import BookError


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a new, empty file in the same folder to write to; when all went well it takes the place of `path`.

    Args:
        path: where the file is wanted; an old file there stays as it was until the very end
    Raises:
        BookError: one sentence, when the folder or the file cannot be written.

    Whatever goes wrong, the new file is removed and the old one is untouched. Where the program itself is ended, the
    new file stays behind under a name that begins with ".unfinished-".

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     with replacing(Path(folder, "list.txt")) as temporary:
    ...         _ = temporary.write_text("17 balusters")
    ...     Path(folder, "list.txt").read_text(), len(list(Path(folder).iterdir()))
    ('17 balusters', 1)
    """
    _refuse(path)
    # Behind a link, the file it leads to is replaced, not the link.
    target = Path(os.path.realpath(path))
    temporary = target.with_name(f".unfinished-{token_hex(6)}{target.suffix}")
    try:
        temporary.touch(exist_ok=False)
    except OSError as error:
        raise BookError(f"cannot write in the folder '{target.parent}'; choose a folder you may write in") from error
    try:
        yield temporary
        _into_place(temporary, target, path)
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise
        raise BookError(f"there is no room left on the disk for '{path}'; make room and try again") from error
    finally:
        temporary.unlink(missing_ok=True)


def _refuse(path: Path) -> None:
    try:
        if path.is_dir():
            raise BookError(f"'{path}' is a folder; add the name of a file to write")
        if not path.parent.exists():
            raise BookError(f"the folder '{path.parent}' does not exist; make it first, or choose another")
        if not path.parent.is_dir():
            raise BookError(f"'{path.parent}' is a file, not a folder; choose another place to write")
        if path.exists() and not path.is_file():
            raise BookError(f"'{path}' is not an ordinary file; choose another name")
        if path.exists() and not os.access(path, os.W_OK):
            raise BookError(f"'{path}' is write-protected; choose another name")
    except OSError as error:
        raise BookError(f"'{path}' cannot be written; choose another name or folder") from error


def _into_place(temporary: Path, target: Path, path: Path) -> None:
    with temporary.open("rb+") as file:
        os.fsync(file.fileno())
    try:
        if target.exists():
            shutil.copymode(target, temporary)
        os.replace(temporary, target)
    except OSError as error:
        raise BookError(
            f"'{path}' cannot be replaced; close it in any other program, or choose another name"
        ) from error
