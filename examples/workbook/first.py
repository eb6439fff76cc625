"""The first page, in the operator's words: what to do, what it leaves, in hand by when, what is not tested, cautions."""

from pages import Page

from terms import NAMES

VERBS = {"table": "Table", "dry": "Dry", "melt": "Melt", "split": "Pass over the magnet"}


def described(steps, legend_note) -> Page:
    page = Page("What to do", [44, 130])
    page.line('="What to do with "&BW_TEXT(Sheet_1;"/lot/id")&" and "&BW_TEXT(Sheet_2;"/lot/id")', styles="title")
    page.line(legend_note, styles="note")
    page.row += 1
    page.line("Take this route", "=Best", styles="head,big")
    page.line("It leaves", '=TEXT(Best_leaves;"#,##0")&" USD, as money is worth today"', styles="head,big")
    page.line("Over the next best", '=TEXT(BW_FIGURE(Plan;"/lead");"#,##0")&" USD"', styles="step,answer")
    page.line("How sure", '="best in "&TEXT(100*INDEX(Drawn;MATCH(Best;Drawn_names;0);MATCH("best_share";Drawn_heads;0));"0")&" of 100 draws of '
              'what is uncertain; 95 of 100 leave between "&TEXT(INDEX(Drawn;MATCH(Best;Drawn_names;0);MATCH("low";Drawn_heads;0));"#,##0")&" and "&'
              'TEXT(INDEX(Drawn;MATCH(Best;Drawn_names;0);MATCH("high";Drawn_heads;0));"#,##0")&" USD"', styles="step,answer")
    page.line("If cells show an error", '=IF(ISERROR(Best);BW_EXPLAIN("BW_BEST_ROUTE";Plan);"")', styles="step,answer")
    page.row += 1
    _doing(page, steps)
    _money(page)
    _untested(page)
    _cautions(page)
    _legend(page)
    return page


def _doing(page, steps):
    page.line("Do", styles="head")
    verbs = '"Work"'
    for name, step in steps.items():
        verbs = f'IF(at="{name}";"{VERBS[step["kind"]]}";{verbs})'
    for k in range(4):
        at, figure = f'BW_TEXT(Plan;Best_at&"/work/{k}/at")', f'BW_FIGURE(Plan;Best_at&"/work/{k}/{{}}")'
        melts = f'IFERROR(" in "&{figure.format("melts")}&" crucibles";"")'
        cut = f'IFERROR("; take "&TEXT(100*BW_FIGURE(Plan;Best_at&"/cut/"&{at});"0.00")&" % as concentrate";"")'
        page.put(0, f'=IFERROR({at};"")', "step")
        page.put(1, f'=IFERROR({verbs.replace("at=", at + "=")}&" "&TEXT({figure.format("feed")};"0.0")&" kg (dry)"&{melts}&{cut}&", "&'
                 f'TEXT({figure.format("hours")};"0.0")&" hours";"")', "answer")
        page.row += 1
    for k in range(3):
        place = f'BW_FIGURE(Plan;Best_at&"/products/{k}/{{}}")'
        fine = f'IFERROR(" of "&TEXT({place.format("fineness/Au")};"0.0")&" fine";"")'
        mass = place.format("wet_mass")
        page.put(0, f'=IFERROR("to "&BW_TEXT(Plan;Best_at&"/products/{k}/at");"")', "step")
        page.put(1, f'=IFERROR("Send "&IF({mass}<2;TEXT(1000*{mass};"0.0")&" g";TEXT({mass};"0.0")&" kg")&{fine};"")', "answer")
        page.row += 1
    page.row += 1


def _money(page):
    page.line("In hand", styles="head")
    for words, share in (("a half of the cash", 0.5), ("nine tenths", 0.9)):
        day = f'MIN(IF(ISNUMBER(Cash_total);IF(Cash_total>={share}*BW_FIGURE(Plan;Best_at&"/cash");Cash_day;10^6);10^6))'
        page.put(0, words, "step")
        page.fill(1, 1, 1, f'="by day "&ROUNDUP({day};0)', "answer")
    page.line("the last of it", '="on day "&ROUNDUP(BW_FIGURE(Plan;Best_at&"/last_cash_day");0)&"; cash in all "&'
              'TEXT(BW_FIGURE(Plan;Best_at&"/cash");"#,##0")&" USD, and "&TEXT(BW_FIGURE(Plan;Best_at&"/credit");"#,##0")&'
              '" USD of gold that goes back to the plant"', styles="step,answer")
    page.line("to lay out before", '=TEXT(-MIN(0;MIN(Cash_total));"#,##0")&" USD"', styles="step,answer")
    page.row += 1


def _untested(page):
    page.line("Not tested", styles="head")
    named = "{}"
    for symbol in ("Hg", "As", "Sb", "Pb"):
        named = f'SUBSTITUTE({named};"{symbol}";"{NAMES[symbol]} ({symbol})")'
    for k in range(3):
        symbol = f'BW_TEXT(Plan;"/untested/{k}")'
        page.put(1, f'=IFERROR({named.format(symbol)};"")', "answer")
        if k == 0:
            page.put(0, "by nobody here", "step")
        page.row += 1
    page.line("Conditions", '=IFERROR(BW_TEXT(Plan;Best_at&"/conditional/0");"none on this route")', styles="step,answer")
    page.row += 1


def _cautions(page):
    page.line("Cautions", styles="head")
    for k in range(1, 10):
        page.put(0, f'=IF(COUNTIF(Caution_number;{k})>0;{k};"")', "number")
        page.put(1, f'=IFERROR(INDEX(Caution;MATCH({k};Caution_number;0));"")', "caution")
        page.row += 1
    page.row += 1


def _legend(page):
    page.line("Colours", styles="head")
    page.line("type here", "  a figure of yours: change it, and every page follows", styles="input,words")
    page.line("worked out", "  a result; nothing is to be typed over it", styles="result,words")
    page.line("Invented figures of a demonstration; no actual operator's or buyer's.", styles="note")
