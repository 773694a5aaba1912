"""Every promise of the kit against its truth, in whole invented shops: python -m tests.bench_promises

    --quick          the quick form: few shops a world; says what it leaves out
    --shops N        shops a world (default 12; quick 3: four minutes of one core)
    --by-world       every world's figure too
    --only "A;B"     these promises alone
    --families "A B" the promises of these files alone, such as: hours pay buying grade
    --beside FOLDER  the same shops under the fleetlib in FOLDER too, in one table

    --save FILE      write the table with its day as CSV (fleetlib/trust/benchmark_promises.csv)

A promise is a row of its family's ROWS, one file a family under tests/promises/: name, kind, bar, and a function that
is given a shop and returns pairs (said, true). The table sums them up by kind: `ratio` sum(said) / sum(true) - 1,
`mean` the mean of said - true. Standard errors are over shops (delete one shop jackknife). One world is a line of
`promise_shops.WORLDS`.
"""

from __future__ import annotations

import argparse
import datetime
import json
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd

from tests.promise_shops import WORLDS, WholeShop, draw_shop
from tests.promises import buying, grade, hours, pay, ranges, reasons

# Where the kit stood when these promises were first counted, on other shops: the middle of the sizes counted then.
FIRST_COUNTED = {
    "target pay: promised over received, bought at the price named": 0.25,
    "chance of a loss: said less true": -0.09,
    "profit of the chosen set: claimed over true": 0.235,
    "grade of own advice: mean z of a quarter played out": -1.8,
    "own price low against the records": -0.10,
    "own price about as the records": 0.20,
    "own price high against the records": -0.21,
    "price range from the records alone holds, less .80": -0.04,
    "share said to fall inside less share inside (from 20 sales)": 0.09,
    "chance sold by 8 weeks: the range holds, less .80": -0.15,
}
Pairs = list[tuple[float, float]]
Kind = Literal["ratio", "mean"]


@dataclass(frozen=True)
class Promise:
    """What the kit says, how far from the truth it may be, and how it is measured on one shop."""

    name: str
    kind: Kind
    bar: float | None
    measure: Callable[[WholeShop, np.random.Generator], Pairs]


FAMILIES = (hours, pay, buying, grade, ranges, reasons)
PROMISES = [Promise(*row) for family in FAMILIES for row in family.ROWS]


def measured(numbers: range, names: set[str]) -> dict[str, list[Pairs]]:
    """By promise the pairs of every shop of every world."""
    made: dict[str, list[Pairs]] = {
        p.name: [] for p in PROMISES if not names or p.name.strip() in names
    }
    for w, world in enumerate(WORLDS):
        for i in numbers:
            shop = draw_shop(world, np.random.default_rng([w, i]))
            for p in PROMISES:
                if p.name in made:
                    own = np.random.default_rng([w, i, zlib.crc32(p.name.encode())])
                    made[p.name].append(p.measure(shop, own))
        print(f"  {world.name}", file=sys.stderr, flush=True)
    return made


def summed(kind: Kind, shops: list[Pairs]) -> tuple[float, float, int]:
    """The figure of a row, its standard error over shops, and the number of shops."""
    parts = np.array([[len(s), *np.sum(s, axis=0)] for s in shops if s])
    if len(parts) < 2:
        return float("nan"), float("nan"), len(parts)
    rest = parts.sum(axis=0) - parts
    n, said, true = np.vstack([rest, parts.sum(axis=0)]).T
    values = said / true - 1 if kind == "ratio" else (said - true) / n
    k = len(parts)
    error = np.sqrt((k - 1) / k * ((values[:-1] - values[:-1].mean()) ** 2).sum())
    return float(values[-1]), float(error), k


def _beside(folder: Path, shops: int, only: str) -> dict[str, list[Pairs]]:
    with tempfile.TemporaryDirectory() as place:
        Path(place, "fleetlib").symlink_to(folder.resolve() / "fleetlib")
        Path(place, "tests").symlink_to(Path(__file__).parent.resolve())
        call = [sys.executable, "-m", "tests.bench_promises", "--json", "--shops", str(shops)]
        ran = subprocess.run(
            [*call, "--only", only], cwd=place, env={"PYTHONPATH": place}, stdout=subprocess.PIPE
        )
        ran.check_returncode()
        return dict(json.loads(ran.stdout))


def _save(place: Path, columns: list[dict[str, list[Pairs]]], command: str) -> None:
    """The table as CSV: promise, off, error (of the kit as it is), bar, shops; `before` and its error beside."""
    rows = []
    for p in (p for p in PROMISES if p.name in columns[-1]):
        off, error, shops = summed(p.kind, columns[-1][p.name])
        row: dict[str, object] = {"promise": p.name.strip(), "off": round(off, 3)}
        row |= {"error": round(error, 3), "bar": p.bar, "shops": shops}
        row |= {"before": FIRST_COUNTED.get(p.name.strip())}
        if len(columns) > 1:
            before, was, _ = summed(p.kind, columns[0][p.name])
            row |= {"before": round(before, 3), "before_error": round(was, 3)}
        rows.append(row | {"measured_on": f"{datetime.date.today()}", "command": command})
    pd.DataFrame(rows).to_csv(place, index=False, lineterminator="\n")


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser(description="every promise of the kit against its truth")
    ask.add_argument("--quick", action="store_true")
    ask.add_argument("--shops", type=int)
    ask.add_argument("--first-shop", type=int, default=0, help="draw others")
    ask.add_argument("--by-world", action="store_true")
    ask.add_argument("--only", default="")
    ask.add_argument("--families", default="", help="such as: hours pay buying grade")
    ask.add_argument("--beside", type=Path)
    ask.add_argument("--json", action="store_true")
    ask.add_argument("--save", type=Path)
    asked = ask.parse_args()
    shops = asked.shops or (3 if asked.quick else 12)
    names = {n.strip() for n in asked.only.split(";") if n.strip()}
    wanted = asked.families.split()
    names |= {r[0] for f in FAMILIES if f.__name__.split(".")[-1] in wanted for r in f.ROWS}
    names = {n.strip() for n in names}
    numbers = range(asked.first_shop, asked.first_shop + shops)
    here = measured(numbers, names)
    if asked.json:
        print(json.dumps(here))
        return
    columns = (
        [here]
        if asked.beside is None
        else [_beside(asked.beside, shops, ";".join(sorted(names))), here]
    )
    for p in PROMISES:
        if p.name not in here:
            continue
        cells = [summed(p.kind, c[p.name]) for c in columns]
        text = "   ".join(f"{v:+.3f} ({e:.3f})" for v, e, _ in cells)
        bar = f"bar {p.bar:.2f}" if p.bar is not None else "no bar"
        if asked.by_world:
            for w, world in enumerate(WORLDS):
                value, error, _ = summed(p.kind, here[p.name][w * shops : (w + 1) * shops])
                print(f"    {world.name:60}{value:+.3f} ({error:.3f})")
        print(f"{p.name:64}{text}   {cells[-1][2]} shops, {bar}")
    print(
        f"{len(WORLDS)} worlds of 8 to 250 records, {shops} shops each, standard errors over shops"
    )
    if asked.save is not None:
        which = f" --first-shop {asked.first_shop}" if asked.first_shop else ""
        which += f' --families "{asked.families}"' if asked.families else ""
        _save(asked.save, columns, f"python -m tests.bench_promises --shops {shops}{which}")
    if asked.quick:
        print(f"quick form: {shops} shops a world where the full form has 12; no figure by world")


if __name__ == "__main__":
    main()
