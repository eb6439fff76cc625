"""The buyers' terms: sentences of a contract, each with the cell that its figure stands in."""

from pages import Page
from rows import Inputs, parts, step

from lot import METALS

NAMES = {**METALS, "Hg": "mercury", "mass": "settled mass", "moisture": "moisture"}
OF = {"wet": "of wet mass", "dry": "of dry mass", "payable value": "of the value of the metal paid for", "settled": "of settled mass",
      "gross": "of everything delivered"}
PER = {"t": "a tonne", "ozt": "a troy ounce", "lot": "a lot", "d": "days", "a": "a year"}


def words_of(unit):
    """ "USD/t" as "USD a tonne"."""
    money, _, per = unit.partition("/")
    if per:
        return f"{money} {PER[per]}" if money != "g" else unit
    return {"d": "days", "fine": "fine"}.get(unit, unit)


def sentences(terms):
    """Words before, pointer into the terms, words after; a pointer is None where nothing can be changed."""
    for part in (_goods, _acceptance, _weighing, _metals, _charges, _penalties, _payment, _figures):
        yield from part(terms)


def _goods(terms):
    kind = {"bar": "bars", "nuggets": "nuggets", "concentrate": "sand and concentrate"}[terms["buys"]]
    yield f"The buyer takes {kind}.", None, ""
    if "transit" in terms:
        yield "The goods are with him after", "/transit", "."


def _acceptance(terms):
    for name, limit in terms.get("accepts", {}).items():
        for end, words in (("min", "at least"), ("max", "at most")):
            if end in limit:
                yield f"He takes only lots with {NAMES[name]} of {words}", f"/accepts/{name}/{end}", "."


def _weighing(terms):
    for name in terms.get("melt_loss", {}):
        yield f"In his own melt is lost, of the {NAMES[name] if name != 'mass' else 'mass'},", f"/melt_loss/{name}", "."
    if "sample_kept" in terms:
        yield "He keeps as a sample", "/sample_kept", "."
    if "mass_deduction" in terms:
        yield "Before anything is paid he takes off", "/mass_deduction", "of the dry mass."
    for name in terms.get("deemed", {}):
        yield f"He makes no assay: every lot counts in {NAMES[name]} as", f"/deemed/{name}", "."


def _metals(terms):
    for metal, pay in terms["pay"].items():
        at, name = f"/pay/{metal}", NAMES[metal]
        for k in range(len(pay.get("bands", []))):
            yield f"From a {name} assay of", f"{at}/bands/{k}/0", "on,"
            yield "    he pays for", f"{at}/bands/{k}/1", f"of the {name}."
        if "share" in pay:
            yield "He pays for", f"{at}/share", f"of the {name}."
        if "less" in pay:
            yield "    or for the assay less", f"{at}/less", "where that is less."
        if "price_share" in pay:
            yield "He pays at the least", f"{at}/price_share/low", "of the price,"
            yield "    and at the most", f"{at}/price_share/high", "."
        if "refining" in pay:
            yield f"For refining {name} he takes", f"{at}/refining", OF.get(pay.get("refining_of"), "paid for") + "."


def _charges(terms):
    for k, charge in enumerate(terms.get("charges", [])):
        of = OF[charge.get("of", "settled")] if "/lot" not in charge["rate"] else ""
        yield f"For {charge['what']} he charges", f"/charges/{k}/rate", f"{of}." if "at_least" not in charge else f"{of},"
        if "at_least" in charge:
            yield "    at least", f"/charges/{k}/at_least", "."


def _penalties(terms):
    for k, penalty in enumerate(terms.get("penalties", [])):
        of = [penalty["for"]] if isinstance(penalty["for"], str) else penalty["for"]
        name, at = " and ".join(NAMES[one] for one in of) + (" together" if len(of) > 1 else ""), f"/penalties/{k}"
        marginal = [f"{at}/marginal/{n}" for n in range(len(penalty.get("marginal", [])))]
        for place in marginal or ([at] if "above" in penalty else []):
            yield f"For {name} above", f"{place}/above", "the buyer takes off,"
            yield f"    for every{' whole' if penalty.get('count') == 'whole' else ''}", f"{place}/each", "more,"
            yield "   ", f"{place}/rate", "of settled mass."
        for n in range(len(penalty.get("whole", []))):
            yield f"For {name} up to", f"{at}/whole/{n}/up_to", "the buyer takes off"
            yield "   ", f"{at}/whole/{n}/rate", "of settled mass."
        if "refuse_above" in penalty:
            yield f"He refuses a lot with {name} above", f"{at}/refuse_above", "."


def _payment(terms):
    if "advance" in terms:
        yield "He advances", "/advance/share", "of the proceeds,"
        yield "   ", "/advance/after", "after arrival."
        if "interest" in terms["advance"]:
            yield "    On the advance he counts interest of", "/advance/interest", "until the rest is paid."
    if "final" in terms:
        yield f"{'The rest' if 'advance' in terms else 'All'} is paid", "/final", "after arrival."
    else:
        yield "All is paid on arrival.", None, ""


def _figures(terms):
    if "factors" in terms:
        yield "By this contract a troy ounce has", "/factors/g per ozt", "g."
    for name in terms.get("rounding", {}):
        if name != "mode":
            yield f"{NAMES.get(name, name).capitalize()} is rounded to", f"/rounding/{name}", "."


def described(plan: Inputs, terms) -> Page:
    page = Page("Buyers", [92, 20, 42, 62])
    page.line("What the buyers offer", styles="title")
    page.line("Each contract in sentences. Invented buyers of a demonstration; the coloured figures may be changed.", styles="note")
    _prices(page, plan)
    for number, (buyer, one) in enumerate(terms.items()):
        page.row += 1
        if number in (1, 2, 4):
            page.breaks.append(page.row)
        page.line(buyer[:1].upper() + buyer[1:], styles="head")
        if "note" in one:
            page.line(one["note"], styles="note")
        for before, pointer, after in sentences(one):
            _sentence(page, plan, f"/terms{step(buyer)}", before, pointer, after)
    return page


def _prices(page, plan):
    """As the manager would state them for the weeks until the money comes."""
    page.row += 1
    page.line("Prices", styles="head")
    for pointer, words in (("/prices/Au/low", "Gold, the least"), ("/prices/Au/mode", "    the likeliest"), ("/prices/Au/high", "    the most"),
                           ("/prices/Ag/low", "Silver, the least"), ("/prices/Ag/high", "    the most"), ("/exchange/CAD", "A Canadian dollar")):
        figure, unit = plan.figure(pointer)
        plan.stands(page.put(1, figure, "input"), pointer)
        page.line(words, None, words_of(unit), styles="sentence,input,unit")


def _sentence(page, plan, at, before, pointer, after):
    page.put(0, before, "sentence" if pointer else "words")
    if pointer:
        figure, unit = plan.figure(at + pointer)
        plan.stands(page.put(1, figure, "input"), at + pointer)
        tail = words_of(unit)
        page.put(2, f"{tail}{after if after == '.' else ''}", "unit")
        page.put(3, "" if after == "." else after, "words")
    page.row += 1


def unsaid(plan: Inputs):
    """Figures of terms that no sentence holds."""
    return [pointer for pointer, value in plan.of.items()
            if pointer.startswith("/terms/") and isinstance(parts(value)[0], float) and pointer not in plan.cells]
