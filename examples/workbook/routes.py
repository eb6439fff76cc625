"""The routes: each told in words beside what it leaves, and the figures of the work that they share."""

import re

from pages import Page
from rows import Inputs, step


def told(plan, route):
    """What happens to the lot and to the pieces on a route, in one line."""
    return "; ".join(f"{'' if name == 'lot' else name + ': '}{_follow(plan, node)}" for name, node in plan["routes"][route].items()
                     if name != "note")


def _follow(plan, node):
    if "sell" in node:
        return f"sold to the {node['sell']}"
    if "return" in node:
        return "back to the plant"
    if "keep" in node:
        return "kept"
    outputs = [(name, one) for name, one in node.items() if name not in ("step", "note")]
    main = ", ".join([node["step"], _follow(plan, outputs[0][1])])
    return "; ".join([main, *(f"{name} {_follow(plan, one)}" for name, one in outputs[1:] if "keep" not in one)])


#: What several places of the plan share: words, unit, pattern of the pointers.
RETURNED = r"/routes/[^/]*/lot/(?:concentrate/dried/|dried/)?{}/return/Au"
SHARED = [
    ("A man's hour costs, CAD", r"/steps/.*/cost/\d+/rate", "29 CAD/h"),
    ("two men's at the furnace, CAD", r"/steps/.*/cost/\d+/rate", "58 CAD/h"),
    ("A litre of diesel costs, USD", r"/steps/.*/cost/\d+/rate", "1.32 USD/L"),
    ("Setting up the table and washing down, USD", r"/steps/.*/cost/\d+/rate", "70 USD/lot"),
]
BACK = [
    ("of middlings sent back, %: lowest", RETURNED.format("middlings") + "/low"), ("likeliest", RETURNED.format("middlings") + "/mode"),
    ("highest", RETURNED.format("middlings") + "/high"), ("of tailings sent back, %: lowest", RETURNED.format("tailings") + "/low"),
    ("likeliest", RETURNED.format("tailings") + "/mode"), ("highest", RETURNED.format("tailings") + "/high"),
    ("of furnace slag sent back, %", RETURNED.format("slag")), ("of magnetics sent back, %", RETURNED.format("magnetics")),
]
OWN = [
    ("Waiting a year costs, %", "/discount"), ("a day's work has, h", "/day"),
    ("The pull that the shift has always made, %", "/steps/table at 2.5 %/cut/pull"),
    ("propane for a crucible, USD", "/steps/crucible furnace/cost/1/rate"), ("wear of a crucible, USD", "/steps/crucible furnace/cost/2/rate"),
    ("royalty, % of what is paid for", "/levies/0/rate"), ("provincial levy, % of proceeds", "/levies/1/rate"),
    ("    of which comes back, %", "/levies/1/refund/share"), ("    after, days", "/levies/1/refund/after"),
]


def described(plan: Inputs, document) -> Page:
    page = Page("Routes", [84, 24, 28, 132], upright=False)
    page.line("The routes", styles="title")
    page.line("Ways from the pails to money, and what each leaves by its present value. The best is searched anew with every change.", styles="note")
    page.row += 1
    page.line("route", "leaves, USD", "behind the best", "  the way", styles="head,head,head,section")
    for route in document["routes"]:
        _route(page, route, told(document, route))
    page.breaks.append(page.row)
    page.line("What the work costs and what comes back", styles="head")
    for words, pattern, value in SHARED:
        _input(page, plan, words, [one for one in plan.like(pattern) if plan.of[one] == value])
    page.line("What the plant makes of the gold", styles="words")
    for words, pattern in BACK:
        _input(page, plan, "    " + words, plan.like(pattern))
    for words, pointer in OWN:
        _input(page, plan, words, [pointer])
    page.row += 1
    page.line("All other figures of the work (drying, the table's curve, the crucible, the fluxes) stand on the page Rows, coloured, "
              "each with its place in the plan.", styles="note")
    return page


def _route(page, route, way):
    left = f'BW_FIGURE(Plan;"/routes{step(route)}/present_value")'
    page.line(route, f'=IFERROR({left};"refused")', f'=IF(AND(ISNUMBER({page.place(page.row, 1)});"{route}"<>Best);Best_leaves-{page.place(page.row, 1)};"")',
              re.sub(r"^(.)", lambda first: first[1].upper(), way) + ".", styles="words,money,money,wrapped")


def _input(page, plan, words, pointers):
    at = page.line(words, plan.figure(pointers[0])[0], styles="words,input")
    plan.stands(page.place(at, 1), *pointers)
