"""The month's book and the settlement check: tables as they are kept, and what comes of them."""

import csv
import io

from office import column_name
from pages import Page
from rows import step

FREE = 4  #: empty rows beneath a table, for more
TEXTS = 25  #: the column that holds each row as text


def table(page, title, text):
    """A table of inputs; gives the formula of the text in which a document holds it. Beside each row stands that row as text."""
    heads, *body = csv.reader(io.StringIO(text))
    page.line(title, styles="head")
    first, last = page.row, column_name(len(heads) - 1)
    for values, style in [(heads, "column"), *((row, "cell") for row in body), *([([""] * len(heads), "cell")] * FREE)]:
        for k, value in enumerate(values):
            page.put(k, _number(value) if style == "cell" else value, style)
        row = f"$A${page.row + 1}:${last}${page.row + 1}"
        page.fill(TEXTS, 1, 1, f'=TEXTJOIN(";";0;IF(ISNUMBER({row});SUBSTITUTE({row}&"";",";".");IF({row}&""="";"";'
                  f'""""&SUBSTITUTE({row}&"";"\"\"";"\"\"\"\"")&"""")))', "rowresult")
    rows = page.range(first, TEXTS, page.row - first, 1)
    page.row += 1
    return f"=TEXTJOIN(CHAR(10);1;{rows})"


def _number(value):
    try:
        return float(value)
    except ValueError:
        return value


def grid(page, name, heads, buyers, entries):
    """A figure a row, a buyer a column."""
    page.line("", *heads, styles=",".join(["head"] * (len(heads) + 1)))
    for words, pointer, style in entries:
        page.put(0, words)
        for k, buyer in enumerate(buyers):
            page.put(1 + k, f'=IFERROR(BW_FIGURE({name};"{buyer}{pointer}");"")', style)
        page.row += 1


def tables(deliveries, received, returns):
    """The page of what is typed in day by day, and for each list the formula of its text."""
    page = Page("Lists", [24, 34, 19, 19] + [15] * 21 + [40], upright=False, printed=TEXTS)
    page.line("Deliveries, money and returns", styles="title")
    page.line("As they came in. New ones go into the empty rows beneath each list; a unit may stand in a cell. Invented figures.", styles="note")
    page.row += 1
    texts = {"/deliveries": table(page, "Deliveries", deliveries)}
    page.breaks.append(page.row)
    texts["/received"] = table(page, "Money received", received)
    page.breaks.append(page.row)
    texts["/returns"] = table(page, "Returns, as the buyers sent them", returns)
    return page, texts


def described(month):
    page = Page("Month", [48] + [42] * 4)
    page.line("The month's book", styles="title")
    page.line("April at Wrenmoor Creek, an invented place: what was delivered, owed and received. It follows the page Lists.", styles="note")
    page.row += 1
    buyers = [f"/buyers{step(buyer)}" for buyer in month["buyers"]] + ["/total"]
    grid(page, "Book", [*month["buyers"], "all"], buyers, [
        ("deliveries", "/deliveries", "count"), ("  refused", "/refused", "count"), ("  not final yet", "/provisional", "count"),
        ("wet mass, kg", "/wet_mass", "one"), ("proceeds, USD", "/proceeds", "cents"), ("owed before, USD", "/cash/opening", "cents"),
        ("came due, USD", "/cash/due", "cents"), ("gold priced, USD", "/cash/priced", "cents"), ("received, USD", "/cash/received", "cents"),
        ("owed at the end, USD", "/cash/closing", "cents"), ("  overdue, USD", "/overdue", "cents")])
    page.row += 1
    page.line("gold, ozt", "before", "in", "out", "at the end", styles="head,head,head,head,head")
    account = "/buyers/river refiner, bars/account/Au/"
    _gold(page, "on the refiner's account", [account + "opening", account + "credited", (account + "priced", account + "withdrawn"),
                                             account + "closing"])
    _gold(page, "in hand at the plant", ["/on_hand/Au/opening", "/on_hand/Au/produced", "/on_hand/Au/delivered", "/on_hand/Au/closing"])
    page.line("counted in hand", '=BW_FIGURE(Book;"/on_hand/Au/counted")', "difference", '=BW_FIGURE(Book;"/on_hand/Au/difference")',
              styles="words,gram,small,gram")
    page.row += 1
    page.line("Still to come, by day", styles="head")
    page.table(0, 19, 2, 'BW_TABLE(Book;"/total/due")', "result,cents")
    page.row += 1
    page.line("Look at", styles="head")
    for k in range(3):
        page.line(f'=IFERROR(BW_TEXT(Book;"/cautions/{k}/at");"")', f'=IFERROR(BW_TEXT(Book;"/cautions/{k}/what");"")', styles="step,result")
    return page


def _gold(page, words, pointers):
    page.put(0, words)
    for k, pointer in enumerate(pointers):
        each = [pointer] if isinstance(pointer, str) else pointer
        page.put(k + 1, "=" + "+".join(f'BW_FIGURE(Book;"{one}")' for one in each), "gram")
    page.row += 1
