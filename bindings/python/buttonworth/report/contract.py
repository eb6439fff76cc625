"""Terms of sale as the sentences of a contract, in the order in which they act."""

from __future__ import annotations

from typing import Any, Dict, Iterator, List, Mapping, Tuple

from .stated import is_zero, say, stated
from .words import analyte, capital, listed

#: A heading and its sentences.
Clause = Tuple[str, List[str]]
Terms = Dict[str, Any]


def clauses(terms: Terms) -> List[Clause]:
    """Every rule of the terms, said once; what the terms leave out is not said."""
    found: List[Clause] = [
        ("Goods", list(_goods(terms))), ("Acceptance", list(_acceptance(terms))), ("Weighing", list(_weighing(terms))),
        *((capital(analyte(metal)), list(_metal(metal, pay))) for metal, pay in _members(terms.get("pay", {}))),
        ("Charges", [_charge(charge) for charge in terms.get("charges", [])]),
        ("Penalties", [sentence for penalty in terms.get("penalties", []) for sentence in _penalty(penalty)]),
        ("Share in the price", [_participation(share) for share in terms.get("participation", [])]),
        ("Payment", list(_payment(terms))), ("Figures", list(_figures(terms)))]
    return [(title, sentences) for title, sentences in found if sentences]


def _members(found: Mapping[str, Any]) -> List[Tuple[str, Any]]:
    return [(name, value) for name, value in found.items() if name != "note"]


# ---- What is sold --------------------------------------------------------------------------------


def _goods(terms: Terms) -> Iterator[str]:
    kinds = {"bar": "bars", "nuggets": "nuggets and other pieces", "concentrate": "concentrate"}
    yield f"The buyer takes {kinds[terms['buys']]}."
    if stated(terms, "transit"):
        yield f"The goods reach the buyer {say(terms['transit'])} after they are ready."


def _acceptance(terms: Terms) -> Iterator[str]:
    limits = _members(terms.get("accepts", {}))
    if limits:
        yield f"A lot is taken only with {listed(_limit(name, limit) for name, limit in limits)}."


def _limit(name: str, limit: Mapping[str, Any]) -> str:
    what = {"mass": "settled mass", "moisture": "moisture"}.get(name, analyte(name))
    return f"{what} of {_bounds(limit, 'min', 'max')}"


def _bounds(of: Mapping[str, Any], least: str, most: str) -> str:
    """ "at least 120 USD and at most 500 USD", as far as there are such."""
    ends = ((least, "at least"), (most, "at most"))
    return " and ".join(f"{words} {say(of[name])}" for name, words in ends if name in of)


# ---- Mass and assay ------------------------------------------------------------------------------


def _weighing(terms: Terms) -> Iterator[str]:
    loss = [(name, value) for name, value in _members(terms.get("melt_loss", {})) if not is_zero(value)]
    if loss:
        shares = (f"{say(value)} of the {name if name == 'mass' else analyte(name)}" for name, value in loss)
        yield f"The buyer melts what arrives; lost in that are {listed(shares)}."
    if stated(terms, "sample_kept"):
        yield f"The buyer keeps {say(terms['sample_kept'])} as a sample."
    if stated(terms, "mass_deduction"):
        yield f"{say(terms['mass_deduction'])} of the dry mass is deducted before anything is paid."
    for name, value in _members(terms.get("deemed", {})):
        yield f"No assay is made for {analyte(name)}: every lot counts as {say(value)}."


# ---- Metals --------------------------------------------------------------------------------------


def _metal(metal: str, pay: Terms) -> Iterator[str]:
    yield _shares(metal, pay)
    if "price" in pay:
        yield f"Its price is {say(pay['price'])}."
    if "price_share" in pay:
        yield f"It is paid at {say(pay['price_share'])} of the price."
    if stated(pay, "refining"):
        of = {"gross": "of everything delivered", "settled": "of settled mass"}.get(pay.get("refining_of", ""),
                                                                                 f"of {analyte(metal)} paid for")
        yield f"Refining costs {say(pay['refining'])} {of}."


def _shares(metal: str, pay: Terms) -> str:
    name = analyte(metal)
    less = say(pay["less"]) if stated(pay, "less") else ""
    if "bands" in pay:
        steps = [f"{say(share)} from {say(start)} on" for start, share in pay["bands"]]
        return f"Of the {name} is paid {listed(steps)}{_less(less, pay)}; below that nothing."
    share = say(pay.get("share", "100 %"))
    return f"{share} of the {name} is paid for{_less(less, pay)}."


def _less(less: str, pay: Terms) -> str:
    """What is taken off the assay beside the share."""
    if not less:
        return ""
    order = pay.get("order", "lower of")
    if order == "less first":
        return f", of the assay less {less}"
    if order == "share first":
        return f", and {less} is taken off that"
    return f", or the assay less {less} where that is less"


# ---- What is taken off ---------------------------------------------------------------------------


def _charge(charge: Terms) -> str:
    of = charge.get("of", "")
    basis = {"wet": " of wet mass", "dry": " of dry mass", "gross": " of dry mass",
             "payable value": " of the value of the metal paid for"}.get(of, "")
    if of.startswith("payable ") and not basis:
        basis = f" of {analyte(of.split(' ', 1)[1])} paid for"
    elif not of and not charge_per_lot(charge["rate"]):
        basis = " of settled mass"
    bounds = _bounds(charge, "at_least", "at_most")
    tail = f", {bounds}" if bounds else ""
    return f"For {charge['what']} the buyer charges {say(charge['rate'])}{basis}{tail}."


def charge_per_lot(rate: Any) -> bool:
    """Whether any figure of the rate is per lot, or a share."""
    figures = rate.values() if isinstance(rate, dict) else [rate]
    return any(isinstance(figure, str) and figure.endswith(("/lot", "%")) for figure in figures)


def _penalty(penalty: Terms) -> Iterator[str]:
    of = penalty["for"]
    together = listed(analyte(name) for name in ([of] if isinstance(of, str) else of))
    name = together if isinstance(of, str) or len(of) == 1 else f"{together} together"
    steps = penalty.get("marginal", [penalty] if "above" in penalty else [])
    whole = " whole" if penalty.get("count") == "whole" else ""
    if steps:
        told = [f"{say(step['rate'])} of settled mass for every{whole} {say(step['each'])} above {say(step['above'])}"
                for step in steps]
        yield f"For {name} the buyer takes off {listed(told)}."
    if "whole" in penalty:
        bands = [f"{say(band['rate'])} up to {say(band['up_to'])}" for band in penalty["whole"]]
        beyond = "" if "refuse_above" in penalty else "; above that nothing"
        yield f"For {name} the buyer takes off, of all settled mass, {listed(bands)}{beyond}."
    if "refuse_above" in penalty:
        yield f"A lot with more than {say(penalty['refuse_above'])} of {name} is refused."


def _participation(share: Terms) -> str:
    return (f"Of the price of {analyte(share['for'])} above {say(share['above'])} the buyer takes "
            f"{say(share['rate'])} of settled mass for every {say(share['each'])}.")


# ---- Payment and figures -------------------------------------------------------------------------


def _payment(terms: Terms) -> Iterator[str]:
    advance = terms.get("advance")
    if advance:
        after = say(advance["after"]) if stated(advance, "after") else ""
        when = f"{after} after arrival" if after else "on arrival"
        interest = f", at {say(advance['interest'])} interest until the final settlement" \
            if stated(advance, "interest") else ""
        yield f"{say(advance['share'])} of the proceeds is advanced {when}{interest}."
    rest = "The rest" if advance else "All of it"
    yield f"{rest} is paid {say(terms['final']) + ' after' if stated(terms, 'final') else 'on'} arrival."


def _figures(terms: Terms) -> Iterator[str]:
    factors = _members(terms.get("factors", {}))
    if factors:
        yield f"By this contract there are {listed(f'{value} {name}' for name, value in factors)}."
    rounding = dict(_members(terms.get("rounding", {})))
    mode = rounding.pop("mode", "half even")
    mass, payable = rounding.pop("mass", None), rounding.pop("payable", {})
    if mass:
        turn = f", a step counting once it is passed by {say(mass['turn'])}" if stated(mass, "turn") else ""
        yield f"Weights are taken in whole steps of {say(mass['step'])}{turn}."
    steps = [f"{'money' if name == 'money' else analyte(name)} to {say(step)}" for name, step in rounding.items()]
    steps += [f"{analyte(name)} paid for to {say(step)}" for name, step in _members(payable)]
    if steps:
        yield f"Figures are rounded: {', '.join(steps)} ({mode})."
