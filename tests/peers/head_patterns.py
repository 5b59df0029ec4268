"""Evenness of endless patterns of heads: writes tests/cases/coverage.toml. Knows nothing of the program."""

import math
from pathlib import Path

HEADER = """# Evenness of endless patterns of heads, written by tests/peers/head_patterns.py. What counts are the low quarter and
# Christiansen's coefficient over one cell of the pattern (Christiansen 1942 gave such tables for profiles and spacings;
# recalled, not read, so none of its figures is used). Closed forms: under a uniform profile the rate is the number of discs
# over a place, whose areas are segments of circles.
"""


def quadrature(profile, pattern, spacing, count=480):
    """Low quarter and Christiansen's coefficient by midpoints; the throw is 1."""
    high = spacing if pattern == "square" else math.sqrt(3) * spacing
    line = spacing if pattern == "square" else high / 2
    heads = []
    for row in range(-4, 7):
        for column in range(-4, 6):
            shift = 0.5 if pattern != "square" and row % 2 else 0.0
            x, y = (column + shift) * spacing, row * line
            if -1 <= x <= spacing + 1 and -1 <= y <= high + 1:
                heads.append((x, y))
    rates = []
    for i in range(count):
        for j in range(count):
            x, y = (i + 0.5) / count * spacing, (j + 0.5) / count * high
            near = (math.hypot(x - a, y - b) for a, b in heads)
            rates.append(sum(1 if profile == "uniform" else 1 - r for r in near if r <= 1))
    rates.sort()
    mean = sum(rates) / len(rates)
    low = rates[: len(rates) // 4]
    return sum(low) / len(low) / mean, 1 - sum(abs(r - mean) for r in rates) / len(rates) / mean


def two_levels(single, mean):
    """Shares under one disc and under two, in units of one disc's rate."""
    return 1 / mean, 1 - 2 * single * (mean - 1) / mean


def main():
    square = two_levels((4 - math.pi) / 2, math.pi / 2)
    cell = 1.5 * math.sqrt(3)
    triangle = two_levels(1 - (math.pi - cell) / cell, math.pi / cell)
    closed = "own derivation: "
    rows = [
        ("uniform-square", "analytical", closed + "discs that meet across the diagonal", "uniform", "square", math.sqrt(2), square),
        ("uniform-triangle", "analytical", closed + "three discs that meet in a point", "uniform", "triangular", math.sqrt(3), triangle),
    ]
    for pattern in ("square", "triangular"):
        for spacing in (1.0, 1.3):
            rows.append((f"cone-{pattern}-{spacing}", "computed", "tests/peers/head_patterns.py, midpoint quadrature", "triangular", pattern, spacing, quadrature("triangular", pattern, spacing)))
    for row in rows[:2]:
        print(row[0], row[6], "by quadrature", quadrature(row[3], row[4], row[5]))
    text = HEADER
    for id_, kind, source, profile, pattern, spacing, (low, even) in rows:
        text += f'\n[[case]]\nid = "{id_}"\nkind = "{kind}"\nbasis = "computed"\nsource = "{source}"\n'
        text += f'profile = "{profile}"\npattern = "{pattern}"\nspacing_over_throw = {spacing:.9f}\n'
        allowed, reason = (0.015, "the edge of a disc runs through cells, which take the mean of both sides") if profile == "uniform" else (0.002, "cells of a 32nd of the throw")
        text += f'allowed = {allowed}\nreason = "{reason}"\n'
        text += f"low_quarter = {low:.6f}\nchristiansen = {even:.6f}\n"
    Path(__file__).parent.parent.joinpath("cases/coverage.toml").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
