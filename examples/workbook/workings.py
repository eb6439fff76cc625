"""Rows that the functions read, and the tables that pages pick from. The plain names are those of the formulas."""

from pages import Page

MARKS = {"Marks_grade": r"/lot/parts/\d+/assays/Au/(?:values/\d+|value)", "Marks_mass": r"/lot/parts/\d+/wet_mass/value"}


class Rows:
    """Every document side by side: pointer, value, unit, and of the plan the marks."""

    def __init__(self) -> None:
        self.page = Page("Rows", [], even=True)
        self.names = {}
        self.page.line("Rows that the functions read", styles="title")
        self.page.line("A pointer into a document, its value, its unit. Coloured values may be changed here; the others come from "
                       "the pages before.", styles="note")
        self.column = 0

    def add(self, name, title, rows, marks=None):
        page, marks = self.page, marks or {}
        page.put(self.column, title, "head", row=2)
        for k, (pointer, value, unit) in enumerate(rows):
            computed = isinstance(value, str) and value.startswith("=")
            page.put(self.column, pointer, "plain", row=3 + k)
            page.put(self.column + 1, value, "rowresult" if computed else "rowinput", row=3 + k)
            page.put(self.column + 2, unit, "plain", row=3 + k)
            for number, fits in enumerate(marks.values()):
                page.put(self.column + 3 + number, 1 if fits(pointer) else 0, "plain", row=3 + k)
        self.names[name] = page.range(3, self.column, len(rows), 3)
        for number, mark in enumerate(marks):
            self.names[mark] = page.range(3, self.column + 3 + number, len(rows), 1)
        page.widths += [70, 32, 16] + [8] * len(marks) + [6]
        self.column += 4 + len(marks)


def workings(names, steps, levies, routes) -> Page:
    """Tables of answers, as wide and long as any answer of this plan."""
    page = Page("Workings", [60, 60, 36, 18, 70] + [20] * 8)
    page.line("Tables that other pages pick from", styles="title")
    page.line("the route that leaves the most", "=BW_BEST_ROUTE(Plan)", styles="words,result")
    names["Best"] = page.place(page.row - 1, 1)
    page.line("its place in the answer", '="/routes/"&SUBSTITUTE(SUBSTITUTE(Best;"~";"~0");"/";"~1")', styles="words,result")
    names["Best_at"] = page.place(page.row - 1, 1)
    page.line("what it leaves, by its present value", '=BW_FIGURE(Plan;Best_at&"/present_value")', styles="words,cents")
    names["Best_leaves"] = page.place(page.row - 1, 1)
    page.row += 1
    _lines(page, names, steps, levies)
    _cash(page, names)
    page.line("Draws", styles="head")
    drawn = page.table(0, len(routes) + 1, 13, 'BW_SIMULATE(Plan;4096;1;Together)')
    first = page.row - len(routes) - 1
    names.update(Drawn=drawn, Drawn_names=page.range(first, 0, len(routes) + 1, 1), Drawn_heads=page.range(first, 0, 1, 13))
    page.row += 1
    _cautions(page, names)
    return page


def _lines(page, names, steps, levies):
    page.line("Lines of the best route: at, what, amount, day, how; and of which kind", styles="head")
    first, count = page.row + 1, 48
    page.table(0, count + 1, 5, 'BW_TABLE(Plan;Best_at&"/lines")')
    for row in range(first, first + count):
        at, what = page.place(row, 0), page.place(row, 1)
        levy = "OR(" + ";".join(f'LEFT({what};{len(one)})="{one}"' for one in levies) + ")"
        work = "OR(" + ";".join(f'{at}="{one}"' for one in steps) + ")"
        page.put(5, f'=IF({at}="";"";IF({work};"work";IF({levy};"levy";IF(OR(RIGHT({what};6)=" value";RIGHT({what};7)=" credit");"metal";'
                    f'IF(RIGHT({what};9)=" refining";"refining";IF(RIGHT({what};8)=" penalty";"penalty";"charge"))))))', "result", row=row)
    names.update(Line_amount=page.range(first, 2, count, 1), Line_kind=page.range(first, 5, count, 1))
    page.row += 1


def _cash(page, names):
    page.line("Cash of the best route by day: day, amount, in hand", styles="head")
    page.table(0, 25, 3, 'BW_TABLE(Plan;Best_at&"/cash_days")')
    first = page.row - 24
    names.update(Cash_day=page.range(first, 0, 24, 1), Cash_total=page.range(first, 2, 24, 1))
    page.row += 1


def _cautions(page, names):
    """Each caution of a step of the best route once, numbered."""
    page.line("Cautions of the comparison: at, what; those of the best route once each", styles="head")
    first, count = page.row + 1, 40
    page.table(0, count + 1, 2, 'BW_TABLE(Plan;"/cautions")')
    for row in range(first, first + count):
        at, what = page.place(row, 0), page.place(row, 1)
        mine = " + ".join(f'({at}=IFERROR(BW_TEXT(Plan;Best_at&"/work/{k}/at");"-"))' for k in range(5))
        mine += " + " + " + ".join(f'({at}=IFERROR(BW_TEXT(Plan;Best_at&"/products/{k}/at");"-"))' for k in range(3))
        page.put(2, f'=IF(AND({at}<>"";{mine}>0);1;0)', "result", row=row)
        above = page.range(first, 1, row - first, 1) if row > first else None
        seen = f'SUMPRODUCT(({above}={what})*({page.range(first, 2, row - first, 1)}=1))=0' if above else "TRUE()"
        page.put(3, f'=IF(AND({page.place(row, 2)}=1;{seen});MAX({page.range(first - 1, 3, row - first + 1, 1)})+1;"")', "result", row=row)
    names.update(Caution=page.range(first, 1, count, 1), Caution_number=page.range(first, 3, count, 1))
