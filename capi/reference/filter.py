"""A header as Doxygen wants it, each line where it was: filter.py HEADER

The headers are written to be read as they are. Here a plain comment before a declaration becomes its documentation,
and so does one behind it; what is set in becomes code, a line of dashes a section, and functions under one comment
all have it.
"""

import pathlib
import re
import sys

COMMENT = r"/\*(?!\*)((?:(?!\*/).)*)\*/"


def code(match):
    """Lines that are set in; after the last sentence they are an example."""
    said, lines = match[1], match[2].rstrip()
    example = " @exemplified" if "@since" in said else ""
    return f"{said}{example} @code{{.c}}\n{lines} @endcode{match[2][len(lines):]}"


def words(body):
    body = re.sub(r"\bErrors: ", "@errors ", re.sub(r"\bSince (\d[\d.]*\d)\.", r"@since \1.", body))
    return re.sub(r"([^\n]*)\n((?: \* {5}[^\n]*\n?)+)", code, body)


def head(text, name):
    """What stands at the head speaks of the file."""
    if text.startswith("//"):
        said = re.match(r"(//.*\n)+", text)
        return f"/// @file {name} @brief" + re.sub("^//", "///", said[0], flags=re.M)[3:] + text[said.end():]
    said = re.match(COMMENT, text, re.S)
    lines = re.sub(r"^ \* (.*)\n \* -{3,}$", r" * **\1**\n *", said[1], flags=re.M)
    lines = re.sub(r"^ \* ([A-Z][a-z]+)(\.?) {2,}", r" * - **\1**\2 ", lines, flags=re.M)
    return f"/** @file {name} @brief{lines}*/" + text[said.end():]


def section(match):
    """The title, with the comment on all of the section where one stands apart from what follows."""
    return f"/** @}} */ /** @name {match[1]}" + ("\n\n *" + match[2] if match[2] else "") + "*/ /** @{ */\n"


def sections(text):
    """A section ends where the next begins, the last one with the language's own bracket."""
    text, count = re.subn(rf"^/\* ---- (.*?) -+ \*/\n(?:\n{COMMENT}\n(?=\n))?", section, text, flags=re.M | re.S)
    if not count:
        return text
    at = text.rindex("\n#ifdef __cplusplus")
    return text[:at].replace("/** @} */ ", "", 1) + "/** @} */" + text[at:]


def shared(match):
    first, *others = re.findall(r"BW_API [^;]*;\n", match[0])
    name = re.search(r"\b(bw_\w+)\(", first)[1]
    return first + "".join(f"/** @copydoc {name} */ {other}" for other in others)


def filtered(text, name):
    text = sections(head(text, name))
    text = re.sub(r"^((?:#define|typedef) .*\S +)/\* ", r"\1/**< ", text, flags=re.M)
    text = re.sub(rf"^{COMMENT}\n(?=\S)", lambda match: f"/**{words(match[1])}*/\n", text, flags=re.M | re.S)
    text = re.sub(r"(?:^BW_API [^;]*;\n){2,}", shared, text, flags=re.M)
    return text.replace("\nnamespace bw {", "\n/** The C interface for C++17. */ namespace bw {", 1)


if __name__ == "__main__":
    header = pathlib.Path(sys.argv[1])
    sys.stdout.write(filtered(header.read_text(encoding="utf-8"), header.name))
