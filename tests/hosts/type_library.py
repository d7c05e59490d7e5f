"""Make the add-in's type library anew after the catalogue has changed: `python -m tests.hosts.type_library`."""

import subprocess
import tempfile
from pathlib import Path

from railfuncs.hosts.calc import TYPES, idl

OFFICE = Path("/usr/lib/libreoffice")
COMMITTED = Path(__file__).parents[2] / "railfuncs" / "hosts" / "oxt" / TYPES


def made() -> bytes:
    """A fresh type library of the catalogue's functions, by unoidl-write of Debian's libreoffice-dev."""
    with tempfile.TemporaryDirectory() as folder:
        source, out = Path(folder, "railfuncs.idl"), Path(folder, TYPES)
        source.write_text(idl(), encoding="utf-8")
        types = OFFICE / "program" / "types.rdb", OFFICE / "program" / "types" / "offapi.rdb"
        subprocess.run([OFFICE / "sdk" / "bin" / "unoidl-write", *types, source, out], check=True)
        return out.read_bytes()


if __name__ == "__main__":
    COMMITTED.write_bytes(made())
