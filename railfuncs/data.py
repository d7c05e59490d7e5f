"""Where the files of `shared/` are: beside the package in a checkout, inside it once installed."""

from importlib.resources import files
from pathlib import Path


def path(name: str) -> Path:
    """The path of the data file `name` of `shared/`.

    >>> path("units.csv").name
    'units.csv'
    """
    package = Path(str(files("railfuncs")))
    for folder in (package / "shared", package.parent / "shared"):
        if (folder / name).exists():
            return folder / name
    raise FileNotFoundError(f"railfuncs was installed without its data file {name}")
