"""Writes a table of invented lots, as many as asked for.

    python3 examples/portfolio/make_lots.py 20000 --out lots.csv

The same seed gives the same lots, and fewer of them the first of more. None of them is anybody's.
"""

from __future__ import annotations

import argparse
import pathlib
import sys
from typing import Iterator, List, Optional

import numpy

HEADING = "lot,/lot/wet_mass (kg),/lot/moisture (%),/lot/assays/Au (g/t),/lot/assays/Ag (g/t),/lot/assays/As (%)\n"
BLOCK = 50_000  # lots made at once


def lines(count: int, seed: int) -> Iterator[str]:
    """The table in pieces, the first with its heading."""
    yield f"# {count} invented lots, seed {seed}\n{HEADING}"
    for block in range(0, count, BLOCK):
        block_lots = _block(block, min(count - block, BLOCK), seed)
        yield "".join("S-%07d,%.1f,%.2f,%.1f,%.1f,%.3f\n" % lot for lot in block_lots).replace("nan", "")


def _block(first: int, count: int, seed: int) -> Iterator[tuple]:
    """Small lots of many sellers: most near 400 kg and 500 g/t, a few ten times as rich, some wet, some dirty; of one
    in five thousand the gold assay is not in yet.
    """
    random = numpy.random.default_rng([seed, first])
    mass = numpy.clip(random.lognormal(6.0, 0.5, BLOCK), 20, 4000)
    moisture = random.triangular(4, 10.5, 21, BLOCK)
    gold = numpy.clip(random.lognormal(6.2, 0.8, BLOCK), 5, 30_000)
    silver = gold * random.lognormal(-1.8, 0.4, BLOCK)
    gold[random.random(BLOCK) < 1 / 5000] = numpy.nan
    arsenic = numpy.clip(random.lognormal(-1.2, 0.7, BLOCK), 0.01, 8)
    return zip(range(first, first + count), mass, moisture, gold, silver, arsenic)


def main(arguments: Optional[List[str]] = None) -> int:
    parser = argparse.ArgumentParser(prog="make_lots.py", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("count", type=int, help="how many lots")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=pathlib.Path, required=True, help="the file to write")
    asked = parser.parse_args(arguments)
    with open(asked.out, "w", encoding="ascii", newline="\n") as file:
        file.writelines(lines(asked.count, asked.seed))
    return 0


if __name__ == "__main__":
    sys.exit(main())
