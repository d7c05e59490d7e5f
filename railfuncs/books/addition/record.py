"""What is kept in the file to take the columns away again: how to undo each change, byte for byte.

It stands in a part of custom XML, which spreadsheet programs carry along untouched, next to hidden names that say
where the columns are. If a program has saved the file since, the bytes no longer match and only the names help.
"""

import base64
import hashlib
import json
import re
import zlib
from typing import Any

from railfuncs.books.addition.markup import Changes, Markup, Undo, undone
from railfuncs.books.addition.names import MARK
from railfuncs.books.addition.package import Package, rels_part
from railfuncs.books.addition.workbook import RELATIONS, Workbook
from railfuncs.errors import BookError

NAMESPACE = "urn:railfuncs:added:1"
_KIND = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/customXml"
_TYPES = "[Content_Types].xml"
_TYPES_SPACE = "http://schemas.openxmlformats.org/package/2006/content-types"
_HEAD = b'<?xml version="1.0" encoding="UTF-8"?>\n<added xmlns="%s">' % NAMESPACE.encode()
EMPTY = _HEAD + b"</added>"
_LONGEST = 64 * 2**20  # bytes of a record unpacked


def attach(book: Workbook, changed: dict[str, bytes | None], undo: dict[str, list[Undo]]) -> None:
    """Add the record's part, and the relation that makes it belong to the workbook."""
    package = book.package
    number = 1
    while f"customxml/item{number}.xml" in {name.casefold() for name in package.parts}:
        number += 1
    part = f"customXml/item{number}.xml"
    relations = rels_part(book.part)
    if relations not in package.parts:
        raise BookError(f"{package.name} is damaged: {relations} is missing")
    _add_relation(package.parts[relations], relations, part, changed, undo)
    _say_type(package.parts.get(_TYPES), part, changed, undo)
    changed[part] = _HEAD + base64.b64encode(zlib.compress(_packed(changed, undo), 3)) + b"</added>"


def _add_relation(
    content: bytes, relations: str, part: str, changed: dict[str, bytes | None], undo: dict[str, list[Undo]]
) -> None:
    markup = Markup(content, "Relationships", relations, RELATIONS)
    if markup.root.empty:
        raise BookError(f"{relations} is empty")
    ids = {tag.get("Id") for tag in markup.each("Relationship")}
    number = 1
    while f"rIdRail{number}" in ids:
        number += 1
    changes = Changes(content)
    line = b'<%s Id="rIdRail%d" Type="%s" Target="/%s"/>' % (
        markup.named("Relationship"), number, _KIND.encode(), part.encode(),
    )  # fmt: skip
    changes.insert(markup.close("Relationships", markup.root)[0], line)
    changed[relations], undo[relations] = changes.made()


def _say_type(content: bytes | None, part: str, changed: dict[str, bytes | None], undo: dict[str, list[Undo]]) -> None:
    if content is None:
        raise BookError(f"the workbook is damaged: {_TYPES} is missing")
    markup = Markup(content, "Types", _TYPES, _TYPES_SPACE)
    if any((tag.get("Extension") or "").lower() == "xml" for tag in markup.each("Default")):
        return
    changes = Changes(content)
    line = b'<%s PartName="/%s" ContentType="application/xml"/>' % (markup.named("Override"), part.encode())
    changes.insert(markup.close("Types", markup.root)[0], line)
    changed[_TYPES], undo[_TYPES] = changes.made()


def _packed(changed: dict[str, bytes | None], undo: dict[str, list[Undo]]) -> bytes:
    parts = {}
    for name, steps in undo.items():
        ends = [0, *(step.start + step.length for step in steps)]
        parts[name] = {
            "sha256": hashlib.sha256(changed[name] or b"").hexdigest(),
            "skip": [step.start - end for step, end in zip(steps, ends, strict=False)],
            "length": [step.length for step in steps],
            "old": b"\0".join(step.old for step in steps).decode("utf-8"),  # no XML part holds a zero byte
        }
    return json.dumps(parts, separators=(",", ":"), ensure_ascii=False).encode("utf-8")


def _find(package: Package) -> tuple[str, dict[str, Any]] | None:
    name = own_part(package)
    found = re.search(rb"<added[^>]*>([A-Za-z0-9+/=\s]+)</added>", package.parts[name]) if name else None
    if name is None or found is None:
        return None
    try:
        unpacker = zlib.decompressobj()
        packed = unpacker.decompress(base64.b64decode(found[1]), _LONGEST)
        return None if unpacker.unconsumed_tail else (name, json.loads(packed))
    except (ValueError, zlib.error):
        return None


def is_marked(book: Workbook) -> bool:
    """Whether columns of ours are in the workbook."""
    names = (tag.get("name") or "" for tag in book.markup.each("definedName"))
    return any(name.startswith(MARK) for name in names)


def taken_back(package: Package) -> dict[str, bytes | None] | None:
    """The changed parts as they were, if the file is byte for byte as it was left; else `None`."""
    found = _find(package)
    if found is None:
        return None
    own, parts = found
    back: dict[str, bytes | None] = {own: None}
    try:
        for name, kept in parts.items():
            content = package.parts.get(name)
            if content is None or hashlib.sha256(content).hexdigest() != kept["sha256"]:
                return None
            at = 0
            steps = []
            olds = kept["old"].encode("utf-8").split(b"\0")
            for skip, length, old in zip(kept["skip"], kept["length"], olds, strict=True):
                steps.append(Undo(at + skip, length, old))
                at += skip + length
            back[name] = undone(content, steps)
    except (KeyError, TypeError, ValueError, AttributeError):
        return None
    return back


def own_part(package: Package) -> str | None:
    """The part that holds the record, readable or not."""
    for name, content in package.parts.items():
        if name.casefold().startswith("customxml/") and NAMESPACE.encode() in content[:400]:
            return name
    return None
