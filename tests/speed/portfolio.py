"""Many lots from their table to their sums: portfolio.py FOLDER_OF_THE_EXAMPLE [--quick]; prints JSON.

Seconds by the clock, the least of some rounds; each way of working in turn, so that all meet the same disturbances.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import buttonworth

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
QUICK = "--quick" in sys.argv
sys.path.insert(0, str(PROGRAM))

import reading

MILLION = 1_000_000
DRAWS = 100


def run(*words):
    """Seconds and the largest memory of one process, in bytes; workers' memory is their own."""
    begun = time.perf_counter()
    process = subprocess.Popen([sys.executable, *map(str, words)], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    if status != 0:
        sys.exit(f"{' '.join(map(str, words))} failed")
    return time.perf_counter() - begun, used.ru_maxrss * 1024


def seconds(function):
    begun = time.perf_counter()
    function()
    return time.perf_counter() - begun


def read_all(lots):
    table = reading.open_table(lots)
    for piece in table.pieces():
        table.numbers(table.read(piece), piece.rows)


def each_route_draw():
    """ns of a route and a draw: of lots in lanes, and of one lot's simulation by the same numbers."""
    document = json.loads((PROGRAM / "plan.json").read_text(encoding="utf-8"))
    lots, draws = 1 << 14, 1 << 19
    with buttonworth.Context() as context, context.plan(document) as plan:
        columns = {"/lot/wet_mass": [410.0] * lots, "/lot/assays/Au": [620.0] * lots}
        of_lots, of_draws = [], []
        for _ in range(2 if QUICK else 5):
            of_lots.append(seconds(lambda: plan.value_lots(columns, {"draws": DRAWS})) / (4 * lots * DRAWS))
            of_draws.append(seconds(lambda: plan.simulate({"draws": draws, "method": "philox"})) / (4 * draws))
    return {"lots": min(of_lots) * 1e9, "simulate": min(of_draws) * 1e9}


def main():
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        tables = {count: folder / f"{count}.csv" for count in (MILLION // 10, MILLION)}
        for count, path in tables.items():
            run(PROGRAM / "make_lots.py", count, "--out", path)
        lots, sums = tables[MILLION], folder / "sums.json"
        ways = {"values": ["--draws", 0], "drawn": ["--draws", DRAWS], "one thread": ["--draws", DRAWS, "--threads", 1],
                "two workers": ["--draws", DRAWS, "--dask", 2]}
        found, said = {name: [] for name in ways}, set()
        for _ in range(1 if QUICK else 3):
            for name, options in ways.items():
                found[name].append(run(PROGRAM / "value.py", lots, *options, "--sums", sums)[0])
                if name != "values":
                    said.add(sums.read_bytes())
        memory = {count: run(PROGRAM / "value.py", path, "--draws", DRAWS)[1] for count, path in tables.items()}
        print(json.dumps({"seconds": {name: min(times) for name, times in found.items()}, "same": len(said) == 1,
                          "reading": min(seconds(lambda: read_all(lots)) for _ in range(2)), "draws": DRAWS,
                          "memory": [memory[count] for count in tables], "each": each_route_draw()}))


if __name__ == "__main__":
    main()
