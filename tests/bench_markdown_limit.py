"""How well could anyone plan from such records? A planner that is told more than any shop can know.

    python -m tests.bench_markdown_limit --shops 30

It is told that the market is one of just two, the worlds "base" (a price 1% higher loses 4% of the buyers, and
more of them for dear pieces) and "inelastic constant" (2%, everywhere), each with its price response known. All
that is left to it is to weigh the two by what the listings say, and to ask what has the best expected net over
both. A method that must find out the price response as well should not be expected to do better in both
worlds at once: what this one can't reach, the records don't hold. The rows differ in what is believed
beforehand: 4 to 1, 1 to 1 or 1 to 4 for the base world.
"""

from __future__ import annotations

import argparse
import multiprocessing
from dataclasses import replace

import numpy as np
import pandas as pd

from fleetlib.selling.fit import fit_selling_time
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.posterior import ASSUMED, Assumptions
from fleetlib.selling.weeks_at_risk import listing_histories
from tests.bench_markdowns import (
    CELLS,
    COST,
    FEE,
    FLOOR,
    HORIZON,
    STEP,
    WORLDS,
    Cases,
    best_plan,
    climb,
    drawn,
)
from tests.simulated_markets import AS_OF, World

TWO = ("base", "inelastic constant")
ODDS = (4.0, 1.0, 0.25)
_SURE = 0.03  # sd of what it is told


def told(world: World) -> Assumptions:
    """Everything as fleetlib assumes it, but for the price response, which is that of `world`."""
    B = world.sensitivity
    kap = 0.02 if world.buyers == "constant" else world.curvature
    log_curvature = float(np.log(kap) - ASSUMED.tie * np.log(B / 4.0))
    return replace(
        ASSUMED,
        sensitivity=(B, _SURE, _SURE),
        untaught=B,
        log_curvature=(log_curvature, _SURE),
        reach=2.0,
        most_reach=2.0,
    )


def either(hazards: list[Hazard], chances: list[float]) -> Cases:
    """A piece that sells by one of `hazards`, with these chances."""
    top = max(max(np.log(h.highest_ask) for h in hazards), np.log(FLOOR) + 0.1)
    prices = np.exp(np.arange(np.log(FLOOR), top + 1e-9, STEP))
    rates, growth, weights = [], [], []
    for hazard, chance in zip(hazards, chances, strict=True):
        log_phi, weight = hazard.nodes()
        rates.append(np.exp(hazard.log_rate(prices)[:, None] + log_phi))
        growth.append(np.exp(hazard.log_week(HORIZON))[:, None] + np.zeros(len(log_phi)))
        weights.append(chance * weight)
    return Cases(
        prices,
        hazards[0].paid(prices) * (1 - FEE) - COST,
        np.hstack(rates),
        np.hstack(growth),
        np.concatenate(weights),
    )


def one_shop(task: tuple[str, int, int]) -> list[dict[str, object]]:
    name, n, seed = task
    known, shop = drawn(name, n, seed)
    listings = listing_histories(shop.flips, shop.events, usual_price=shop.usual_price, as_of=AS_OF)
    fits = [fit_selling_time(listings, assumed=told(WORLDS[w])) for w in TWO]
    against = fits[1].log_evidence - fits[0].log_evidence
    rows = []
    for odds in ODDS:
        chance = float(1 / (1 + np.exp(np.clip(against - np.log(odds), -50, 50))))
        net = best = 0.0
        for cell, (_, kind, weight) in enumerate(CELLS):
            hazards = [fit.hazard(kind, 1.0, known.gut[cell]) for fit in fits]
            starts = [p if len(p) else np.full(HORIZON, FLOOR) for p, _ in map(best_plan, hazards)]
            cases = either(hazards, [chance, 1 - chance])
            asks = max((climb(cases, s) for s in starts), key=lambda f: f[0])[1]
            net += weight * known.judge(cell, asks)[0]
            best += weight * known.oracle_net[cell]
        rows.append(
            {
                "world": name,
                "listings": n,
                "believed": f"{odds:g} to 1",
                "plan": 100 * net / best,
                "chance_of_base": chance,
            }
        )
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--shops", type=int, default=30, help="shops per world and size")
    parser.add_argument("--sizes", type=int, nargs="*", default=[60, 120, 250])
    parser.add_argument("--processes", type=int, default=1)
    chosen = parser.parse_args()
    tasks = [(w, n, seed) for w in TWO for n in chosen.sizes for seed in range(chosen.shops)]
    with multiprocessing.Pool(chosen.processes) as pool:
        made = pool.map(one_shop, tasks, chunksize=4)
    frame = pd.DataFrame([row for rows in made for row in rows])
    by = frame.groupby(["listings", "believed", "world"], sort=False)
    table = by.agg(
        plan=("plan", "mean"),
        error=("plan", "sem"),
        worst_shop=("plan", "min"),
        chance_of_base=("chance_of_base", "mean"),
    )
    print(table.round(2).to_string())


if __name__ == "__main__":
    main()
