"""A route as the plan has it: steps, their outputs in the order in which they are walked, ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Dict, Iterator, List, Mapping, Tuple

from .answers import step as pointer_step

_OUTPUTS = {"table": ["concentrate", "middlings", "tailings"], "dry": ["dried"], "melt": ["bar", "slag"]}


@dataclass
class Node:
    """A step with what comes out of it, an end, or the start with the lot and the pieces apart."""

    name: str  #: of what comes here: "concentrate", "lot"
    json: Mapping[str, Any]
    path: Tuple[str, ...]  #: the members of the route that lead here
    kind: str = ""  #: of a step: "table"; of an end: "sell", "return", "keep"; of the start: ""
    outputs: List["Node"] = field(default_factory=list)

    @property
    def place(self) -> str:
        """The step's or the buyer's name; of other ends their kind."""
        return str(self.json["step"] if "step" in self.json else self.json.get("sell", self.kind))

    @property
    def pointer(self) -> str:
        return "".join(map(pointer_step, self.path))

    @property
    def is_end(self) -> bool:
        return self.kind in ("sell", "return", "keep")


def outputs_of(step: Mapping[str, Any]) -> List[str]:
    named = [name for name in step.get("into", {}) if name != "note"]
    return _OUTPUTS.get(step["kind"], named)


def read(plan: Mapping[str, Any], route: str) -> Node:
    """The route's start: its outputs are the lot and, where there are some, the pieces apart."""
    json = plan["routes"][route]
    if not any(kind in json for kind in ("step", "sell", "return", "keep")):
        parts = [name for name in json if name != "note"]
        return Node("", json, (), "", [_node(plan, json[name], name, (name,)) for name in parts])
    return Node("", json, (), "", [_node(plan, json, "lot", ())])


def _node(plan: Mapping[str, Any], json: Mapping[str, Any], name: str, path: Tuple[str, ...]) -> Node:
    if "step" not in json:
        return Node(name, json, path, next(kind for kind in ("sell", "return", "keep") if kind in json))
    step = plan["steps"][json["step"]]
    outputs = [_node(plan, json[out], out, (*path, out)) for out in outputs_of(step) if out in json]
    return Node(name, json, path, step["kind"], outputs)


def walk(node: Node) -> Iterator[Node]:
    """All nodes, a step before its outputs."""
    yield node
    for output in node.outputs:
        yield from walk(output)


def ends(node: Node) -> List[Node]:
    return [each for each in walk(node) if each.is_end]


def replaced(route: Any, path: Tuple[str, ...], node: Mapping[str, Any]) -> Dict[str, Any]:
    """The route with another node at the end of the path."""
    if not path:
        return dict(node)
    return {**route, path[0]: replaced(route[path[0]], path[1:], node)}
