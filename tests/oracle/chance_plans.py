"""Plans of which the answer is known in a closed form, for section 23 and 24. Lots, buyers and prices are invented."""

from __future__ import annotations

from typing import Any

TONNE = {"wet_mass": "1000 kg"}       # of which 1 g/t is 1 g, and at 1 USD/g 1 USD


def plan(assays: dict, prices: dict, terms: dict, routes: dict, **more: Any) -> dict:
    return {"format": "buttonworth-plan/1", "currency": "USD", "prices": prices, "discount": "0 %/a",
            "lot": {**TONNE, "assays": assays}, "steps": {}, "terms": terms, "routes": routes, **more}


def by_assay_or_fixed(mean: str, sd: str, fixed: str) -> dict:
    """One buyer pays 1 USD for each g/t, another a fixed sum whatever the lot holds."""
    return plan({"Au": {"value": f"{mean} g/t", "sd": f"{sd} g/t"}}, {"Au": "1 USD/g"},
                {"by assay": {"buys": "concentrate", "pay": {"Au": {}}},
                 "fixed": {"buys": "concentrate", "deemed": {"Au": f"{fixed} g/t"}, "pay": {"Au": {}}}},
                {"by assay": {"sell": "by assay"}, "fixed": {"sell": "fixed"}})


def pair() -> tuple[dict, dict]:
    """Two routes of N(2300, 200²) and N(2250, 350²) USD, r 0.8: each buyer pays one metal only."""
    made = plan({"Au": {"value": "2300 g/t", "sd": "200 g/t"}, "Ag": {"value": "2250 g/t", "sd": "350 g/t"}},
                {"Au": "1 USD/g", "Ag": "1 USD/g"},
                {"gold": {"buys": "concentrate", "pay": {"Au": {}}}, "silver": {"buys": "concentrate", "pay": {"Ag": {}}}},
                {"first": {"sell": "gold"}, "second": {"sell": "silver"}})
    return made, {"correlate": [["/lot/assays/Au", "/lot/assays/Ag", "0.8"]]}


def driller() -> dict:
    """The oil driller's three states as bands of a penalty on arsenic, of which any content to 1 % is as likely as any other.

    Worth 200 USD less 270, 150 or nothing: −70, 50 and 200, with 0.5, 0.3 and 0.2; not drilling is worth 0.
    """
    bands = [{"up_to": "0.5 %", "rate": "0.27 USD/kg"}, {"up_to": "0.8 %", "rate": "0.15 USD/kg"}]
    return plan({"Au": "200 g/t", "As": {"low": "0 %", "high": "1 %"}}, {"Au": "1 USD/g"},
                {"drill": {"buys": "concentrate", "pay": {"Au": {}}, "penalties": [{"for": "As", "whole": bands}]}},
                {"drill": {"sell": "drill"}, "leave": {"keep": True}})


def rectangles() -> dict:
    """The sum of four rectangular quantities of mean 100 and unit standard deviation, ±√3."""
    def one() -> dict:
        return {"low": f"{100 - 1.7320508075688772:.16f} g/t", "high": f"{100 + 1.7320508075688772:.16f} g/t"}
    metals = ("Au", "Ag", "Pt", "Pd")
    return plan({a: one() for a in metals}, {a: "1 USD/g" for a in metals},
                {"buyer": {"buys": "concentrate", "pay": {a: {} for a in metals}}}, {"sold": {"sell": "buyer"}})


def linear(sds: dict[str, int]) -> dict:
    """The lead is a sum of independent normals: the share of each is its variance's."""
    return plan({a: {"value": "1000 g/t", "sd": f"{sd} g/t"} for a, sd in sds.items()}, {a: "1 USD/g" for a in sds},
                {"buyer": {"buys": "concentrate", "pay": {a: {} for a in sds}}},
                {"sold": {"sell": "buyer"}, "kept": {"keep": True}})
