"""The most valuable filling of a stick, exactly: what the solver asks again and again."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]


class Fillings:
    """The best fillings of sticks up to one room, for whole values of the pieces.

    For every place in the list of widths it keeps the sizes at which the best value of the widths from there on
    rises, and those values: exact whatever the grid, and small where values are few.
    """

    def __init__(self, widths: tuple[int, ...], demand: tuple[int, ...], values: list[int], room: int) -> None:
        self._worth = [
            (at, width, min(demand[at], room // width), values[at])
            for at, width in enumerate(widths)
            if values[at] > 0 and width <= room
        ]
        sizes: Whole = np.zeros(1, np.int64)
        best: Whole = np.zeros(1, np.int64)
        self._stages = [(sizes, best)]
        for _, width, count, value in reversed(self._worth):
            step = 1
            while count:  # 1, 2, 4, ... of them at a time make up every number up to the count
                some = min(step, count)
                sizes, best = _with(sizes, best, some * width, some * value, room)
                count -= some
                step *= 2
            self._stages.append((sizes, best))
        self._stages.reverse()

    def best(self, room: int, stage: int = 0) -> int:
        """The most that a stick of `room` can hold."""
        sizes, best = self._stages[stage]
        return int(best[np.searchsorted(sizes, room, side="right") - 1]) if room >= 0 else -1

    def worth_at_least(self, room: int, value: int) -> Iterator[tuple[tuple[int, int], ...]]:
        """Every filling of a stick of `room` worth `value` or more, as (width's place, count) pairs."""
        stack: list[tuple[int, int, int, tuple[tuple[int, int], ...]]] = [(0, room, value, ())]
        while stack:
            stage, left, wanted, cut = stack.pop()
            if stage == len(self._worth):
                yield cut
                continue
            at, width, count, each = self._worth[stage]
            for some in range(min(count, left // width) + 1):
                if self.best(left - some * width, stage + 1) >= wanted - some * each:
                    taken = (*cut, (at, some)) if some else cut
                    stack.append((stage + 1, left - some * width, wanted - some * each, taken))


def _with(sizes: Whole, best: Whole, width: int, value: int, room: int) -> tuple[Whole, Whole]:
    more = sizes + width
    fits = int(np.searchsorted(more, room, side="right"))
    both = np.concatenate([sizes, more[:fits]])
    worth = np.concatenate([best, best[:fits] + value])
    order = np.lexsort((-worth, both))
    both, worth = both[order], worth[order]
    rises = np.concatenate([[True], worth[1:] > np.maximum.accumulate(worth)[:-1]])
    return both[rises], worth[rises]
