"""Every promise of the kit against its truth, in whole invented shops: python -m tests.bench_promises

    --quick          the quick form: few shops a world; says what it leaves out
    --shops N        shops a world (default 12; quick 3)
    --only "A;B"     these promises alone
    --beside FOLDER  the same shops under the fleetlib in FOLDER too, in one table

A promise is one function under `@promise`: given a shop it returns pairs (said, true). A row of the table
sums them up by kind: `ratio` sum(said) / sum(true) - 1, `chance` mean(said - happened), `share` the share
of trues (0 or 1) less the share said, `mean` the mean of said - true. Standard errors are over shops (delete
one shop jackknife). One world description is a line of `promise_shops.WORLDS`.
"""

from __future__ import annotations

import argparse
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

from tests.promise_shops import TARGET, WORLDS, WholeShop, draw_shop
from tests.promises.ranges import ROWS as RANGES

Pairs = list[tuple[float, float]]
Kind = Literal["ratio", "mean"]


@dataclass(frozen=True)
class Promise:
    """What the kit says, how far from the truth it may be, and how it is measured on one shop."""

    name: str
    kind: Kind
    bar: float | None
    measure: Callable[[WholeShop, np.random.Generator], Pairs]


PROMISES: list[Promise] = []


def promise(
    name: str, *, kind: Kind, bar: float | None = None
) -> Callable[[Callable[[WholeShop, np.random.Generator], Pairs]], Callable[..., Pairs]]:
    """Add a promise to the table."""

    def add(measure: Callable[[WholeShop, np.random.Generator], Pairs]) -> Callable[..., Pairs]:
        PROMISES.append(Promise(name, kind, bar, measure))
        return measure

    return add


@promise("hours: expected over true", kind="ratio", bar=0.03)
def hours(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    if shop.fits.hours is None:
        return []
    return [(shop.fits.hours.expected(f.piece), f.mean_hours) for f in shop.finds]


@promise("hours: the 80% range holds, less .80", kind="mean", bar=0.04)
def hours_range(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    if shop.fits.hours is None:
        return []
    ranges = [shop.fits.hours.interval(f.piece) for f in shop.finds]
    return [
        (float(low <= f.hours <= high), 0.80)
        for f, (low, high) in zip(shop.finds, ranges, strict=True)
    ]


def _bought(shop: WholeShop) -> list[tuple[float, float, float, float, float]]:
    """By find: hours, true profit at the price that pays the target, true chance of a loss, said, true value."""
    from fleetlib.buying.find_value import value_find

    made = []
    for f in shop.finds if shop.fits.hours is not None else ():
        value = value_find(shop.fits, f.piece)
        price = max(value.highest_price(TARGET), 0.0)
        nets, chances = shop.true_nets(f, value.prices, value.case.edges)
        profits = nets - price - f.materials
        lost = float(chances[profits < 0].sum())
        made.append(
            (f.mean_hours, float(chances @ profits), lost, value.chance_of_loss(price), price)
        )
    return made


@promise("target pay: promised over received, bought at the price named", kind="ratio", bar=0.03)
def target(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(TARGET * h, profit) for h, profit, _, _, price in _bought(shop) if price > 0]


@promise("chance of a loss: said less true", kind="mean", bar=0.04)
def loss(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(said, lost) for _, _, lost, said, price in _bought(shop) if price > 0]


@promise("profit of the chosen set: claimed over true", kind="ratio", bar=0.05)
def chosen_set(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    from fleetlib.buying.find_value import value_find

    if shop.fits.hours is None:
        return []
    said = true = 0.0
    for f in shop.finds:
        value = value_find(shop.fits, f.piece)
        nets, chances = shop.true_nets(f, value.prices, value.case.edges)
        fair = float(chances @ nets) - f.materials - TARGET * f.mean_hours
        price = max(fair * float(np.exp(0.2 * rng.standard_normal())), 5.0)  # they ask about that
        if value.highest_price(TARGET) > price:
            said += value.profit(price)
            true += float(chances @ nets) - f.materials - price
    return [(said, true)] if said else []


@promise("pay of each type: said less true, money an hour", kind="mean")
def pay(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    from fleetlib.pay.earnings import earnings

    table = earnings(shop.fits).table
    t = table[table["shrunk"].notna()]
    return [
        (float(p), shop.true_pay[str(k)])
        for k, p in zip(t["furniture_type"], t["shrunk"], strict=True)
    ]


@promise("first place of a type: chance said less right", kind="mean", bar=0.05)
def first_place(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    from fleetlib.pay.earnings import earnings

    t = earnings(shop.fits).table
    t = t[t["chance_best"].notna()]
    if len(t) < 2:
        return []
    best = max(t["furniture_type"], key=lambda k: shop.true_pay[str(k)])
    top = t.sort_values("chance_best").iloc[-1]
    return [(float(top["chance_best"]), float(top["furniture_type"] == best))]


PROMISES += [Promise(*row) for row in RANGES]


def measured(shops: int, names: set[str]) -> dict[str, list[Pairs]]:
    """By promise the pairs of every shop of every world."""
    made: dict[str, list[Pairs]] = {p.name: [] for p in PROMISES if not names or p.name in names}
    for w, world in enumerate(WORLDS):
        for i in range(shops):
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


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser(description="every promise of the kit against its truth")
    ask.add_argument("--quick", action="store_true")
    ask.add_argument("--shops", type=int)
    ask.add_argument("--only", default="")
    ask.add_argument("--beside", type=Path)
    ask.add_argument("--json", action="store_true")
    asked = ask.parse_args()
    shops = asked.shops or (3 if asked.quick else 12)
    here = measured(shops, {n.strip() for n in asked.only.split(";") if n.strip()})
    if asked.json:
        print(json.dumps(here))
        return
    columns = [here] if asked.beside is None else [_beside(asked.beside, shops, asked.only), here]
    for p in PROMISES:
        if p.name not in here:
            continue
        cells = [summed(p.kind, c[p.name]) for c in columns]
        text = "   ".join(f"{v:+.3f} ({e:.3f})" for v, e, _ in cells)
        bar = f"bar {p.bar:.2f}" if p.bar is not None else "no bar"
        print(f"{p.name:64}{text}   {cells[-1][2]} shops, {bar}")
    print(
        f"{len(WORLDS)} worlds of 8 to 250 records, {shops} shops each, standard errors over shops"
    )
    if asked.quick:
        print(f"quick form: {shops} shops a world where the full form has 12; no figure by world")


if __name__ == "__main__":
    main()
