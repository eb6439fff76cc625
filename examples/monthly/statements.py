"""The statement of each delivery, a text of its own."""

from __future__ import annotations

import pathlib
import re
from typing import Any, Dict, List, Optional, Tuple

import buttonworth
import jinja2
from buttonworth.report import figures
from buttonworth.report.words import analyte, capital
from reading import Folder

_WIDTH = 72
_LABELS = ("id", "buyer", "arrived", "stage", "note")


class Writer:
    """Writes statements of one folder into another."""

    def __init__(self, folder: Folder, header: List[str], returns: Optional[Dict[str, Any]],
                 place: pathlib.Path) -> None:
        self.folder, self.header, self.place = folder, header, place
        self.returned = {lot["id"]: lot for lot in returns["returns"]} if returns else {}
        here = jinja2.FileSystemLoader(str(pathlib.Path(__file__).parent))
        made = jinja2.Environment(loader=here, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined)
        made.filters.update(row=_row, cents=_cents)
        self.template = made.get_template("statement.txt")
        place.mkdir(parents=True, exist_ok=True)

    def write(self, row: List[str]) -> Optional[pathlib.Path]:
        """None for a delivery outside the month."""
        book = buttonworth.book(self.folder.for_one(self.header, row))
        if not book["deliveries"]:
            return None
        delivery = book["deliveries"][0]
        file = self.place / f"{_file_name(delivery['id'])}.txt"
        file.write_text(self.template.render(self._view(book, delivery, row)), encoding="utf-8")
        return file

    def _view(self, book: Dict[str, Any], delivery: Dict[str, Any], row: List[str]) -> Dict[str, Any]:
        of = book["buyers"][delivery["buyer"]]
        paid = [entry for entry in of["metal"].items() if figures.exact(entry[1]["payable"]) > 0]
        return {"delivery": delivery, "currency": book["currency"], "found": self._found(row),
                "lines": list(of["lines"].items()), "metal": [_metal(*entry) for entry in paid],
                "account": [_credited(*entry) for entry in of.get("account", {}).items()],
                "cautions": book.get("cautions", []), "returned": self.returned.get(delivery["id"])}

    def _found(self, row: List[str]) -> List[Tuple[str, str]]:
        """What the table has of the delivery, as it stands there."""
        return [(name, cell.strip()) for name, cell in zip(self.header, row)
                if cell.strip() and name.strip() not in _LABELS]


def _metal(symbol: str, amounts: Dict[str, str]) -> str:
    grams = [figures.decimals(amounts[what], 3) for what in ("contained", "payable")]
    return f"{capital(analyte(symbol))}: {grams[0]} g delivered, {grams[1]} g paid for or credited"


def _credited(symbol: str, account: Dict[str, str]) -> str:
    return f"{capital(analyte(symbol))} credited to the account: {figures.decimals(account['credited'], 3)} ozt"


def _cents(amount: str) -> str:
    return figures.decimals(amount, 2).replace(figures.MINUS, "-")


def _row(label: str, figure: str) -> str:
    """A label at the left, its figure at the right."""
    return f"  {label}{' ' * max(2, _WIDTH - 2 - len(label) - len(figure))}{figure}"


def _file_name(name: str) -> str:
    """A delivery's name as that of a file: letters, figures, points and dashes stay."""
    return re.sub(r"[^\w.-]+", "_", name).strip(".") or "_"
