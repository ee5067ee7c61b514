"""Runs parts of the long runs by name, keeps their figures, and writes the page of all."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

from soak.figures import Figures, Part
from soak.keeping import keep, kept, stamped
from soak.page import page_text
from soak.register import PARTS

__all__: list[str] = []


def main() -> int:
    """Run what was asked for; 1 when anything was wrong."""
    asked = _arguments()
    wrong = 0
    for word in asked.parts or list(PARTS):
        name, _, amount = word.partition("=")
        part = PARTS[name]
        print(f"{part.title} ({name}) ...", flush=True)
        began = time.perf_counter()
        figures = _run(part, float(amount) if amount else part.usual, asked.seed)
        keep({name: stamped(figures, asked.seed, time.perf_counter() - began)})
        for row in figures.rows:
            print("  " + "; ".join(f"{column} {cell}" for column, cell in zip(figures.columns, row, strict=True)))
        for fault in figures.faults:
            print(f"  WRONG: {fault}")
        wrong += len(figures.faults)
    if asked.page is not None:
        asked.page.write_text(page_text(kept(), PARTS), encoding="utf-8")
    return 1 if wrong else 0


def _run(part: Part, amount: float, seed: int) -> Figures:
    try:
        return part.run(amount, np.random.default_rng(seed))
    except Exception as error:  # a part that breaks is a figure too, and the others still run
        broken = f"the part itself broke off: {type(error).__name__}: {error}"
        return Figures("This part did not come to its end.", "broken off", ("what",), (), (broken,))


def _arguments() -> argparse.Namespace:
    usual = ", ".join(f"{name} ({part.usual:g} {part.unit})" for name, part in PARTS.items())
    reader = argparse.ArgumentParser(prog="python -m soak", description=__doc__)
    reader.add_argument("parts", nargs="*", metavar="NAME[=AMOUNT]", help=f"all when none is named: {usual}")
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--page", type=Path, help="write the page of all parts there")
    asked = reader.parse_args()
    for word in asked.parts:
        name, _, amount = word.partition("=")
        if name not in PARTS:
            reader.error(f"'{name}' is no part; known are {', '.join(PARTS)}")
        if amount and not amount.replace(".", "", 1).isdecimal():
            reader.error(f"'{amount}' is no amount; write a number such as {PARTS[name].usual:g}")
    return asked


if __name__ == "__main__":
    sys.exit(main())
