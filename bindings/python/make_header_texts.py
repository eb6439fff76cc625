"""Writes what the C headers say of each function, for help() in Python: make_header_texts.py HEADER… _header.py"""

import re
import sys

FUNCTION = re.compile(r"/\*((?:(?!\*/).)*)\*/\s*((?:BW_API [^;]*;\s*)+)", re.S)


def words(comment):
    """The comment without its signs, and without the example in C that may follow the last sentence."""
    lines = [re.sub(r"^ \* ?", "", line).rstrip() for line in comment.strip().split("\n")]
    return re.match(r".*\bSince [\d.]+\d\.", "\n".join(lines), re.S)[0]


def texts(header):
    found = {}
    for comment, functions in FUNCTION.findall(header):
        for name in re.findall(r"BW_API [^(]*?\b(bw_\w+)\(", functions):
            found[name] = words(comment)
    return found


def main(*headers, out):
    found = {}
    for header in headers:
        with open(header, encoding="utf-8") as file:
            found.update(texts(file.read()))
    with open(out, "w", encoding="utf-8") as file:
        file.write('"""Made from the C header when the package is built."""\n\nTEXTS = {\n')
        for name, text in found.items():
            file.write(f"    {name!r}: {text!r},\n")
        file.write("}\n")


if __name__ == "__main__":
    main(*sys.argv[1:-1], out=sys.argv[-1])
