"""Compare the library's bench with the plain evaluator on random requests.

    python3 bench_run.py --library PATH/libbuttonworth.so [--requests 200] [--seed 1] [--kinds sampling,bar] [--show 5]

Every figure, text and field of an answer is compared, and a request that the evaluator refuses must be refused.
Tolerances: values are printed to eight digits (6e-8 of the figure), an sd to four (6e-4) and found with numerical
slopes (another 2e-4); figures that are searched for, that are differences, or that rest on a table of atomic weights
state more in the evaluator (`near`, `floor`), with the reason there. The texts of cautions are the library's own:
their number is compared, and each that the page names must be there. Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import sys
from collections import Counter
from typing import Any, Optional

import bench
import random_bench
import run
from bench_flux import Price
from bench_figures import BenchError, Cautions, MayBeNothing, Shown, Unclear, Word

VALUE, SD = 6e-8, 8e-4
SLOW = 40               # of requests about the lot size, each of some hundreds of comparisons, only one in so many


class Library(run.Library):
    def __init__(self, path: str):
        super().__init__(path)
        self.c.bw_bench.restype = ctypes.c_int32
        self.c.bw_bench.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t, ctypes.POINTER(ctypes.c_void_p)]

    def bench(self, request: dict) -> dict:
        text = json.dumps(request, ensure_ascii=False).encode()
        answer, size = ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_bench(self.context, text, len(text), ctypes.byref(answer)))
        try:
            return json.loads(ctypes.string_at(self.c.bw_answer_text(answer, ctypes.byref(size)), size.value))
        finally:
            self.c.bw_answer_destroy(ctypes.byref(answer))


# ---------------------------------------------------------------- comparing

def number(text: Any) -> tuple[float, str]:
    value, _, unit = text.partition(" ")
    return float(value), unit


def figure(at: str, mine: Shown, theirs: Any) -> list[str]:
    try:
        value, unit = number(theirs["value"] if isinstance(theirs, dict) else theirs)
        sd, sd_unit = number(theirs["sd"]) if isinstance(theirs, dict) else (0.0, unit)
        if isinstance(theirs, dict) and set(theirs) != {"value", "sd"}:
            return [f"{at}: {theirs!r} holds more than value and sd"]
    except (AttributeError, KeyError, ValueError):
        return [f"{at}: {theirs!r} is no figure, oracle {mine}"]
    wrong = []
    if unit != mine.unit or sd_unit != unit:
        wrong.append(f"{at}: unit of {theirs!r}, oracle {mine.unit!r}")
    if not abs(value - mine.value) <= (VALUE + mine.near) * abs(mine.value) + mine.floor:
        wrong.append(f"{at}: library {theirs!r}, oracle {mine}")
    elif not abs(sd - mine.sd) <= (SD + 10 * mine.near) * mine.sd + 2e-9 * abs(mine.value) + mine.floor:
        wrong.append(f"{at}: sd of library {theirs!r}, oracle {mine}")
    return wrong


def price(at: str, mine: Price, theirs: Any) -> list[str]:
    """As written in the document's currency; another currency's comes in this one, per any unit of mass."""
    if mine.written is not None:
        return [] if theirs == mine.written else [f"{at}: library {theirs!r}, oracle {mine.written!r}"]
    near = abs(mine.reader.per_mass(theirs).value - mine.value) <= VALUE * mine.value
    return [] if near else [f"{at}: library {theirs!r}, oracle {mine.value!r} a kg"]


def heeded(at: str, mine: Cautions, theirs: Any) -> list[str]:
    if not isinstance(theirs, list) or any(set(c) != {"at", "what"} or not c["what"] for c in theirs):
        return [f"{at}: not a list of at and what: {theirs!r}"]
    texts = [c["what"].lower() for c in theirs]
    missing = [words for words in mine.about if not any(w.lower() in t + c["at"].lower() for w in words for t, c in zip(texts, theirs))]
    if len(theirs) < len(mine.about) or (len(theirs) > len(mine.about) and not mine.others):
        return [f"{at}: library {[(c['at'], c['what']) for c in theirs]}, oracle {mine.about}"]
    return [f"{at}: none about {words} in {[(c['at'], c['what']) for c in theirs]}" for words in missing]


def may_lack(mine: Any) -> bool:
    """Is it a figure of 0 that may be left out, with all that hangs on it?"""
    if isinstance(mine, dict):
        return bool(mine) and all(may_lack(v) for v in mine.values())
    return isinstance(mine, MayBeNothing) and abs(mine.value) <= mine.floor


def differences(at: str, mine: Any, theirs: Any) -> list[str]:
    if isinstance(mine, Price):
        return price(at, mine, theirs)
    if isinstance(mine, Shown):
        return figure(at, mine, theirs)
    if isinstance(mine, Cautions):
        return heeded(at, mine, theirs)
    if isinstance(mine, Word):
        return [] if mine.text == theirs else [f"{at}: library {theirs!r}, oracle {mine.text!r}"]
    if isinstance(mine, list):
        if not isinstance(theirs, list) or len(mine) != len(theirs):
            return [f"{at}: library {json.dumps(theirs, ensure_ascii=False)[:300]}, oracle {mine}"]
        return [d for i, (a, b) in enumerate(zip(mine, theirs)) for d in differences(f"{at}/{i}", a, b)]
    if not isinstance(theirs, dict):
        return [f"{at}: library {theirs!r}, oracle {mine}"]
    mine = {k: v for k, v in mine.items() if not (may_lack(v) and k not in theirs)}
    wrong = [f"{at}/{k}: not in the library's, oracle {mine[k]}" for k in mine if k not in theirs]
    wrong += [f"{at}/{k}: library {theirs[k]!r}, not in the oracle's" for k in theirs if k not in mine]
    return wrong + [d for k in mine if k in theirs for d in differences(f"{at}/{k}", mine[k], theirs[k])]


def compared(library: Library, request: dict) -> Optional[list[str]]:
    """What differs; None where the page does not settle the request."""
    answer, refusal = None, ""
    try:
        answer = library.bench(request)
    except run.LibraryError as refused:
        refusal = str(refused)
    try:
        mine = bench.evaluate(request, answer)
    except Unclear:
        return None
    except BenchError as refused:
        if "is no request to the bench" in refusal:
            return [f"library: {refusal}"]
        return [] if answer is None else [f"not refused by the library, oracle: {refused}"]
    if answer is None:
        return [f"library: {refusal}"]
    return differences("", mine, answer)


def wanted(given: argparse.Namespace) -> list[tuple[str, int]]:
    kinds = given.kinds.split(",") if given.kinds else list(random_bench.KINDS)
    many, made = given.requests, []
    for i in range(many):
        kind = kinds[i % len(kinds)]
        if kind == "lot-size" and len(kinds) > 1 and i // len(kinds) % max(1, SLOW // len(kinds)):
            continue
        made.append((kind, given.seed + i // len(kinds)))
    return made


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library's bench with the plain evaluator")
    wish.add_argument("--library", required=True)
    wish.add_argument("--requests", type=int, default=200)
    wish.add_argument("--seed", type=int, default=1)
    wish.add_argument("--kinds", default="")
    wish.add_argument("--show", type=int, default=5)
    given = wish.parse_args()
    library, agree, differ, open_ = Library(given.library), Counter(), Counter(), Counter()
    for kind, seed in wanted(given):
        request = random_bench.random_request(kind, seed)
        wrong = compared(library, request)
        if wrong is None:
            open_[kind] += 1
        elif wrong:
            differ[kind] += 1
            if differ[kind] <= given.show:
                print(f"{kind}, seed {seed}:", *wrong[:6], sep="\n    ")
        else:
            agree[kind] += 1
    library.close()
    for kind in random_bench.KINDS:
        if agree[kind] or differ[kind] or open_[kind]:
            print(f"{kind}: {agree[kind]} agree, {differ[kind]} differ" + (f", {open_[kind]} not settled by the page" if open_[kind] else ""))
    print(f"{agree.total()} agree, {differ.total()} differ")
    return 1 if differ or not agree else 0


if __name__ == "__main__":
    sys.exit(main())
