"""Cutting pieces from stock: which stick each piece comes from, what it costs, and how good the plan is.

How a stick is cut, stated once for everything here:

- The stick is squared first: `trim` is all that is taken off its ends for that, saw cuts included. A stick of
  length S leaves S - trim.
- Pieces are cut one after the other from the squared end; each cut turns one `kerf` to dust. So k pieces need
  their lengths and k - 1 kerfs between them.
- The cut after the last piece is made only where wood is left over: pieces that use the stick exactly need
  k - 1 cuts. Where less than a kerf is left, that last cut takes all of it and there is no offcut.
- Pieces are never spliced.
"""

from railfuncs.stock.job import Piece, Stick
from railfuncs.stock.plan import Cut, CutStick, Plan, plan
from railfuncs.stock.sheet import cut_plan, sticks

__all__ = ["Cut", "CutStick", "Piece", "Plan", "Stick", "cut_plan", "plan", "sticks"]
