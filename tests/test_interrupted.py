"""A command ended in the middle of its writing leaves every file as it was, or new and whole.

The commands run in processes forked from a child of the tests (this file, run as a program), which are killed before
every opening, renaming and removing of a file in the folder, right after a file was opened for writing (it is empty
then), and in the middle of a write when a file has so many bytes.
"""

import io
import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
BID = ROOT / "tests/books/addition/sheets/balconies.xlsx"
MEASURED = (
    "Run,Opening at rail,Baluster width,Rail width,Rail thickness,Shoe width,Shoe thickness,Clear height,Mortise in rail,"
    "Mortise in shoe\nPorch,{},1/2,2 3/4,1 3/4,5 1/4,1 1/4,34 1/2,5/8,1/2\n"
)
JOB = [["job", "measure.csv", "-o", "job.xlsx"]]
# What is run to make the folder ready, and the command that is interrupted.
COMMANDS: dict[str, tuple[list[list[str]], list[str]]] = {
    "template": ([], ["template", "-o", "new.xlsx"]),
    "prices": ([], ["prices", "-o", "new.xlsx"]),
    "job": ([], ["job", "measure.csv", "-o", "new.xlsx"]),
    "job --replace": ([["job", "older.csv", "-o", "job.xlsx"]], ["job", "measure.csv", "-o", "job.xlsx", "--replace"]),
    "add": ([], ["add", "bid.xlsx", "-o", "new.xlsx"]),
    "add --in-place": ([], ["add", "bid.xlsx", "--in-place"]),
    "add --remove": ([["add", "bid.xlsx", "-o", "added.xlsx"]], ["add", "added.xlsx", "--remove", "--in-place"]),
    "share": (JOB, ["share", "job.xlsx", "-o", "sent"]),
    "strips": (
        [["job", "older.csv", "-o", "old.xlsx"], ["strips", "old.xlsx", "-o", "paper"], *JOB],
        ["strips", "job.xlsx", "-o", "paper"],
    ),
    "changes": (
        [["job", "older.csv", "-o", "old.xlsx"], *JOB],
        ["changes", "old.xlsx", "job.xlsx", "-o", "new.xlsx"],
    ),
    "functions": ([], ["functions", "-o", "there.md"]),
    "functions workbook": ([], ["functions", "-o", "there.xlsx"]),
    "addin calc": ([], ["addin", "calc", "-o", "there.oxt"]),
    "addin excel": ([], ["addin", "excel", "-o", "new.xlsm"]),
    "addin excel-web": ([], ["addin", "excel-web", "-o", "there.py"]),
}
THERE = ("there.md", "there.xlsx", "there.oxt", "there.py")  # older files of other kinds
STRAY = re.compile(r"(.*/)?\.unfinished-[0-9a-f]+\.\w+")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that can be forked and killed")
@pytest.mark.parametrize("name", COMMANDS)
def test_an_interrupted_command_leaves_old_files_or_whole_new_ones(name: str, tmp_path: Path) -> None:
    child = subprocess.run(
        [sys.executable, __file__, name, str(tmp_path)], env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True,
        text=True, check=False, timeout=300,
    )  # fmt: skip
    assert child.returncode == 0, child.stderr
    told = json.loads(child.stdout)
    for point in told["points"]:
        halves = {file: is_now for file, is_now in point["files"].items() if is_now == "half" and not STRAY.fullmatch(file)}
        assert not halves, f"{name}, ended at {point['at']}: {halves}"
        assert not point["gone"], f"{name}, ended at {point['at']}: {point['gone']} gone"
        if "bid (before).xlsx" in told["written"] and point["files"]["bid.xlsx"] == "new":
            assert point["files"].get("bid (before).xlsx") == "new", "the old bid sheet is nowhere"
    # The killing did happen: before anything was written, within a write, and between the last write and the end.
    killed = [point for point in told["points"] if point["killed"]]
    assert len(killed) >= 8
    assert any("new" not in point["files"].values() for point in killed)
    assert any(STRAY.fullmatch(file) for point in killed for file in point["files"])
    whole = [point for point in told["points"] if all(point["files"].get(file) == "new" for file in told["written"])]
    assert whole


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def laid_out(folder: Path, files: dict[str, bytes]) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, content in files.items():
        folder.joinpath(name).parent.mkdir(exist_ok=True)
        folder.joinpath(name).write_bytes(content)


def meant(content: bytes) -> Any:
    """A file without the time at which it was made."""
    if content[:2] != b"PK":
        return content
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
    except (zipfile.BadZipFile, EOFError, OSError):
        return content
    core = "docProps/core.xml"
    return parts | ({core: re.sub(rb"\d\d:\d\d:\d\dZ", b"", parts[core])} if core in parts else {})


def command(arguments: list[str]) -> None:
    from railfuncs.cli import main

    try:
        main(arguments)
    except SystemExit as ended:
        if ended.code:
            raise


def forked(work: Callable[[], None]) -> bool:
    """Do something in a process of its own; whether that was killed."""
    process = os.fork()
    if not process:
        try:
            work()
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(process, 0)[1])


def watch(folder: Path, at_event: Callable[[int, bool], None]) -> None:
    """Call `at_event` before each thing done to a file in the folder: with 1, 2, 3..., and whether it opens to write."""
    count = 0

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal count
        touched = event == "open" or event.startswith(("os.", "shutil."))
        if touched and event != "os.kill" and any(str(folder) in str(part) for part in arguments):
            count += 1
            at_event(count, event == "open" and bool(arguments[2] & (os.O_WRONLY | os.O_RDWR)))

    sys.addaudithook(hook)


def killing_points(folder: Path, arguments: list[str], sizes: list[int]) -> Iterator[tuple[str, Callable[[], None]]]:
    """Ways to end the command, each to be set up in the process that is to end."""
    read, write = os.pipe()

    def counted() -> None:
        watch(folder, lambda _, to_write: print("w" if to_write else ".", end="", file=told))
        command(arguments)
        told.flush()

    with os.fdopen(write, "w") as told:
        forked(counted)
    with os.fdopen(read) as pipe:
        events = pipe.read()

    def kill(*_: object) -> None:
        os.kill(os.getpid(), signal.SIGKILL)

    def at(number: int) -> Callable[[], None]:
        return lambda: watch(folder, lambda now, _: kill() if now == number else None)

    def after(number: int) -> Callable[[], None]:
        # The next call or return of any function comes before the first byte is written.
        return lambda: watch(folder, lambda now, _: sys.setprofile(kill) if now == number else None)

    def within(size: int, killed: bool) -> Callable[[], None]:
        def limit() -> None:
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL if killed else signal.SIG_IGN)

        return limit

    for number, kind in enumerate(events, start=1):
        yield f"event {number} of {len(events)}", at(number)
        if kind == "w":
            yield f"after event {number} of {len(events)}", after(number)
    yield "the end", at(len(events) + 1)
    for size in sizes:
        for upto in (1, size // 2, size - 1):
            yield f"byte {upto}", within(upto, True)
        yield f"byte {size // 2}, where no more can be written", within(size // 2, False)


def main(name: str, place: Path) -> None:
    folder = place / "job folder"
    older, arguments = COMMANDS[name]
    start = {f: b"older and of another kind" for f in THERE if f in arguments}
    measured = {"measure.csv": MEASURED.format("63 1/2").encode(), "older.csv": MEASURED.format("72").encode()}
    laid_out(folder, start | measured | {"bid.xlsx": BID.read_bytes()})
    os.chdir(folder)
    said = os.dup(1)
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    for each in older:
        command(each)
    before = contents(folder)
    absolute = [str(folder / part) if "." in part or part in ("sent", "paper") else part for part in arguments]
    command(absolute)
    after = contents(folder)
    written = {file: content for file, content in after.items() if before.get(file) != content}
    assert written, "the command writes nothing"
    os.dup2(nothing, 2)
    points = []
    laid_out(folder, before)
    for words, prepare in killing_points(folder, absolute, [len(content) for content in written.values()]):
        laid_out(folder, before)

        def ended(prepare: Callable[[], None] = prepare) -> None:
            prepare()
            command(absolute)

        killed = forked(ended)
        now = contents(folder)
        files = {
            file: "old" if content == before.get(file) else "new" if meant(content) == meant(after.get(file, b"")) else "half"
            for file, content in now.items()
        }
        points.append({"at": words, "killed": killed, "files": files, "gone": sorted(before.keys() - now.keys())})
    os.write(said, json.dumps({"points": points, "written": sorted(written)}).encode())


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
