"""A month from its folder: the book, statements, reconciliation, open balances and a report.

    python3 examples/monthly FOLDER --out OUT

FOLDER holds month.json and deliveries.csv, and where there are some received.csv and returns.csv. OUT gets book.json,
reconciliation.json, tables/*.csv, statements/*.txt, report.html and report.pdf. Exit status: 0; 1 where something in
the folder is wrong, and all of it is told; 2 for a wrong command.
"""

from __future__ import annotations

import argparse
import json
import pathlib
import sys
from typing import Any, Dict, List, Optional

import buttonworth
from buttonworth import report

import mistakes
from progress import Bar
from reading import Folder, Unreadable, read


def main(arguments: Optional[List[str]] = None) -> int:
    asked = _asked(arguments)
    try:
        report.require_packages(with_pdf=not asked.no_pdf)
        folder = read(asked.folder)
    except (ImportError, Unreadable) as error:
        print(error, file=sys.stderr)
        return 1
    try:
        _make(folder, asked)
    except buttonworth.Error as error:
        for line in mistakes.all_of(folder) or [str(error)]:
            print(line, file=sys.stderr)
        return 1
    return 0


def _asked(arguments: Optional[List[str]]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python3 examples/monthly", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("folder", type=pathlib.Path, metavar="FOLDER", help="month.json, deliveries.csv, …")
    parser.add_argument("--out", type=pathlib.Path, required=True, help="the folder to write to")
    parser.add_argument("--no-pdf", action="store_true", help="leave out report.pdf")
    parser.add_argument("--quiet", action="store_true", help="no progress bar")
    return parser.parse_args(arguments)


def _make(folder: Folder, asked: argparse.Namespace) -> None:
    """All of it. Nothing is written before everything was read and found in order."""
    from statements import Writer  # wants Jinja2, which by now is known to be there

    header, rows = folder.rows()
    lines = sum(text.count("\n") + 1 for _, text in folder.tables())
    with Bar(lines + len(rows) + 10, asked.quiet) as bar:
        book = _book(folder, bar)
        returns = _returns(folder, bar)
        asked.out.mkdir(parents=True, exist_ok=True)
        _write(asked.out, book, returns)
        bar.tell("statements")
        writer = Writer(folder, header, returns, asked.out / "statements")
        for row in rows:
            writer.write(row)
            bar.step()
        bar.tell("report")
        report.month(book, returns).write(asked.out, with_pdf=not asked.no_pdf)
        bar.step(5)
    print(f"{len(rows)} deliveries: see {asked.out / 'report.html'}")


def _book(folder: Folder, bar: Bar) -> Dict[str, Any]:
    """Row by row, as the tables may be long."""
    bar.tell("book")
    with buttonworth.Month(folder.opened()) as month:
        for table, text in folder.tables():
            for line in text.splitlines(keepends=True):
                month.take(table, line)
                bar.step()
        return month.book()


def _returns(folder: Folder, bar: Bar) -> Optional[Dict[str, Any]]:
    bar.tell("returns")
    returns = buttonworth.reconcile(folder.for_returns()) if folder.returns is not None else None
    bar.step(5)
    return returns


def _write(out: pathlib.Path, book: Dict[str, Any], returns: Optional[Dict[str, Any]]) -> None:
    """The answers as they are, and the tables that the library gives."""
    tables = out / "tables"
    tables.mkdir(exist_ok=True)
    for name, text in book["csv"].items():
        with open(tables / f"{name}.csv", "w", encoding="utf-8", newline="") as file:
            file.write(text)
    (out / "book.json").write_text(json.dumps(book, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    if returns is not None:
        text = json.dumps(returns, indent=1, ensure_ascii=False) + "\n"
        (out / "reconciliation.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
