"""Where a mistake is: the library points into its request, the operator has files and rows."""

from __future__ import annotations

import re
from typing import Any, Callable, Dict, List

import buttonworth
from reading import Folder

_FILES = {"deliveries": "deliveries.csv", "received": "received.csv", "returns": "returns.csv"}


def all_of(folder: Folder) -> List[str]:
    """Every mistake of the folder, in one line each: file, row, column, what to type."""
    found = _errors_of(buttonworth.book, folder.whole())
    if folder.returns is not None:
        found += [error for error in _errors_of(buttonworth.reconcile, folder.for_returns())
                  if not _follows(error, folder)]
    return list(dict.fromkeys(_line(error) for error in found))


def _errors_of(ask: Callable[[Any], Any], request: Dict[str, Any]) -> List[Dict[str, Any]]:
    try:
        ask(request)
    except buttonworth.Error as error:
        return error.errors
    return []


def _follows(error: Dict[str, Any], folder: Folder) -> bool:
    """Whether a return lacks its delivery only because that one's row has a mistake of its own."""
    if error["code"] != "name" or not re.fullmatch(r"/returns/\d+/id", error["pointer"]):
        return False
    header, rows = folder.rows()
    return any(error["text"].endswith(f" {cell.strip()}") for row in rows
               for name, cell in zip(header, row) if name.strip() == "id")


def _line(error: Dict[str, Any]) -> str:
    return f"{_place(error['pointer'])}: {_without_row(error['text'])}"


def _place(pointer: str) -> str:
    """ "deliveries.csv: row 19, moisture": the library counts rows from 0 without the header, a spreadsheet from 1
    with it."""
    _, table, *rest = (*pointer.split("/"), "")
    if table not in _FILES:
        return f"month.json: {pointer}" if pointer else "month.json"
    if not rest or not rest[0].isdigit():
        return _FILES[table]
    column = " ".join(part for part in rest[1:] if part and part not in ("delivered", "assays"))
    return f"{_FILES[table]}: row {int(rest[0]) + 2}" + (f", {column}" if column else "")


def _without_row(text: str) -> str:
    return re.sub(r"^row \d+ of the table: ", "", text)
