"""A real LibreOffice Calc for the tests: it opens workbooks, recalculates them and tells what the cells hold."""

from .office import CellError, Office, OfficeError

__all__ = ["CellError", "Office", "OfficeError"]
