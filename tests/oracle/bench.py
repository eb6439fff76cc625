"""A plain evaluator of the bench, sections 14 to 21 of the format, for checking the library.

Written from the format's page alone, one module a section. `evaluate` gives the answer as a tree in which figures
are `Shown` (value, standard uncertainty, unit), texts `Word` and the cautions `Cautions`; BenchError is what the
page calls an error.
"""

from __future__ import annotations

from typing import Any, Callable, Optional

import bench_balance
import bench_bar
import bench_flux
import bench_sampling
import bench_table
import bench_waiting
from bench_figures import BenchError

KINDS: dict[str, Callable[[dict], dict]] = {
    "buttonworth-sampling/1": bench_sampling.sampling,
    "buttonworth-screen-assay/1": bench_sampling.screen_assay,
    "buttonworth-run-sheet/1": bench_sampling.run_sheet,
    "buttonworth-balance/1": bench_balance.balance,
    "buttonworth-table-test/1": bench_table.table_test,
    "buttonworth-charge/1": bench_flux.flux,
    "buttonworth-bar/1": bench_bar.bar,
    "buttonworth-lot-size/1": bench_waiting.waiting}


def evaluate(request: dict, library: Optional[dict] = None) -> dict[str, Any]:
    """The answer to a request. `library` is the library's answer, which only the search for a wait looks at."""
    kind = request.get("format", "")
    if kind not in KINDS:
        raise BenchError(f"no request of the bench: {kind}")
    if kind == "buttonworth-lot-size/1":
        return bench_waiting.waiting(request, library)
    return KINDS[kind](request)
