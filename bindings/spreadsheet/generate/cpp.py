"""The table in C++: what the cells' works read, and the methods of Calc's component."""

import json

HEADING = "// Made from functions.json. Do not edit.\n"


def text(value):
    return "nullptr" if value is None else json.dumps(value, ensure_ascii=True)


def _argument(one):
    number = one.otherwise if isinstance(one.otherwise, (int, float)) else 0
    words = one.otherwise if isinstance(one.otherwise, str) else ""
    flags = f"{str(one.optional).lower()}, {str(one.otherwise is not None).lower()}"
    return f"{{{text(one.words)}, {text(one.core)}, {one.per!r}, Kind::{one.kind}, {flags}, {number!r}, {text(words)}}}"


def functions(table):
    parts = [HEADING]
    for one in table.functions:
        if one.arguments:
            listed = ",\n    ".join(_argument(argument) for argument in one.arguments)
            parts.append(f"constexpr Argument {one.method}_arguments[] = {{\n    {listed}}};\n")
    rows = []
    for one in table.functions:
        arguments = f"{one.method}_arguments" if one.arguments else "{}"
        rows.append(f"    {{{text(one.name)}, work_{one.work}, {text(one.core)}, {one.per!r}, Shape::{one.shape}, "
                    f"{text(one.at)}, {arguments}}},\n")
    parts.append("constexpr Function table[] = {\n" + "".join(rows) + "};\n")
    return "\n".join(parts)


def methods(table):
    """Overrides of the interface: each hands its place in the table and its arguments on."""
    lines = [HEADING]
    for number, one in enumerate(table.functions):
        rest = bool(one.arguments) and one.arguments[-1].kind == "rest"
        plain = one.arguments[:-1] if rest else one.arguments
        declared = [f"const css::uno::Any& {argument.identifier}" for argument in plain]
        if rest:
            declared.append(f"const css::uno::Sequence<css::uno::Any>& {one.arguments[-1].identifier}")
        handed = ", ".join(f"&{argument.identifier}" for argument in plain)
        more = f", &{one.arguments[-1].identifier}" if rest else ""
        lines.append(f"css::uno::Any SAL_CALL {one.method}({', '.join(declared)}) override {{\n"
                     f"  return work({number}, {{{handed}}}{more});\n}}\n")
    return "".join(lines)
