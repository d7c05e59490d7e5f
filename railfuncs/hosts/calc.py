"""The add-in for LibreOffice Calc (.oxt), made from the catalogue."""

from importlib.resources import files
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from lxml.etree import Element, SubElement, tostring

from railfuncs import __version__
from railfuncs.catalogue import Argument, Function
from railfuncs.hosts.core import core_files
from railfuncs.hosts.in_calc import CATEGORY, SERVICE, by_short_name, described
from railfuncs.hosts.values import help_text

IDENTIFIER = "railfuncs.functions"
TYPES = "railfuncs.rdb"

_OOR = "http://openoffice.org/2001/registry"
_XML = "http://www.w3.org/XML/1998/namespace"
_MANIFEST = "http://openoffice.org/2001/manifest"
_DESCRIPTION = "http://openoffice.org/extensions/description/2006"
_PARTS = {
    TYPES: "application/vnd.sun.star.uno-typelibrary;type=RDB",
    "CalcAddIns.xcu": "application/vnd.sun.star.configuration-data",
    "component.py": "application/vnd.sun.star.uno-component;type=Python",
}


def file_name(entry: Function) -> str:
    """The name of a function in files that Calc opens; only people see its name with an underscore.

    >>> from railfuncs.catalogue import functions
    >>> file_name(functions()["RAIL_GAP"])
    'RAIL.GAP'
    """
    return entry.name.replace("RAIL_", f"{SERVICE}.", 1)


def write_addin(path: Path) -> None:
    """Write the add-in to `path`."""
    oxt = files("railfuncs.hosts") / "oxt"
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/manifest.xml", _manifest())
        archive.writestr("description.xml", _description())
        archive.writestr("CalcAddIns.xcu", _function_help())
        archive.writestr(TYPES, (oxt / TYPES).read_bytes())
        archive.writestr("component.py", (oxt / "component.txt").read_bytes())
        for inside, text in core_files("railfuncs.hosts.in_calc").items():
            archive.writestr(f"pythonpath/{inside}", text)


def idl() -> str:
    """The functions as UNO declares them, from which `unoidl-write` makes the type library.

    Required arguments are rows of cells: so Calc refuses a call without them, and tells blanks in ranges from zeros.
    """
    methods = [
        f"    sequence<sequence<any> > {name}({', '.join(_parameter(argument) for argument in entry.arguments)});"
        for name, entry in by_short_name().items()
    ]
    return "\n".join(
        ["module railfuncs { module sheet {", "  interface XRail {", *methods, "  };", "}; };", ""]
    )


def _parameter(argument: Argument) -> str:
    kind = "sequence<sequence<any> >" if argument.default is None else "any"
    return f"[in] {kind} {_uno_name(argument)}"


def _uno_name(argument: Argument) -> str:
    """UNO allows no underscore in the name of a parameter."""
    first, *others = argument.name.split("_")
    return first + "".join(other.title() for other in others)


def _manifest() -> bytes:
    root = Element(f"{{{_MANIFEST}}}manifest", nsmap={"manifest": _MANIFEST})
    for part, media_type in _PARTS.items():
        entry = SubElement(root, f"{{{_MANIFEST}}}file-entry")
        entry.set(f"{{{_MANIFEST}}}media-type", media_type)
        entry.set(f"{{{_MANIFEST}}}full-path", part)
    return _bytes(root)


def _description() -> bytes:
    root = Element(f"{{{_DESCRIPTION}}}description", nsmap={None: _DESCRIPTION})
    SubElement(root, f"{{{_DESCRIPTION}}}identifier", value=IDENTIFIER)
    SubElement(root, f"{{{_DESCRIPTION}}}version", value=__version__)
    names = SubElement(root, f"{{{_DESCRIPTION}}}display-name")
    SubElement(names, f"{{{_DESCRIPTION}}}name", lang="en").text = "Rail functions"
    return _bytes(root)


def _function_help() -> bytes:
    """What the function wizard shows."""
    root = Element(f"{{{_OOR}}}component-data", nsmap={"oor": _OOR})
    root.set(f"{{{_OOR}}}name", "CalcAddIns")
    root.set(f"{{{_OOR}}}package", "org.openoffice.Office")
    every = _node(_node(_node(root, "AddInInfo"), SERVICE, "replace"), "AddInFunctions")
    for name, entry in by_short_name().items():
        node = _node(every, name, "replace")
        _text(node, "DisplayName", entry.name)
        _text(node, "Description", described(entry))
        _text(node, "Category", CATEGORY, lang="")
        _text(node, "CompatibilityName", entry.name)
        parameters = _node(node, "Parameters")
        for argument in entry.arguments:
            parameter = _node(parameters, _uno_name(argument), "replace")
            _text(parameter, "DisplayName", argument.name)
            _text(parameter, "Description", help_text(argument))
    return _bytes(root)


def _node(parent: Any, name: str, how: str = "") -> Any:
    node = SubElement(parent, "node")
    node.set(f"{{{_OOR}}}name", name)
    if how:
        node.set(f"{{{_OOR}}}op", how)
    return node


def _text(node: Any, name: str, text: str, lang: str = "en") -> None:
    prop = SubElement(node, "prop")
    prop.set(f"{{{_OOR}}}name", name)
    value = SubElement(prop, "value")
    if lang:
        value.set(f"{{{_XML}}}lang", lang)
    value.text = text


def _bytes(root: Any) -> bytes:
    made: bytes = tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return made
