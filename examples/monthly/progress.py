"""A bar that shows how far it is, where tqdm is installed and somebody looks."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Any, Optional, Type

try:
    from tqdm import tqdm
except ImportError:  # without a bar it works as well
    tqdm = None


class Bar:
    def __init__(self, total: int, quiet: bool) -> None:
        shown = tqdm is not None and not quiet and sys.stderr.isatty()
        self._bar: Any = tqdm(total=total, file=sys.stderr, leave=False, unit="") if shown else None

    def __enter__(self) -> Bar:
        return self

    def __exit__(self, kind: Optional[Type[BaseException]], error: Optional[BaseException],
                 trace: Optional[TracebackType]) -> None:
        if self._bar is not None:
            self._bar.close()

    def tell(self, what: str) -> None:
        if self._bar is not None:
            self._bar.set_description(what)

    def step(self, count: int = 1) -> None:
        if self._bar is not None:
            self._bar.update(count)
