"""What each of many lots leaves by a plan's routes, which way each should go, and how sure the month's total is.

    python3 examples/portfolio/value.py LOTS.csv [--plan PLAN.json] [--draws 100] [--dask N]

The table is read in pieces, so that memory does not grow with it. --dask N values the pieces in N worker processes;
the answer is the same to the last digit. Exit status: 0; 1 where something is wrong with a file; 2 for a wrong command.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import pathlib
import sys
from typing import Any, BinaryIO, Dict, Iterator, List, Optional, Tuple

HERE = pathlib.Path(__file__).resolve().parent
sys.path.append(str(HERE.parent / "monthly"))  # the bar is the month's

import buttonworth

import valuing
from progress import Bar
from reading import Piece, Unreadable, open_table
from valuing import Sums, Work


def main(arguments: Optional[List[str]] = None) -> int:
    asked = _asked(arguments)
    try:
        work = Work(valuing.read_plan(asked.plan), open_table(asked.lots), asked.draws, asked.seed,
                    1 if asked.dask else asked.threads, asked.results is not None)
        looked = valuing.look(work)
        sums = _all(work, looked, asked)
    except (Unreadable, buttonworth.Error, ImportError) as error:
        print(error, file=sys.stderr)
        return 1
    if asked.sums is not None:
        asked.sums.write_text(json.dumps(sums.as_document(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    print(page(sums, looked, work.table.lines_before))
    return 0


def _asked(arguments: Optional[List[str]]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="value.py", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("lots", type=pathlib.Path, metavar="LOTS.csv", help="a row a lot")
    parser.add_argument("--plan", type=pathlib.Path, default=HERE / "plan.json", help="what every lot may do")
    parser.add_argument("--draws", type=int, default=100, help="0: the lots' own values alone (100)")
    parser.add_argument("--seed", type=int, default=1, help="of the draws (1)")
    parser.add_argument("--threads", type=int, default=os.cpu_count() or 1, help="in one process (one a processor)")
    parser.add_argument("--dask", type=int, metavar="N", help="value in so many worker processes instead")
    parser.add_argument("--results", type=pathlib.Path, metavar="FILE", help="write every lot's figures there")
    parser.add_argument("--sums", type=pathlib.Path, metavar="FILE", help="write the sums there, as JSON")
    parser.add_argument("--quiet", action="store_true", help="no progress bar")
    return parser.parse_args(arguments)


# ---- Working -----------------------------------------------------------------------------------


def _all(work: Work, looked: Dict[str, Any], asked: argparse.Namespace) -> Sums:
    sums = Sums.of(looked)
    with _results(asked.results) as results, Bar(work.table.path.stat().st_size - work.table.start, asked.quiet) as bar:
        if results is not None:
            results.write(valuing.heading(work, list(looked["routes"])))
        for piece, more, lines in _pieces(work, asked.dask):
            sums.add(more)
            if results is not None and lines is not None:
                results.write(lines)
            bar.step(piece.size)
    return sums


def _pieces(work: Work, workers: Optional[int]) -> Iterator[Tuple[Piece, Sums, Optional[bytes]]]:
    if workers:
        from workers import by_workers  # wants Dask

        yield from by_workers(work, work.table.pieces(), workers)
    else:
        for piece in work.table.pieces():
            yield (piece, *valuing.value(work, piece))


@contextlib.contextmanager
def _results(path: Optional[pathlib.Path]) -> Iterator[Optional[BinaryIO]]:
    if path is None:
        yield None
        return
    with open(path, "wb") as file:
        yield file


# ---- Telling -----------------------------------------------------------------------------------


def page(sums: Sums, looked: Dict[str, Any], lines_before: int) -> str:
    return "\n".join([_counts(sums), "", *_routes(sums, looked["currency"]), "", *_month(sums, looked["currency"]),
                      *_left_out(sums, lines_before), *_cautions(looked)])


def _counts(sums: Sums) -> str:
    counts = sums.counts
    text = f"{counts['rows']:,} lots, {counts['counted']:,} valued"
    for name, words in (("refused", "closed to every route"), ("impossible", "not to be worked out"),
                        ("unreadable", "not readable")):
        if counts[name]:
            text += f"; {counts[name]:,} {words}"
    return text


def _routes(sums: Sums, currency: str) -> Iterator[str]:
    title, whole = f"What they leave, {currency}", "each its best way"
    width = max(len(title) - 2, *(len(name) for name in [*sums.routes, whole]))
    yield f"{title:{width + 2}}{'best for':>10}{'these leave':>15}{'all leave':>15}{'refused':>9}"
    for name, route in sums.routes.items():
        yield (f"  {name:{width}}{route['best']:>10,}{_money(route['best_sum']):>15}{_money(route['sum']):>15}"
               f"{route['refused']:>9,}")
    yield f"  {whole:{width}}{sums.counts['counted'] - sums.counts['refused']:>10,}{_money(sums.total):>15}"


def _month(sums: Sums, currency: str) -> Iterator[str]:
    """The draws differ by prices, which are one for all lots; the lots' own errors even out."""
    if not sums.draws:
        return
    ordered, count = sorted(sums.draws), len(sums.draws)

    def ranked(hundredths: int) -> str:
        return _money(ordered[max(1, -(-hundredths * count // 100)) - 1])

    worst = ordered[:max(1, -(-5 * count // 100))]
    yield f"All together, {currency}, over {count:,} draws of prices, assays and recoveries"
    for what, amount in (("on average", _money(sum(ordered) // count)), ("half above", ranked(50)),
                         ("9 in 10 between", f"{ranked(5)} and {ranked(95)}"),
                         ("the worst 5 in 100, on average", _money(sum(worst) // len(worst)))):
        yield f"  {what:32}{amount:>15}"
    yield ""


def _left_out(sums: Sums, lines_before: int) -> Iterator[str]:
    if sums.left_out:
        yield "Left out, the first of them:"
        yield from (f"  line {row['row'] + lines_before + 1}{', ' + row['of'] if row['of'] else ''}: {row['what']}"
                    for row in sums.left_out)
        yield ""


def _cautions(looked: Dict[str, Any]) -> Iterator[str]:
    yield "Cautions"
    yield from (f"  - {what}" for what in dict.fromkeys(caution["what"] for caution in looked["cautions"]))


def _money(amount: int) -> str:
    return f"{round(amount / 10000):,}"


if __name__ == "__main__":
    sys.exit(main())
