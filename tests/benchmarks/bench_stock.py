"""Time to make a stock plan against the number of pieces, with the gap to the bound. Run by hand:

python tests/benchmarks/bench_stock.py

Jobs are made by a fixed dice: up to 40 lengths from 16 to 60 in in sixteenths, sticks of 96, 120, 144 and 192 in,
kerf 1/8 in, end trim 1/2 in. "Priced" sticks cost what no length explains; "by length" they cost their length; "all
different" has no two pieces alike. Times are also given as a ratio to the plain plan of 10 pieces.
"""

import random
import time
from fractions import Fraction
from importlib.util import find_spec

from railfuncs.stock import Piece, Stick, plan

LENGTHS = (96, 120, 144, 192)
PRICES = (Fraction(899, 100), Fraction(1149, 100), Fraction(1379, 100), Fraction(1849, 100))
COUNTS = (10, 50, 200, 500, 1000, 2000)
SIXTEENTH = Fraction(1, 16)


def job(count: int, name: str) -> tuple[list[Piece], list[Stick]]:
    dice = random.Random(count)
    if name == "all different":
        lengths = [dice.randint(16 * 64, 60 * 64) * Fraction(1, 64) for _ in range(count)]
    else:
        kinds = [dice.randint(16 * 16, 60 * 16) * SIXTEENTH for _ in range(min(40, max(2, count // 2)))]
        lengths = [dice.choice(kinds) for _ in range(count)]
    prices = PRICES if name == "priced" else (None,) * len(LENGTHS)
    return [Piece(n) for n in lengths], [Stick(n, price) for n, price in zip(LENGTHS, prices, strict=True)]


def main() -> None:
    ways = (False, True) if find_spec("highspy") else (False,)
    plan(*job(10, "priced"), solver=ways[-1])  # loads the solver
    base = None
    print(f"{'job':14} {'pieces':>6} {'way':>7} {'seconds':>8} {'ratio':>8} {'gap':>8}  proved")
    for name in ("priced", "by length", "all different"):
        for count in COUNTS:
            for solver in ways:
                pieces, stock = job(count, name)
                start = time.perf_counter()
                made = plan(pieces, stock, Fraction(1, 8), Fraction(1, 2), solver=solver)
                taken = time.perf_counter() - start
                base = base or taken
                proved = "cost and waste" if made.proven else "cost" if made.least_cost else "-"
                print(
                    f"{name:14} {count:6} {'solver' if solver else 'plain':>7} {taken:8.2f} {taken / base:8.1f}"
                    f" {float(made.gap):8.3%}  {proved}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
