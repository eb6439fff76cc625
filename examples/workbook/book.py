"""The workbook's one description: its pages, and the names that formulas use."""

import json
import pathlib
import re

import comparison
import first
import lot
import month
import routes
import settlement
import terms
import workings
from rows import Inputs

DEMO = pathlib.Path(__file__).resolve().parent.parent / "demo"
NOTE = "A demonstration: place, plant, buyers, assays, prices and terms are invented. Local rules and licensed practice come first."


def read(name):
    return json.loads((DEMO / name).read_text(encoding="utf-8"))


class Book:
    """Pages in their order, named ranges, and the documents behind them."""

    def __init__(self):
        self.plan_document, self.month_document = read("plan.json"), read("month/month.json")
        self.plan = Inputs(self.plan_document)
        self.sheets = [Inputs(read(f"bench/3-run-sheet-{week}.json")) for week in (17, 18)]
        self.names = {}
        self.pages = self._pages()

    def _pages(self):
        steps = self.plan_document["steps"]
        the_lot = lot.Lot(self.plan, *self.sheets)
        lot_page = the_lot.described()
        self.weights = the_lot.weights
        buyers = terms.described(self.plan, self.plan_document["terms"])
        if terms.unsaid(self.plan):
            raise ValueError(f"terms that no sentence holds: {terms.unsaid(self.plan)}")
        ways = routes.described(self.plan, self.plan_document)
        compared = comparison.Comparison(self.plan, self.plan_document)
        pictures = compared.described()
        self.names["Route_names"] = compared.route_names
        books = self._books()
        behind = workings.workings(self.names, list(steps), compared.levies, compared.routes)
        return [first.described(steps, NOTE), lot_page, ways, buyers, pictures, *books, behind, self._rows()]

    def _books(self):
        texts = {name: (DEMO / f"month/{name}.csv").read_text(encoding="utf-8") for name in ("deliveries", "received", "returns")}
        lists, self.tables = month.tables(**texts)
        self.one = Inputs(settlement.one_return(self.month_document, texts["deliveries"], texts["returns"]))
        return [month.described(self.month_document), settlement.described(self.one, self.month_document), lists]

    def _rows(self):
        rows = workings.Rows()
        marks = {name: re.compile(pattern).fullmatch for name, pattern in workings.MARKS.items()}
        rows.add("Plan", "the plan", self.plan.rows(), marks)
        for k, sheet in enumerate(self.sheets):
            rows.add(f"Sheet_{k + 1}", f"run sheet of week {k + 1}", sheet.rows())
        rows.add("Account", "a buyer's account", self.one.rows())
        held = [(pointer, self.tables[pointer], "") for pointer in ("/deliveries", "/received")]
        rows.add("Book", "the month", [*Inputs(self.month_document).rows(), *held])
        held = [(pointer, self.tables[pointer], "") for pointer in ("/deliveries", "/returns")]
        rows.add("Accounts", "the month's returns", [*Inputs(settlement.many(self.month_document)).rows(), *held])
        together = read("sure.json")["simulate"]
        rows.add("Together", "what is drawn together", Inputs({key: together[key] for key in ("same", "correlate", "averaged")}).rows())
        self.names.update(rows.names)
        return rows.page
