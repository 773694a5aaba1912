"""How good are the markdown plans? Simulated shops with known truth, scored against an oracle.

    python -m tests.bench_markdowns --shops 40            the whole table
    python -m tests.bench_markdowns --shops 20 --worlds base random_pricer --sizes 60

The oracle knows how buyers answer prices, how this seller's own price idea goes with hidden quality, and how
wrong the usual price can be; it does not know a piece's hidden quality. Its plan is the best path of asks
with the same number of markdowns. Everything is in units of the usual price; the expected net of a plan is
exact (integrated over hidden quality), so that all noise is in the shops drawn.

The stored table, fleetlib/trust/benchmark_markdowns.csv, is shops 0 to 35 of each world and size. What is
assumed about the price response was settled while looking at the worlds "base", "steeply rising elasticity",
"elastic", "fast", "inelastic", "inelastic constant" and "far: fast inelastic"; `--first-shop 1000` draws shops
that nobody had looked at. The best rule of thumb of a row is picked after the fact, so it is flattered.
"""

from __future__ import annotations

import argparse
import multiprocessing
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import minimize

from fleetlib.base.saving import write_whole
from fleetlib.plan.solver.path import Market, Terms, path_value, plan_markdowns
from fleetlib.selling.fit import SellingTimeFit, eight_in_ten, fit_selling_time
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.likelihood import listing_weeks, log_likelihood
from fleetlib.selling.market import market_for
from fleetlib.selling.posterior import ASSUMED, Assumptions
from fleetlib.selling.sale_to_ask import fit_haggle
from fleetlib.selling.weeks_at_risk import Listings, listing_histories
from tests.simulated_markets import AS_OF, TYPE_EFFECTS, Shop, World, simulate_shop, standin_error

HORIZON, FEE, COST, HOLDING, SALVAGE, DROPS, GAP = 20, 0.10, 0.04, 0.01, 0.35, 3, 2
TERMS = Terms(HOLDING, SALVAGE, most_markdowns=DROPS, weeks_between=GAP)
FLOOR = (SALVAGE + COST) / (1 - FEE)
STEP = 0.04
WEEKS = np.arange(1, HORIZON + 1)
# New pieces to plan for: (sds of the seller's own idea from its mean, type, weight).
CELLS = (
    (-1.2247449, "dresser", 1 / 3),
    (0.0, "hutch", 1 / 3),
    (1.2247449, "nightstand", 1 / 3),
)
# Sellers differ in what they add to what they take a piece to be worth; one of these for each shop.
MARKUPS = (-0.15, 0.0, 0.15)
_X, _W = np.polynomial.hermite_e.hermegauss(15)
_W = _W / _W.sum()


@dataclass(frozen=True)
class Truth:
    """What is true of new pieces of one world, per cell: log v - log(usual price) at each node."""

    world: World
    gut: np.ndarray  # (cells,) the seller's own idea over the usual price
    quality: np.ndarray  # (cells, nodes)
    effect: np.ndarray  # (cells,)
    oracle_net: np.ndarray  # (cells,)
    oracle_first: np.ndarray  # (cells,) first ask of the oracle

    def judge(self, cell: int, prices: np.ndarray) -> tuple[float, np.ndarray]:
        """Expected net of asking `prices` (weeks before salvage) and the chance sold by each week."""
        y = np.log(prices)[:, None] - self.quality[cell]
        rate = np.exp(
            self.effect[cell]
            + self.world.gam * np.log(WEEKS[: len(prices)])[:, None]
            + self.world.log_rate(y)
        )
        unsold = np.exp(-np.vstack([np.zeros(len(_X)), np.cumsum(rate, axis=0)])) @ _W
        revenue = self.world.haggle * prices * (1 - FEE) - COST
        net = revenue @ (unsold[:-1] - unsold[1:]) - HOLDING * unsold[:-1].sum()
        return float(net + SALVAGE * unsold[-1]), 1 - unsold[1:]


@cache
def constants(world: World) -> tuple[float, float, float]:
    """Mean and sd of log(sale / m) of sold pieces and the share sold, from one large shop."""
    shop = simulate_shop(world, 3000, np.random.default_rng(12345))
    sold = shop.flips["sale_price"].notna()
    return shop.offset, float(np.sqrt(shop.log_sd**2 - shop.error_sd**2)), float(sold.mean())


@cache
def truth(world: World, n: int) -> Truth:
    offset, residual, share = constants(world)
    error = standin_error(int(n * share), residual)
    var_z = (world.slope * world.quality_sd) ** 2 + world.seller_noise**2 + error**2
    cov = world.slope * world.quality_sd**2 + error**2
    var_d = world.quality_sd**2 + error**2
    away = np.array([c[0] for c in CELLS]) * np.sqrt(var_z)
    mean = -offset + cov / var_z * away
    quality = mean[:, None] + np.sqrt(var_d - cov**2 / var_z) * _X
    effect = np.array([TYPE_EFFECTS[c[1]] for c in CELLS])
    gut = np.exp(world.markup - offset + away)
    blank = Truth(world, gut, quality, effect, np.zeros(len(CELLS)), np.zeros(len(CELLS)))
    found = [_oracle(blank, c) for c in range(len(CELLS))]
    return replace(
        blank,
        oracle_net=np.array([f[0] for f in found]),
        oracle_first=np.array([f[1] for f in found]),
    )


def _oracle(known: Truth, cell: int) -> tuple[float, float]:
    """Best path under the truth: the exact planner at the nearest proportional form, then a local search."""
    prices = np.exp(np.arange(np.log(FLOOR), 2.2, STEP))
    middle = known.quality[cell][7]
    log_rate = known.effect[cell] + known.world.log_rate(np.log(prices) - middle)
    B = known.world.sensitivity
    market = Market(
        prices=prices,
        revenue=known.world.haggle * prices * (1 - FEE) - COST,
        log_rate=log_rate,
        log_week=known.world.gam * np.log(WEEKS),
        log_phi=B * (known.quality[cell] - middle),
        weights=_W,
    )
    path = plan_markdowns(market, TERMS)
    rates = np.exp(
        known.effect[cell] + known.world.log_rate(np.log(prices)[:, None] - known.quality[cell])
    )
    cases = Cases(prices, market.revenue, rates, WEEKS[:, None] ** known.world.gam, _W)
    starts = [np.full(HORIZON, 1.0)] + ([path.prices] if len(path.prices) else [])
    net, asks = max((climb(cases, p) for p in starts), key=lambda f: f[0])
    return (net, float(asks[0])) if net > SALVAGE else (SALVAGE, FLOOR)


@dataclass(frozen=True)
class Cases:
    """A piece that may be one of several kinds, each with its own rates of sale."""

    prices: np.ndarray  # (K,)
    revenue: np.ndarray  # (K,)
    rates: np.ndarray  # (K, kinds) in the first week
    growth: np.ndarray  # (HORIZON, kinds) or (HORIZON, 1) of that rate
    weights: np.ndarray  # (kinds,)


def climb(cases: Cases, start: np.ndarray) -> tuple[float, np.ndarray]:
    """Best expected net and weekly asks by local search over (week, level) of each ask, from `start`."""
    levels = np.array([int(np.argmin(np.abs(cases.prices - p))) for p in start])
    week = [0, *(np.flatnonzero(np.diff(levels)) + 1)]
    step = [int(levels[w]) for w in week]
    while len(week) < DROPS + 1:
        week.append(HORIZON)
        step.append(step[-1])
    state, best = (np.array(week), np.array(step)), -np.inf
    while True:
        tried = _neighbours(*state, len(cases.prices))
        worth = _worth(cases, _weekly(*tried))
        at = int(np.argmax(worth))
        if worth[at] <= best + 1e-10:
            return best, cases.prices[_weekly(state[0][None], state[1][None])[0]]
        best, state = float(worth[at]), (tried[0][at], tried[1][at])


def _neighbours(week: np.ndarray, step: np.ndarray, top: int) -> tuple[np.ndarray, np.ndarray]:
    weeks, steps = [week], [step]
    for slot in range(DROPS + 1):
        for w in range(1, HORIZON + 1) if slot else (0,):
            for move in range(-8, 9):
                a, b = week.copy(), step.copy()
                a[slot], b[slot] = w, b[slot] + move
                weeks.append(a)
                steps.append(b)
                if slot < DROPS and abs(move) <= 3 and w == week[slot]:
                    for other in range(-3, 4):
                        c = b.copy()
                        c[slot + 1] += other
                        weeks.append(a)
                        steps.append(c)
    a, b = np.array(weeks), np.array(steps)
    inside = a < HORIZON
    gaps = np.diff(a, axis=1)
    ok = ((gaps >= GAP) | ~inside[:, 1:]).all(axis=1) & (gaps >= 0).all(axis=1)
    ok &= (b >= 0).all(axis=1) & (b < top).all(axis=1) & (np.diff(b, axis=1) <= 0).all(axis=1)
    return a[ok], b[ok]


def _weekly(week: np.ndarray, step: np.ndarray) -> np.ndarray:
    """(n, HORIZON) levels of paths given as (n, slots) weeks and levels."""
    slot = (week[:, None, :] <= np.arange(HORIZON)[None, :, None]).sum(axis=2) - 1
    return np.take_along_axis(step, slot, axis=1)


def _worth(cases: Cases, levels: np.ndarray) -> np.ndarray:
    exposure = np.cumsum(cases.rates[levels] * cases.growth[None], axis=1)
    unsold = np.ones((len(levels), HORIZON + 1))
    unsold[:, 1:] = np.exp(-exposure) @ cases.weights
    flow = cases.revenue[levels] * (unsold[:, :-1] - unsold[:, 1:]) - HOLDING * unsold[:, :-1]
    return np.max(np.cumsum(flow, axis=1) + SALVAGE * unsold[:, 1:], axis=1)


# ---- plans to be judged: each takes (fit or None, gut over usual, type) and gives weekly asks


def our_plan(fit: SellingTimeFit, gut: float, kind: str) -> tuple[np.ndarray, np.ndarray]:
    return best_plan(fit.hazard(kind, 1.0, gut))


def range_at_8_weeks(fit: SellingTimeFit, gut: float, kind: str, prices: np.ndarray) -> np.ndarray:
    """Low and high of the chance sold by the end of week 8 that the person would be shown."""
    by_then = []
    for draw in range(len(fit.draws)):
        hazard = fit.hazard(kind, 1.0, gut, draw=draw)
        market = market_for(
            hazard, np.unique(prices), horizon_weeks=HORIZON, fee_share=FEE, selling_cost=COST
        )
        by_then.append(path_value(prices, market, TERMS).sold_by[7])
    return np.array(eight_in_ten(np.array(by_then)))


def best_plan(hazard: Hazard) -> tuple[np.ndarray, np.ndarray]:
    """Weekly asks of the planner, and the chance sold by each week as it sees it."""
    top = max(np.log(hazard.highest_ask), np.log(FLOOR) + 0.1)
    prices = np.exp(np.arange(np.log(FLOOR), top + 1e-9, STEP))
    market = market_for(hazard, prices, horizon_weeks=HORIZON, fee_share=FEE, selling_cost=COST)
    path = plan_markdowns(market, TERMS)
    return path.prices, path.sold_by


def naive_hazard(listings: Listings) -> Hazard:
    """Sold this week on log(ask / usual price) and log week: the plain complementary log-log regression."""
    table = listings.table
    used = table["weeks"].to_numpy() > 0
    layout = listing_weeks(table["weeks"].to_numpy()[used], table["sold"].to_numpy()[used])
    ask = np.concatenate([a for a, u in zip(listings.asks, used, strict=True) if u])
    x = np.log(ask / table["usual_price"].to_numpy()[used][layout.listing])
    week = np.arange(len(x)) - layout.start[layout.listing] + 1
    X = np.column_stack([np.ones(len(x)), -x, np.log(week)])

    def negative(b: np.ndarray) -> tuple[float, np.ndarray]:
        blank = np.zeros((len(layout.start), 1))
        value, slope, _ = log_likelihood(X @ b, blank, np.zeros(1), layout=layout)
        return -value, -(X.T @ slope)

    found = minimize(negative, np.array([-1.7, 1.0, 0.0]), jac=True, method="L-BFGS-B").x
    cap = float(np.clip(np.quantile(x, 0.98), 0.25, 0.5))
    return Hazard(
        baseline=float(found[0]),
        sensitivity=max(float(found[1]), 0.3),
        curvature=0.0,
        week_exponent=float(found[2]),
        log_anchor=0.0,
        frailty_sd=0.0,
        share_paid=fit_haggle(listings).share_paid,
        highest_ask=float(np.exp(cap)),
    )


def thumb(first: float, fall: float, every: int) -> np.ndarray:
    return np.maximum(first * (1 - fall) ** ((WEEKS - 1) // every), FLOOR)


THUMBS: dict[str, Callable[[float], np.ndarray]] = {
    "hold own price": lambda gut: thumb(gut, 0, 1),
    "own price, 10% every 2 weeks": lambda gut: thumb(gut, 0.10, 2),
    "own price, 15% a month": lambda gut: thumb(gut, 0.15, 4),
    "usual price, held": lambda gut: thumb(1.0, 0, 1),
    "usual price + 15%, 10% every 2 weeks": lambda gut: thumb(1.15, 0.10, 2),
    "usual price + 15%, 15% a month": lambda gut: thumb(1.15, 0.15, 4),
}

METHODS: dict[str, Assumptions] = {"ours": ASSUMED}


def base(**changes: object) -> World:
    return replace(World(), **changes)  # type: ignore[arg-type]


WORLDS = {
    w.name: w
    for w in (
        base(),
        base(
            name="constant elasticity", about="buyers mind every per cent alike", buyers="constant"
        ),
        base(name="steeply rising elasticity", about="buyers shun dear pieces", curvature=1.5),
        base(name="lognormal buyers", about="buyers of mixed means", buyers="lognormal"),
        base(name="careless pricer", about="a careless eye for value", slope=0.5, seller_noise=0.2),
        base(name="random pricer", about="own prices mean nothing", slope=0.0, seller_noise=0.25),
        base(name="slow", about="slow market", level=-2.6),
        base(name="fast", about="fast market", level=-0.7),
        base(name="elastic", about="buyers mind the price much", sensitivity=7.0),
        base(name="inelastic", about="buyers mind the price little", sensitivity=2.0),
        base(
            name="inelastic constant",
            about="buyers mind it little, even when dear",
            sensitivity=2.0,
            buyers="constant",
        ),
        base(name="asks far too much", about="always asked far too much", markup=0.5),
        base(
            name="asks varied on purpose", about="asking prices varied on purpose", ask_noise=0.15
        ),
        base(
            name="inelastic constant, asks varied",
            about="mind it little even when dear, asks varied",
            sensitivity=2.0,
            buyers="constant",
            ask_noise=0.15,
        ),
        base(name="no drops", about="never came down", drops="none"),
        base(name="many drops", about="came down often", drops="many"),
        base(name="last ask only", about="only first and last asks known", records="last"),
        base(name="first ask only", about="only first asks known", records="first"),
        base(
            name="many drops last ask",
            about="came down often, first and last asks known",
            drops="many",
            records="last",
        ),
        base(
            name="many drops first ask",
            about="came down often, first asks known",
            drops="many",
            records="first",
        ),
        base(
            name="little hidden quality",
            about="records see nearly all",
            quality_sd=0.1,
            seller_noise=0.06,
        ),
        base(name="much hidden quality", about="records miss much", quality_sd=0.4),
        base(name="interest cools fast", about="interest cools fast", gam=-0.4),
        base(name="interest grows", about="interest grows by the week", gam=0.1),
        base(
            name="usual prices from the price model",
            about="ordinary, values from the price model",
            prices="fitted",
        ),
        base(
            name="far: slow elastic",
            about="slow, and very much minded",
            sensitivity=8.0,
            level=-3.0,
        ),
        base(
            name="far: fast inelastic",
            about="fast, and hardly minded at all",
            sensitivity=1.75,
            level=-0.5,
        ),
    )
}


def drawn(name: str, n: int, seed: int) -> tuple[Truth, Shop]:
    """Shop number `seed` of a world, with the owner's own markup, and what is true of it."""
    world = replace(WORLDS[name], markup=WORLDS[name].markup + MARKUPS[seed % len(MARKUPS)])
    return truth(world, n), simulate_shop(world, n, np.random.default_rng([seed, n]))


def fitted_prices(shop: Shop) -> np.ndarray:
    """Usual prices of the shop's listings by the real price model, sold ones with their own price left out."""
    from fleetlib.price.fit import fit_prices

    prices = fit_prices(shop.flips, as_of=AS_OF)
    usual = np.asarray(prices.usual(shop.flips), dtype=float).copy()
    usual[shop.flips.index.get_indexer(prices.sales.index)] = prices.usual_left_out()
    return usual


def held(ranges: list[np.ndarray] | None, judged: list[tuple[float, np.ndarray]]) -> np.ndarray:
    """(cells,) whether the true chance sold at 8 weeks lies in its range; plans shorter than that count as held."""
    if ranges is None:
        return np.full(len(judged), np.nan)
    true = [sold[7] if len(sold) > 7 else 0.0 for _, sold in judged]
    return np.array([low <= t <= high for (low, high), t in zip(ranges, true, strict=True)], float)


def one_shop(task: tuple[str, int, int, tuple[str, ...]]) -> list[dict[str, object]]:
    name, n, seed, methods = task
    known, shop = drawn(name, n, seed)
    world = known.world
    usual = shop.usual_price
    if world.prices == "fitted" and n >= 60:
        usual = fitted_prices(shop)
    listings = listing_histories(shop.flips, shop.events, usual_price=usual, as_of=AS_OF)
    rows = []
    weight = np.array([c[2] for c in CELLS])
    best = float(weight @ known.oracle_net)

    def note(
        method: str,
        plans: list[tuple[np.ndarray, np.ndarray | None]],
        ranges: list[np.ndarray] | None = None,
        **more: object,
    ) -> None:
        judged = [
            known.judge(c, p) if len(p) else (SALVAGE, np.ones(1)) for c, (p, _) in enumerate(plans)
        ]
        net = float(weight @ np.array([j[0] for j in judged]))
        off = [
            (s[7] - j[1][7]) if s is not None and len(s) > 7 else 0.0
            for (_, s), j in zip(plans, judged, strict=True)
        ]
        rows.append(
            {
                "world": name,
                "n": n,
                "seed": seed,
                "method": method,
                "share": net / best,
                "gain": (net - SALVAGE) / (best - SALVAGE),
                "bias8": float(weight @ np.array(off)),
                "error8": float(weight @ np.abs(off)),
                "in_range8": float(weight @ held(ranges, judged)),
                "first": float(
                    weight @ np.log([p[0] if len(p) else FLOOR for p, _ in plans])
                    - weight @ np.log(known.oracle_first)
                ),
                **more,
            }
        )

    for method in methods:
        fit = fit_selling_time(listings, assumed=METHODS[method])
        plans = [our_plan(fit, known.gut[c], CELLS[c][1]) for c in range(len(CELLS))]
        ranges = [
            range_at_8_weeks(fit, known.gut[c], CELLS[c][1], p)
            if len(p) > 7
            else np.array([-1.0, 2.0])
            for c, (p, _) in enumerate(plans)
        ]
        note(
            method,
            plans,
            ranges,
            info=fit.information,
            B=float(fit.best[1]),
            rho=float(fit.best[3]),
            kap=float(fit.best[5]),
            a=float(fit.best[0]),
            s=float(np.exp(fit.best[4])),
            cap=fit.cap,
        )
    naive = best_plan(naive_hazard(listings))
    note("plain regression", [naive] * len(CELLS))
    for rule, path in THUMBS.items():
        note(rule, [(path(g), None) for g in known.gut])
    return rows


def run(
    worlds: list[str], sizes: list[int], shops: range, methods: tuple[str, ...], processes: int
) -> pd.DataFrame:
    tasks = [(w, n, seed, methods) for w in worlds for n in sizes for seed in shops]
    if processes == 1:
        made = [one_shop(t) for t in tasks]
    else:
        with multiprocessing.Pool(processes) as pool:
            made = pool.map(one_shop, tasks, chunksize=max(1, len(shops) // 2))
    return pd.DataFrame([row for rows in made for row in rows])


def summary(frame: pd.DataFrame) -> pd.DataFrame:
    """One row per world and number of listings; shares in per cent of the oracle's expected net."""
    rows = []
    for (world, n), cell in frame.groupby(["world", "n"], sort=False):
        ours = cell[cell["method"] == "ours"]
        row = {
            "world": world,
            "about": WORLDS[str(world)].about,
            "listings": n,
            "shops": len(ours),
            "plan": 100 * ours["share"].mean(),
            "error": 100 * ours["share"].sem(),
            "worst_shop": 100 * ours["share"].min(),
            "gain_over_salvage": 100 * ours["gain"].mean(),
            "chance_8_weeks_bias": ours["bias8"].mean(),
            "chance_8_weeks_error": ours["error8"].mean(),
            "chance_8_weeks_in_range": ours["in_range8"].mean(),
        }
        for method in (*list(METHODS)[1:], "plain regression", *THUMBS):
            row[method] = 100 * cell.loc[cell["method"] == method, "share"].mean()
        rows.append(row)
    table = pd.DataFrame(rows)
    digits = {c: 3 if c.startswith("chance_8_weeks") else 1 for c in table.columns[4:]}
    return table.round(digits | {"chance_8_weeks_in_range": 2})


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--shops", type=int, default=24, help="shops per world and size")
    parser.add_argument("--first-shop", type=int, default=0, help="seed of the first shop")
    parser.add_argument("--sizes", type=int, nargs="*", default=[20, 60, 120, 250])
    parser.add_argument("--worlds", nargs="*", default=list(WORLDS))
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--save", help="write the table to this csv file")
    chosen = parser.parse_args()
    made = []
    for world in chosen.worlds:
        for n in chosen.sizes:
            shops = chosen.shops if WORLDS[world].prices == "stand-in" else min(chosen.shops, 9)
            seeds = range(chosen.first_shop, chosen.first_shop + shops)
            frame = run([world], [n], seeds, tuple(METHODS), chosen.processes)
            made.append(summary(frame))
            print(made[-1].iloc[0, :11].to_frame().T.to_string(header=len(made) == 1), flush=True)
    table = pd.concat(made, ignore_index=True)
    print(table.to_string())
    if chosen.save:
        write_whole(Path(chosen.save), table.to_csv(index=False))


if __name__ == "__main__":
    main()
