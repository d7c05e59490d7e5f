"""The side that talks to LibreOffice; run as a program by the system's own Python, which has `uno`.

One line of JSON in, one line out: {"do": name, ...} is answered by {"ok": result} or {"error": sentence};
"ended" beside an error says that the office is gone and the driver ends too.
The first line is {"program": folder of soffice.bin, "home": private folder, "extensions": [paths]}.
When standard input ends, so does the office: it cannot outlive the tests, however they end.
"""

import json
import os
import pathlib
import pwd
import shutil
import subprocess
import sys
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.lang import DisposedException

# com.sun.star.sheet.CellFlags and FormulaResult
VALUE, DATETIME, STRING, FORMULA = 1, 2, 4, 16
CONTENT = VALUE | DATETIME | STRING | FORMULA
ERROR_RESULT = 4

SAVE_FILTERS = {".xlsx": "Calc MS Excel 2007 XML", ".ods": "calc8"}
ASK_AGAIN = 81  # a first start sets the profile up, and ends with this
START_SECONDS = 120
END_SECONDS = 15

# Without the two RecalcMode items the office shows the values stored in the file, and a test of them proves nothing.
SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="ODFRecalcMode" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N">
<prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>en-US</value></prop></item>
</oor:items>
"""


class CannotDo(Exception):
    """A request that cannot be met; its sentence is the answer."""


def url(path):
    return uno.systemPathToFileUrl(os.path.abspath(path))


def properties(**values):
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


class Program:
    """The running office and its private profile."""

    def __init__(self, program, home, extensions):
        self.program, self.home = pathlib.Path(program), pathlib.Path(home)
        self.profile = self.home / "profile"
        self.process = self.context = None
        # The office's own Python must not meet the tests' environment.
        self.environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}
        self.environment.update(HOME=str(self.home), LC_ALL="C.UTF-8")
        if not self.profile.exists():
            (self.profile / "user").mkdir(parents=True)
            (self.profile / "user" / "registrymodifications.xcu").write_text(SETTINGS, encoding="utf-8")
            if extensions:
                self.install(extensions)

    def command(self, name, *arguments):
        # setpriv becomes the program itself, so the process id is the program's own.
        return ["setpriv", "--pdeathsig", "KILL", str(self.program / name), *arguments,
                f"-env:UserInstallation={url(self.profile)}"]

    def install(self, extensions):
        """unopkg refuses root, so it runs as nobody, who owns the private folder meanwhile."""
        copies = [shutil.copy(path, self.home) for path in extensions]
        root = os.geteuid() == 0
        identity = {}
        if root:
            nobody = pwd.getpwnam("nobody")
            # The helper process of unopkg starts only where the group is the user's own too.
            identity = {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}
            self.give_to(nobody.pw_uid)
        for copy in copies:
            done = subprocess.run(
                self.command("unopkg", "add", "--suppress-license", copy),
                env=self.environment, cwd=self.home, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, text=True, timeout=START_SECONDS, **identity,
            )
            if done.returncode:
                raise CannotDo(f"unopkg could not install {os.path.basename(copy)}: {done.stdout.strip()}")
        if root:
            self.give_to(0)

    def give_to(self, user):
        for path in [self.home, *self.home.rglob("*")]:
            shutil.chown(path, user)

    def start(self):
        pipe = self.home.name.replace("-", "")  # a new start takes over what a killed one left behind
        command = self.command("soffice.bin", "--headless", "--norestore", "--nologo", "--nodefault",
                               "--nolockcheck", f"--accept=pipe,name={pipe};urp;")
        resolver = uno.getComponentContext().ServiceManager.createInstance("com.sun.star.bridge.UnoUrlResolver")
        limit = time.monotonic() + START_SECONDS
        while time.monotonic() < limit:
            if self.process is None or self.process.poll() == ASK_AGAIN:
                # Standard output belongs to the answers.
                self.process = subprocess.Popen(command, env=self.environment, cwd=self.home,
                                                stdin=subprocess.DEVNULL, stdout=sys.stderr, stderr=sys.stderr)
            if self.process.poll() is not None and self.process.returncode != ASK_AGAIN:
                raise CannotDo(f"LibreOffice ended with status {self.process.returncode} while starting")
            try:
                context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            except NoConnectException:
                time.sleep(0.1)
            else:
                self.context = context
                return context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        raise CannotDo(f"LibreOffice did not answer within {START_SECONDS} seconds")

    def end(self, desktop=None):
        if self.process is None:
            return
        try:
            if desktop is not None:
                desktop.terminate()
                self.process.wait(END_SECONDS)
        except (DisposedException, subprocess.TimeoutExpired):
            pass  # it is ended by force below
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()


class Book:
    """One open document, closed when the block ends."""

    def __init__(self, desktop, path=None):
        self.desktop, self.path = desktop, path

    def __enter__(self):
        options = properties(Hidden=True, MacroExecutionMode=0, UpdateDocMode=0)
        if self.path is None:
            where = "private:factory/scalc"
        elif os.path.isfile(self.path):
            where = url(self.path)
        else:
            raise CannotDo(f"there is no file {self.path}")
        self.document = self.desktop.loadComponentFromURL(where, "_blank", 0, options)
        if self.document is None:
            raise CannotDo(f"LibreOffice could not open {self.path}")
        if not self.document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            self.document.close(True)
            raise CannotDo(f"LibreOffice does not take {self.path} for a workbook")
        return self.document

    def __exit__(self, *_):
        self.document.close(True)


def column_name(index):
    name = ""
    while index >= 0:
        name = chr(65 + index % 26) + name
        index = index // 26 - 1
    return name


def filled(sheet, found, rows_of):
    """(address, item) for every cell of the found ranges; rows_of fetches a range's items in one call."""
    for area in found.getRangeAddresses():
        columns = [column_name(c) for c in range(area.StartColumn, area.EndColumn + 1)]
        cells = sheet.getCellRangeByPosition(area.StartColumn, area.StartRow, area.EndColumn, area.EndRow)
        for row, items in enumerate(rows_of(cells), area.StartRow + 1):
            for column, item in zip(columns, items, strict=True):
                yield f"{column}{row}", item


def sheet_values(sheet):
    values = dict(filled(sheet, sheet.queryContentCells(CONTENT), lambda cells: cells.getDataArray()))
    # A cell in error reads as nothing or as 0, so errors are asked for by themselves.
    wrong = filled(sheet, sheet.queryFormulaCells(ERROR_RESULT), lambda cells: cells.getDataArray())
    for address, _ in wrong:
        values[address] = {"error": sheet.getCellRangeByName(address).getError()}
    lost = [address for address, value in values.items() if value is None]
    if lost:
        raise CannotDo(f"no value and no error could be read from {sheet.Name}!{lost[0]}")
    return values


def all_values(document):
    return {sheet.Name: sheet_values(sheet) for sheet in document.Sheets}


def put(cell, value):
    if value is None:
        cell.clearContents(CONTENT)
    elif isinstance(value, str):
        cell.setString(value)
    else:
        cell.setValue(value)


def store(document, out):
    suffix = os.path.splitext(out)[1].lower()
    if suffix not in SAVE_FILTERS:
        raise CannotDo(f"a workbook is saved as {' or '.join(SAVE_FILTERS)}, not as {out}")
    document.storeToURL(url(out), properties(FilterName=SAVE_FILTERS[suffix]))


def print_to(document, out):
    document.storeToURL(url(out), properties(FilterName="calc_pdf_Export"))


def read(desktop, path):
    with Book(desktop, path) as document:
        return all_values(document)


def change_and_read(desktop, path, changes, save_as):
    with Book(desktop, path) as document:
        for name, address, value in changes:
            if not document.Sheets.hasByName(name):
                raise CannotDo(f"{path} has no sheet {name!r}")
            put(document.Sheets.getByName(name).getCellRangeByName(address), value)
        document.calculateAll()
        if save_as is not None:
            store(document, save_as)
        return all_values(document)


def formulas(desktop, path):
    with Book(desktop, path) as document:
        return {
            sheet.Name: dict(
                filled(sheet, sheet.queryContentCells(FORMULA), lambda cells: cells.getFormulaArray())
            )
            for sheet in document.Sheets
        }


def save_as(desktop, path, out):
    with Book(desktop, path) as document:
        store(document, out)


def to_pdf(desktop, path, out):
    with Book(desktop, path) as document:
        print_to(document, out)


def to_pdfs(desktop, path, folder):
    """A PDF for each visible sheet, by hiding the others."""
    with Book(desktop, path) as document:
        shown = [sheet for sheet in document.Sheets if sheet.IsVisible]
        made = {}
        for number, sheet in enumerate(shown, 1):
            sheet.IsVisible = True
            for other in shown:
                if other.Name != sheet.Name:
                    other.IsVisible = False
            made[sheet.Name] = os.path.join(folder, f"{number:02}.pdf")
            print_to(document, made[sheet.Name])
        return made


def evaluate(desktop, formulas, cells, rows, columns, save_as):
    """Each formula in a column far to the right, or as an array of the given shape at its place."""
    with Book(desktop) as document:
        sheet = document.Sheets.getByIndex(0)
        for address, value in cells.items():
            put(sheet.getCellRangeByName(address), value)
        left = 1000
        for number, formula in enumerate(formulas):
            top = number * rows
            area = sheet.getCellRangeByPosition(left, top, left + columns - 1, top + rows - 1)
            first = area.getCellByPosition(0, 0)
            first.FormulaLocal = formula  # as typed into an English Calc: commas, names as shown to people
            if not rows == columns == 1:
                area.setArrayTokens(first.getTokens())
        document.calculateAll()
        if save_as is not None:
            store(document, save_as)
        values = sheet_values(sheet)
        names = [column_name(left + c) for c in range(columns)]
        return [
            [[values.get(f"{name}{top + row + 1}", "") for name in names] for row in range(rows)]
            for top in range(0, rows * len(formulas), rows)
        ]


def seconds_to_calculate(desktop, path, times):
    with Book(desktop, path) as document:
        document.calculateAll()
        taken = []
        for _ in range(times):
            start = time.perf_counter()
            document.calculateAll()
            taken.append(time.perf_counter() - start)
        return taken


def function_help(context):
    """What the function wizard knows: {name: [category, description, [[argument, help, may be left out]]]}."""
    described = context.ServiceManager.createInstanceWithContext("com.sun.star.sheet.FunctionDescriptions", context)
    told = {}
    for number in range(described.getCount()):
        one = {item.Name: item.Value for item in described.getByIndex(number)}
        arguments = [[a.Name, a.Description, a.IsOptional] for a in one["Arguments"] or ()]
        told[one["Name"]] = [one["Category"], one["Description"], arguments]
    return told


COMMANDS = {
    f.__name__: f
    for f in (read, change_and_read, formulas, save_as, to_pdf, to_pdfs, evaluate, seconds_to_calculate)
}


def main():
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever prints, it must not look like an answer

    def answer(**content):
        answers.write(json.dumps(content) + "\n")
        answers.flush()

    program = desktop = None
    try:
        program = Program(**json.loads(sys.stdin.readline()))
        desktop = program.start()
        commands = COMMANDS | {"function_help": lambda _: function_help(program.context)}
        answer(ok=None)
        for line in sys.stdin:
            request = json.loads(line)
            try:
                answer(ok=commands[request.pop("do")](desktop, **request))
            except DisposedException as problem:
                raise CannotDo("LibreOffice ended unexpectedly") from problem
            except CannotDo as problem:
                answer(error=str(problem))
            except uno.getClass("com.sun.star.uno.Exception") as problem:
                answer(error=f"LibreOffice refused: {type(problem).__name__} {problem}")
    except CannotDo as problem:
        answer(error=str(problem), ended=True)
    finally:
        if program is not None:
            program.end(desktop)


if __name__ == "__main__":
    main()
