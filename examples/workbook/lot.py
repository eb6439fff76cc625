"""The lot: what the run sheets, the drying tins and the assayer wrote down, and the mass that the plan takes of it."""

from pages import Page
from rows import Inputs

METALS = {"Au": "gold", "Ag": "silver", "As": "arsenic", "Sb": "antimony", "Pb": "lead", "S": "sulphur", "Fe": "iron"}


def decimals(text):
    return len(text.split(" ")[0].partition(".")[2])


class Lot:
    def __init__(self, plan: Inputs, first: Inputs, second: Inputs) -> None:
        self.plan, self.first, self.second = plan, first, second
        self.page = Page("The lot", [66, 21, 21, 21, 21, 21, 21, 21])

    def described(self) -> Page:
        page = self.page
        page.line("The lot", styles="title")
        page.line("Two weeks of black sand, as the run sheets have them. Invented figures of a demonstration: put yours in the "
                  "coloured cells.", styles="note")
        page.row += 1
        self.masses()
        self.week_one()
        page.breaks.append(page.row)
        self.week_two()
        self.apart()
        return page

    # ---- What the plan takes ----

    def masses(self):
        page = self.page
        page.line("What the plan takes", "week 1", "week 2", None, "both", styles="head,head,head,head,head")
        page.line("weighed on another scale, kg", "", "", styles="words,input,input")
        first, second = page.row + 1, page.row + 1
        page.line("wet mass by the run sheets, kg", self.by_sheet("Sheet_1", "wet_mass/value", 0), self.by_sheet("Sheet_2", "wet_mass/value", 1),
                  styles="words,result,result")
        self.weights = [page.place(first - 2, 1), page.place(second - 2, 2)]
        at = page.line("wet mass, kg", *(f"=IF(ISNUMBER({page.place(page.row - 2, k)});{page.place(page.row - 2, k)};"
                                         f"{page.place(page.row - 1, k)})" for k in (1, 2)), None,
                       f"={page.place(page.row, 1)}+{page.place(page.row, 2)}", styles="words,result,result,words,result")
        self.mass_row = at
        for part in (0, 1):
            self.plan.stands(page.place(at, part + 1), f"/lot/parts/{part}/wet_mass/value")
        self.taken("give or take, kg", "wet_mass/sd")
        moist = self.taken("moisture, %", "moisture/value")
        self.taken("give or take, %", "moisture/sd")
        page.line("dry mass, kg", *(f"=BW_DRY_MASS({page.place(at, k)};{page.place(moist, k)}/100)" for k in (1, 2)), None,
                  f"={page.place(page.row, 1)}+{page.place(page.row, 2)}", styles="words,result,result,words,result")
        page.line("Leave the first row empty, and the run sheets count. Type a weight there, and all pages follow it.", styles="note")
        page.row += 1

    def by_sheet(self, sheet, figure, part):
        """Rounded as the plan states it. The sheet's answer has g/t where the assayer wrote %."""
        text = self.plan.of[f"/lot/parts/{part}/{figure}"]
        times = "" if not text.endswith("%") else "/10000" if figure.startswith("assays/") else "*100"
        return f'=ROUND(BW_FIGURE({sheet};"/lot/{figure}"){times};{decimals(text)})'

    def taken(self, words, figure):
        at = self.page.line(words, self.by_sheet("Sheet_1", figure, 0), self.by_sheet("Sheet_2", figure, 1),
                            styles="words,result,result")
        for part in (0, 1):
            self.plan.stands(self.page.place(at, part + 1), f"/lot/parts/{part}/{figure}")
        return at

    # ---- First week: cleanings weighed ----

    def week_one(self):
        page = self.page
        page.line("First week: cleanings weighed", styles="head")
        at = page.line("cleanings in all", self.first.figure("/cycles")[0], styles="words,input")
        self.first.stands(page.place(at, 1), "/cycles")
        page.line("those that were weighed, kg", styles="words")
        rinses = self.first.like(r"/rinses/\d+")
        for start in range(0, len(rinses), 6):
            for k, pointer in enumerate(rinses[start:start + 6]):
                self.first.stands(page.put(k + 1, self.first.figure(pointer)[0], "input"), pointer)
            page.row += 1
        self.tins(self.first)
        self.cuts()
        page.row += 1

    def tins(self, sheet):
        page = self.page
        page.line("tins dried, g", "wet", "dry", "empty", "moisture", styles="words,small,small,small,small")
        for k in range(len(sheet.like(r"/moisture/\d+/wet"))):
            for column, name in enumerate(("wet", "dry", "container")):
                pointer = f"/moisture/{k}/{name}"
                sheet.stands(page.put(column + 1, sheet.figure(pointer)[0], "input"), pointer)
            wet, dry, empty = (page.place(page.row, column) for column in (1, 2, 3))
            page.line(f"  tin {k + 1}", None, None, None, f"=BW_MOISTURE({wet};{dry};{empty})", styles="words,input,input,input,share")

    def cuts(self):
        page = self.page
        page.put(0, "gold in six cuts of the pails, g/t")
        for k in range(6):
            both = f"/assays/Au/values/{k}"
            place = page.put(k + 1, self.first.figure(both)[0], "input")
            self.first.stands(place, both)
            self.plan.stands(place, f"/lot/parts/0{both}")
        page.row += 1
        for metal, word in METALS.items():
            if metal != "Au":
                self.assay(metal, word)

    def assay(self, metal, word):
        """One figure, or one with its spread, of the first week: the plan's and the run sheet's."""
        page, plain = self.page, f"/assays/{metal}"
        value, spread = (plain, None) if plain in self.first.of else (f"{plain}/value", f"{plain}/rsd")
        page.put(0, f"{word}, {self.first.figure(value)[1]}")
        self.both(page.put(1, self.first.figure(value)[0], "input"), value)
        if spread:
            page.put(2, "give or take", "small")
            self.both(page.put(3, self.first.figure(spread)[0], "input"), spread)
            page.put(4, "% of it", "small")
        page.row += 1

    def both(self, place, pointer):
        self.first.stands(place, pointer)
        self.plan.stands(place, f"/lot/parts/0{pointer}")

    # ---- Second week: pails counted ----

    def week_two(self):
        page, sheet = self.page, self.second
        page.line("Second week: the scale was away, the pails were counted", styles="head")
        for words, pointer in (("pails", "/buckets/count"), ("litres in a full one", "/buckets/volume"),
                               ("filled to, %", "/buckets/fill/value"), ("give or take, %", "/buckets/fill/sd"),
                               ("a litre of it weighs, kg", "/buckets/bulk_density/value"),
                               ("give or take, % of it", "/buckets/bulk_density/rsd")):
            at = page.line(words, sheet.figure(pointer)[0], styles="words,input")
            sheet.stands(page.place(at, 1), pointer)
        self.tins(sheet)
        page.line("composites", "kg", *(f"{METALS[metal]}, {'g/t' if metal in ('Au', 'Ag') else '%'}" for metal in list(METALS)[:6]),
                  styles="words" + ",small" * 7)
        for k in range(3):
            self.composite(k)
        page.line("gold of the whole week, g/t", self.by_sheet("Sheet_2", "assays/Au/value", 1), "give or take",
                  self.by_sheet("Sheet_2", "assays/Au/sd", 1), styles="words,result,small,result")
        self.of_sheet()
        page.row += 1

    def composite(self, k):
        page, sheet, at = self.page, self.second, f"/composites/{k}"
        page.put(0, f"  {sheet.of[at + '/what']}")
        sheet.stands(page.put(1, sheet.figure(f"{at}/mass")[0], "input"), f"{at}/mass")
        for column, metal in enumerate(list(METALS)[:6]):
            pointer = f"{at}/assays/{metal}"
            pointer = pointer if pointer in sheet.of else f"{pointer}/value"
            sheet.stands(page.put(column + 2, sheet.figure(pointer)[0], "input"), pointer)
        page.row += 1

    def of_sheet(self):
        """What else the plan takes of the second week's sheet has no cell of its own here: a formula among the rows."""
        for pointer in self.plan.like(r"/lot/parts/1/assays/.*"):
            self.plan.cells[pointer] = self.by_sheet("Sheet_2", pointer.removeprefix("/lot/parts/1/"), 1)[1:]

    # ---- Pieces ----

    def apart(self):
        page = self.page
        page.line("Nuggets picked out before sampling", styles="head")
        at = "/lot/apart/nuggets"
        for words, pointer in (("mass, g", f"{at}/mass"), ("fineness in gold", f"{at}/assays/Au/value"),
                               ("give or take", f"{at}/assays/Au/sd"), ("fineness in silver", f"{at}/assays/Ag")):
            row = page.line(words, self.plan.figure(pointer)[0], styles="words,input")
            self.plan.stands(page.place(row, 1), pointer)
