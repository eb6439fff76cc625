"""A table of lots in pieces: columns are named by the plan's pointers and units, as "/lot/wet_mass (kg)".

A piece is a range of the file's bytes that begins and ends between lines, so that it can be read by any process
that sees the file. Lines that begin with # stand before the heading only; a name with a comma stands in quotes.
"""

from __future__ import annotations

import csv
import io
import pathlib
import re
from dataclasses import dataclass
from typing import Dict, Iterator, List

import numpy

#: A piece is of about so many bytes: some 25,000 lots.
PIECE_BYTES = 1 << 20


class Unreadable(Exception):
    """What is wrong with a file, in a sentence."""


@dataclass(frozen=True)
class Piece:
    """Lines of the table: where they stand, how many they are, and the number of the first among all lots."""

    start: int
    size: int
    first: int
    rows: int


@dataclass(frozen=True)
class Table:
    """Where the lots are, and which columns of the file are which quantities of the plan."""

    path: pathlib.Path
    start: int  # of the first lot's line
    lines_before: int
    columns: Dict[str, int]  # by pointer
    units: Dict[str, str]

    def pieces(self, size: int = PIECE_BYTES) -> Iterator[Piece]:
        first = 0
        with open(self.path, "rb") as file:
            file.seek(self.start)
            while True:
                start = file.tell()
                text = file.read(size) + file.readline()
                if not text:
                    return
                rows = text.count(b"\n") + (not text.endswith(b"\n"))
                yield Piece(start, len(text), first, rows)
                first += rows

    def read(self, piece: Piece) -> bytes:
        with open(self.path, "rb") as file:
            file.seek(piece.start)
            return file.read(piece.size)

    def numbers(self, text: bytes, rows: int) -> Dict[str, numpy.ndarray]:
        """The piece's columns; what is no number is NaN."""
        try:
            found = numpy.loadtxt(io.BytesIO(_with_nan(text)), delimiter=",", quotechar='"', ndmin=2, comments=None,
                                  usecols=list(self.columns.values()))
        except (ValueError, IndexError):
            found = self._numbers_slowly(text)
        if len(found) != rows:  # blank lines
            found = self._numbers_slowly(text)
        return dict(zip(self.columns, found.T))

    def _numbers_slowly(self, text: bytes) -> numpy.ndarray:
        return numpy.array([[_number(cells, column) for column in self.columns.values()] for cells in _cells(text)],
                           dtype=float).reshape(-1, len(self.columns))

    def names_of(self, text: bytes) -> List[str]:
        """What stands in the first column."""
        return [cells[0] if cells else "" for cells in _cells(text)]


def _cells(text: bytes) -> Iterator[List[str]]:
    return (next(csv.reader([line]), []) for line in text.decode("utf-8", "replace").splitlines())


def _with_nan(text: bytes) -> bytes:
    """Empty cells say so."""
    while b",," in text:
        text = text.replace(b",,", b",nan,")
    return text.replace(b",\r\n", b",nan\r\n").replace(b",\n", b",nan\n")


def _number(cells: List[str], column: int) -> float:
    try:
        return float(cells[column])
    except (ValueError, IndexError):
        return float("nan")


def open_table(path: pathlib.Path) -> Table:
    try:
        with open(path, "rb") as file:
            line, lines = file.readline(), 1
            while line.startswith(b"#"):
                line, lines = file.readline(), lines + 1
            start = file.tell()
    except OSError as error:
        raise Unreadable(f"{path}: {error.strerror}") from error
    names = next(csv.reader([line.decode("utf-8-sig", "replace").rstrip("\r\n")]), [])
    columns, units = {}, {}
    for number, name in enumerate(names):
        said = re.fullmatch(r"(/.*?)(?: \((.*)\))?", name.strip())
        if said is None:
            continue
        pointer, unit = said[1], said[2] or ""
        if pointer in columns:
            raise Unreadable(f"{path}: the column {pointer} stands twice")
        columns[pointer], units[pointer] = number, unit
    if not columns:
        raise Unreadable(f'{path}: no column is named by a pointer and its unit, as "/lot/wet_mass (kg)"')
    return Table(path, start, lines, columns, units)
