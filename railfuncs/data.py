"""Files of data: where those of `shared/` are, and how text that a person saved is read."""

from importlib.resources import files
from pathlib import Path


def path(name: str) -> Path:
    """The path of the data file `name` of `shared/`: beside the package in a checkout, inside it once installed.

    >>> path("units.csv").name
    'units.csv'
    """
    package = Path(str(files("railfuncs")))
    for folder in (package / "shared", package.parent / "shared"):
        if (folder / name).exists():
            return folder / name
    raise FileNotFoundError(f"railfuncs was installed without its data file {name}")


def decoded(content: bytes) -> str:
    """Text as spreadsheets save it: UTF-8, or the western letters of Windows.

    Raises:
        UnicodeDecodeError: it is neither.

    >>> decoded("Küche".encode("cp1252")), decoded("Küche".encode())
    ('Küche', 'Küche')
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252")
