"""Documents, rows and values of Python as the library takes them. For the package's own use."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Iterable, NoReturn, Tuple

from . import _buttonworth


def refuse_kind(wanted: str, found: Any, pointer: str = "") -> NoReturn:
    _buttonworth.refuse(pointer, f"{wanted}, not {type(found).__name__}")


def to_bytes(text: Any, what: str) -> bytes:
    """The text as UTF-8. Lone surrogates go along: it is the library that says what is wrong with them."""
    if not isinstance(text, str):
        refuse_kind(f"{what} is text", text)
    return text.encode("utf-8", "surrogatepass")


def to_json(value: Any) -> bytes:
    """The value as JSON text, its names in their order."""
    return _buttonworth.encode(value, "")


def to_cell(value: Any, pointer: str) -> bytes:
    """A value of one row, or one to be put in another's place."""
    if isinstance(value, str):
        return to_bytes(value, "a value")
    if isinstance(value, Decimal):
        if not value.is_finite():
            _buttonworth.refuse(pointer, f"{value} stands here; wanted is a number, or text")
        return str(value).encode("ascii")
    return _buttonworth.encode(value, to_bytes(pointer, "a pointer"))


def to_rows(rows: Iterable[Any]) -> _buttonworth.RowList:
    """The rows of a plan's spreadsheet form."""
    gathered = _buttonworth.RowList()
    for number, row in enumerate(rows, 1):
        pointer, value = _pair(row, number)
        gathered.add(to_bytes(pointer, f"the pointer of row {number}"), to_cell(value, pointer))
    return gathered


def _pair(row: Any, number: int) -> Tuple[Any, Any]:
    """A row's pointer and value; the empty cells of a spreadsheet may come as None."""
    if isinstance(row, (str, bytes)) or not isinstance(row, Iterable):
        refuse_kind(f"row {number} is a pointer and a value", row)
    cells = list(row)
    if len(cells) != 2:
        _buttonworth.refuse("", f"row {number} is a pointer and a value, but has {len(cells)} cells")
    pointer, value = cells
    if pointer is None or pointer == "":
        return "", "" if value is None else value
    return pointer, value
