"""Pictures of a workbook's printed pages, to look at: python -m tests.office.pictures BOOK.xlsx FOLDER [--grey]

Every visible sheet becomes a PDF, and every page of it a PNG: FOLDER/01-sheet-name.pdf, FOLDER/01-sheet-name-1.png.
"""

import argparse
import re
import shutil
import subprocess
from pathlib import Path

from tests.office import Office

DOTS_PER_INCH = "70"


def pictures(office: Office, book: Path, folder: Path, grey: bool = False) -> list[Path]:
    """The PNG files made, in the order of sheets and pages; `grey` shows them as a black-and-white printer would."""
    if shutil.which("pdftoppm") is None:
        raise SystemExit("pdftoppm is not installed: run `bash tests/run.sh`, which installs it.")
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    for sheet, numbered in office.to_pdfs(book, folder).items():
        stem = f"{numbered.stem}-{re.sub(r'[^a-z0-9]+', '-', sheet.lower()).strip('-')}"
        pdf = numbered.replace(folder / f"{stem}.pdf")
        for old in folder.glob(f"{stem}-*.png"):
            old.unlink()
        colour = ["-gray"] if grey else []
        subprocess.run(["pdftoppm", "-r", DOTS_PER_INCH, "-png", *colour, pdf, folder / stem], check=True)
        made += sorted(folder.glob(f"{stem}-*.png"))
    return made


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("book", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--grey", action="store_true", help="grey pages, as from a black-and-white printer")
    arguments = parser.parse_args()
    with Office() as office:
        for picture in pictures(office, arguments.book, arguments.folder, arguments.grey):
            print(picture)


if __name__ == "__main__":
    main()
