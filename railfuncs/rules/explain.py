"""Why a function gives an error, for spreadsheets that cannot show a sentence in place of one."""

from typing import Any

from railfuncs.catalogue import function, functions
from railfuncs.errors import RailError, RuleError


@function("measure", formula=False)
def why(
    name: Any, first: Any = "", second: Any = "", third: Any = "", fourth: Any = "", fifth: Any = "",
    sixth: Any = "", seventh: Any = "",
) -> str:  # fmt: skip
    """What is wrong with the values given to a function, in one sentence; blank where nothing is.

    Give it the function's name, then the same values. Of whole columns, the first thing wrong is told.

    Args:
        name (text): the function's name, such as RAIL_GAP
        first (anything): its first value, cell or range
        second (anything): its second value
        third (anything): its third value
        fourth (anything): its fourth value
        fifth (anything): its fifth value
        sixth (anything): its sixth value
        seventh (anything): its seventh value
    Returns (text): the sentence, or nothing
    Source: the sentences of the functions themselves
    Example:
        >>> why("RAIL_GAP", 10, 1, 10)
        'that many balusters do not fit in the opening'
    """
    asked = functions().get(str(name).strip().upper())
    if asked is None or asked.name == "RAIL_WHY":
        raise RuleError(f"'{name}' is not one of these functions; write a name such as RAIL_GAP")
    values = [first, second, third, fourth, fifth, sixth, seventh]
    while values and isinstance(values[-1], str) and not values[-1]:
        values.pop()
    try:
        asked(*values)
    except RailError as error:
        return str(error)
    return ""
