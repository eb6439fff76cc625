"""The same pieces valued by worker processes of Dask. A worker that dies loses nothing: its pieces go to another."""

from __future__ import annotations

import itertools
import tempfile
from typing import Iterator, Optional, Tuple

from reading import Piece
from valuing import Sums, Work, value

AHEAD = 4  # pieces for each worker that are handed out or wait to be taken


def by_workers(work: Work, pieces: Iterator[Piece], count: int) -> Iterator[Tuple[Piece, Sums, Optional[bytes]]]:
    """Each piece with what it came to, in the order of the table."""
    from dask.distributed import Client, LocalCluster

    with tempfile.TemporaryDirectory() as place, LocalCluster(
            n_workers=count, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None,
            local_directory=place, silence_logs=50) as cluster, Client(cluster) as client:
        # Not pure: what is asked for anew is worked anew. A result is kept until it is taken.
        waiting = ((piece, client.submit(value, work, piece, pure=False)) for piece in pieces)
        taken = list(itertools.islice(waiting, AHEAD * count))
        while taken:
            piece, future = taken.pop(0)
            sums, lines = future.result()
            future.release()
            taken.extend(itertools.islice(waiting, 1))
            yield piece, sums, lines
