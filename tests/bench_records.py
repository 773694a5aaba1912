"""How the reader compares with a plain read of the same file: time, memory, and growth with rows.

Run as `python -m tests.bench_records`. Prints each ratio with its bar; exits 1 when one is missed.
The file is as untidy as a real one: every kind of column, currency signs, fractions, dates in two styles,
synonyms, misspellings, words for nothing, and a share of cells that cannot be read.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.records.cleaning.clean import read_flips

AS_OF = date(2026, 9, 30)
TIME_BAR, MEMORY_BAR, GROWTH_BAR = 6.0, 8.0, 11.0
_KINDS = "dresser|Dresser|end table|credenza|nightstand|pair of nightstands|desk|coffee table|bookshelf|hutch"
_WOODS = "oak|Oak|mahagony|walnut|pine|cherry|maple|tiger oak|oak veneer|?|n/a|"
_FINISHES = "oil|poly|milk paint|chalk paint|wax|Danish oil|lacquer|"
_CHANNELS = "Saturday market|online|shop window|online|word of mouth"
_NOTES = "|new pulls|split side, glued|smells of smoke|from an estate sale, two drawers stuck|wants a second coat"


def untidy_csv(rows: int, *, seed: int = 2026) -> str:
    """A record of `rows` pieces as CSV text."""
    rng = np.random.default_rng(seed)
    out = io.StringIO()
    out.write(
        "Piece,Type,Wood,Finish,Style,Dims (WxDxH),Year,Grade,Bought,Paid,Supplies,Other costs,Hrs,Gut price,"
        "Listed,Asking,Last asking,Date sold,Sold for,Fees,Delivery charged,Where sold,Shelf,Notes\n"
    )
    pick = {
        n: rng.choice(w.split("|"), rows)
        for n, w in (("k", _KINDS), ("w", _WOODS), ("f", _FINISHES), ("c", _CHANNELS), ("n", _NOTES))
    }  # fmt: skip
    sizes = rng.integers((20, 12, 20), (72, 30, 60), (rows, 3))
    price = np.round(rng.lognormal(5.7, 0.5, rows) / 5) * 5
    bought = rng.integers(0, 900, rows)
    waits = rng.integers(5, 60, (rows, 2))
    hours = rng.integers(4, 80, rows) / 4
    spent = np.round(rng.gamma(2.0, 20.0, (rows, 2)), 2)
    odd = rng.random(rows)
    start = date(2023, 1, 1)
    for i in range(rows):
        after = (0, waits[i, 0], waits[i].sum())
        days = [start + timedelta(days=int(bought[i] + d)) for d in after]
        shown = [f"{d.month}/{d.day}/{d:%y}" if i % 2 else d.isoformat() for d in days]
        sold = f"${price[i]:,.0f}" if odd[i] < 0.8 else ("120/140" if odd[i] < 0.81 else "")
        asked = f'"${price[i] * 1.1:,.2f}"' if odd[i] < 0.9 else f"{price[i] * 1.1:.0f} obo"
        note = f'"{pick["n"][i]}"' if "," in pick["n"][i] else pick["n"][i]
        size = (
            f"{sizes[i, 0]} 1/2 x {sizes[i, 1]} x {sizes[i, 2]}"
            if i % 3
            else " x ".join(map(str, sizes[i]))
        )
        worked = f"{hours[i]:g} hrs" if i % 4 else f"{int(hours[i])}:30"
        quoted = f'"{sold}"' if "," in sold else sold
        cells = (
            f"A-{i:05d},{pick['k'][i]},{pick['w'][i]},{pick['f'][i]},farmhouse,{size},{'1960s' if i % 2 else 1931},"
            f"{i % 5 + 1},{shown[0]},{'free' if odd[i] > 0.95 else f'${spent[i, 0]:.2f}'},{spent[i, 1]:.2f},,{worked},"
            f"{price[i]:.0f},{shown[1]},{asked},,{shown[2] if sold else ''},{quoted},"
            f"{price[i] * 0.1:.2f},,{pick['c'][i]},bay {i % 7},{note}\n"
        )
        out.write(cells)
    return out.getvalue()


def best_of(times: int, *work: Callable[[], object]) -> list[float]:
    """The shortest of `times` runs of each piece of work, in seconds; taken in turn, so that a busy machine
    is busy for all of them."""
    found: list[list[float]] = [[] for _ in work]
    for _ in range(times):
        for one, seconds in zip(work, found, strict=True):
            began = time.perf_counter()
            one()
            seconds.append(time.perf_counter() - began)
    return [min(seconds) for seconds in found]


def peak_memory(work: Callable[[], object]) -> int:
    """The most bytes held at once while `work` runs, counted by tracemalloc."""
    tracemalloc.start()
    kept = work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del kept
    return peak


def measure(folder: Path, rows: int = 20_000) -> dict[str, float]:
    """The three ratios, and the seconds and bytes behind them."""
    full, tenth = folder / "full.csv", folder / "tenth.csv"
    full.write_text(untidy_csv(rows), encoding="utf-8")
    tenth.write_text(untidy_csv(rows // 10), encoding="utf-8")
    read_flips(tenth, as_of=AS_OF)  # imports and caches out of the way
    plain, ours, small = best_of(
        9,
        lambda: pd.read_csv(full, dtype=str),
        lambda: read_flips(full, as_of=AS_OF),
        lambda: read_flips(tenth, as_of=AS_OF),
    )
    memory = peak_memory(lambda: read_flips(full, as_of=AS_OF))
    return {
        "plain seconds": plain,
        "our seconds": ours,
        "file bytes": full.stat().st_size,
        "peak bytes": memory,
        "time ratio": ours / plain,
        "memory ratio": memory / full.stat().st_size,
        "growth ratio": ours / small,
    }


def main() -> int:
    """Print the figures; 1 when a bar is missed."""
    with tempfile.TemporaryDirectory() as folder:
        found = measure(Path(folder))
    bars = {"time ratio": TIME_BAR, "memory ratio": MEMORY_BAR, "growth ratio": GROWTH_BAR}
    missed = 0
    for name, value in found.items():
        bar = bars.get(name)
        missed += bar is not None and value > bar
        print(f"{name:14} {value:14,.3f}" + (f"   bar {bar:g}" if bar else ""))
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main())
