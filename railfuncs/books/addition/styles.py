"""Formats for the new cells: a neighbour's, with a number format of their own."""

import re

from railfuncs.books.addition.markup import Changes, Markup, Tag, Undo, attribute
from railfuncs.errors import BookError

_BUILT_IN = {"General": 0, "0": 1, "0.00": 2, "# ?/?": 12, "# ??/??": 13, "@": 49}
_MOST = 65000  # formats that a workbook can hold
_NUM_FMT = re.compile(rb"""\snumFmtId\s*=\s*["'](\d+)["']""")
_DROPPED = re.compile(rb"""\s(?:quotePrefix|applyNumberFormat)\s*=\s*["']\w*["']""")


class Styles:
    """The styles part, to which formats are appended. Without such a part, cells go without a format."""

    def __init__(self, content: bytes | None) -> None:
        self._markup = Markup(content, "styleSheet", "the workbook's styles") if content is not None else None
        self._list = self._markup.find("cellXfs") if self._markup else None
        self._formats: list[tuple[Tag, int]] = []
        self._made: dict[tuple[int, str], int] = {}
        self._added: list[bytes] = []
        self._new_codes: dict[str, int] = {}
        if self._markup and self._list:
            end = self._markup.close("cellXfs", self._list)[0]
            if b"AlternateContent" in self._markup.seen[self._list.end : end]:
                raise BookError("the workbook's formats stand in alternatives, which cannot be edited safely")
            tags = self._markup.each("xf", self._list.end, end)
            self._formats = [(tag, self._markup.close("xf", tag)[1]) for tag in tags]

    def number_format(self, style: int) -> str:
        """The format code of a style, or its number where it is one of Excel's own."""
        if self._markup is None or style >= len(self._formats):
            return "0"
        number = self._formats[style][0].get("numFmtId") or "0"
        for tag in self._markup.each("numFmt"):
            if tag.get("numFmtId") == number:
                return tag.get("formatCode") or ""
        return number

    def like(self, style: int, code: str) -> int:
        """The number of a format that looks like `style`, with this number format."""
        if self._markup is None or not self._formats:
            return 0
        if style >= len(self._formats):
            raise BookError("the workbook is damaged: a cell points past the table of formats")
        key = (style, code)
        if key not in self._made:
            number = len(self._formats) + len(self._added)
            if number >= _MOST:
                raise BookError("the workbook holds as many cell formats as Excel can take")
            self._added.append(self._dressed(style, self._code_number(code)))
            self._made[key] = number
        return self._made[key]

    def _dressed(self, style: int, number: int) -> bytes:
        assert self._markup is not None
        tag, end = self._formats[style]
        attrs = _DROPPED.sub(b"", tag.attrs)
        if _NUM_FMT.search(attrs):
            attrs = _NUM_FMT.sub(b' numFmtId="%d"' % number, attrs)
        else:
            attrs += b' numFmtId="%d"' % number
        head = b"<" + self._markup.named("xf") + attrs + b' applyNumberFormat="1"'
        return head + (b"/>" if tag.empty else b">" + self._markup.content[tag.end : end])

    def _code_number(self, code: str) -> int:
        if code in _BUILT_IN:
            return _BUILT_IN[code]
        if code in self._new_codes:
            return self._new_codes[code]
        assert self._markup is not None
        listed = self._markup.find("numFmts")
        end = self._markup.close("numFmts", listed)[0] if listed else 0
        numbers = [163, *self._new_codes.values()]
        for tag in self._markup.each("numFmt"):
            number = int(tag.get("numFmtId") or 0)
            # Conditional formats hold number formats too, which no cell may point to.
            if tag.start < end and tag.get("formatCode") == code:
                return number
            numbers.append(number)
        self._new_codes[code] = max(numbers) + 1
        return self._new_codes[code]

    def made(self) -> tuple[bytes, list[Undo]] | None:
        """The styles part with the formats appended, or `None` if none were asked for."""
        if self._markup is None or self._list is None or not self._added:
            return None
        changes = Changes(self._markup.content)
        changes.insert(self._markup.close("cellXfs", self._list)[0], b"".join(self._added))
        if self._list.place("count"):
            changes.set_attribute(self._list, "count", str(len(self._formats) + len(self._added)))
        if self._new_codes:
            self._append_codes(changes)
        return changes.made()

    def _append_codes(self, changes: Changes) -> None:
        assert self._markup is not None
        markup = self._markup
        lines = b"".join(
            b'<%s numFmtId="%d" formatCode="%s"/>' % (markup.named("numFmt"), number, attribute(code))
            for code, number in self._new_codes.items()
        )
        codes = markup.find("numFmts")
        name = markup.named("numFmts")
        if codes is not None and not codes.empty:
            changes.insert(markup.close("numFmts", codes)[0], lines)
            if codes.place("count"):
                have = int(codes.get("count") or 0)
                changes.set_attribute(codes, "count", str(have + len(self._new_codes)))
            return
        whole = b'<%s count="%d">' % (name, len(self._new_codes)) + lines + b"</" + name + b">"
        if codes is not None:
            changes.replace(codes.start, codes.end, whole)
        else:
            changes.insert(markup.root.end, whole)
