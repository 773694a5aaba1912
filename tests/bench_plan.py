"""How fast the planner is, and how sure: python -m tests.bench_plan

Prints the time of one plan at 26 weeks, 4 markdowns and 60 prices, the widest certified gap over random
pieces, and the time of fitting the demo shop and planning 40 pieces.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fleetlib.plan.markdowns import plan
from fleetlib.plan.solver.path import Market, Terms, plan_markdowns
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.market import market_for
from tests.plan.upper_bound import upper_bound


def random_piece(seed: int, *, weeks: int = 26, prices: int = 60) -> tuple[Market, Terms]:
    """A piece in a random market, salvage a tenth to half of its value."""
    rng = np.random.default_rng(seed)
    value = rng.uniform(80, 900)
    hazard = Hazard(
        baseline=rng.uniform(-3.2, -0.6),
        sensitivity=rng.uniform(1.5, 8.0),
        curvature=rng.uniform(0, 2.5),
        week_exponent=rng.uniform(-0.4, 0.2),
        log_anchor=np.log(value),
        frailty_sd=rng.uniform(0.05, 0.4),
        share_paid=rng.uniform(0.85, 1.0),
    )
    salvage = value * rng.uniform(0.1, 0.5)
    market = market_for(
        hazard,
        np.linspace(salvage * 1.15, value * 1.5, prices),
        horizon_weeks=weeks,
        fee_share=rng.uniform(0, 0.12),
        selling_cost=rng.uniform(0, 0.04 * value),
    )
    return market, Terms(value * rng.uniform(0.0, 0.02), salvage, 4, 2)


def best_of(times: int, work: Callable[[], object]) -> tuple[float, float]:
    """Least milliseconds of `times` runs, by the clock and of the processor (the same on an idle machine)."""
    took, used = [], []
    for _ in range(times):
        begin, begin_used = time.perf_counter(), time.process_time()
        work()
        took.append(1e3 * (time.perf_counter() - begin))
        used.append(1e3 * (time.process_time() - begin_used))
    return min(took), min(used)


def main() -> None:
    pieces = [random_piece(seed) for seed in range(20)]
    each = np.array([best_of(5, lambda p=p: plan_markdowns(*p)) for p in pieces])
    print(
        f"one plan, 26 weeks, 4 markdowns, 60 prices, over {len(each)} random pieces: mean "
        f"{each[:, 0].mean():.0f} ms by the clock, {each[:, 1].mean():.0f} ms of the processor; slowest piece "
        f"{each[:, 0].max():.0f} and {each[:, 1].max():.0f} ms"
    )
    gaps = []
    for market, terms in pieces:
        net = plan_markdowns(market, terms).expected_net
        gaps.append(upper_bound(market, terms, points=320) / net - 1)
    print(f"certified gap over {len(gaps)} random pieces: at most {100 * max(gaps):.3f}%")
    selling_time_at_250()
    demo_shop()


def selling_time_at_250() -> None:
    """The fit of the time to sell at 250 simulated listings."""
    from fleetlib.selling.fit import fit_selling_time
    from fleetlib.selling.weeks_at_risk import listing_histories
    from tests.simulated_markets import AS_OF, World, simulate_shop

    shop = simulate_shop(World(), 250, np.random.default_rng(1))
    seen = listing_histories(shop.flips, shop.events, usual_price=shop.usual_price, as_of=AS_OF)
    clock, used = best_of(3, lambda: fit_selling_time(seen))
    print(
        f"time to sell, 250 listings: fit {clock:.0f} ms by the clock, {used:.0f} of the processor"
    )


def demo_shop() -> None:
    """Fit and plan on the demo shop, its pieces on hand repeated up to 40."""
    from fleetlib.fits import fit_all
    from fleetlib.records.folder import read_records
    from fleetlib.records.piece import piece_from_row

    records = read_records(Path(__file__).parent.parent / "data_demo")
    clock, used = best_of(1, lambda: fit_all(records))
    print(
        f"demo shop, {len(records.flips)} flips: fit {clock:.0f} ms by the clock, {used:.0f} of the processor"
    )
    fits = fit_all(records)
    on_hand = records.flips[records.flips["status"].isin(["listed", "in work"])]
    pieces = [piece_from_row(row) for _, row in on_hand.iterrows()]
    pieces = (pieces * 40)[:40]

    def all_plans() -> None:
        for piece in pieces:
            plan(fits, piece, alternatives=False)

    clock, used = best_of(2, all_plans)
    print(
        f"plans of 40 pieces with ranges: {clock:.0f} ms by the clock, {used:.0f} of the processor"
    )
    clock, used = best_of(3, lambda: plan(fits, pieces[-1]))
    print(f"one plan with comparisons and what-ifs: {clock:.0f} and {used:.0f} ms")


if __name__ == "__main__":
    main()
