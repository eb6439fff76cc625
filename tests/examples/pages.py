"""What the tests of the reports have in common: a page taken apart, figures rounded by hand, words in pictures."""

import html.parser
import re
import unittest
from decimal import ROUND_HALF_UP, Decimal

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

VOID = {"meta", "br", "img", "hr", "input", "link"}
WITHIN = {"data", "span", "strong"}  # a line
NBSP = "\u00a0"


def plainly(text):
    """Words in one line, a plain minus and plain spaces."""
    return re.sub(r"\s+", " ", text.replace(NBSP, " ").replace("\u2212", "-")).strip()


def rounded(number, places):
    """For reading: thousands apart, halves away from 0."""
    value = Decimal(number).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return f"{value + 0:,.{places}f}"


def number(text):
    return Decimal(plainly(text).replace(",", "").replace("+", "").split()[0])


def at(documents, pointer):
    """What stands at a JSON pointer."""
    value = documents
    for name in pointer.split("/")[1:]:
        name = name.replace("~1", "/").replace("~0", "~")
        value = value[int(name)] if isinstance(value, list) else value[name]
    return value


class Page(html.parser.HTMLParser):
    """A page: its tags must nest; its text, ids, figures and drawings."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.source, self.faults, self.open = text, [], []
        self.ids, self.attributes, self.words, self.figures = [], [], [], []
        self.feed(text)
        self.close()
        self.faults += [f"<{tag}> is not closed" for tag in self.open]
        self.text = plainly("".join(self.words))

    def handle_starttag(self, tag, attributes):
        self.note(tag, attributes)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.note(tag, attributes)

    def note(self, tag, attributes):
        found = dict(attributes)
        self.words.append("" if tag in WITHIN else " ")
        self.attributes += [(tag, name, value) for name, value in attributes]
        if "id" in found:
            self.ids.append(found["id"])
        if tag == "data":
            self.figures.append({**found, "text": ""})

    def handle_endtag(self, tag):
        self.words.append("" if tag in WITHIN else " ")
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> closes something else")

    def handle_data(self, text):
        if "style" in self.open:
            return
        if "data" in self.open:
            self.figures[-1]["text"] += text
        if "svg" not in self.open:
            self.words.append(text)


def outside(page):
    """All that a page names outside itself."""
    found = re.findall(r"https?:|file:|//[a-z]|<script|<link|<iframe|@import", page.source)
    found += [f"{tag} {name}={value}" for tag, name, value in page.attributes
              if name in ("src", "srcset", "data") or (name.endswith("href") and not value.startswith("#"))
              or name.startswith("on")]
    return found + [url for url in re.findall(r"url\(([^)]*)\)", page.source) if not url.startswith("#")]


def pointed_at(page):
    """The ids that the page points at within itself."""
    return set(re.findall(r"url\(#([^)]+)\)", page.source)) | set(re.findall(r'href="#([^"]+)"', page.source))


# ---- Pictures ----


def drawings(page):
    """Each drawing by its name and width: {("gold", "wide"): svg}."""
    found = {}
    for match in re.finditer(r'<svg class="(wide|narrow)".*?</svg>', page.source, re.S):
        name = re.search(rf'id="(\w+)-{match[1]}-figure', match[0])[1]
        found[name, match[1]] = match[0]
    return found


def size(svg):
    width, height = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups()
    return float(width), float(height)


def labels(svg):
    """The words of a drawing with the rectangles they take: (text, left, top, right, bottom)."""
    found = []
    for style, rest, text in re.findall(r'<text style="([^"]*)"([^>]*)>([^<]*)</text>', svg):
        letters = float(re.search(r"font-size: ([\d.]+)px", style)[1])
        text = text.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">")
        moved = re.search(r"translate\(([-\d.]+) ([-\d.]+)\)", rest)
        place = moved.groups() if moved else re.search(r' x="([-\d.]+)" y="([-\d.]+)"', rest).groups()
        left, foot = (float(value) for value in place)
        font = FontProperties(family="DejaVu Sans", size=letters, weight="bold" if "bold" in style else "normal")
        width = text_to_path.get_text_width_height_descent(text, font, False)[0]
        left -= width if "anchor: end" in style else width / 2 if "anchor: middle" in style else 0
        found.append((text, left, foot - 0.72 * letters, left + width, foot + 0.1 * letters))
    return found


def cut_labels(svg):
    """Words that reach beyond the drawing."""
    width, height = size(svg)
    return [label for label in labels(svg)
            if label[1] < -0.5 or label[3] > width + 0.5 or label[2] < -0.5 or label[4] > height + 0.5]


def overlaps(svg):
    """Words that stand on others."""
    found, all_of_them = [], labels(svg)
    for i, one in enumerate(all_of_them):
        for other in all_of_them[i + 1:]:
            if min(one[3], other[3]) - max(one[1], other[1]) > 1 and min(one[4], other[4]) - max(one[2], other[2]) > 1:
                found.append((one[0], other[0]))
    return found


class PageTest(unittest.TestCase):
    """Of a page, `page`, that was made in a temporary folder, `place`."""

    @classmethod
    def tearDownClass(cls):
        cls.place.cleanup()

    def said(self, *texts):
        for text in texts:
            self.assertIn(plainly(text), self.page.text)
