"""Installing the Calc add-in for the current user, by LibreOffice's own `unopkg`."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from railfuncs.errors import BookError
from railfuncs.hosts.calc import IDENTIFIER, write_addin

_USUAL = (
    Path("C:/Program Files/LibreOffice/program/unopkg.com"),
    Path("C:/Program Files (x86)/LibreOffice/program/unopkg.com"),
    Path("/Applications/LibreOffice.app/Contents/MacOS/unopkg"),
)


def unopkg() -> Path:
    """LibreOffice's installer of extensions.

    Raises:
        BookError: when there is no LibreOffice to be found.
    """
    found = shutil.which("unopkg")
    if found:
        return Path(found)
    soffice = shutil.which("soffice")
    beside = [Path(soffice).resolve().parent / name for name in ("unopkg", "unopkg.com")] if soffice else []
    for path in (*beside, *_USUAL):
        if path.exists():
            return path
    raise BookError(
        "LibreOffice was not found; install it first, or write the add-in with `railfuncs addin calc -o railfuncs.oxt`"
        " and open that file in LibreOffice"
    )


def install_calc() -> list[str]:
    """Install or renew the add-in for the current user; return the command that removes it."""
    program = unopkg()
    if sys.platform != "win32" and os.geteuid() == 0:
        raise BookError("LibreOffice installs add-ins for ordinary users only; run this as yourself, not as root")
    with TemporaryDirectory() as folder:
        addin = Path(folder, "railfuncs.oxt")
        write_addin(addin)
        _run([str(program), "add", "--force", "--suppress-license", str(addin)])
    return [str(program), "remove", IDENTIFIER]


def _run(command: list[str]) -> None:
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    if done.returncode:
        said = " ".join((done.stderr or done.stdout).split())
        raise BookError(f"LibreOffice could not install the add-in; close LibreOffice and try again. It said: {said}")
