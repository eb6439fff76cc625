"""The settlement check: one buyer's account against our own settlement of the same delivery, and a month of them."""

import csv
import io

from pages import Filled, Page
from rows import Inputs, step

LOT = "WM-jig-28"


def one_return(month, deliveries, returns):
    """The document of one lot: the delivery as we have it, and what its buyer returned."""
    ours = next(row for row in csv.DictReader(io.StringIO(deliveries)) if row["id"] == LOT)
    theirs = next(row for row in csv.DictReader(io.StringIO(returns)) if row["id"] == LOT)
    buyer = month["buyers"][ours["buyer"]]
    masses = {"wet_mass": "wet_mass (kg)", "moisture": "moisture (%)"}
    assays = {"Au": "Au (g/t)", "Ag": "Ag (g/t)", "As": "As (%)", "Sb": "Sb (%)", "Pb": "Pb (%)"}

    def stated(row, names):
        return {name: f"{row[head]} {head[head.index('(') + 1:-1]}" for name, head in names.items() if row.get(head)}
    lines = [{"what": head[5:-6], "amount": value} for head, value in theirs.items() if head and head.startswith("line ") and value]
    return {"format": "buttonworth-return/1",
            "delivery": {"format": "buttonworth-delivery/1", "currency": "USD", "id": LOT, "buyer": ours["buyer"], "arrived": ours["arrived"],
                         "terms": buyer["terms"], "delivered": stated(ours, masses), "assays": stated(ours, assays),
                         "prices": buyer["prices"], "quotes": buyer["quotes"], "period": buyer["period"]},
            "return": {"delivered": stated(theirs, masses), "assays": stated(theirs, assays),
                       "prices": stated(theirs, {"Au": "price Au (USD/ozt)"}), "lines": lines, "proceeds": theirs["proceeds (USD)"]}}


def many(month):
    kept = ("terms", "prices", "quotes", "period", "limits", "credits")
    return {"format": "buttonworth-returns/1", "currency": "USD",
            "buyers": {name: {key: one[key] for key in kept if key in one} for name, one in month["buyers"].items()}}


def described(one: Inputs, month):
    page = Page("Settlement check", [62, 34, 28, 28, 44, 30])
    page.line("The settlement check", styles="title")
    page.line("What a buyer's account says, beside what his terms give for our figures. Invented buyers and accounts.", styles="note")
    page.row += 1
    page.line('="Lot "&BW_TEXT(Account;"/id")&", "&BW_TEXT(Account;"/buyer")', styles="head")
    _figures(page, one)
    page.row += 1
    _verdict(page)
    _lines(page, one)
    page.breaks.append(page.row)
    _of_month(page, month)
    return page


def _figures(page, one):
    page.line("figure", "ours", "his", "", styles="head,head,head,head")
    said = {"/delivered/wet_mass": "wet mass", "/delivered/moisture": "moisture", "/assays/Au": "gold", "/assays/Ag": "silver",
            "/assays/As": "arsenic", "/assays/Sb": "antimony", "/assays/Pb": "lead", "/prices/Au": "price of gold"}
    for pointer, words in said.items():
        page.put(0, words)
        for column, side in ((1, "/delivery"), (2, "/return")):
            if side + pointer in one.of:
                one.stands(page.put(column, one.figure(side + pointer)[0], "input"), side + pointer)
                page.put(3, one.figure(side + pointer)[1], "unit")
        page.row += 1
    page.put(2, one.figure("/return/proceeds")[0], "input")
    one.stands(page.place(page.row, 2), "/return/proceeds")
    page.line("proceeds", '=BW_FIGURE(Account;"/ours")', None, "USD", styles="words,cents,cents,unit")


def _verdict(page):
    page.line("he pays", '=IF(BW_FIGURE(Account;"/difference")<0;"too little, by";"more than we find, by")', "=ABS(BW_FIGURE(Account;\"/difference\"))",
              "USD", styles="head,answer,cents,unit")
    page.line("what the difference is made of", styles="words")
    page.table(0, 19, 2, 'BW_TABLE(Account;"/parts")', "result,cents")
    page.row += 1


def _lines(page, one):
    page.line("his account, USD", "he wrote", styles="head,head")
    for pointer in one.like(r"/return/lines/\d+/amount"):
        page.put(0, one.of[pointer.replace("amount", "what")])
        one.stands(page.put(1, one.figure(pointer)[0], "input"), pointer)
        page.row += 1


def _of_month(page, month):
    page.line("The month's returns together", styles="head")
    page.line("buyer", "ours, USD", "theirs, USD", "difference", "gold assay: theirs over ours", "", styles="head,head,head,head,head,words")
    for buyer in month["buyers"]:
        at, row = f"/buyers{step(buyer)}", page.row
        page.put(0, buyer)
        for k, name in enumerate(("ours", "theirs", "difference")):
            page.put(k + 1, f'=BW_FIGURE(Accounts;"{at}/{name}")', "cents")
        gold = f'MATCH("Au assay";INDEX(BW_TABLE(Accounts;"{at}/figures");0;1);0)-2'
        page.filled.append(_single(row, 4, f'=BW_FIGURE(Accounts;"{at}/figures/"&({gold})&"/ratio")'))
        page.cells[row, 4] = (None, "ratio")
        page.filled.append(_single(row, 5, f'=BW_TEXT(Accounts;"{at}/figures/"&({gold})&"/verdict")'))
        page.cells[row, 5] = (None, "answer")
        page.row += 1
    page.line("It never says who is right: it says how unlikely such agreement is by chance.", styles="note")
    page.row += 1
    for buyer in month["buyers"]:
        page.line(f"{buyer}: what the difference is made of, USD", styles="head")
        page.table(0, 19, 2, f'BW_TABLE(Accounts;"/buyers{step(buyer)}/parts")', "result,cents")
        page.row += 1


def _single(row, column, formula):
    return Filled(row, column, 1, 1, formula)
