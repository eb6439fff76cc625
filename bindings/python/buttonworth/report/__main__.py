"""The report of a plan, from the command line: python3 -m buttonworth.report plan.json --out FOLDER [--sure
options.json]. Exit status: 0; 1 where the plan or the options are wrong; 2 for a wrong command."""

from __future__ import annotations

import argparse
import pathlib
import sys
from typing import List, Optional

import buttonworth
from buttonworth import report


def main(arguments: Optional[List[str]] = None) -> int:
    asked = _asked(arguments)
    try:
        report.require_packages(with_pdf=not asked.no_pdf)
        options = asked.sure.read_text(encoding="utf-8") if asked.sure else None
        made = report.plan(asked.plan.read_bytes(), options, None if asked.quiet else _tell)
        files = made.write(asked.out, with_pdf=not asked.no_pdf)
    except buttonworth.Error as error:
        for each in error.errors:
            place = f"{each['pointer']}: " if each["pointer"] else ""
            print(f"{asked.plan}: {place}{each['text']}", file=sys.stderr)
        return 1
    except (OSError, ValueError, ImportError) as error:
        print(error, file=sys.stderr)
        return 1
    print("\n".join(map(str, files)))
    return 0


def _asked(arguments: Optional[List[str]]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python3 -m buttonworth.report", description="The report of a plan.")
    parser.add_argument("plan", type=pathlib.Path, metavar="PLAN.json")
    parser.add_argument("--out", type=pathlib.Path, required=True, metavar="FOLDER", help="where to write")
    parser.add_argument("--sure", type=pathlib.Path, metavar="OPTIONS.json",
                        help="what to look at, as examples/run sure takes it")
    parser.add_argument("--no-pdf", action="store_true", help="leave out report.pdf")
    parser.add_argument("--quiet", action="store_true", help="say nothing while it works")
    return parser.parse_args(arguments)


def _tell(what: str, done: int, total: int) -> None:
    """What is asked now, on one line that is written over."""
    if sys.stderr.isatty():
        print(f"\r\033[K{done} of {total}: {what}" if done < total else "\r\033[K", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
