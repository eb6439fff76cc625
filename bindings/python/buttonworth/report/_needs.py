"""What the report needs beside the library, and what to say where it is missing. Whoever asks for no report does
without."""

from __future__ import annotations

import importlib.util
from typing import Iterable, List, Tuple

from .words import listed

#: A module, Debian's package, pip's package.
Need = Tuple[str, str, str]

PAGE: List[Need] = [("matplotlib", "python3-matplotlib", "matplotlib"), ("jinja2", "python3-jinja2", "Jinja2")]
PDF: List[Need] = [("weasyprint", "weasyprint", "weasyprint")]


def missing(needs: Iterable[Need]) -> List[Need]:
    return [need for need in needs if not _is_there(need[0])]


def _is_there(module: str) -> bool:
    """A mere folder of that name is no module, though Python takes it for one."""
    spec = importlib.util.find_spec(module)
    return spec is not None and spec.origin is not None


def require(needs: Iterable[Need], what: str) -> None:
    """Says all that is missing at once, and how to get it."""
    lacking = missing(needs)
    if not lacking:
        return
    modules = listed(need[0] for need in lacking)
    debian = " ".join(need[1] for need in lacking)
    pip = " ".join(need[2] for need in lacking)
    them = "it" if len(lacking) == 1 else "them"
    raise ImportError(f"{what} needs {modules}: install {them} on Debian with \"apt install {debian}\", "
                      f"elsewhere with \"pip install {pip}\"", name=lacking[0][0])
