"""A year of invented weekly chores by one-line entries: keystrokes and seconds of typing a week.

    python -m tests.bench_chores

Four pieces are in hand at a time. The speed of typing is assumed (200 keystrokes a minute, from memory, no
source); reading the echo and answering y is counted as 3 seconds an entry, assumed too.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import sqrt
from statistics import mean, stdev

import numpy as np

from fleetlib.records.log.grammar import read_entry

KEYS_A_MINUTE = 200
SECONDS_TO_LOOK = 3
STEPS = ("clean", "repair", "sand", "finish")


def week(rng: np.random.Generator, number: int, monday: date) -> list[str]:
    """The lines of one week: one piece comes, four are worked on, one is listed, marked down and sold at most."""
    names = [f"A-{100 + number + i}" for i in range(4)]
    lines = [
        f"bought {names[3]} for {rng.integers(20, 150)} furniture_type=dresser wood=oak width_in=50 "
        f"depth_in=18 height_in=34 gut_price={rng.integers(200, 500)}"
    ]
    for name in names:
        for step in rng.choice(STEPS, size=rng.integers(1, 3), replace=False):
            lines.append(f"worked {name} {15 * rng.integers(1, 9)} min {step} {_day(rng)}")
    lines.append(f"cost {names[1]} {rng.integers(5, 40)} paint")
    lines.append(
        f"listed {names[0]} at {rng.integers(250, 600)} gut_price={rng.integers(250, 600)}"
    )
    for chance, line in (
        (0.5, f"marked down {names[0]} to {rng.integers(200, 500)}"),
        (0.7, f"offer {names[0]} {rng.integers(150, 400)}"),
        (0.8, f"sold {names[0]} for {rng.integers(150, 500)} at the market {_day(rng)}"),
        (0.05, f"returned {names[0]}"),
    ):
        if rng.random() < chance:
            lines.append(line)
    for line in lines:
        read_entry(line, today=monday)  # each must be understood as it stands
    return lines


def _day(rng: np.random.Generator) -> str:
    return str(rng.choice(["today", "yesterday", "on saturday"]))


def main() -> None:
    """Print the keystrokes and seconds of a week: mean with its standard error over 52 weeks, and the most."""
    rng = np.random.default_rng(2026)
    weeks = [week(rng, n, date(2026, 1, 5) + timedelta(7 * n)) for n in range(52)]
    keys = [sum(len(line) + 2 for line in lines) + len(lines) for lines in weeks]  # Enter, y, Enter
    seconds = [
        60 * k / KEYS_A_MINUTE + SECONDS_TO_LOOK * len(w) for k, w in zip(keys, weeks, strict=True)
    ]
    for name, values in (
        ("entries", [len(w) for w in weeks]),
        ("keystrokes", keys),
        ("seconds", seconds),
    ):
        error = stdev(values) / sqrt(len(values))
        print(
            f"{name} a week: {mean(values):.1f} (standard error {error:.1f}), at most {max(values):.0f}"
        )


if __name__ == "__main__":
    main()
