"""Documents as rows of pointer, value and unit, each row's value a cell of a page where there is one for it."""

import json
import re
from typing import Any, Dict, Iterator, List, Tuple

_FIGURE = re.compile(r"(-?\d+(?:\.\d+)?)(?: ([^\s]+))?")


def step(name: Any) -> str:
    return "/" + str(name).replace("~", "~0").replace("/", "~1")


def leaves(value: Any, pointer: str = "") -> Iterator[Tuple[str, Any]]:
    """Every value of a document with its pointer, but for notes."""
    if isinstance(value, (dict, list)) and value:
        for name, one in value.items() if isinstance(value, dict) else enumerate(value):
            if name != "note":
                yield from leaves(one, pointer + step(name))
    else:
        yield pointer, value


def parts(value: Any) -> Tuple[Any, str]:
    """ "640 kg" as 640 and kg; what is no figure as the text it is."""
    if not isinstance(value, str):
        return json.dumps(value), ""
    found = _FIGURE.fullmatch(value)
    return (float(found[1]), found[2] or "") if found else (value, "")


class Inputs:
    """Which cells stand for which figures of a document."""

    def __init__(self, document: Dict[str, Any]) -> None:
        self.of = dict(leaves(document))
        self.cells: Dict[str, str] = {}

    def figure(self, pointer: str) -> Tuple[Any, str]:
        return parts(self.of[pointer])

    def stands(self, place: str, *pointers: str) -> None:
        for pointer in pointers:
            if pointer not in self.of:
                raise KeyError(pointer)
            if pointer in self.cells:
                raise ValueError(f"{pointer} has two cells")
            self.cells[pointer] = place

    def like(self, pattern: str) -> List[str]:
        """The pointers of that form."""
        return [pointer for pointer in self.of if re.fullmatch(pattern, pointer)]

    def rows(self) -> List[Tuple[str, Any, str]]:
        """Pointer, the value or a formula that takes it from its cell, unit."""
        made = []
        for pointer, value in self.of.items():
            figure, unit = parts(value)
            made.append((pointer, f"={self.cells[pointer]}" if pointer in self.cells else figure, unit))
        return made
