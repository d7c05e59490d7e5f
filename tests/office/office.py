"""The side the tests use: start a private LibreOffice, send it requests, read the answers."""

import contextlib
import json
import os
import queue
import shutil
import subprocess
import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

DRIVER = Path(__file__).with_name("driver.py")
SYSTEM_PYTHON = "/usr/bin/python3"
ANSWER_SECONDS = 180
START_SECONDS = 300
GOODBYE_SECONDS = 30

ERROR_NAMES = {
    502: "Err:502",
    503: "#NUM!",
    519: "#VALUE!",
    521: "#NULL!",
    524: "#REF!",
    525: "#NAME?",
    532: "#DIV/0!",
    32767: "#N/A",
}


class OfficeError(Exception):
    """LibreOffice is missing, failed, or refused a request; the message is one sentence."""


@dataclass(frozen=True)
class CellError:
    """A cell that shows an error; `code` is LibreOffice's number for it.

    >>> str(CellError(532)), str(CellError(522))
    ('#DIV/0!', 'Err:522')
    """

    code: int

    def __str__(self) -> str:
        return ERROR_NAMES.get(self.code, f"Err:{self.code}")


Value = float | str | CellError
Book = dict[str, dict[str, Value]]


class Office:
    """One LibreOffice with a profile of its own, started at the first request and ended by `close`.

    After a crash or a hang, the request in hand fails and the next one starts it again.
    """

    def __init__(self, extensions: Sequence[str | os.PathLike[str]] = ()) -> None:
        self.extensions = [os.path.abspath(path) for path in extensions]
        self._driver: subprocess.Popen[str] | None = None
        soffice = shutil.which("soffice")
        self._program = Path(soffice).resolve().parent if soffice else None
        if self._program is None or not (self._program / "soffice.bin").exists():
            raise OfficeError("LibreOffice Calc is not installed: run `bash tests/run.sh`, which installs it.")
        if not _has_uno():
            raise OfficeError(f"{SYSTEM_PYTHON} cannot import uno: run `bash tests/run.sh`, which installs it.")
        self._home = tempfile.TemporaryDirectory(prefix="railfuncs-office-")
        self._log = Path(self._home.name, "office.log")

    def __enter__(self) -> "Office":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the office and remove its profile."""
        self._end_driver()
        self._home.cleanup()

    # What the tests ask for

    def read(self, path: str | os.PathLike[str]) -> Book:
        """Every filled cell of the workbook as recalculated on opening: {sheet: {address: value}}."""
        return _book(self._ask("read", path=_absolute(path)))

    def change_and_read(
        self,
        path: str | os.PathLike[str],
        changes: Mapping[tuple[str, str], Any],
        save_as: str | os.PathLike[str] | None = None,
    ) -> Book:
        """Type the changes {(sheet, address): number, text or None to empty}, recalculate all, read all.

        The file stays as it is; `save_as` keeps the changed workbook, as .xlsx or .ods.
        """
        typed = [(sheet, address, _typed(value)) for (sheet, address), value in changes.items()]
        out = None if save_as is None else _absolute(save_as)
        return _book(self._ask("change_and_read", path=_absolute(path), changes=typed, save_as=out))

    def formulas(self, path: str | os.PathLike[str]) -> dict[str, dict[str, str]]:
        """Every formula in Calc's own spelling: {sheet: {address: formula}}."""
        result: dict[str, dict[str, str]] = self._ask("formulas", path=_absolute(path))
        return result

    def save_as(self, path: str | os.PathLike[str], out: str | os.PathLike[str]) -> None:
        """Save the recalculated workbook anew; the ending of `out`, .xlsx or .ods, decides the kind."""
        self._ask("save_as", path=_absolute(path), out=_absolute(out))

    def to_pdf(self, path: str | os.PathLike[str], out: str | os.PathLike[str]) -> None:
        """Print all visible sheets to one PDF."""
        self._ask("to_pdf", path=_absolute(path), out=_absolute(out))

    def to_pdfs(self, path: str | os.PathLike[str], folder: str | os.PathLike[str]) -> dict[str, Path]:
        """Print each visible sheet to a PDF of its own: {sheet: file}."""
        made = self._ask("to_pdfs", path=_absolute(path), folder=_absolute(folder))
        return {sheet: Path(file) for sheet, file in made.items()}

    def evaluate(
        self,
        formulas: Sequence[str],
        cells: Mapping[str, Any] | None = None,
        save_as: str | os.PathLike[str] | None = None,
    ) -> list[Value]:
        """What each formula shows in a new workbook, whose sheet holds `cells` {address: value}.

        Formulas are spelt as people type them into an English Calc: commas between arguments, sheet.cell
        addresses, and the names of add-in functions as shown in Calc (files hold other names for those).
        `save_as` keeps the workbook; its formulas stand in column ALM.
        """
        return [block[0][0] for block in self._evaluate(formulas, cells, 1, 1, save_as)]

    def evaluate_array(
        self, formula: str, rows: int, columns: int, cells: Mapping[str, Any] | None = None
    ) -> list[list[Value]]:
        """The same for one array formula over a block of rows by columns.

        Past its result stands #N/A, but Calc repeats a single row or column over the whole block.
        """
        return self._evaluate([formula], cells, rows, columns)[0]

    def seconds_to_calculate(self, path: str | os.PathLike[str], times: int) -> list[float]:
        """How long each of some full recalculations of the workbook takes, after a first one; for benchmarks."""
        taken: list[float] = self._ask("seconds_to_calculate", path=_absolute(path), times=times)
        return taken

    def function_help(self) -> dict[str, tuple[int, str, list[tuple[str, str, bool]]]]:
        """What the function wizard shows of every function: {name: (category number, help, arguments)}.

        An argument is (name, help, whether it may be left out); category 11 is Add-In.
        """
        told = self._ask("function_help")
        return {
            name: (category, text, [(argument, help_text, optional) for argument, help_text, optional in arguments])
            for name, (category, text, arguments) in told.items()
        }

    def _evaluate(
        self,
        formulas: Sequence[str],
        cells: Mapping[str, Any] | None,
        rows: int,
        columns: int,
        save_as: str | os.PathLike[str] | None = None,
    ) -> list[list[list[Value]]]:
        for formula in formulas:
            if not formula.startswith("="):
                raise ValueError(f"A formula starts with an equals sign, unlike {formula!r}.")
        typed = {address: _typed(value) for address, value in (cells or {}).items()}
        out = None if save_as is None else _absolute(save_as)
        blocks = self._ask(
            "evaluate", formulas=list(formulas), cells=typed, rows=rows, columns=columns, save_as=out
        )
        return [[[_value(item) for item in row] for row in block] for block in blocks]

    # The driver

    def _ask(self, do: str, **arguments: Any) -> Any:
        if self._driver is None:
            self._start_driver()
        return self._send({"do": do, **arguments}, ANSWER_SECONDS)

    def _start_driver(self) -> None:
        environment = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
        with self._log.open("w") as log:
            self._driver = subprocess.Popen(
                [SYSTEM_PYTHON, "-I", "-B", str(DRIVER)],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log, text=True, encoding="utf-8",
                env=environment, start_new_session=True,  # Ctrl-C is for the tests, which then end this one
            )
        self._answers: queue.Queue[str] = queue.Queue()
        threading.Thread(target=_pass_on, args=(self._driver.stdout, self._answers), daemon=True).start()
        self._send(
            {"program": str(self._program), "home": self._home.name, "extensions": self.extensions}, START_SECONDS
        )

    def _send(self, request: dict[str, Any], seconds: float) -> Any:
        assert self._driver is not None
        assert self._driver.stdin is not None
        try:
            self._driver.stdin.write(json.dumps(request) + "\n")
            self._driver.stdin.flush()
            line = self._answers.get(timeout=seconds)
        except queue.Empty:
            self._end_driver(now=True)
            raise OfficeError(f"LibreOffice gave no answer within {seconds} seconds.{self._log_tail()}") from None
        except BrokenPipeError:
            line = ""
        if not line:
            self._end_driver()
            raise OfficeError(f"The LibreOffice driver ended unexpectedly.{self._log_tail()}")
        answer = json.loads(line)
        if "ended" in answer:
            self._end_driver()
        if "error" in answer:
            raise OfficeError(answer["error"])
        return answer["ok"]

    def _end_driver(self, now: bool = False) -> None:
        driver, self._driver = self._driver, None
        if driver is None:
            return
        if not now:
            _close(driver.stdin)
            with contextlib.suppress(subprocess.TimeoutExpired):
                driver.wait(GOODBYE_SECONDS)
        driver.kill()  # the office follows: it is set to die with its driver
        driver.wait()
        _close(driver.stdin)

    def _log_tail(self) -> str:
        lines = self._log.read_text(errors="replace").strip().splitlines()
        return " It last said: " + " / ".join(lines[-5:]) if lines else ""


def _has_uno() -> bool:
    if not os.path.exists(SYSTEM_PYTHON):
        return False
    return subprocess.run([SYSTEM_PYTHON, "-I", "-c", "import uno"], capture_output=True).returncode == 0


def _pass_on(stream: Any, answers: "queue.Queue[str]") -> None:
    """Lines as they come, then one empty line for the end."""
    with stream:
        for line in stream:
            answers.put(line)
    answers.put("")


def _close(stream: Any) -> None:
    with contextlib.suppress(BrokenPipeError):
        stream.close()


def _absolute(path: str | os.PathLike[str]) -> str:
    return os.path.abspath(path)


def _typed(value: Any) -> float | str | None:
    return value if value is None or isinstance(value, str) else float(value)


def _value(item: Any) -> Value:
    return CellError(item["error"]) if isinstance(item, dict) else item


def _book(sheets: dict[str, dict[str, Any]]) -> Book:
    return {sheet: {address: _value(item) for address, item in cells.items()} for sheet, cells in sheets.items()}
