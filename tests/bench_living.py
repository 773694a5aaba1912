"""What is it like to live with the plans? Shops that ask by them, month after month, and learn from what came of it.

    python -m tests.bench_living --shops 4                       the quick form: some minutes on one core
    python -m tests.bench_living --shops 12 --starts 0 4 8 25 60 --worlds all

A shop starts with a number of past listings, lists two pieces every four weeks for a year, asks and comes down as the
policy said on the day of listing, and is refitted every four weeks on what it could have known. Policies:

    kit       the plan of the package, from its own fit of the shop's own records (--assume sets others beside it)
    own       the owner's own price, held
    own5      the owner's own price, 5% off every three weeks
    own15     the owner's own price, 15% off every four weeks
    oracle    knows how buyers answer a price and how the owner's price goes with what nobody can see of a piece

The fast loop: no files; the usual price of a piece comes with an error that shrinks with the number of sales, and the
piece is planned through the package's own fit and `case_for`. Not in it: buying by what_to_pay, the price model.

A market says how much each week adds to a piece's exposure; unsold after t weeks with chance exp(-sum). Plans are
judged by their exact expected net given all but the hidden quality, as the oracle judges them; when a piece sells is
drawn once, by the exposure at which it goes, and is the same for all policies, as are pieces and owners. The rules and
the markets of single buyers were written down before any of them was run, and nothing was tuned to them.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace
from zlib import crc32

import numpy as np
import pandas as pd
from scipy.stats import norm

from fleetlib.base.saving import write_whole
from fleetlib.base.settings import WEEKDAYS, Settings
from fleetlib.plan.case import case_for
from fleetlib.records.piece import Piece
from fleetlib.selling.fit import SellingTimeFit, fit_selling_time
from fleetlib.selling.posterior import ASSUMED, Assumptions
from fleetlib.selling.weeks_at_risk import DATED, Listings
from tests.fresh_buyers import FRESH
from tests.simulated_markets import standin_error

STORED = Path(__file__).parents[1] / "fleetlib" / "trust" / "benchmark_living.csv"
WEEKS = 20  # of a plan
BEGIN = date(2026, 1, 2)  # a Friday
EVERY = 4  # weeks between listing days and fits
MONTHS = 13
A_MONTH = 2  # pieces
HOLDING, SALVAGE, FLOOR = 0.01, 0.35, 0.35  # of m, what the records can see
OWN = Settings(markdown_weekday=WEEKDAYS[BEGIN.weekday()], price_step=5.0)
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_MARKS = np.log(np.linspace(0.01, 1.0, 100))

Steps = Callable[[np.ndarray, float], np.ndarray]


@dataclass(frozen=True)
class World:
    """One market and its owner.

    steps(y, lag): (M, T) exposure added by each week for log(ask / value) y (M, T); lag: weeks already up. quality,
    slope, noise, bias: hidden log quality's sd; log own price = log m + bias + slope q + noise. paid: of the ask.
    """

    name: str
    steps: Steps = field(repr=False)
    quality: float = 0.25
    slope: float = 0.75
    noise: float = 0.12
    bias: float = 0.2
    paid: float = 0.94
    about: str = ""


def hazards(
    level: float, B: float, kap: float = 0.5, gam: float = -0.1, lift: float = 0.0
) -> Steps:
    """The kit's own family: rising elasticity, interest that cools, more of it once the ask has come down."""

    def steps(y: np.ndarray, lag: float) -> np.ndarray:
        t = np.arange(1, y.shape[1] + 1) + lag
        bend = B * y if kap < 1e-9 else B * np.expm1(kap * np.minimum(y, 4)) / kap
        cut = y < y[:, :1] - 0.03
        return np.exp(level + gam * np.log(t) - bend + lift * cut)

    return steps


# ---- markets of single buyers: how many look in a week, and the least that each would have to be asked


def visitors(
    rate: float, would_buy: Callable[[np.ndarray], np.ndarray], cool: float = 0.0
) -> Steps:
    def steps(y: np.ndarray, lag: float) -> np.ndarray:
        t = np.arange(1, y.shape[1] + 1) + lag
        return rate * t**-cool * would_buy(y)

    return steps


def saved_searches(waiting: float, rate: float) -> Steps:
    """Some have waited for such a piece: they look on the first day and at every markdown; the others pass by."""

    def steps(y: np.ndarray, lag: float) -> np.ndarray:
        within = norm.sf((y + 0.25) / 0.3)
        before = np.concatenate([np.zeros((len(y), 1)), within[:, :-1]], axis=1)
        told = np.maximum(within - np.maximum.accumulate(before, axis=1), 0.0)
        return waiting * 0.8 * told + rate * norm.sf((y + 0.05) / 0.3)

    return steps


def noticed(rate: float, lift: float) -> Steps:
    """For two weeks after a markdown of 3% or more, so many more look."""

    def steps(y: np.ndarray, lag: float) -> np.ndarray:
        fell = np.concatenate([np.zeros((len(y), 1)), np.diff(y, axis=1) < -0.03], axis=1)
        fresh = fell + np.concatenate([np.zeros((len(y), 1)), fell[:, :-1]], axis=1)
        return rate * np.exp(lift * np.minimum(fresh, 1)) * norm.sf((y + 0.1) / 0.33)

    return steps


def _others_too(y: np.ndarray) -> np.ndarray:
    """Buys where what is left over beats the best other piece on offer, by an exponential with mean .2 (in logs)."""
    left = np.linspace(0.005, 1.5, 60)
    share = np.exp(-left / 0.2)
    share = share / share.sum()
    return np.asarray((share * norm.sf((y[..., None] + left - 0.15) / 0.3)).sum(axis=-1))


def _two_tastes(y: np.ndarray) -> np.ndarray:
    return 0.3 * norm.sf((y - 0.25) / 0.15) + 0.7 * norm.sf((y + 0.35) / 0.25)


KIT_LIKE = [
    World("ordinary", hazards(-1.6, 4.0)),
    World("slow", hazards(-2.6, 4.0)),
    World("price-minding", hazards(-1.6, 7.0)),
    World("lognormal", visitors(1.0, lambda y: norm.sf(y / 0.35 + 0.9))),
]
DESIGNED = [
    World("B 1.5", hazards(-2.5, 1.5, 0.0)),
    World("B 1.5 curved, high, lift", hazards(-2.5, 1.5, 0.4, lift=0.15), 0.4, 0.75, 0.15, 0.35),
    World("B 2.2", hazards(-2.5, 2.2, 0.0), 0.15, 0.75, 0.08),
    World("B 2.2 low, much lift", hazards(-2.5, 2.2, 0.0, lift=0.35), bias=0.05),
    World("B 2.2 curved, blind", hazards(-2.5, 2.2, 0.4), 0.4, 0.6, 0.25),
    World("B 3", hazards(-1.6, 3.0, 0.0)),
    World("B 3 high", hazards(-2.5, 3.0, 0.0), 0.4, 0.75, 0.08, 0.35),
    World("B 3 curved low, much lift", hazards(-1.6, 3.0, 0.4, lift=0.35), 0.15, 0.75, 0.08, 0.05),
    World("B 4.2 lift", hazards(-1.6, 4.2, 0.0, lift=0.15)),
    World("B 4.2 low, blind", hazards(-1.6, 4.2, 0.0), 0.4, 0.6, 0.25, 0.05),
    World("B 4.2 curved high, lift", hazards(-2.5, 4.2, 0.4, lift=0.35), 0.15, 0.75, 0.08, 0.35),
    World("B 6 high", hazards(-1.6, 6.0, 0.0), bias=0.35),
    World("B 6 lift", hazards(-2.5, 6.0, 0.0, lift=0.15), 0.15, 0.75, 0.08),
]
SINGLE = [
    World("reservation prices", visitors(1.1, lambda y: norm.sf((y + 0.1) / 0.3))),
    World("two tastes", visitors(0.9, _two_tastes)),
    World("hagglers", visitors(0.8, lambda y: norm.sf((y - 0.16 + 0.1) / 0.25)), paid=0.9),
    World("substitutes", visitors(1.6, _others_too, 0.15)),
    World("saved searches", saved_searches(2.5, 0.35)),
    World("noticed markdowns", noticed(0.6, 0.35)),
]
OTHERS = [World(**market) for market in FRESH]
WORLDS = {w.name: w for w in (*KIT_LIKE, *DESIGNED, *SINGLE, *OTHERS)}
SETS = {
    "kit": [w.name for w in KIT_LIKE],
    "designed": [w.name for w in DESIGNED],
    "single": [w.name for w in SINGLE],
    "fresh": [w.name for w in OTHERS],
    "all": list(WORLDS),
    "quick": ["ordinary", "B 2.2", "reservation prices", "noticed markdowns"],
}


@dataclass(frozen=True)
class Thing:
    """A piece, and what nobody knows of it: quality q, and the exposure at which it goes."""

    m: float
    q: float
    own: float
    error: float  # standard normal: by how much the usual price is off
    goes: float
    rng_share: float


def things(world: World, n: int, rng: np.random.Generator) -> list[Thing]:
    q = rng.normal(0, world.quality, n)
    m = np.exp(rng.normal(np.log(300), 0.45, n))
    return owned(world, m, q, rng)


def owned(world: World, m: np.ndarray, q: np.ndarray, rng: np.random.Generator) -> list[Thing]:
    """Pieces whose worth as far as records can see is `m` (n,), of hidden quality `q`."""
    n = len(m)
    own = m * np.exp(world.bias + world.slope * q + rng.normal(0, world.noise, n))
    columns = (m, q, 5 * np.round(own / 5), rng.normal(size=n), rng.exponential(size=n))
    share = np.clip(rng.normal(world.paid, 0.04, n), 0.75, 1.0)
    return [Thing(*map(float, row)) for row in zip(*columns, share, strict=True)]


@dataclass
class Listed:
    """One listing of a shop: its asks by week from week `start` on, and when it goes (weeks up), or not."""

    thing: Thing
    start: int
    asks: np.ndarray
    weeks: int
    sold: bool


def lived(world: World, thing: Thing, start: int, asks: np.ndarray) -> Listed:
    """Ask `asks`, a week each, and see."""
    y = np.log(asks / thing.m)[None] - thing.q
    reached = np.flatnonzero(np.cumsum(world.steps(y, 0.0)[0]) >= thing.goes)
    sold = len(reached) > 0
    return Listed(thing, start, asks, int(reached[0]) + 1 if sold else len(asks), sold)


def belief(world: World, thing: Thing) -> np.ndarray:
    """(9,) nodes of hidden quality given the own price, for one who knows the owner."""
    var = (world.slope * world.quality) ** 2 + world.noise**2
    share = world.slope * world.quality**2 / var
    mean = share * (np.log(thing.own / thing.m) - world.bias)
    return np.asarray(mean + world.quality * np.sqrt(1 - share * world.slope) * _NODES)


def net(world: World, thing: Thing, asks: np.ndarray, holding: float = HOLDING) -> np.ndarray:
    """(M,) exact expected net over m of asking `asks` (M, T) and salvage after, given all but the hidden quality."""
    worth = np.zeros(len(asks))
    for node, weight in zip(belief(world, thing), _WEIGHTS, strict=True):
        left = np.exp(-np.cumsum(world.steps(np.log(asks / thing.m) - node, 0.0), axis=1))
        before = np.concatenate([np.ones((len(asks), 1)), left[:, :-1]], axis=1)
        flow = world.paid * asks / thing.m * (before - left) - holding * before
        worth += weight * (flow.sum(axis=1) + SALVAGE * left[:, -1])
    return worth


def past(world: World, n: int, rng: np.random.Generator) -> list[Listed]:
    """`n` listings of the two years before, as an owner without advice asks: the own price, some cuts of 5-15%."""
    return [before(world, thing, rng, least=0.45) for thing in things(world, n, rng)]


def before(world: World, thing: Thing, rng: np.random.Generator, *, least: float) -> Listed:
    """One listing of those two years, never asked under the share `least` of the own price."""
    length = 40
    cuts = (rng.random(length) < 0.12) & (np.arange(length) >= 3)
    asks = thing.own * np.cumprod(1 - cuts * rng.uniform(0.05, 0.15, length))
    asks = np.maximum(5 * np.round(asks / 5), least * thing.own)
    return lived(world, thing, -int(rng.integers(1, 104)), asks)


# ---- the kit in such a shop


@dataclass(frozen=True)
class Known:
    """A price model's stand-in: the usual price of the piece in question."""

    price: float

    def usual(self, pieces: object) -> np.ndarray:
        return np.array([self.price])


def usual_price(thing: Thing, sold: int) -> float:
    return float(thing.m * np.exp(0.15 + standin_error(sold, 0.25) * thing.error))


def fitted(records: list[Listed], now: int, assumed: Assumptions) -> SellingTimeFit:
    """The package's fit on what was known by week `now`."""
    rows, asks = [], []
    sold = sum(r.sold and r.start + r.weeks <= now for r in records)
    for r in records:
        weeks = min(r.weeks, now - r.start)
        done = r.sold and r.start + r.weeks <= now
        if weeks < 1:
            continue
        path = r.asks[:weeks]
        asks.append(path)
        rows.append(
            {
                "piece": f"P{len(rows)}",
                "furniture_type": "desk",
                "usual_price": usual_price(r.thing, sold) if sold >= 12 else r.thing.own,
                "gut_price": r.thing.own,
                "first_ask": path[0],
                "last_ask": path[-1],
                "sale_price": r.thing.rng_share * path[-1] if done else np.nan,
                "weeks": weeks,
                "sold": done,
                "asks_from": DATED,
                "changed": bool(path[-1] < path[0]),
            }
        )
    columns = ["piece", "furniture_type", "usual_price", "gut_price", "first_ask", "last_ask"]
    columns += ["sale_price", "weeks", "sold", "asks_from", "changed"]
    table = pd.DataFrame(rows, columns=columns)
    if not rows:
        table = table.astype(
            {"sold": bool, "changed": bool, "weeks": int} | dict.fromkeys(columns[2:7], float)
        )
    return fit_selling_time(Listings(table, tuple(asks)), assumed=assumed)


def kit(fit: SellingTimeFit, thing: Thing, sold: int, day: date) -> tuple[np.ndarray, float]:
    """Weekly asks of the package's plan and the net it promises, over m."""
    few = sold < 5
    records = SimpleNamespace(events=None, flips=None, advice_log=None)
    fits = SimpleNamespace(
        prices=None if few else Known(usual_price(thing, sold) if sold >= 12 else thing.own),
        selling=fit,
        settings=replace(OWN, holding_cost_per_week=HOLDING * thing.m, salvage_share=SALVAGE),
        as_of=day,
        records=records,
        kept={},
    )
    piece = Piece(furniture_type="desk", gut_price=thing.own)
    path = case_for(fits, piece, day).best_path()
    asks = path.prices if len(path.prices) else np.array([thing.own])
    return asks, path.expected_net / thing.m


# ---- rules, and the oracle


def rule(keep: float, every: int) -> Callable[[Thing], np.ndarray]:
    def asks(thing: Thing) -> np.ndarray:
        fell = thing.own * keep ** (np.arange(WEEKS) // every)
        return np.maximum(fell, FLOOR * thing.m)

    return asks


RULES = {"own": rule(1.0, 1), "own5": rule(0.95, 3), "own15": rule(0.85, 4)}


def oracle(world: World, thing: Thing) -> np.ndarray:
    """Best asks found for one who knows the market and the owner, but of quality only what the own price tells."""
    mean = belief(world, thing)[4]
    grid = np.exp(np.arange(np.log(FLOOR), 2.0, 0.04)) * thing.m
    at = [
        (np.array([0, 6, 12, 17]), np.clip(k - np.array([0, 4, 9, 14]), 0, len(grid) - 1))
        for k in (int(np.searchsorted(grid, f * thing.m * np.exp(mean))) for f in (1.0, 1.5))
    ]
    found = [_climb(world, thing, grid, *a) for a in at]
    return max(found, key=lambda f: f[0])[1]


def _climb(
    world: World, thing: Thing, grid: np.ndarray, weeks: np.ndarray, levels: np.ndarray
) -> tuple[float, np.ndarray]:
    best = -np.inf
    while True:
        w, at = weeks + _SHIFTS, levels + _MOVES
        good = (np.diff(w) >= 2).all(axis=1) & (w[:, -1] < WEEKS) & (np.diff(at) <= 0).all(axis=1)
        good &= (at[:, -1] >= 0) & (at[:, 0] < len(grid))
        w, at = w[good], at[good]
        slots = (w[:, :, None] <= np.arange(WEEKS)).sum(axis=1) - 1
        asks = grid[np.take_along_axis(at, slots, axis=1)]
        worth = net(world, thing, asks)
        top = int(np.argmax(worth))
        if worth[top] <= best + 1e-9:
            return best, asks[0]
        best, weeks, levels = float(worth[top]), w[top], at[top]


def _neighbours() -> tuple[np.ndarray, np.ndarray]:
    """(M, 4) each: by how many weeks and steps each of four asks moves; the first row moves none."""
    shifts, moves = [np.zeros(4, int)], [np.zeros(4, int)]
    for k in range(4):
        one = np.eye(4, dtype=int)[k]
        for move in (-4, -2, -1, 0, 1, 2, 4):
            for shift in (-3, -1, 0, 1, 3) if k else (0,):
                shifts.append(shift * one)
                moves.append(move * one)
    for move in (-3, -1, 1, 3):
        shifts.append(np.zeros(4, int))
        moves.append(np.full(4, move))
    return np.array(shifts), np.array(moves)


_SHIFTS, _MOVES = _neighbours()


# What a fit may assume, by name: "kit" is the package's own.
ASSUME = {"kit": ASSUMED}


# ---- a year of a shop


def one_shop(
    world: World, start: int, shop: int, kits: list[str], months: int
) -> list[dict[str, object]]:
    """One row per piece and policy: net in money, the first ask over the oracle's, what the kit promised."""
    rng = np.random.default_rng([shop, start, crc32(world.name.encode())])
    begun = past(world, start, rng)
    pieces = things(world, months * A_MONTH, rng)
    rows = []
    bests = [oracle(world, thing) for thing in pieces]
    for name in kits:
        records = list(begun)
        for month in range(months):
            now = EVERY * month
            fit = fitted(records, now, ASSUME[name])
            sold = sum(r.sold and r.start + r.weeks <= now for r in records)
            for k in range(A_MONTH * month, A_MONTH * (month + 1)):
                asks, promised = kit(fit, pieces[k], sold, BEGIN + timedelta(weeks=now))
                rows.append((name, k, asks, promised * pieces[k].m))
                records.append(lived(world, pieces[k], now, asks))
    for k, thing in enumerate(pieces):
        rows += [(name, k, asks(thing), np.nan) for name, asks in RULES.items()]
        rows.append(("oracle", k, bests[k], np.nan))
    return [
        {
            "world": world.name,
            "start": start,
            "shop": shop,
            "half": 1 if EVERY * (k // A_MONTH) < 26 else 2,
            "policy": policy,
            "net": float(net(world, pieces[k], asks[None])[0]) * pieces[k].m,
            "promised": promised,
            "ask": float(np.log(asks[0] / bests[k][0])),
        }
        for policy, k, asks, promised in rows
    ]


def summary(frame: pd.DataFrame, kits: list[str]) -> pd.DataFrame:
    """Per world, start, half-year and policy: per cent of the oracle with standard errors over shops, and the rest.

    over own5: per cent of the oracle above own price with 5% off every three weeks, paired by shop; over first: the
    same against the first policy named.
    """
    rows = []
    for (world, start, half), cell in frame.groupby(["world", "start", "half"], sort=False):
        by_shop = cell.pivot_table(index="shop", columns="policy", values="net", aggfunc="sum")
        share = 100 * by_shop.div(by_shop["oracle"], axis=0)
        for policy in (*kits, *RULES):
            mine = cell[cell["policy"] == policy]
            over, first = share[policy] - share["own5"], share[policy] - share[kits[0]]
            rows.append(
                {
                    "world": world,
                    "start": start,
                    "half": half,
                    "shops": len(share),
                    "policy": policy,
                    "of oracle": share[policy].mean(),
                    "se": share[policy].sem(),
                    "worst": share[policy].min(),
                    "over own5": over.mean(),
                    "se o": over.sem(),
                    "over first": first.mean(),
                    "se f": first.sem(),
                    "ask/oracle's": float(np.exp(mine["ask"].median())),
                    "promised/rec": (
                        mine.groupby("shop")["promised"].sum() / by_shop[policy]
                    ).mean(),
                }
            )
    return pd.DataFrame(rows).round(2)


def stored(frame: pd.DataFrame, command: str) -> pd.DataFrame:
    """The table that comes with the package: a row a world and records at the start, the kit beside the three rules."""
    told = summary(frame, ["kit"])
    told = told[told["half"] == 1]
    kept = {
        "world": "world", "start": "records", "shops": "shops", "of oracle": "of_oracle", "se": "error",
        "worst": "worst_shop", "over own5": "over_5_off", "se o": "error_over", "ask/oracle's": "ask_to_best",
        "promised/rec": "promised_to_received",
    }  # fmt: skip
    made = told[told["policy"] == "kit"][list(kept)].rename(columns=kept).reset_index(drop=True)
    rules = told.pivot_table(index=["world", "start"], columns="policy", values="of oracle")
    rules = rules.loc[list(zip(made["world"], made["records"], strict=True))].reset_index(drop=True)
    said = {"own": "own_price_held", "own5": "5_off", "own15": "15_off"}
    made = made.join(rules[list(said)].rename(columns=said))
    made.insert(0, "command", command)
    made.insert(0, "measured_on", date.today().isoformat())
    return made


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--shops", type=int, default=4, help="shops per world and start")
    parser.add_argument("--first-shop", type=int, default=0)
    parser.add_argument("--starts", type=int, nargs="*", default=[8, 25])
    parser.add_argument("--months", type=int, default=MONTHS, help="of four weeks")
    parser.add_argument(
        "--worlds", nargs="*", default=["quick"], help=f"names, or {', '.join(SETS)}"
    )
    parser.add_argument("--assume", nargs="*", default=["kit"], choices=list(ASSUME))
    parser.add_argument("--save", help="write the rows to this csv file")
    parser.add_argument("--store", action="store_true", help="write the package's own table")
    chosen = parser.parse_args()
    names = [n for w in chosen.worlds for n in SETS.get(w, [w])]
    frames = []
    for name in names:
        for start in chosen.starts:
            made = []
            for shop in range(chosen.first_shop, chosen.first_shop + chosen.shops):
                made += one_shop(WORLDS[name], start, shop, chosen.assume, chosen.months)
            frames.append(pd.DataFrame(made))
            table = summary(frames[-1], chosen.assume)
            print(table.to_string(index=False, header=len(frames) == 1), flush=True)
    if chosen.save:
        write_whole(Path(chosen.save), pd.concat(frames).to_csv(index=False))
    if chosen.store:
        command = "python -m tests.bench_living " + " ".join(sys.argv[1:])
        write_whole(STORED, stored(pd.concat(frames), command).to_csv(index=False))


if __name__ == "__main__":
    main()
