"""A folder of a month: month.json, deliveries.csv, and where they are there received.csv and returns.csv."""

from __future__ import annotations

import csv
import io
import json
import pathlib
from dataclasses import dataclass
from typing import Any, Dict, Iterator, List, Optional, Tuple

#: What a request for returns has of a buyer; the book's heading says more.
_OF_RETURNS = ("terms", "prices", "quotes", "period", "limits", "credits")


class Unreadable(Exception):
    """A file that is not there, or is no text, or no JSON: the sentence names it."""


@dataclass(frozen=True)
class Folder:
    path: pathlib.Path
    heading: Dict[str, Any]
    deliveries: str
    received: Optional[str]
    returns: Optional[str]

    def opened(self) -> Dict[str, Any]:
        """The request for the book without its tables, which come in pieces."""
        return {**self.heading, "list": True, "csv": True}

    def whole(self) -> Dict[str, Any]:
        """The request for the book with its tables."""
        tables = {"deliveries": self.deliveries, "received": self.received}
        return {**self.opened(), **{name: text for name, text in tables.items() if text is not None}}

    def for_returns(self) -> Dict[str, Any]:
        """The request for the reconciliation."""
        carried = {name: self.heading[name] for name in ("currency", "exchange") if name in self.heading}
        buyers = {name: _only(buyer, _OF_RETURNS) for name, buyer in self.heading.get("buyers", {}).items()}
        return {"format": "buttonworth-returns/1", **carried, "buyers": buyers, "deliveries": self.deliveries,
                "returns": self.returns}

    def for_one(self, header: List[str], row: List[str]) -> Dict[str, Any]:
        """The request for the book of one delivery, which is its statement: what is before and after it left out."""
        buyers = {name: _only(buyer, _OF_RETURNS) for name, buyer in self.heading["buyers"].items()}
        heading = {name: value for name, value in self.heading.items() if name != "on_hand"}
        return {**heading, "buyers": buyers, "list": True, "deliveries": _table([header, row])}

    def rows(self) -> Tuple[List[str], List[List[str]]]:
        """The deliveries' header, and their rows without the empty ones."""
        rows = list(csv.reader(io.StringIO(self.deliveries), delimiter=_separator(self.deliveries))) or [[]]
        return rows[0], [row for row in rows[1:] if any(cell.strip() for cell in row)]

    def tables(self) -> Iterator[Tuple[str, str]]:
        yield "deliveries", self.deliveries
        if self.received is not None:
            yield "received", self.received


def read(path: pathlib.Path) -> Folder:
    return Folder(path, _json(path / "month.json"), _text(path / "deliveries.csv"),
                  _text_if_there(path / "received.csv"), _text_if_there(path / "returns.csv"))


def _text(file: pathlib.Path) -> str:
    try:
        return file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise Unreadable(f"{file} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError:
        raise Unreadable(f"{file} is not UTF-8: save it from the spreadsheet as \"CSV UTF-8\"") from None


def _text_if_there(file: pathlib.Path) -> Optional[str]:
    return _text(file) if file.exists() else None


def _json(file: pathlib.Path) -> Dict[str, Any]:
    try:
        heading = json.loads(_text(file), object_pairs_hook=_no_repeats)
    except ValueError as error:
        raise Unreadable(f"{file}: {error}") from None
    if not isinstance(heading, dict):
        raise Unreadable(f"{file}: an object is wanted: {{\"format\": \"buttonworth-month/1\", …}}")
    return heading


def _no_repeats(pairs: List[Tuple[str, Any]]) -> Dict[str, Any]:
    """Python would take the last of two; which was meant, nobody knows."""
    found: Dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"\"{name}\" stands twice in one object: leave one out")
        found[name] = value
    return found


def _only(buyer: Any, fields: Tuple[str, ...]) -> Any:
    return {name: buyer[name] for name in fields if name in buyer} if isinstance(buyer, dict) else buyer


def _separator(text: str) -> str:
    """What the header has."""
    header = text.partition("\n")[0]
    return next((mark for mark in (",", ";", "\t") if mark in header), ",")


def _table(rows: List[List[str]]) -> str:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue()
