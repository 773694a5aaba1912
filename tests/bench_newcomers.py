"""What borrowing brings a shop with few sales: the same shops priced with and without it.

    python -m tests.bench_newcomers                     # 6 shops a world and size
    python -m tests.bench_newcomers --shops 20 --runs FILE
    python -m tests.bench_newcomers --store             # the table that comes with the package, by number of sales

Shops of `bench_ranges` in worlds where kinds stand as asks in general say (times `known`, give or take .25), half,
double, one kind turned round, or anyhow; sizes pay from 0 to 1. The worlds with `known` favour the priors by their
making; "anyhow" does not. Figures as in bench_ranges; ratio: the interval score with borrowing over that without
(geometric mean), its standard error over shops.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.base.saving import write_whole
from fleetlib.price.fit import fit_prices
from tests.bench_ranges import AS_OF, World, draw_shop, priced

STORED = Path(__file__).parents[1] / "fleetlib" / "trust" / "benchmark_newcomers.csv"
SIZES = (8, 15, 25)
WORLDS = (
    World("as asked", known=1.0),
    World("as asked, own prices", known=1.0, own=0.15),
    World("doubled", known=2.0),
    World("halved", known=0.5),
    World("one kind turned", known=1.0, turned=True),
    World("size says nothing", known=1.0, elasticity=0.0),
    World("size says all", known=1.0, elasticity=1.0),
    World("noisy", known=1.0, noise=0.4),
    World("kinds anyhow"),
    World("kinds anyhow, doubled", effects=2.0),
)


def run(world: World, n: int, number: int) -> list[dict[str, object]]:
    """One shop both ways: held, score, bias, width."""
    key = [77, WORLDS.index(world), n, number]
    sales, pieces = draw_shop(world, n, np.random.default_rng(key))
    sales, pieces = (t.assign(sold_on=pd.to_datetime(t["sold_on"])) for t in (sales, pieces))
    days = pd.to_datetime(sales["listed_on"])
    sales["days_listed"] = (sales["sold_on"] - days).dt.days.astype(float)
    y = np.log(pieces["sale_price"].to_numpy(float))
    made: list[dict[str, object]] = []
    for borrow in (False, True):
        if n < 5 and not borrow:
            continue
        middle, ends = priced(fit_prices(sales, as_of=AS_OF, borrow=borrow), pieces)
        below, above = np.maximum(ends[:, 0] - y, 0), np.maximum(y - ends[:, 1], 0)
        made.append(
            {
                "world": world.name,
                "n": n,
                "shop": number,
                "borrow": borrow,
                "held": float(np.mean((below == 0) & (above == 0))),
                "score": float(np.mean(ends[:, 1] - ends[:, 0] + 10 * (below + above))),
                "bias": float(np.mean(middle - y)),
                "error": float(np.median(np.abs(middle - y))),
            }
        )
    return made


def table(runs: pd.DataFrame, *names: str) -> pd.DataFrame:
    """Means over shops, with and without, and the ratio of the scores with its error."""
    wide = runs.pivot_table(index=[*dict.fromkeys(("world", "n", "shop"))], columns="borrow")
    log_ratio = np.log(wide["score"][True] / wide["score"][False])
    flat = pd.DataFrame(
        {
            "held without": wide["held"][False],
            "held with": wide["held"][True],
            "error without": wide["error"][False],
            "error with": wide["error"][True],
            "log": log_ratio,
        }
    ).reset_index()
    groups = flat.groupby(list(names), sort=False)
    made = groups[["held without", "held with", "error without", "error with"]].mean()
    made["held error"] = groups["held with"].sem()
    made["ratio"] = np.exp(groups["log"].mean())
    made["ratio error"] = groups["log"].sem() * made["ratio"]
    made["shops"] = groups.size()
    return made.round(3)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description="Measure what borrowing brings a new shop.")
    asked.add_argument("--shops", type=int, default=6)
    asked.add_argument("--first-shop", type=int, default=0)
    asked.add_argument("--sizes", nargs="*", type=int, default=list(SIZES))
    asked.add_argument("--runs", type=Path, help="also write every single run to this CSV")
    asked.add_argument("--store", action="store_true", help="write the package's own table")
    given = asked.parse_args(arguments)
    rows: list[dict[str, object]] = []
    for number in range(given.first_shop, given.first_shop + given.shops):
        for n in given.sizes:
            for world in WORLDS:
                rows += run(world, n, number)
    runs = pd.DataFrame(rows)
    if given.runs:
        runs.to_csv(given.runs, index=False)
    if given.store:
        kept = table(runs, "n").reset_index().rename(columns=lambda c: c.replace(" ", "_"))
        kept.insert(
            0,
            "command",
            " ".join(["python -m tests.bench_newcomers", *(arguments or sys.argv[1:])]),
        )
        kept.insert(0, "measured_on", date.today().isoformat())
        write_whole(STORED, kept.to_csv(index=False))
    for names in (("n",), ("world",), ("n", "world")):
        print(table(runs, *names).to_string(), end="\n\n")


if __name__ == "__main__":
    main()
