"""Comparisons that were measured once and came with fleetlib."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.shown.any_table import ShownTable, show


def benchmark(name: str) -> ShownTable:
    """A comparison that was measured once and came with fleetlib, with where it is from in its notes.

    "price": ranges of the price model; scores are ratios to ordinary least squares (1 = as good, lower is
    better). "markdowns": plans in simulated shops, in per cent of what one who knew the truth would net (higher
    is better). "promises": what the kit says of hours, pay, finds and plans against the truth of whole invented
    shops: how far off (a share, or what the row names), its standard error, the bar it should keep, and where it
    stood `before`, when it was first counted on other shops. "newcomers": prices after `n` sales with and without
    what is borrowed, in ten kinds of invented shop: the share held by the 80% range, the median error (logs), the
    ratio of the interval scores (under 1: borrowing is better).
    "living": half a year of shops that price by the plans, per cent of what one who knows the buyers would net.
    "living_files": a year through the files, buying too: by number of past flips, what the kit said less what was true
    (a share or what the row names; money in dollars).
    "speed": processor seconds of commands and calls on the demo, and as times of what loading pandas and scipy takes.
    Raises BadQuestion for another name.
    """
    place = Path(__file__).resolve().parent
    held = {path.stem.removeprefix("benchmark_"): path for path in place.glob("benchmark_*.csv")}
    if name not in held:
        raise BadQuestion(
            f'There is no benchmark "{name}". There are: {", ".join(sorted(held)) or "none"}.'
        )
    table = pd.read_csv(held[name], dtype={"n": "str"})
    said = [
        f"Measured on {day}" for day in table.get("measured_on", pd.Series(dtype="str")).unique()
    ]
    said += [
        f"Measured by {done}" for done in table.get("command", pd.Series(dtype="str")).unique()
    ]
    first = [c for c in ("n", "method") if c in table]
    rest = [c for c in table if c not in (*first, "measured_on", "command")]
    shown = show(table[[*first, *rest]], rows=200)
    return ShownTable(shown.table, (*said, *shown.notes))
