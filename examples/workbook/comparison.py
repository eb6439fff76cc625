"""The comparison in pictures, each of a table that stands beneath it: where the value goes, the gold's path, net against
grade, who wins, how the outcomes range."""

from office import column_name
from pages import Chart, Filled, Page
from rows import Inputs

ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, GREY = 0xE69F00, 0x56B4E9, 0x009E73, 0xF0E442, 0x0072B2, 0xD55E00, 0x555555
MASSES = [0.4, 0.6, 0.8, 1, 1.25, 1.5, 2]
GRADES = [0.6, 0.7, 0.8, 0.9, 1, 1.2, 1.5]
ALONG = [0.2, 0.4, 0.6, 0.8, 1, 1.25, 1.5, 2]
#: Formulas whose condition is a column of marks beside the plan's rows: the marked figures are multiplied, all else stays.
TIMES = "IF({marks}*{{0;1;0}};{plan}*{factor};{plan})"


def scaled(factor, marks="Marks_grade", plan="Plan"):
    return TIMES.format(marks=marks, plan=plan, factor=factor)


class Comparison:
    def __init__(self, plan: Inputs, document) -> None:
        self.plan, self.routes = plan, list(document["routes"])
        self.levies = [levy["what"] for levy in document["levies"]]
        self.page = Page("Comparison", [76] + [22] * 9, upright=False, printed=10)

    def described(self) -> Page:
        page = self.page
        page.line("The comparison", styles="title")
        page.line("Of the figures on the pages before; everything here follows them.", styles="note")
        page.row += 1
        self.value()
        page.breaks.append(page.row)
        self.gold()
        page.breaks.append(page.row)
        self.grades()
        page.breaks.append(page.row)
        self.winners()
        page.breaks.append(page.row)
        self.outcomes()
        return page

    def chart(self, kind, title, columns, rows, colours, height=78, axis="", unnamed=()):
        """A picture above the table that it is drawn of, whose heads stand 18 rows below."""
        page, first = self.page, self.page.row + 18
        ranges = [page.range(first, column, rows + 1, 1) for column in (0, *columns)]
        page.charts.append(Chart(kind, title, (page.row, 0), (225, height), ranges, colours, axis, unnamed))
        page.row += 18

    # ---- Where the value goes ----

    def value(self):
        page = self.page
        page.line('="Where the value goes: "&Best', styles="head")
        self.chart("bars", "USD, at the plan's prices", (2, 3, 4), 10, [None, GREEN, VERMILION], axis="USD")
        page.line("", "USD", "still there", "left", "goes away", styles="head,head,head,head,head")
        metal = ("BW_FIGURE(Plan;Best_at&\"/metal/{}/fed\")*BW_CONVERT(1;\"g\";\"ozt\")*AVERAGE({})")
        gold = ";".join(self.plan.cells[f"/prices/Au/{end}"] for end in ("low", "mode", "high"))
        silver = ";".join(self.plan.cells[f"/prices/Ag/{end}"] for end in ("low", "high"))
        rows = [("gold and silver fed", f"={metal.format('Au', gold)}+{metal.format('Ag', silver)}"),
                ("not paid for, or lost", None), ("work at the plant", '=SUMIFS(Line_amount;Line_kind;"work")'),
                ("refining", '=SUMIFS(Line_amount;Line_kind;"refining")'), ("buyers' charges", '=SUMIFS(Line_amount;Line_kind;"charge")'),
                ("penalties", '=SUMIFS(Line_amount;Line_kind;"penalty")'), ("levies", '=SUMIFS(Line_amount;Line_kind;"levy")')]
        at = page.row
        for k, (words, formula) in enumerate(rows):
            formula = formula or f'=SUMIFS(Line_amount;Line_kind;"metal")-{page.place(at, 1)}'
            page.put(0, words)
            page.put(1, formula, "money")
            self._fall(k, at)
        page.put(0, "net")
        page.put(1, f"=SUM({page.range(at, 1, len(rows), 1)})", "money")
        self._whole()
        page.put(0, "waiting")
        page.put(1, f"=Best_leaves-{page.place(page.row - 1, 1)}", "money")
        page.put(2, "=Best_leaves", "money")
        page.put(3, 0, "money")
        page.put(4, f"=-{page.place(page.row, 1)}", "money")
        page.row += 1
        page.put(0, "left: present value")
        page.put(1, "=Best_leaves", "money")
        self._whole()
        page.line("net of these lines less the answer's", f'={page.place(at + 7, 1)}-BW_FIGURE(Plan;Best_at&"/net")',
                  styles="note,cents")

    def _fall(self, k, at):
        """What is left under a bar that falls; the first stands on the ground."""
        page, row = self.page, self.page.row
        if k == 0:
            self._whole()
            return
        page.put(2, f"=SUM({page.range(at, 1, k + 1, 1)})", "money")
        page.put(3, 0, "money")
        page.put(4, f"=-{page.place(row, 1)}", "money")
        page.row += 1

    def _whole(self):
        page = self.page
        page.put(2, 0, "money")
        page.put(3, f"={page.place(page.row, 1)}", "money")
        page.put(4, 0, "money")
        page.row += 1

    # ---- The gold's path ----

    def gold(self):
        page = self.page
        page.line('="The gold\'s path: "&Best', styles="head")
        self.chart("path", "g of gold, from top to bottom; what leaves the stream leaves it on the right", range(2, 8), 6,
                   [ORANGE, GREY, SKY, YELLOW, VERMILION, GREEN], axis="g")
        page.line("", "g", "on its way", "lost", "sent back", "kept", "not paid for", "paid for", styles=",".join(["head"] * 8))
        amount = 'BW_FIGURE(Plan;Best_at&"/metal/Au/{}")'
        at = page.row
        page.put(0, "fed")
        page.put(1, "=" + amount.format("fed"), "gram")
        page.put(2, f"={page.place(at, 1)}", "gram")
        page.row += 1
        others = [("sent back to the plant", "returned", 4), ("kept", "kept", 5), ("not paid for", "unpaid", 6), ("paid for", "payable", 7)]
        page.put(0, "lost in dust, fume and slag")
        page.put(1, f"={page.place(at, 1)}-SUM({page.range(at + 2, 1, 4, 1)})", "gram")
        self._leaves(at, 3)
        for words, name, column in others:
            page.put(0, words)
            page.put(1, "=" + amount.format(name), "gram")
            self._leaves(at, column)
        page.row += 1

    def _leaves(self, at, column):
        page, row = self.page, self.page.row
        page.put(2, f"={page.place(at, 1)}-SUM({page.range(at + 1, 1, row - at, 1)})", "gram")
        page.put(column, f"={page.place(row, 1)}", "gram")
        page.row += 1

    # ---- Net against grade ----

    def grades(self):
        page = self.page
        page.line("What four routes leave, by the grade of the lot", styles="head")
        first, shown = page.row + 19, ["dried, to the smelter", "by weight to the camp trader", "tabled at best, bar to the refiner",
                                       "tabled at 2.5 %, bar to the town"]
        self.chart("lines", "present value, USD, against the grade of the sand, times what was assayed", range(1, 5),
                   len(ALONG), [BLUE, VERMILION, GREEN, GREY], axis="USD")
        page.put(0, "grade, times", "head")
        for k, route in enumerate(shown):
            page.put(k + 1, route, "choice")
        page.row += 1
        for factor in ALONG:
            page.put(0, factor, "inputleft")
            at = page.place(page.row, 0)
            for k in range(4):
                name = f"${column_name(k + 1)}${first}"
                page.filled.append(self._one(page.row, k + 1, f'=BW_FIGURE({scaled(at)};"/routes/"&{name}&"/present_value")'))
                page.cells[page.row, k + 1] = (None, "money")
            page.row += 1
        page.line("The four names may be exchanged for any of the page Routes; nuggets stay as they are.", styles="note")

    @staticmethod
    def _one(row, column, formula):
        return Filled(row, column, 1, 1, formula)

    # ---- Who wins ----

    def winners(self):
        page = self.page
        page.line("Which route leaves the most, by the lot's mass and by its grade", styles="head")
        page.line("Down: the mass of the sand, times what was weighed. Across: its grade, times what was assayed. Both may be changed.", styles="note")
        page.put(0, "mass, times \\ grade, times", "head")
        for k, grade in enumerate(GRADES):
            page.put(k + 1, grade, "inputhead")
        head = page.row
        page.row += 1
        first = page.row
        for mass in MASSES:
            page.put(0, mass, "inputleft")
            for k in range(len(GRADES)):
                plan = scaled(f"${column_name(k + 1)}${head + 1}", "Marks_grade", scaled(f"$A${page.row + 1}", "Marks_mass"))
                page.filled.append(self._one(page.row, k + 1, f"=MATCH(BW_BEST_ROUTE({plan});Route_names;0)"))
                page.cells[page.row, k + 1] = (None, "map")
            page.row += 1
        page.coloured.append((page.range(first, 1, len(MASSES), len(GRADES)), [f"route{k}" for k in range(len(self.routes))]))
        page.row += 1
        page.line("route", "its colour", styles="head")
        start = page.row
        for k, route in enumerate(self.routes):
            page.line(route, k + 1, styles="words,map")
        page.coloured.append((page.range(start, 1, len(self.routes), 1), [f"route{k}" for k in range(len(self.routes))]))
        self.route_names = page.range(start, 0, len(self.routes), 1)

    # ---- How the outcomes range ----

    def outcomes(self):
        """Bars float between low and high. They are drawn of what stands beyond the printed columns: a bar that crosses
        zero is two, as stacks of bars grow to either side from there."""
        page = self.page
        page.line("How far off it can be: 4,096 draws of all uncertain figures", styles="head")
        page.line("zero of the picture, USD", f"=IFERROR({self._figure('Best', 'median')};Best_leaves)",
                  styles="words,money")
        zero, left = page.place(page.row - 1, 1), 10
        self.chart("bars", "present value, USD, above or below the middle of the best route: 95 of 100 draws, parted at their middle",
                   range(left, left + 6), len(self.routes), [None, None, SKY, GREEN, GREEN, SKY], axis="USD", unnamed=(4, 5))
        page.line("route", "plan", "mean", "low", "middle", "high", "best of 100", styles=",".join(["head"] * 7))
        for k, words in enumerate(("from 0", "to 0", "low to middle", "middle to high", "to high, below 0", "from low, below 0")):
            page.put(left + k, words, "plain", row=page.row - 1)
        for route in self.routes:
            row = page.row
            page.put(0, route)
            for k, name in enumerate(("plan", "mean", "low", "median", "high")):
                page.put(k + 1, self._drawn(page.place(row, 0), name), "money")
            page.put(6, f"=IFERROR(100*{self._figure(page.place(row, 0), 'best_share')};\"\")", "one")
            self._bar(left, zero, *(page.place(row, k) for k in (3, 4, 5)))
            page.row += 1
        page.line("Of 100 draws 2.5 leave less than low and 2.5 more than high. What is one thing, what rises and falls together, and what is "
                  "averaged stands on Rows, in its last list.", styles="note")

    def _bar(self, left, zero, *ends):
        """The parts of a bar: what is above zero, outwards, and what is below it, outwards. 0 where there is none: a chart
        takes a first row of empty texts for headings."""
        up = [f"MAX(0;{end}-{zero})" for end in ends]
        down = [f"MIN(0;{end}-{zero})" for end in ends]
        parts = [up[0], down[2], f"{up[1]}-{up[0]}", f"{up[2]}-{up[1]}", f"{down[1]}-{down[2]}", f"{down[0]}-{down[1]}"]
        for k, part in enumerate(parts):
            self.page.put(left + k, f"=IF(ISNUMBER({ends[0]});{part};0)", "plain")

    @staticmethod
    def _figure(route, name):
        return f'INDEX(Drawn;MATCH({route};Drawn_names;0);MATCH("{name}";Drawn_heads;0))'

    @classmethod
    def _drawn(cls, route, name):
        """Of a route that is taken in any draw."""
        return f'=IFERROR(IF({cls._figure(route, "refused_share")}=1;"";{cls._figure(route, name)});"")'
