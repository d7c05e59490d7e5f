"""A workbook file as a package of parts: read within limits, written back with untouched parts copied raw."""

import io
import re
import stat
import struct
import zipfile
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from lxml import etree

from railfuncs.books.files import replacing
from railfuncs.errors import BookError

LARGEST = 300 * 2**20  # bytes unpacked
TIGHTEST = 400  # unpacked bytes a packed byte; real sheets stay well under
_SMALL = 2**20  # parts below this cannot hurt, however tightly packed
_CHUNK = 2**16

_ENTITIES = tuple(
    mark.encode(code) for mark in ("<!DOCTYPE", "<!ENTITY") for code in ("ascii", "utf-16-le", "utf-16-be")
)
_XML_NAMES = (".xml", ".rels", ".vml")


class Package:
    """The parts of a workbook file. `parts` holds every part's bytes; `infos` their places in the file."""

    def __init__(self, data: bytes, name: str) -> None:
        self.data = data
        self.name = name
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                self.comment = archive.comment
                self.infos = archive.infolist()
                self._check_listing()
                self.parts = {info.filename: self._unpack(archive, info) for info in self.infos}
        except (zipfile.BadZipFile, struct.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
            raise BookError(f"{name} is damaged or is not an Excel workbook: {error}") from error
        except (ValueError, UnicodeDecodeError) as error:
            if isinstance(error, BookError):
                raise
            raise BookError(f"{name} is damaged: {error}") from error

    @classmethod
    def read(cls, path: Path, *, open_elsewhere: bool = False) -> "Package":
        """Read a workbook file; one that a program has open only if `open_elsewhere`.

        Raises:
            BookError: it is missing, open elsewhere, locked, encrypted, damaged, or too big when unpacked.
        """
        if not open_elsewhere:
            refuse_open_elsewhere(path)
        try:
            if path.stat().st_size > LARGEST:
                raise BookError(f"{path.name} is larger than {LARGEST // 2**20} MB")
            data = path.read_bytes()
        except FileNotFoundError as error:
            raise BookError(f"there is no file {path}") from error
        except (OSError, PermissionError) as error:
            raise BookError(f"{path.name} cannot be read; is it open in another program?") from error
        if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
            raise BookError(
                f"{path.name} is encrypted with a password or is an old .xls file; save it without a password as .xlsx"
            )
        if data[:2] != b"PK":
            raise BookError(f"{path.name} is not an Excel workbook (.xlsx or .xlsm)")
        return cls(data, path.name)

    def _check_listing(self) -> None:
        seen: set[str] = set()
        for info in self.infos:
            folded = info.filename.casefold()
            if folded in seen:
                raise BookError(f"{self.name} holds two parts named {info.filename}; nothing says which one counts")
            seen.add(folded)
            if info.flag_bits & 0x1:
                raise BookError(f"{self.name} is encrypted")
            if info.file_size > _SMALL and info.file_size > TIGHTEST * max(info.compress_size, 1):
                raise BookError(f"{self.name}: {info.filename} unpacks to more than {TIGHTEST} times its size")
        if sum(info.file_size for info in self.infos) > LARGEST:
            raise BookError(f"{self.name} unpacks to more than {LARGEST // 2**20} MB")

    def _unpack(self, archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
        # By chunks, since a listing may lie about the size: a chunk is all that can be unpacked too much.
        chunks = []
        with archive.open(info) as stream:
            while chunk := stream.read(_CHUNK):
                chunks.append(chunk)
        content = b"".join(chunks)
        if len(content) != info.file_size:
            raise BookError(f"{self.name} is damaged: {info.filename} is not as long as the file says")
        if info.filename.lower().endswith(_XML_NAMES) and any(mark in content for mark in _ENTITIES):
            raise BookError(f"{self.name}: {info.filename} defines entities, which no spreadsheet program writes")
        return content

    @cached_property
    def _spans(self) -> dict[str, tuple[int, int]]:
        """Where each part's local header, data and data descriptor stand in the file."""
        spans = {}
        for info in self.infos:
            start = info.header_offset
            if self.data[start : start + 4] != b"PK\x03\x04":
                raise BookError(f"{self.name} is damaged: {info.filename} is not where the file says")
            name_length, extra_length = struct.unpack_from("<HH", self.data, start + 26)
            end = start + 30 + name_length + extra_length + info.compress_size
            if info.flag_bits & 0x8:
                end += 16 if self.data[end : end + 4] == b"PK\x07\x08" else 12
            spans[info.filename] = (start, end)
        return spans

    def raw(self, name: str) -> bytes:
        """A part as it stands in the file, packed, header included."""
        start, end = self._spans[name]
        return self.data[start:end]

    def assembled(self, changed: Mapping[str, bytes | None]) -> bytes:
        """The file with some parts changed, added, or (None) taken out; all others copied as they stand."""
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as out:
            out.comment = self.comment
            for info in self.infos:
                if info.filename not in changed:
                    _copy_raw(out, info, self.raw(info.filename))
                elif (content := changed[info.filename]) is not None:
                    out.writestr(_fresh(info), content, compresslevel=4)
            for name in changed.keys() - self.parts.keys():
                if (content := changed[name]) is not None:
                    out.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED, 4)
        return buffer.getvalue()


def _fresh(info: zipfile.ZipInfo) -> zipfile.ZipInfo:
    made = zipfile.ZipInfo(info.filename, info.date_time)
    made.compress_type = zipfile.ZIP_DEFLATED
    made.external_attr, made.create_system = info.external_attr, info.create_system
    return made


def _copy_raw(out: Any, info: zipfile.ZipInfo, raw: bytes) -> None:
    """Append a packed part to an archive being written, as `ZipFile` itself keeps its books."""
    copied = zipfile.ZipInfo(info.filename, info.date_time)
    for field in (
        "compress_type", "comment", "extra", "create_system", "create_version", "extract_version", "reserved",
        "flag_bits", "volume", "internal_attr", "external_attr", "CRC", "compress_size", "file_size",
    ):  # fmt: skip
        setattr(copied, field, getattr(info, field))
    out.fp.seek(out.start_dir)
    copied.header_offset = out.fp.tell()
    out.fp.write(raw)
    out.start_dir = out.fp.tell()
    out.filelist.append(copied)
    out.NameToInfo[copied.filename] = copied
    out._didModify = True


def parsed(content: bytes, where: str) -> Any:
    """The root element of an XML part, with nothing outside it looked up or expanded."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        return etree.fromstring(content, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise BookError(f"{where} is not well-formed: {error}") from error


def refuse_open_elsewhere(path: Path) -> None:
    """Refuse a file that a spreadsheet program has marked as open."""
    marks = (path.with_name(f"~${path.name}"), path.with_name(f".~lock.{path.name}#"))
    for mark in marks:
        if mark.exists():
            raise BookError(f"{path.name} is open in another program; close it first (or delete {mark.name})")


def replace_file(path: Path, content: bytes) -> None:
    """Write beside the target, then put it in place in one step: the file is always the old one or the new one."""
    if not path.parent.is_dir():
        raise BookError(f"there is no folder {path.parent}")
    if path.exists() and not path.stat().st_mode & stat.S_IWUSR:
        raise BookError(f"{path.name} is read-only; allow writing to it or name another file with -o")
    with replacing(path) as temporary:
        temporary.write_bytes(content)


def backup_name(path: Path) -> Path:
    """A free name beside the file for its copy."""
    number = 1
    while True:
        tail = " (before)" if number == 1 else f" (before {number})"
        candidate = path.with_name(f"{path.stem}{tail}{path.suffix}")
        if not candidate.exists():
            return candidate
        number += 1


_TARGET = re.compile(r"/+")


def resolved(base_part: str, target: str) -> str:
    """The part a relationship of `base_part` points to."""
    path = target.lstrip("/") if target.startswith("/") else f"{base_part.rpartition('/')[0]}/{target}"
    kept: list[str] = []
    for step in _TARGET.split(path):
        if step == "..":
            kept = kept[:-1]
        elif step not in ("", "."):
            kept.append(step)
    return "/".join(kept)


def rels_part(part: str) -> str:
    """Where a part's relationships stand."""
    folder, _, name = part.rpartition("/")
    return f"{folder}/_rels/{name}.rels" if folder else f"_rels/{name}.rels"
