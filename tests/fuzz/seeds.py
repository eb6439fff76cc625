#!/usr/bin/env python3
"""Inputs to begin with, made of the test vectors: seeds.py VECTORS FOLDER writes FOLDER/TARGET/ID."""

import json
import pathlib
import shutil
import struct
import sys

ON_PLANS = ("simulate", "worth", "break_even", "counter_offers", "forgiving_cut", "sensitivity", "map", "lot_values")

BENCH = ("sampling", "screen-assay", "run-sheet", "balance", "table-test", "charge", "bar", "lot-size")


def rows_of(value, pointer=""):
    """A document as lines of the spreadsheet form."""
    if isinstance(value, dict) and value:
        for name, one in value.items():
            yield from rows_of(one, pointer + "/" + name.replace("~", "~0").replace("/", "~1"))
    elif isinstance(value, list) and value:
        for index, one in enumerate(value):
            yield from rows_of(one, f"{pointer}/{index}")
    else:
        yield f"{pointer}\t{value if isinstance(value, str) else json.dumps(value)}"


def table_inputs(request):
    """The tables of a month alone: which one, where it is cut, its text."""
    for which, name in (("0", "deliveries"), ("1", "received")):
        if isinstance(request.get(name), str):
            yield (which + "a" + request[name]).encode()


def quantities(value):
    """What a document states with a unit, to be converted to it."""
    if isinstance(value, (dict, list)):
        for one in value.values() if isinstance(value, dict) else value:
            yield from quantities(one)
    elif isinstance(value, str) and value[:1].isdigit() and " " in value:
        yield f"{value}\n{value.split(' ', 1)[1]}".encode()


def inputs_of_plan(call, text, request, options):
    yield "plan", text.encode()
    if isinstance(request, dict):
        yield "rows", "\n".join(rows_of(request)).encode()
        whole = {"call": call, "plan": request}
        yield "job", json.dumps(whole if options is None else {**whole, "options": options}).encode()
    if options is not None:
        yield call, json.dumps(options).encode()


def inputs(vector):
    call, request, options = vector["call"], vector.get("request"), vector.get("options")
    text = vector["text"] if "text" in vector else json.dumps(request, ensure_ascii=False)
    if call == "formula":
        numbers = request["arguments"]
        yield "formula", request["name"].encode() + b"\n" + struct.pack(f"{len(numbers)}d", *numbers)
        yield "name", f"{request['name']}\n0".encode()
    elif call == "bench":
        kind = request.get("format", "").removeprefix("buttonworth-").removesuffix("/1")
        yield kind if kind in BENCH else BENCH[0], text.encode()
    elif call == "compare" or call in ON_PLANS:
        yield from inputs_of_plan(call, text, request, options)
    else:
        yield call, text.encode()
    if call == "convert" and isinstance(request, dict):
        yield "quantity", f"{request.get('quantity')}\n{request.get('to')}".encode()
    if call == "book" and isinstance(request, dict):
        yield from (("table", one) for one in table_inputs(request))


def others():
    """What no vector states: names, pointers and values beside documents."""
    for name in ("plan", "comparison", "worth-options", "charge", "flux", "document bytes", "depth", "digits",
                 "route steps", "two_product_recovery", ""):
        yield "name", f"{name}\n40".encode()
    for pointer in ("", "/", "/routes", "/routes/to a", "/routes/to a/net", "/routes/to a/lines/0/amount", "/routes/~1",
                    "/best", "/lead", "/routes/tabled/cash_days/0", "to a", "/prices/Au", "/routes/to a/lines/-1", "~2"):
        yield "pointer", pointer.encode()
    for change in ("/prices/Au\n70 USD/g", "/lot/assays/Au\n2 %", "/steps/table/cut\n{\"pull\": \"5 %\"}", "/routes/to a\n{}",
                   "/terms/a/penalties\n[]", "/lot\nnull", "/terms/b/pay/Au/bands/0/0\n1 g/t", "\n{}"):
        yield "with", change.encode()
    yield "compare", b'{"how": true, "arithmetic": "double", "routes": ["to a", "tabled"]}'
    yield "counter_offers", b'{"terms": ["a"], "routes": ["to a", "to b"], "cuts": "held"}'
    yield "lot_values", b'{"draws": 16, "first": 40, "seed": 7, "threads": 2, "routes": ["to b"]}'
    yield "lot_values", b'{"correlate": [["/prices/Au", "/prices/Ag", "0.7"]], "draws": 8}'
    yield "simulate", b'{"draws": 64, "method": "philox", "keep": true, "averaged": [["/prices/Au", 5]]}'
    yield "map", b'{"x": {"of": "/prices/Au", "steps": 3}, "y": {"of": "/lot/wet_mass", "steps": 3}, "cuts": "held"}'
    yield "forgiving_cut", b'{"route": "tabled", "costs": "5 USD", "points": 9}'


def main(vectors, folder):
    shutil.rmtree(folder, ignore_errors=True)

    def write(target, name, data):
        path = folder / target / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)

    seen = set()
    for vector in json.loads(vectors.read_text())["vectors"]:
        for index, (target, data) in enumerate(inputs(vector)):
            write(target, f"{vector['id']}-{index}", data)
        seen.update(quantities(vector.get("request")))
    for index, data in enumerate(sorted(seen)):
        write("quantity", f"stated-{index}", data)
    for index, (target, data) in enumerate(others()):
        write(target, f"other-{index}", data)


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))
