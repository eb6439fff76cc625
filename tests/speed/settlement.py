#!/usr/bin/env python3
"""The settlement of settlement.json in CPython's decimal module: the same sums, as one tuned function.

    settlement.py            amounts, as buttonworth_speed --settlement prints them
    settlement.py --time     {"28": microseconds, "50": microseconds}, of the processor's time
    settlement.py --count    how many operations and roundings it takes

Written as one would who wants it fast: everything that the terms fix is a Decimal made beforehand, divisions by
constants are multiplications, one division of the lot's mass serves all assays, names are locals.
"""

import decimal
import json
import statistics
import sys
import time
from decimal import ROUND_HALF_EVEN, Decimal as D


def make_settle(number=D):
    """The settlement of one delivery, under the decimal context in force, with these terms as constants."""
    one, zero, cent = number(1), number(0), number("0.01")
    per_ozt = D(1) / D("0.0311034768")
    gold, silver = number(D("2650.40") * per_ozt), number(D("31.25") * per_ozt)
    gold_refining, silver_refining = number(D(8) * per_ozt), number(D("0.60") * per_ozt)
    gold_less, silver_less = number("0.000001"), number("0.00003")
    gold_bands = [(number(s), number(p)) for s, p in (("0.0003", "0.95"), ("0.00003", "0.93"), ("0.000001", "0.85"))]
    silver_bands = [(number(s), number(p)) for s, p in (("0.0001", "0.80"), ("0.00003", "0.70"))]
    price_share, kept, stays = number(1), number(0), number(D(1) - D("0.005"))
    treatment, treatment_least = number("0.450"), number(120)
    sampling, freight, freight_least, insurance = number(800), number("0.900"), number(150), number("0.0015")
    penalty_above, penalty_per_each, penalty_rate = number("0.002"), number(1000), number("0.003")
    refuse_above, least_mass, most_moisture, least_gold = number("0.02"), number(250), number("0.10"), number("0.00003")
    advance_share, interest_rate, wait, per_year = number("0.85"), number("0.09"), number(45 - 7), number(D(1) / D(365))
    transit, advance_after, final_after = number(9), number(7), number(45)
    log_day = D("1.18").ln() / 365
    transit_discount, advance_discount, final_discount = (number((-log_day * days).exp()) for days in (9, 7, 45))
    rounding = ROUND_HALF_EVEN

    def settle(dry, water, gold_fed, silver_fed, arsenic_fed, day, discount):
        arrival, arrival_discount = day + transit, discount * transit_discount
        final, final_day_discount = arrival + final_after, arrival_discount * final_discount

        mass = (dry - kept) * stays
        per_mass = one / dry
        gold_assay, silver_assay, arsenic = gold_fed * per_mass, silver_fed * per_mass, arsenic_fed * per_mass
        wet = dry + water
        moisture = water / wet
        refused = mass < least_mass or moisture > most_moisture or gold_assay < least_gold or arsenic > refuse_above

        share = zero
        for start, paid in gold_bands:
            if gold_assay >= start:
                share = paid
                break
        grade = min(share * gold_assay, gold_assay - gold_less)
        gold_mass = (grade if grade > zero else zero) * mass
        gold_value = (gold_mass * gold * price_share).quantize(cent, rounding)
        share = zero
        for start, paid in silver_bands:
            if silver_assay >= start:
                share = paid
                break
        grade = min(share * silver_assay, silver_assay - silver_less)
        silver_mass = (grade if grade > zero else zero) * mass
        silver_value = (silver_mass * silver * price_share).quantize(cent, rounding)
        payable_value = gold_value + silver_value

        gold_cost = (-gold_mass * gold_refining).quantize(cent, rounding)
        silver_cost = (-silver_mass * silver_refining).quantize(cent, rounding)
        amount = mass * treatment
        treated = (-(amount if amount > treatment_least else treatment_least)).quantize(cent, rounding)
        sampled = (-(one * sampling)).quantize(cent, rounding)
        amount = wet * freight
        carried = (-(amount if amount > freight_least else freight_least)).quantize(cent, rounding)
        insured = (-(payable_value * insurance)).quantize(cent, rounding)
        over = (arsenic - penalty_above) * penalty_per_each
        rate = (over if over > zero else zero) * penalty_rate
        fined = (-mass * rate).quantize(cent, rounding)
        proceeds = payable_value + gold_cost + silver_cost + treated + sampled + carried + insured + fined

        advance = (proceeds if proceeds > zero else zero) * advance_share
        interest = (advance * interest_rate * wait * per_year).quantize(cent, rounding)
        rest = proceeds - advance - interest
        cash = advance + rest
        present = advance * (arrival_discount * advance_discount) + rest * final_day_discount
        return (gold_value, silver_value, gold_cost, silver_cost, treated, sampled, carried, insured, fined,
                -interest, cash, present, refused, arrival + advance_after, final)

    return settle


def delivery(number=D):
    wet, moisture = D("806.4"), D("0.062")
    water = wet * moisture
    dry = wet - water
    contents = [dry * D(grade) for grade in ("0.0011843", "0.0002127", "0.004375")]
    return [number(value) for value in (dry, water, *contents, D(0), D(1))]


def microseconds(digits, seconds=0.4):
    """Of one settlement, the median of some runs of many."""
    decimal.getcontext().prec = digits
    settle, lot = make_settle(), delivery()
    clock, runs, count = time.process_time, [], 2000
    end = clock() + seconds
    while clock() < end:
        start = clock()
        for _ in range(count):
            settle(*lot)
        runs.append((clock() - start) / count)
    return statistics.median(runs) * 1e6


def counted():
    """Operations and roundings of one settlement, by a Decimal that counts."""
    seen = {"operations": 0, "roundings": 0}

    class Counting(D):
        def quantize(self, *arguments):
            seen["roundings"] += 1
            return Counting(D.quantize(self, *arguments))

    def counting(name):
        plain = getattr(D, name)

        def operation(*operands):
            seen["operations"] += 1
            result = plain(*operands)
            return Counting(result) if isinstance(result, D) else result

        return operation

    for name in ("add", "sub", "mul", "truediv", "neg", "lt", "gt", "le", "ge"):
        setattr(Counting, f"__{name}__", counting(f"__{name}__"))
    make_settle(Counting)(*delivery(Counting))
    return seen


def main():
    if "--time" in sys.argv:
        print(json.dumps({str(digits): microseconds(digits) for digits in (28, 50)}))
    elif "--count" in sys.argv:
        print(json.dumps(counted()))
    else:
        *amounts, cash, present, refused, _, _ = make_settle()(*delivery())
        for amount in amounts:
            print(f"{amount:.2f}")
        print(f"cash {cash:.2f}\npresent value {present:.2f}")
        assert not refused


if __name__ == "__main__":
    main()
