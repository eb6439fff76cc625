"""What the lots of a table leave: a piece at a time, in this process or in others, and the sums of the pieces.

Sums are whole ten-thousandths of money, so that they are the same in whatever order the pieces come.
"""

from __future__ import annotations

import functools
import pathlib
from dataclasses import dataclass, field
from typing import Any, Dict, List, Optional, Tuple

import buttonworth
import numpy

from reading import Piece, Table, Unreadable

COUNTS = ("rows", "counted", "refused", "impossible", "unreadable")
TOLD = 10  # rows left out that are told


@dataclass(frozen=True)
class Work:
    """All that a piece is valued by; it goes to other processes as it is."""

    plan: str
    table: Table
    draws: int
    seed: int
    threads: int
    lists: bool  # whether every lot's figures are wanted


@dataclass
class Sums:
    """What lots come to together."""

    counts: Dict[str, int] = field(default_factory=lambda: dict.fromkeys(COUNTS, 0))
    routes: Dict[str, Dict[str, int]] = field(default_factory=dict)
    total: int = 0
    draws: List[int] = field(default_factory=list)
    left_out: List[Dict[str, Any]] = field(default_factory=list)

    @classmethod
    def of(cls, answer: Dict[str, Any]) -> Sums:
        routes = {name: {"best": route["best"], "refused": route["refused"], "sum": _whole(route["sum"]),
                         "best_sum": _whole(route["best_sum"])} for name, route in answer["routes"].items()}
        draws = [_whole(one) for one in answer["draws"]["sums"]] if answer["draws"] else []
        return cls({name: answer[name] for name in COUNTS}, routes, _whole(answer["sum"]), draws, answer["left_out"])

    def add(self, more: Sums) -> None:
        """Pieces may come in any order."""
        for name in COUNTS:
            self.counts[name] += more.counts[name]
        for name, route in more.routes.items():
            mine = self.routes.setdefault(name, dict.fromkeys(route, 0))
            for figure, amount in route.items():
                mine[figure] += amount
        self.total += more.total
        self.draws = [a + b for a, b in zip(self.draws, more.draws)] if self.draws else list(more.draws)
        self.left_out = sorted(self.left_out + more.left_out, key=lambda row: row["row"])[:TOLD]

    def as_document(self) -> Dict[str, Any]:
        """For a file: money to 1/10000."""
        routes = {name: {**route, "sum": money(route["sum"]), "best_sum": money(route["best_sum"])}
                  for name, route in self.routes.items()}
        return {**self.counts, "routes": routes, "sum": money(self.total), "draws": [money(one) for one in self.draws],
                "left_out": self.left_out}


def _whole(money: str) -> int:
    return int(money.replace(".", ""))


def money(amount: int) -> str:
    sign, size = "-" if amount < 0 else "", abs(amount)
    return f"{sign}{size // 10000}.{size % 10000:04d}"


@functools.lru_cache(maxsize=1)
def _opened(plan: str) -> buttonworth.Plan:
    """Read once in each process."""
    return buttonworth.Context().plan(plan)


def look(work: Work) -> Dict[str, Any]:
    """The answer for no lots: routes, cautions, units. Says what does not go together before any work is done."""
    answer = _opened(work.plan).value_lots({pointer: [] for pointer in work.table.columns}, {"draws": work.draws})
    for column in answer["columns"]:
        stated, unit = column["unit"], work.table.units[column["of"]]
        if unit != stated:
            raise Unreadable(f'{work.table.path}: the plan states {column["of"]} in {stated or "no unit"}: name the '
                             f'column "{column["of"]}{f" ({stated})" if stated else ""}", and give its numbers so')
    return dict(answer)


def value(work: Work, piece: Piece) -> Tuple[Sums, Optional[bytes]]:
    """A piece's sums, and where they are wanted every lot's figures as lines of a table."""
    text = work.table.read(piece)
    options = {"first": piece.first, "draws": work.draws, "seed": work.seed, "threads": work.threads}
    answer = _opened(work.plan).value_lots(work.table.numbers(text, piece.rows), options)
    lines = _lines(work.table.names_of(text), answer) if work.lists else None
    return Sums.of(answer), lines


def heading(work: Work, routes: List[str]) -> bytes:
    sds = [f"{route}, sd" for route in routes] if work.draws else []
    return _row(["lot", "best", *routes, *sds])


def _lines(names: List[str], answer: buttonworth.LotValues) -> bytes:
    routes = [*answer["routes"], ""]
    figures = numpy.where(numpy.isfinite(answer.means), answer.means, -numpy.inf)
    best = numpy.where(figures.max(axis=1) > -numpy.inf, figures.argmax(axis=1), len(routes) - 1)
    columns = [answer.means, answer.sds] if answer["draws"] else [answer.means]
    table = numpy.hstack(columns)
    return b"".join(_row([name, routes[route], *map(_cell, row)]) for name, route, row in zip(names, best.tolist(), table.tolist()))


def _cell(figure: float) -> str:
    """Empty where there is none."""
    return f"{figure:.2f}" if abs(figure) < float("inf") else ""


def _row(cells: List[str]) -> bytes:
    quoted = ['"' + cell.replace('"', '""') + '"' if any(sign in cell for sign in ',"\n') else cell for cell in cells]
    return (",".join(quoted) + "\n").encode()


def read_plan(path: pathlib.Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Unreadable(f"{path}: {error}") from error
