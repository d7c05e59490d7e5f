"""The checks of form that every change must pass."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("command", [("ruff", "check", "--no-cache", "."), ("mypy", "-p", "railfuncs")])
def test_form(command: tuple[str, ...]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_readme_examples_run() -> None:
    done = subprocess.run([sys.executable, "-m", "doctest", "README.md"], cwd=ROOT, capture_output=True, text=True,
                          check=False)  # fmt: skip
    assert done.returncode == 0, done.stdout
