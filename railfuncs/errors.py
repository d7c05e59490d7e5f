"""What can be wrong with what a person gave us: one class a kind, one sentence an error.

The sentence is for the person at the sheet: it says what is wrong, where, and what to write instead.
Hosts translate these errors only; any other exception is a fault of ours and stays visible.
"""


class RailError(ValueError):
    """Anything a person can put right. Its text is one sentence."""


class LengthError(RailError):
    """A length that cannot be read, or is out of all proportion for a rail."""


class RuleError(RailError):
    """Values that can be read, but that no rail can be built from."""


class InputError(RailError):
    """Cells of a measure sheet that must be put right; holds one sentence a cell."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


class BookError(RailError):
    """A workbook or file that cannot be read or written as asked."""
