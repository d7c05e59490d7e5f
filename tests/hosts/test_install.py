"""Installing and removing with LibreOffice's own installer, in a home of the test's own."""

import os
import pwd
import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from railfuncs.errors import BookError
from railfuncs.hosts import commands
from railfuncs.hosts import install as installing
from railfuncs.hosts.calc import IDENTIFIER

Run = Callable[..., Any]


@pytest.fixture
def as_a_person(monkeypatch: pytest.MonkeyPatch) -> Iterator[Run]:
    """subprocess.run with a home of its own; where the tests run as root, as nobody, since unopkg refuses root."""
    real = subprocess.run
    home = Path(tempfile.mkdtemp(prefix="railfuncs-home-"))  # pytest's own folders are closed to others
    identity: dict[str, Any] = {}
    if os.geteuid() == 0:
        nobody = pwd.getpwnam("nobody")
        identity = {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}
        os.chown(home, nobody.pw_uid, nobody.pw_gid)
        monkeypatch.setattr(installing.os, "geteuid", lambda: nobody.pw_uid)
    environment = {"HOME": str(home), "PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"}

    def run(command: list[str], **options: Any) -> Any:
        if identity and command[1] == "add":  # the add-in lies in a folder of root's own
            shutil.chown(Path(command[-1]).parent, identity["user"])
            shutil.chown(command[-1], identity["user"])
        return real(command, env=environment, cwd=home, **identity, **options)

    monkeypatch.setattr(installing.subprocess, "run", run)
    yield run
    shutil.rmtree(home)


def test_installed_renewed_and_removed_as_told(as_a_person: Run) -> None:
    def listed() -> str:
        return str(as_a_person([str(installing.unopkg()), "list"], capture_output=True, text=True, check=True).stdout)

    for _ in range(2):
        done = CliRunner().invoke(commands.install, ["calc"], catch_exceptions=False)
        assert done.exit_code == 0
        assert listed().count(f"Identifier: {IDENTIFIER}") == 1
    told = next(line for line in done.output.splitlines() if line.startswith("To remove them: "))
    as_a_person(shlex.split(told.removeprefix("To remove them: ")), capture_output=True, check=True)
    assert IDENTIFIER not in listed()


def test_no_libreoffice_is_one_clear_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(BookError, match="LibreOffice was not found"):
        installing.install_calc()


def test_root_is_told_to_be_somebody_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installing.os, "geteuid", lambda: 0)
    with pytest.raises(BookError, match="not as root"):
        installing.install_calc()


def test_the_command_writes_the_add_in(tmp_path: Path) -> None:
    out = tmp_path / "railfuncs.oxt"
    done = CliRunner().invoke(commands.addin, ["calc", "-o", str(out)], catch_exceptions=False)
    assert done.exit_code == 0
    assert out.read_bytes().startswith(b"PK")
