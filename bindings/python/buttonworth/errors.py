"""The errors that calls raise. All are an Error; the subclass is the error's class."""

from __future__ import annotations

import json
from typing import Any, Dict, List


class Error(Exception):
    """What a call came to when it did not succeed. str() gives the text."""

    text: str  #: in one line: where, what was found, what would be right
    errors: List[Dict[str, Any]]  #: all errors found together, each with class, code, status, pointer, text

    # Of the first of the errors:
    class_name: str  #: the class's name, such as "document"
    code: str  #: the code's name, such as "unit"
    status: int  #: the code's number, such as 209; it never changes its meaning
    pointer: str  #: where in the document, as a JSON pointer; empty for the whole of it, or for no place

    def __init__(self, text: str, errors: List[Dict[str, Any]]) -> None:
        # Both go to Exception, so that an error can be pickled and sent between processes.
        super().__init__(text, errors)
        first = errors[0]
        self.text = text
        self.errors = errors
        self.class_name = first["class"]
        self.code = first["code"]
        self.status = first["status"]
        self.pointer = first["pointer"]

    def __str__(self) -> str:
        return self.text


class UsageError(Error):
    """The program that calls is wrong: a closed handle, a pointer to nothing, NaN."""


class KindError(UsageError, TypeError):
    """A value of the wrong kind, such as None or a NaN where a quantity is wanted; a TypeError too."""


class DocumentError(Error):
    """The document is wrong."""


class DomainError(Error):
    """The document asks for impossible physics."""


class NoSolutionError(Error):
    """A target that cannot be reached."""


class Cancelled(Error):
    """Context.cancel was called."""


class BusyError(Error):
    """Another thread is using this context."""


class MemoryFailure(Error):
    """There was not enough memory; the context is usable."""


class InternalError(Error):
    """A fault of the library."""


_OF_CLASS = {
    "usage": UsageError,
    "document": DocumentError,
    "domain": DomainError,
    "no solution": NoSolutionError,
    "cancelled": Cancelled,
    "busy": BusyError,
    "memory": MemoryFailure,
    "internal": InternalError,
}


def from_failure(text: str, errors: str) -> Error:
    """The error for a failure of the library, whose errors are a JSON list. For the module's own use."""
    listed = json.loads(errors)
    first = listed[0]
    of_class = KindError if first["code"] == "kind" else _OF_CLASS.get(first["class"], Error)
    return of_class(text, listed)
