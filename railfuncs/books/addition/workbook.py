"""The workbook around the sheets: which parts hold what, and what forbids an edit."""

from dataclasses import dataclass
from functools import cached_property

from railfuncs.books.addition.markup import Markup
from railfuncs.books.addition.package import Package, parsed, rels_part, resolved
from railfuncs.books.addition.sheet import Area, SharedTexts, Sheet, area
from railfuncs.errors import BookError

RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MACRO_SHEETS = ("chartsheet", "dialogsheet", "xlMacrosheet", "xlIntlMacrosheet")


@dataclass(frozen=True)
class Relation:
    id: str
    kind: str
    part: str


@dataclass(frozen=True)
class SheetEntry:
    title: str
    part: str
    hidden: bool
    index: int


@dataclass(frozen=True)
class TableEntry:
    """An Excel table: its part, name, place, column names, and rows of header and totals."""

    part: str
    name: str
    area: Area
    columns: tuple[str, ...]
    headers: int
    totals: int


class Workbook:
    """The parts of a workbook by meaning.

    Raises:
        BookError: encrypted, signed, strict, binary, or not a workbook at all.
    """

    def __init__(self, package: Package) -> None:
        self.package = package
        name = package.name
        if any(part.startswith("_xmlsignatures/") for part in package.parts):
            raise BookError(f"{name} is digitally signed and any edit breaks the signature")
        if "EncryptedPackage" in package.parts:
            raise BookError(f"{name} is encrypted with a password")
        if "mimetype" in package.parts:
            raise BookError(f"{name} is not an Excel workbook; save it as .xlsx first")
        main = [r for r in self.relations("") if r.kind.endswith("/relationships/officeDocument")]
        if not main or main[0].part not in package.parts:
            raise BookError(f"{name} is not an Excel workbook")
        self.part = main[0].part
        if "purl.oclc.org" in main[0].kind:
            raise BookError(f"{name} is of the strict variant; save it as an ordinary Excel workbook")
        if self.part.endswith(".bin"):
            raise BookError(f"{name} is a binary workbook; save it as .xlsx first")
        self.markup = Markup(package.parts[self.part], "workbook", name)
        self._sheets: dict[str, Sheet] = {}

    def relations(self, part: str) -> list[Relation]:
        """What a part points to inside the package."""
        content = self.package.parts.get(rels_part(part))
        if content is None:
            return []
        found = []
        for each in parsed(content, f"{self.package.name}: {rels_part(part)}"):
            if isinstance(each.tag, str) and each.get("TargetMode") != "External":
                target = resolved(part, each.get("Target") or "")
                found.append(Relation(each.get("Id") or "", each.get("Type") or "", self._spelt(target)))
        return found

    def _spelt(self, part: str) -> str:
        """Part names are the same whatever their case."""
        return self._by_case.get(part.casefold(), part)

    @cached_property
    def _by_case(self) -> dict[str, str]:
        return {name.casefold(): name for name in self.package.parts}

    @cached_property
    def sheets(self) -> list[SheetEntry]:
        """The worksheets in order; chart, dialog and macro sheets left out."""
        by_id = {r.id: r for r in self.relations(self.part)}
        root = parsed(self.markup.content, self.package.name)
        entries = []
        for index, each in enumerate(root.iter("{*}sheet")):
            relation = by_id.get(each.get(f"{{{_OFFICE}}}id") or "")
            if relation and relation.kind.endswith("/worksheet") and relation.part in self.package.parts:
                hidden = each.get("state", "visible") != "visible"
                entries.append(SheetEntry(each.get("name") or "", relation.part, hidden, index))
        return entries

    @cached_property
    def shared(self) -> SharedTexts:
        for relation in self.relations(self.part):
            if relation.kind.endswith("/sharedStrings"):
                return SharedTexts(self.package.parts.get(relation.part))
        return SharedTexts(None)

    @cached_property
    def styles_part(self) -> str | None:
        for relation in self.relations(self.part):
            if relation.kind.endswith("/styles") and relation.part in self.package.parts:
                return relation.part
        return None

    def sheet(self, entry: SheetEntry) -> Sheet:
        if entry.part not in self._sheets:
            content = self.package.parts[entry.part]
            self._sheets[entry.part] = Sheet(content, entry.title, entry.part, self.shared)
        return self._sheets[entry.part]

    def tables(self, entry: SheetEntry) -> list[TableEntry]:
        found = []
        for relation in self.relations(entry.part):
            if relation.kind.endswith("/table") and relation.part in self.package.parts:
                markup = Markup(self.package.parts[relation.part], "table", f"a table of sheet {entry.title}")
                columns = tuple(tag.get("name") or "" for tag in markup.each("tableColumn"))
                found.append(
                    TableEntry(
                        relation.part,
                        markup.root.get("displayName") or markup.root.get("name") or "",
                        area(markup.root.get("ref") or "", f"a table of sheet {entry.title}"),
                        columns,
                        int(markup.root.get("headerRowCount") or 1),
                        int(markup.root.get("totalsRowCount") or 0),
                    )
                )
        return found
