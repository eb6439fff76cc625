"""Makes from the table of cell functions what the hosts want.

    python3 generate TABLE cells FILE
    python3 generate TABLE calc FOLDER --version 0.9.0 [--platform linux_x86_64]
    python3 generate TABLE excel FILE --version 0.9.0
    python3 generate TABLE page FILE --vectors core.json
"""

import argparse
import json
import pathlib

import calc
import cpp
import excel
import page
import table as tables


def write(path, text, newline="\n"):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.replace("\n", newline).encode("utf-8"))


def write_calc(table, folder, version, platform):
    write(folder / "methods.inc", cpp.methods(table))
    write(folder / f"{table.service}.idl", calc.idl(table))
    write(folder / "package" / "CalcAddIns.xcu", calc.help_in_wizard(table))
    write(folder / "package" / f"{table.service}.components", calc.components(table))
    write(folder / "package" / "description.xml", calc.description(table, version, platform))
    write(folder / "package" / "META-INF" / "manifest.xml", calc.manifest(table))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("table", type=pathlib.Path)
    parser.add_argument("what", choices=["cells", "calc", "excel", "page"])
    parser.add_argument("where", type=pathlib.Path)
    parser.add_argument("--version", default="0")
    parser.add_argument("--platform", default="linux_x86_64")
    parser.add_argument("--vectors", type=pathlib.Path)
    options = parser.parse_args()
    table = tables.read(options.table)
    if options.what == "cells":
        return write(options.where, cpp.functions(table))
    if options.what == "excel":
        return write(options.where, excel.module(table, options.version), newline="\r\n")
    if options.what == "calc":
        return write_calc(table, options.where, options.version, options.platform)
    vectors = json.loads(options.vectors.read_text(encoding="utf-8"))["vectors"]
    write(options.where, page.page(table, {one["id"]: one for one in vectors}))


if __name__ == "__main__":
    main()
