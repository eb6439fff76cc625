"""All answers that a page is made of, by one JSON pointer each, and figures that say where they stand there."""

from __future__ import annotations

from typing import Any, Dict, Optional

from markupsafe import Markup, escape

from . import figures


def step(name: Any) -> str:
    """One step of a JSON pointer."""
    return "/" + str(name).replace("~", "~0").replace("/", "~1")


class Answers:
    """ "/compare/routes/as it is/net" is the net in the answer that is kept as "compare"."""

    def __init__(self, documents: Dict[str, Any]) -> None:
        self.documents = documents

    def __contains__(self, name: str) -> bool:
        return self.documents.get(name) is not None

    def at(self, pointer: str) -> Any:
        """What stands there; a KeyError or an IndexError where nothing does."""
        value: Any = self.documents
        for name in pointer.split("/")[1:]:
            name = name.replace("~1", "/").replace("~0", "~")
            value = value[int(name)] if isinstance(value, list) else value[name]
        return value

    def get(self, pointer: str) -> Any:
        """What stands there, or None."""
        try:
            return self.at(pointer)
        except (KeyError, IndexError, TypeError):
            return None

    def money(self, pointer: str, places: int = 2) -> Markup:
        """An amount of an answer, which can be traced back to it."""
        amount = self.at(pointer)
        if amount is None:
            return Markup("\u2013")
        return _data(figures.decimals(amount, places), str(amount), pointer)


def worked(amount: figures.Number, places: int = 2) -> Markup:
    """An amount that was summed up for the page, from amounts of answers."""
    return _data(figures.decimals(amount, places), str(amount), None)


def _data(text: str, amount: str, pointer: Optional[str]) -> Markup:
    if pointer is None:
        return Markup('<data class="worked" value="{}">{}</data>').format(amount, text)
    return Markup('<data value="{}" data-at="{}">{}</data>').format(amount, pointer, escape(text))

