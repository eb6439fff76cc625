"""The reference page: every function with its arguments, units and an example that is tested."""

import json


def _value(value):
    if value is None:
        return ""
    if isinstance(value, list):
        rows = ["; ".join(_value(cell) for cell in row) for row in value]
        return "{" + " | ".join(rows) + "}"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def _document(vector):
    return f"the {'plan' if vector['request'].get('format', '').startswith('buttonworth-plan') else 'request'} of vector `{vector['id']}`"


def _example(one, example, vectors):
    vector = vectors.get(example.get("vector"))
    arguments = list(example["arguments"])
    shown = ["document" if value == "@" else _value(value) for value in arguments]
    place = f", row {example['row']}, column {example['column']}" if "row" in example else ""
    given = json.dumps(example["gives"], ensure_ascii=False)
    source = example.get("source") or vector["source"]
    if vector and vector["tag"] == "M" and "memory" not in source:
        source += ", quoted from memory"
    how = example.get("how") or vector.get("how", "")
    where = f"; document: {_document(vector)}" if "@" in arguments else ""
    return f"`{one.name}({'; '.join(shown)})` → {given}{place} ({source}{': ' + how if how else ''}{where})"


def _function(table, one, vectors):
    lines = [f"### {one.name}", "", f"`{one.call}`: {one.help}"]
    if one.arguments:
        lines += ["", "| argument | what | unit |", "| --- | --- | --- |"]
        lines += [f"| {a.words}{' (optional)' if a.optional else ''} | {a.what} | {a.unit or {'number': 'number', 'text': 'text', 'rest': 'any'}.get(a.kind, 'range')} |"
                  for a in one.arguments]
    examples = [_example(one, example, vectors) for example in one.entry["examples"]]
    if examples:
        lines += ["", *[f"- {example}" for example in examples]]
    return "\n".join(lines + ["", f"In documents of Calc: `{table.long_name(one)}`.", ""])


def page(table, vectors):
    """`vectors` by their ids."""
    heading = """# The functions of the cells

Made from `functions.json`; a test makes it again and compares.

Shares are parts of one: 12 % is 0.12, which a cell formatted as a percentage shows as 12 %. Units stand beside each
argument. Arguments that are ranges are worked row by row, and the result is an array: one array formula over 10,000
rows is quicker than 10,000 cells. A range of one row or column serves for all.

| Calc shows | Excel shows | why |
| --- | --- | --- |
| `Err:502` | `#VALUE!` | an argument is wrong, or asks for what cannot be; `BW_EXPLAIN` says what |
| `Err:523` | `#NUM!` | a target that cannot be reached |
| `#N/A` | `#N/A` | an argument is empty, its range ends before another's, or nothing stands at that place of the answer |
| `#VALUE!` | `#NULL!` | no fault of the cell's: no memory |

Documents are ranges of two columns, JSON pointer and value, as section 6 of the format has it, or of three, the third
holding the unit of a number in the second. `true` is typed as `'true`, a date as `'2026-03-09`, so that the host leaves
them texts (Excel's own TRUE will do too); with `%` in the third column, 11.2 % is typed as 11.2.

A table's first row names the columns, with the unit where all of a column have the same. Lists of plain values stand in
one cell, parted by semicolons; deeper ones are left out: `BW_TABLE` shows them at their own place.
"""
    return heading + "\n" + "\n".join(_function(table, one, vectors) for one in table.functions)
