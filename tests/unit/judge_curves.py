#!/usr/bin/env python3
"""SciPy judges the curves that a program prints: judge_curves.py PROGRAM."""
import subprocess
import sys

import numpy as np
from scipy.interpolate import PchipInterpolator

# Recoveries lie within 0 to 1. SciPy keeps its polynomials in powers of the distance from the knot, as the
# program does, but divides in another order: some units in the last place of 1.
TOLERANCE = 1e-13


def straight(x, r):
    """Two knots give a line; SciPy has it so too, and this does not ask which version."""
    return lambda y: r[0] + (r[1] - r[0]) * (y - x[0]) / (x[1] - x[0])


def worst_difference(block):
    lines = block.splitlines()
    knots = np.array([float(word) for word in lines[0].split()])
    x, r = knots[0::2], knots[1::2]
    curve = PchipInterpolator(x, r) if len(x) > 2 else straight(x, r)
    rows = np.array([[float(word) for word in line.split()] for line in lines[1:]])
    judged = curve(rows[:, 0])
    return max(np.abs(rows[:, 1] - judged).max(), np.abs(rows[:, 2] - judged).max())


def main():
    text = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout
    blocks = [block for block in text.split("\n\n") if block.strip()]
    worst = max(worst_difference(block) for block in blocks)
    print(f"{len(blocks)} curves, largest difference {worst:.3g}")
    return 0 if len(blocks) == 200 and worst <= TOLERANCE else 1


if __name__ == "__main__":
    sys.exit(main())
