"""Baluster spacing, marks, shop set-up and cut lists for stair and balcony rails.

Every worksheet function is importable by its lower-case name:

>>> import railfuncs
>>> railfuncs.rail_gap(72, 0.5, 17)
Fraction(127, 36)
>>> railfuncs.rail_gap(["6'", None, "1600 mm"], 0.5, 17)
[Fraction(127, 36), None, Fraction(13841, 4572)]
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from railfuncs.catalogue import Function

__version__ = "0.1.0"


def __getattr__(name: str) -> "Function":
    if name.startswith("rail_"):
        from railfuncs.catalogue import functions

        if name.upper() in functions():
            return functions()[name.upper()]
    raise AttributeError(f"module 'railfuncs' has no attribute '{name}'")


def __dir__() -> list[Any]:
    from railfuncs.catalogue import functions

    return sorted([*globals(), *(name.lower() for name in functions())])
