"""Finding places in an XML part by byte offset, and changing only those places.

A part is never parsed and written out again: that would lose prefixes, spaces and order that somebody's program
wrote. Every change knows how to be undone.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from html import unescape
from typing import NamedTuple
from xml.sax.saxutils import escape

from railfuncs.errors import BookError

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"

ATTRS = rb"""(?:\s+[\w:.\-]+\s*=\s*(?:"[^"]*"|'[^']*'))*"""
_HIDDEN = re.compile(rb"<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>", re.DOTALL)
_DECLARED = re.compile(rb"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([\w.\-]+)["']""")


@dataclass(frozen=True)
class Tag:
    """A start tag: its place in the part, its attributes as written, whether it is empty (`/>`)."""

    start: int
    end: int
    attrs: bytes
    empty: bool
    tail: int  # bytes from the end of the attributes to the end of the tag

    def get(self, name: str) -> str | None:
        found = _attribute(self.attrs, name)
        return None if found is None else unescape(found[2].decode("utf-8"))

    def place(self, name: str) -> tuple[int, int] | None:
        """Where the value of an attribute stands in the part."""
        found = _attribute(self.attrs, name)
        if found is None:
            return None
        shift = self.attrs_start
        return found[0] + shift, found[1] + shift

    @property
    def attrs_start(self) -> int:
        return self.end - self.tail - len(self.attrs)


@cache
def _named_attribute(name: str) -> re.Pattern[bytes]:
    return re.compile(rb"""\s%s\s*=\s*(?:"([^"]*)"|'([^']*)')""" % re.escape(name.encode()))


def _attribute(attrs: bytes, name: str) -> tuple[int, int, bytes] | None:
    found = _named_attribute(name).search(attrs)
    if found is None:
        return None
    group = 1 if found[1] is not None else 2
    return found.start(group), found.end(group), found[group]


class Markup:
    """One XML part, its main namespace's prefix found from the root element."""

    def __init__(self, content: bytes, root: str, where: str, namespace: str = MAIN) -> None:
        if content[:3] == b"\xef\xbb\xbf":
            pass  # a mark of UTF-8
        elif content[:2] in (b"\xff\xfe", b"\xfe\xff") or content[:4].count(0):
            raise BookError(f"{where} is not in UTF-8")
        declared = _DECLARED.match(content.lstrip(b"\xef\xbb\xbf"))
        if declared and declared[1].lower() not in (b"utf-8", b"us-ascii", b"ascii", b"utf8"):
            raise BookError(f"{where} is in {declared[1].decode()}, not in UTF-8")
        self.content = content
        self.where = where
        # What stands in comments and the like must not be found; same length, so that places stay true.
        needs_mask = b"<!" in content or content.count(b"<?") > 1
        self.seen = _HIDDEN.sub(lambda m: b" " * len(m[0]), content) if needs_mask else content
        opening = re.search(rb"<(?:([\w.\-]+):)?%s(?=[\s/>])" % root.encode(), self.seen)
        if opening is None:
            raise BookError(f"{where} does not hold a {root}")
        self.prefix = (opening[1] + b":") if opening[1] else b""
        self._patterns: dict[str, re.Pattern[bytes]] = {}
        self.root = self._tag(root, opening.start())
        key = f"xmlns:{opening[1].decode()}" if opening[1] else "xmlns"
        declared_namespace = self.root.get(key)
        if declared_namespace == STRICT:
            raise BookError(f"{where} is of the strict variant; save it as an ordinary Excel workbook")
        if declared_namespace != namespace:
            raise BookError(f"{where} is not in the usual namespace")

    def named(self, name: str) -> bytes:
        return self.prefix + name.encode()

    def _tag(self, name: str, at: int) -> Tag:
        found = self.pattern(name).match(self.seen, at)
        if found is None:
            raise BookError(f"{self.where}: a {name} cannot be read")
        return _as_tag(found)

    def pattern(self, name: str) -> re.Pattern[bytes]:
        if name not in self._patterns:
            self._patterns[name] = re.compile(rb"<%s(%s)\s*(/?)>" % (self.named(name), ATTRS))
        return self._patterns[name]

    def find(self, name: str, start: int = 0, end: int | None = None) -> Tag | None:
        """The first start tag of that name."""
        found = self.pattern(name).search(self.seen, start, len(self.seen) if end is None else end)
        return _as_tag(found) if found else None

    def each(self, name: str, start: int = 0, end: int | None = None) -> Iterator[Tag]:
        for found in self.pattern(name).finditer(self.seen, start, len(self.seen) if end is None else end):
            yield _as_tag(found)

    def close(self, name: str, tag: Tag) -> tuple[int, int]:
        """Where the end tag stands (for an empty element, right after it)."""
        if tag.empty:
            return tag.end, tag.end
        start = self.seen.find(b"</" + self.named(name), tag.end)
        while start >= 0 and self.seen[start + 2 + len(self.named(name))] not in b" \t\r\n>":
            start = self.seen.find(b"</" + self.named(name), start + 1)
        end = self.seen.find(b">", start)
        if start < 0 or end < 0:
            raise BookError(f"{self.where}: a {name} does not end")
        return start, end + 1


def _as_tag(found: re.Match[bytes]) -> Tag:
    return Tag(found.start(), found.end(), found[1], bool(found[2]), found.end() - found.end(1))


class Undo(NamedTuple):
    """How to take one change back: at `start` of the new part, `length` bytes become `old` again."""

    start: int
    length: int
    old: bytes


class Changes:
    """Changes to one part, collected by place and made all at once."""

    def __init__(self, content: bytes) -> None:
        self.content = content
        self._edits: list[tuple[int, int, bytes]] = []

    def insert(self, at: int, new: bytes) -> None:
        self._edits.append((at, at, new))

    def replace(self, start: int, end: int, new: bytes) -> None:
        if self.content[start:end] != new:
            self._edits.append((start, end, new))

    def set_attribute(self, tag: Tag, name: str, value: str) -> None:
        place = tag.place(name)
        written = attribute(value)
        if place is not None:
            self.replace(*place, written)
        else:
            self.insert(tag.attrs_start + len(tag.attrs), f' {name}="'.encode() + written + b'"')

    def made(self) -> tuple[bytes, list[Undo]]:
        """The changed part, and how to change it back."""
        pieces: list[bytes] = []
        undo: list[Undo] = []
        at = length = 0
        for start, end, new in sorted(self._edits, key=lambda edit: edit[:2]):
            if start < at:
                raise AssertionError("two changes overlap")
            pieces += (self.content[at:start], new)
            length += start - at
            undo.append(Undo(length, len(new), self.content[start:end]))
            length += len(new)
            at = end
        pieces.append(self.content[at:])
        return b"".join(pieces), undo


def undone(content: bytes, undo: list[Undo]) -> bytes:
    """A changed part as it was."""
    pieces: list[bytes] = []
    at = 0
    for start, length, old in undo:
        pieces += (content[at:start], old)
        at = start + length
    pieces.append(content[at:])
    return b"".join(pieces)


def attribute(value: str) -> bytes:
    """Text as it stands in an attribute; line ends keep their meaning."""
    written = escape(value, {'"': "&quot;", "\n": "&#10;", "\r": "&#13;", "\t": "&#9;"})
    return written.encode("utf-8")


def text(value: str) -> bytes:
    """Text as it stands between tags."""
    return escape(value, {"\r": "&#13;"}).encode("utf-8")
