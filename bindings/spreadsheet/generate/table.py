"""The table of cell functions, read and checked."""

import dataclasses
import json
import pathlib
import re

KINDS = ("number", "text", "cells", "document", "rest")


@dataclasses.dataclass(frozen=True)
class Argument:
    name: str  # as the table has it
    what: str
    unit: str
    core: str
    per: float
    kind: str
    optional: bool
    otherwise: object

    @property
    def words(self):
        return self.name.replace("_", " ")

    @property
    def identifier(self):
        return camel(self.name)

    @property
    def help(self):
        return sentence(f"{self.what} [{self.unit}]" if self.unit else self.what)


@dataclasses.dataclass(frozen=True)
class Function:
    name: str  # as cells have it, prefix included
    method: str
    what: str
    gives: str
    work: str
    core: str
    per: float
    shape: str
    at: object
    arguments: tuple
    entry: dict  # as the table has it: examples and mistakes

    @property
    def help(self):
        return f"{sentence(self.what)} Gives {self.gives}."

    @property
    def call(self):
        """As a person types it, arguments that may be left out in brackets."""
        words = [f"[{a.words}]" if a.optional else a.words + (" …" if a.kind == "rest" else "") for a in self.arguments]
        return f"{self.name}({'; '.join(words)})"


@dataclasses.dataclass(frozen=True)
class Table:
    module: str
    service: str
    functions: tuple

    def long_name(self, function):
        """What a document of Calc holds."""
        return f"{self.module}.{self.service}.{function.method}".upper()


def camel(name):
    first, *rest = name.lower().split("_")
    return first + "".join(word.capitalize() for word in rest)


def sentence(text):
    return text[0].upper() + text[1:] + "."


def read(path):
    document = json.loads(pathlib.Path(path).read_text(encoding="utf-8"))
    arguments = {name: _argument(name, entry) for name, entry in document["arguments"].items()}
    functions = tuple(_function(document["prefix"], entry, arguments) for entry in document["functions"])
    table = Table(document["module"], document["service"], functions)
    _check(table, arguments)
    return table


def _argument(name, entry):
    return Argument(name, entry["what"], entry.get("unit", ""), entry.get("core", name), entry.get("per", 1),
                    entry.get("kind", "number"), entry.get("optional", False), entry.get("otherwise"))


def _function(prefix, entry, arguments):
    work = "formula" if "formula" in entry else "answer" if "answer" in entry else entry["own"]
    shape = next((one for one in ("figure", "text", "table") if one in entry), "none")
    at = entry.get(shape)
    taken = tuple(arguments[name] for name in entry["arguments"])
    return Function(prefix + entry["name"], camel(entry["name"]), entry["what"], entry["gives"], work,
                    entry.get("formula", entry.get("answer", "")), entry.get("per", 1), shape,
                    None if at in entry["arguments"] else at, taken, entry)


def _check(table, arguments):
    names = [one.name for one in table.functions]
    assert len(set(names)) == len(names), "a name stands twice"
    for one in table.functions:
        assert re.fullmatch(r"[A-Z]+_[A-Z][A-Z_]*", one.name), f"{one.name}: capitals and single underscores"
        optional = [argument.optional for argument in one.arguments]
        assert optional == sorted(optional), f"{one.name}: what may be left out comes last"
        assert all(argument.kind != "rest" for argument in one.arguments[:-1]), f"{one.name}: the rest comes last"
    for argument in arguments.values():
        assert argument.kind in KINDS, f"{argument.name}: no such kind"
        assert any(argument in one.arguments for one in table.functions), f"{argument.name} is not used"
