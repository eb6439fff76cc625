"""Where a metal went on a route, branch by branch. The library says it: of the route as it is what was lost at which
step, and of the same route with every other branch kept what each branch holds."""

from __future__ import annotations

from typing import Any, Callable, Dict, List, Mapping, Tuple

from . import tree

Compare = Callable[[Mapping[str, Any], Mapping[str, Any]], Dict[str, Any]]


def branches(plan: Mapping[str, Any], route: str, cuts: Mapping[str, Any], metal: str,
             compare: Compare) -> Dict[str, Dict[str, str]]:
    """What each end of the route holds, by the pointer that leads there: payable, unpaid, returned, kept."""
    fixed = _with_cuts(plan, route, cuts)
    ends = tree.ends(tree.read(fixed, route))
    alone = {f"end {number}": _alone(fixed, route, end, ends, metal) for number, end in enumerate(ends)}
    answer = compare({**fixed, "routes": alone}, {"how": False})
    held = (answer["routes"][name]["metal"][metal] for name in alone)
    return {end.pointer: {what: amounts[what] for what in ("payable", "unpaid", "returned", "kept")}
            for end, amounts in zip(ends, held)}


def _alone(plan: Mapping[str, Any], route: str, end: tree.Node, ends: List[tree.Node], metal: str) -> Dict[str, Any]:
    """The route with all ends but one put where that one is not."""
    other: Dict[str, Any] = {"return": {metal: "0 %"}} if end.kind == "keep" else {"keep": True}
    changed = plan["routes"][route]
    for node in ends:
        if node is not end:
            changed = tree.replaced(changed, node.path, other)
    return dict(changed)


def _with_cuts(plan: Mapping[str, Any], route: str, cuts: Mapping[str, Any]) -> Dict[str, Any]:
    """The plan with the pulls that were found for this route in place of "best"; a step that is met more than once
    becomes several, each with its own."""
    steps, nodes = dict(plan["steps"]), plan["routes"][route]
    met: Dict[str, int] = {}
    for node in tree.walk(tree.read(plan, route)):
        if node.kind != "table" or steps[node.place].get("cut") != "best" or node.place not in cuts:
            continue
        cut, name = cuts[node.place], node.place
        if isinstance(cut, list):
            met[name] = met.get(name, 0) + 1
            cut, name = cut[met[name] - 1], f"{name}, pass {met[name]}"
            nodes = _renamed(nodes, node.path, name)
        steps[name] = _pulled(plan["steps"][node.place], cut)
    return {**plan, "steps": steps, "routes": {route: nodes}}


def _renamed(nodes: Any, path: Tuple[str, ...], step: str) -> Dict[str, Any]:
    """The route with another step's name at the end of the path."""
    if not path:
        return {**nodes, "step": step}
    return {**nodes, path[0]: _renamed(nodes[path[0]], path[1:], step)}


def _pulled(step: Mapping[str, Any], pull: str) -> Dict[str, Any]:
    return {**{name: value for name, value in step.items() if name != "search"}, "cut": {"pull": pull}}
